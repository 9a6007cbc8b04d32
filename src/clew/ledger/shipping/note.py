"""Shipping: what may leave for an order, and the records that say it left."""

from __future__ import annotations

from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.message import MILL_LINE, Message
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.shipping.case import lots_in
from clew.ledger.shipping.consignment import (
    Consignment,
    Parcel,
    anchors_of,
    certificates_of,
    consignment_kept,
    parcel_of,
)
from clew.ledger.shipping.mixed import why_apart
from clew.ledger.shipping.names import next_delivery, package_said
from clew.ledger.shipping.packed import (
    DECIDED,
    came_back,
    case_kept,
    cases_in,
    decisions_for,
    pallet_kept,
    pallets_since,
    shipment_of,
    shipments_for,
    stands_on,
)
from clew.ledger.shipping.pallet import other_than_asked
from clew.ledger.shipping.turn import reading_once
from clew.ledger.state.known import Effective
from clew.ledger.store.ledger import Ledger
from clew.ledger.trace.records import Kept, KeptInLedger
from clew.mill.model import Mill
from clew.plan.named import each_and
from clew.plan.orders.asked import OrderAsked


@dataclass(frozen=True, slots=True)
class ShipQuestion:
    """What somebody wants to ship.

    Attributes
    ----------
    order : OrderAsked
        The order it is for.
    packages : tuple of str
        Pallets and cases that are on none, by name or SSCC.
    at_us : int
        When they leave [us].
    author, source, key : str
        Who ships, who sends the messages, and what their keys begin with, new for each.
    customer : str
        To whom; the order's customer where empty.
    """

    order: OrderAsked
    packages: tuple[str, ...]
    at_us: int
    author: str
    source: str
    key: str
    customer: str = ""


@dataclass(frozen=True, slots=True)
class Shipping:
    """Whether they may leave, and what is kept then.

    Attributes
    ----------
    reasons : tuple of str
        Why they may not; empty where they may.
    consignment : Consignment or None
        What leaves; None where nothing may.
    messages : tuple of Message
        One a package; none where nothing may leave, or all of it left before.
    already : bool
        Whether the very same left before, under the note of the consignment.
    """

    reasons: tuple[str, ...]
    consignment: Consignment | None
    messages: tuple[Message, ...]
    already: bool = False


def ship(ledger: Ledger, mill: Mill, question: ShipQuestion) -> Shipping:
    """Say whether packages may leave for an order, and make their records.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill.
    question : ShipQuestion
        What is to leave; `clew.ledger.shipping.turn` keeps the messages.

    Returns
    -------
    Shipping
        They may leave when the latest decision on the lot of every case is a release, every case
        is of the order's ball and colour, the order's rule of dye lots holds over all that left for
        it so far, none has left already, and no case stands on a pallet that stays. Asked a second
        time for the very same packages, it gives the same delivery and nothing to keep.

    Raises
    ------
    BadInput
        For a package that was not closed or is named twice, a customer who is not the order's, a
        moment before the closing, when nobody is named.
    CannotKeep
        When the database does not answer.
    """
    with reading_once(ledger) as connection:
        kept = KeptInLedger(connection, mill.mill.time_zone)
        parcels = _parcels(kept, question)
        same = _left_together(kept, question, parcels)
        if same:
            consignment = consignment_kept(
                ledger, mill, same, asked_balls=question.order.balls
            )  # fmt: skip
            return Shipping((), consignment, (), already=True)
        sent = shipments_for(kept, question.order.number)
        before = tuple(
            one
            for event in sent
            for one in cases_in(kept, event.package)
            if not came_back(kept, one.package, event.at_us)
        )
        reasons = _reasons(mill, kept, question, parcels)
        lots = lots_in([*before, *(one for parcel in parcels for one in parcel.cases)])
        if question.order.dye_lots == "one" and len(lots) > 1:
            reasons.append(_too_many_lots(question.order.number, lots, lots_in(before)))
        if reasons:
            return Shipping(tuple(dict.fromkeys(reasons)), None, ())
        delivery = next_delivery(connection)
        cases = [one for parcel in parcels for one in parcel.cases]
        consignment = Consignment(
            delivery, question.order.number, question.order.customer, question.author.strip(),
            question.at_us, parcels, certificates_of(kept, cases, question.at_us),
            anchors_of(ledger, kept, parcels, question.at_us), sum(one.balls for one in before),
            question.order.balls,
        )  # fmt: skip
    messages = tuple(_message(question, consignment, one.package) for one in parcels)
    return Shipping((), consignment, messages)


