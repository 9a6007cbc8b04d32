"""Shipping: what may leave for an order, and the records that say it left."""

from __future__ import annotations

from dataclasses import dataclass

from clew.languages import joined, say
from clew.faults import BadInput, Fault
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
            left = say(", {join} left for it before", join=joined(" and ", lots_in(before))) if before else ""
            reasons.append(
                say("order {number} takes one dye lot, and this makes it {join}{left}", number=question.order.number, join=joined(" and ", lots), left=left)
            )
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
            Fault(say("order {number} is of {customer}", number=order.number, customer=order.customer), say("its customer, or none"),
                  key="customer", value=question.customer)
        )  # fmt: skip
    names = [package_said(one) for one in question.packages]
    if not names:
        faults.append(Fault(say("nothing to ship"), "--pallet or --case", key="pallet"))
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            faults.append(Fault(say("{name} stands twice", name=name), say("each package once"), key="pallet"))
        pallet, case = pallet_kept(kept, name), case_kept(kept, name)
        if pallet is None and case is None:
            faults.append(Fault(say("no such pallet or case was closed"), say("one that was told"),
                                key="pallet", value=name))  # fmt: skip
            continue
        closed_us = pallet.closed_us if pallet is not None else case.closed_us if case else 0
        if closed_us > question.at_us:
            faults.append(Fault(say("{name} was closed later", name=name), say("now or before"), key="pallet"))
        missing = [one for one in (pallet.cases if pallet else ()) if case_kept(kept, one) is None]
        faults += [
            Fault(say("case {one} on pallet {name} was never closed", one=one, name=name), say("cases that were closed"),
                  key="pallet")
            for one in missing
        ]  # fmt: skip
    if faults:
        raise BadInput(faults)
    return tuple(parcel_of(kept, name) for name in names)


def _alike(one: str, other: str) -> bool:
    return joined(" ", one.split()).casefold() == joined(" ", other.split()).casefold()


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
        what = "pallet" if parcel.pallet else "case"
        reasons += _gone(kept, parcel.package, f"{what} {parcel.package}")
        for case in parcel.cases:
            if parcel.pallet:
                reasons += _gone(kept, case.package, say("case {package}", package=case.package))
            pallet = stands_on(kept, case.package, stand)
            if pallet and pallet != parcel.package:
                reasons.append(
                    say("case {package} is on pallet {pallet}", package=case.package, pallet=pallet)
                    + ("" if pallet in named else say(": ship that, or stack it anew"))
                )
            elif pallet and not parcel.pallet:
                reasons.append(say("case {package} is on pallet {pallet}", package=case.package, pallet=pallet))
            if places.setdefault(case.package, parcel.package) != parcel.package:
                reasons.append(say("case {package} is in two of the packages", package=case.package))
            of = other_than_asked(mill, order, case)
            if of:
                reasons.append(
                    say("case {package} is {of}, order {number} is for {ball_name} in {colour_name}", package=case.package, of=of, number=order.number, ball_name=order.ball_name, colour_name=order.colour_name)
                )
            reasons += [
                say("case {package}: {words}", package=case.package, words=words) for words in why_apart(mill, case.all_lots, order)
            ]
            for lot, decision in decisions_for(kept, case):
                reasons += _not_released(lot, decision)
    return reasons


def _gone(kept: Kept, package: str, words: str) -> list[str]:
    shipped = shipment_of(kept, package)
    if shipped is None:
        return []
    delivery = str(shipped.body.get("delivery") or say("a delivery"))
    return [say("{words} left with {delivery} to {get}", words=words, delivery=delivery, get=shipped.body.get('customer'))]


def _not_released(lot: str, decision: Effective | None) -> list[str]:
    if decision is None:
        return [say("{lot} is not released: nobody decided on it", lot=lot)]
    said = str(decision.body.get("decision"))
    if said == "release":
        return []
    why = str(decision.body.get("why") or "")
    by = say(" by {author}", author=decision.author) if decision.author else ""
    return [say("{lot} is {get}{by}", lot=lot, get=DECIDED.get(said, said), by=by) + (f": {why}" if why else "")]


def _message(question: ShipQuestion, consignment: Consignment, package: str) -> Message:
    found = {
        "kind": "shipped", "package": package, "customer": consignment.customer,
        "delivery": consignment.delivery, "order": consignment.order,
    }  # fmt: skip
    key = f"{question.key} {package}"[:120]
    return read_message(found, Sender(question.source, question.author.strip(), "", "",
                                      question.at_us, key))  # fmt: skip