def _parcels(kept: Kept, question: ShipQuestion) -> tuple[Parcel, ...]:
    faults = []
    if not question.author.strip():
        faults.append(Fault(say("nobody is named"), say("who ships"), key="by"))
    order = question.order
    if question.customer and not _alike(question.customer, order.customer):
        faults.append(
            Fault(
                say(
                    "order {number} is of {customer}",
                    number=order.number,
                    customer=order.customer,
                ),
                say("its customer, or none"),
                key="customer",
                value=question.customer,
            )
        )
    names = [package_said(one) for one in question.packages]
    if not names:
        faults.append(Fault(say("nothing to ship"), "--pallet or --case", key="pallet"))
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            faults.append(
                Fault(say("{name} stands twice", name=name), say("each package once"), key="pallet")
            )
        pallet, case = pallet_kept(kept, name), case_kept(kept, name)
        if pallet is None and case is None:
            what = say("no such pallet or case was closed")
            faults.append(Fault(what, say("one that was told"), key="pallet", value=name))
            continue
        closed_us = pallet.closed_us if pallet is not None else case.closed_us if case else 0
        if closed_us > question.at_us:
            faults.append(
                Fault(say("{name} was closed later", name=name), say("now or before"), key="pallet")
            )
        missing = [one for one in (pallet.cases if pallet else ()) if case_kept(kept, one) is None]
        faults += [
            Fault(
                say("case {package} on pallet {pallet} was never closed", package=one, pallet=name),
                say("cases that were closed"),
                key="pallet",
            )
            for one in missing
        ]
    if faults:
        raise BadInput(faults)
    return tuple(parcel_of(kept, name) for name in names)


def _alike(one: str, other: str) -> bool:
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def _left_together(kept: Kept, question: ShipQuestion, parcels: tuple[Parcel, ...]) -> str:
    """Name the delivery by which the very same packages left for that order; empty otherwise."""
    deliveries: set[str] = set()
    for one in parcels:
        shipped = shipment_of(kept, one.package)
        if shipped is None or shipped.body.get("order") != question.order.number:
            return ""
        deliveries.add(str(shipped.body.get("delivery") or ""))
    if len(deliveries) != 1 or deliveries == {""}:
        return ""
    (delivery,) = deliveries
    told = [
        one.package
        for one in kept.of_kind(MILL_LINE, "shipped")
        if one.body.get("delivery") == delivery
    ]
    return delivery if set(told) == {one.package for one in parcels} else ""


def _reasons(
    mill: Mill, kept: Kept, question: ShipQuestion, parcels: tuple[Parcel, ...]
) -> list[str]:
    reasons: list[str] = []
    order = question.order
    named = {one.package for one in parcels}
    first_us = min((one.closed_us for parcel in parcels for one in parcel.cases), default=0)
    stand = pallets_since(kept, first_us)
    places: dict[str, str] = {}
    for parcel in parcels:
        reasons += _gone(kept, parcel.package, pallet=parcel.pallet)
        for case in parcel.cases:
            if parcel.pallet:
                reasons += _gone(kept, case.package)
            pallet = stands_on(kept, case.package, stand)
            if pallet and pallet != parcel.package:
                told = {"package": case.package, "pallet": pallet}
                reasons.append(
                    say("case {package} is on pallet {pallet}", **told)
                    if pallet in named
                    else say(
                        "case {package} is on pallet {pallet}: ship that, or stack it anew", **told
                    )
                )
            elif pallet and not parcel.pallet:
                reasons.append(
                    say("case {package} is on pallet {pallet}", package=case.package, pallet=pallet)
                )
            if places.setdefault(case.package, parcel.package) != parcel.package:
                reasons.append(
                    say("case {package} is in two of the packages", package=case.package)
                )
            of = other_than_asked(mill, order, case)
            if of:
                reasons.append(of)
            reasons += [
                say("case {package}: {why}", package=case.package, why=why)
                for why in why_apart(mill, case.all_lots, order)
            ]
            for lot, decision in decisions_for(kept, case):
                reasons += _not_released(lot, decision)
    return reasons


def _too_many_lots(number: str, lots: tuple[str, ...], before: tuple[str, ...]) -> str:
    if before:
        return say(
            "order {number} takes one dye lot, and this makes it {lots}, {before} left for it "
            "before",
            number=number,
            lots=each_and(lots),
            before=each_and(before),
        )
    return say(
        "order {number} takes one dye lot, and this makes it {lots}",
        number=number,
        lots=each_and(lots),
    )


def _gone(kept: Kept, package: str, *, pallet: bool = False) -> list[str]:
    shipped = shipment_of(kept, package)
    if shipped is None:
        return []
    told = {
        "package": package, "delivery": shipped.body.get("delivery") or say("a delivery"),
        "customer": shipped.body.get("customer"),
    }  # fmt: skip
    if pallet:
        return [say("pallet {package} left with {delivery} to {customer}", **told)]
    return [say("case {package} left with {delivery} to {customer}", **told)]


def _not_released(lot: str, decision: Effective | None) -> list[str]:
    if decision is None:
        return [say("{lot} is not released: nobody decided on it", lot=lot)]
    said = str(decision.body.get("decision"))
    if said == "release":
        return []
    why = str(decision.body.get("why") or "")
    told = {"lot": lot, "decided": DECIDED.get(said, said)}
    words = say("{lot} is {decided}", **told)
    if decision.author:
        words = say("{lot} is {decided} by {author}", author=decision.author, **told)
    return [say("{what}: {why}", what=words, why=why) if why else words]


def _message(question: ShipQuestion, consignment: Consignment, package: str) -> Message:
    found = {
        "kind": "shipped", "package": package, "customer": consignment.customer,
        "delivery": consignment.delivery, "order": consignment.order,
    }  # fmt: skip
    key = f"{question.key} {package}"[:120]
    return read_message(found, Sender(question.source, question.author.strip(), "", "",
                                      question.at_us, key))  # fmt: skip
