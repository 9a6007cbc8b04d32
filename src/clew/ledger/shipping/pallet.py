"""Closing a pallet: cases that are closed, on no other pallet, and may stand together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.message import Message
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.runs.setting import text_faults
from clew.ledger.shipping.case import known_case, lots_in
from clew.ledger.shipping.masses import Masses
from clew.ledger.shipping.mixed import why_apart
from clew.ledger.shipping.names import PALLET, next_package, package_said
from clew.ledger.shipping.packed import (
    CaseKept,
    not_yet,
    pallets_since,
    shipment_of,
    stands_on,
)
from clew.ledger.shipping.turn import reading_once
from clew.ledger.store.ledger import Ledger
from clew.ledger.trace.records import Kept, KeptInLedger
from clew.mill.model import Mill
from clew.plan.named import each_and
from clew.plan.orders.asked import OrderAsked


@dataclass(frozen=True, slots=True)
class PalletQuestion:
    """A pallet that somebody wants to close.

    Attributes
    ----------
    cases : tuple of str
        Names or SSCCs of its cases.
    at_us : int
        When it is closed [us].
    author, source, key : str
        Who closes it, who sends the message, and its own key, new for each.
    order : OrderAsked or None
        The order it is stacked for; without one it holds one ball of one dye lot.
    package : str
        A name of its own; the next free one where empty.
    anew : str
        Why cases are taken off another pallet that is still here; empty: they are not.
    """

    cases: tuple[str, ...]
    at_us: int
    author: str
    source: str
    key: str
    order: OrderAsked | None = None
    package: str = ""
    anew: str = ""


@dataclass(frozen=True, slots=True)
class PalletClosing:
    """A pallet that is ready to be kept.

    Attributes
    ----------
    message : Message
        To hand to the ledger.
    cases : tuple of CaseKept
        Its cases.
    gross_mass_g : float or None
        What it weighs with its deck [g]; None where a case's mass is not known.
    mind : tuple of str
        What is to be minded, in words.
    """

    message: Message
    cases: tuple[CaseKept, ...]
    gross_mass_g: float | None
    mind: tuple[str, ...]


def close_pallet(ledger: Ledger, mill: Mill, question: PalletQuestion) -> PalletClosing:
    """Work out the record of a pallet that is closed; `clew.ledger.shipping.turn` keeps it.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill; with ``gs1_prefix`` the pallet gets an SSCC, else a name such as ``P-0007``.
    question : PalletQuestion
        What is closed.

    Returns
    -------
    PalletClosing
        The message and what is to be minded.

    Raises
    ------
    BadInput
        For a case that was not closed, stands twice, is on another pallet or has left; for cases
        that may not stand together: of two dye lots without an order or against its rule, of
        another ball or colour than the order's; for a pallet that was closed already.
    CannotKeep
        When the database does not answer.
    """
    with reading_once(ledger) as connection:
        kept = KeptInLedger(connection, mill.mill.time_zone)
        cases = _cases_of(kept, question)
        faults = _mixed_faults(mill, question.order, cases)
        if not question.author.strip():
            faults.append(Fault(say("nobody is named"), say("who closes the pallet"), key="by"))
        faults += text_faults("anew", question.anew)
        package = package_said(question.package)
        if package and kept.naming("package", package, ("case closed", "pallet closed")):
            faults.append(
                Fault(
                    say("{package} is closed already", package=package),
                    say("a new name"),
                    key="package",
                )
            )
        if faults:
            raise BadInput(faults)
        package = package or next_package(connection, mill, PALLET)
        mind = _minded(kept, mill, cases)
    found: dict[str, Any] = {
        "kind": "pallet closed", "package": package, "cases": [one.package for one in cases],
    }  # fmt: skip
    if question.anew:
        found["note"] = f"stacked anew: {question.anew.strip()}"
    sender = Sender(question.source, question.author.strip(), "", "", question.at_us, question.key)
    gross_g = Masses(mill).pallet_gross_g(cases)
    most_g = mill.pack.pallet.most_mass_g
    if gross_g is not None and gross_g > most_g:
        mind += (too_heavy(gross_g, most_g),)
    return PalletClosing(read_message(found, sender), cases, gross_g, mind)


def _cases_of(kept: Kept, question: PalletQuestion) -> tuple[CaseKept, ...]:
    if not question.cases:
        raise BadInput(Fault(say("no case is named"), say("the cases on it"), key="case"))
    faults: list[Fault] = []
    cases: list[CaseKept] = []
    for said in question.cases:
        try:
            cases.append(known_case(kept, said))
        except BadInput as bad:
            faults += bad.faults
    names = [one.package for one in cases]
    for name in dict.fromkeys(name for name in names if names.count(name) > 1):
        faults.append(
            Fault(say("case {name} stands twice", name=name), say("each case once"), key="case")
        )
    stand = pallets_since(kept, min((one.closed_us for one in cases), default=0))
    for one in dict.fromkeys(cases):
        if one.closed_us > question.at_us:
            faults.append(
                Fault(
                    say("case {package} is closed later", package=one.package),
                    say("now or before"),
                    key="case",
                )
            )
        pallet = stands_on(kept, one.package, stand)
        gone = shipment_of(kept, pallet) is not None if pallet else False
        if pallet and not gone and not question.anew:
            what = say("case {package} is on pallet {pallet}", package=one.package, pallet=pallet)
            faults.append(Fault(what, "a case on no pallet, or --anew", key="case"))
        elif gone or shipment_of(kept, one.package) is not None:
            what = say("case {package} has left the mill", package=one.package)
            faults.append(Fault(what, say("a case that is here"), key="case"))
    if faults:
        raise BadInput(faults)
    return tuple(cases)


def _mixed_faults(mill: Mill, order: OrderAsked | None, cases: tuple[CaseKept, ...]) -> list[Fault]:
    lots = each_and(lots_in(cases))
    balls = tuple(dict.fromkeys(one.ball_name for one in cases))
    if order is None:
        faults = []
        if len(lots_in(cases)) > 1:
            faults.append(
                Fault(
                    say("{lots} on one pallet without an order", lots=lots),
                    "one lot, or --order",
                    key="case",
                )
            )
        if len(balls) > 1:
            faults.append(
                Fault(
                    say("{balls} on one pallet", balls=each_and(balls)),
                    say("one ball"),
                    key="case",
                )
            )
        return faults
    faults = [
        Fault(of, say("a case of the order's ball and colour"), key="case")
        for one in cases
        if (of := other_than_asked(mill, order, one))
    ]
    faults += [
        Fault(
            say("case {package}: {words}", package=one.package, words=words),
            say("a case that the order takes"),
            key="case",
        )
        for one in cases
        for words in why_apart(mill, one.all_lots, order)
    ]
    if order.dye_lots == "one" and len(lots_in(cases)) > 1:
        faults.append(
            Fault(
                say(
                    "{lots} on one pallet, and order {number} takes one dye lot",
                    lots=lots,
                    number=order.number,
                ),
                say("one lot"),
                key="case",
            )
        )
    return faults


def other_than_asked(mill: Mill, order: OrderAsked, case: CaseKept) -> str:
    """Say that a case is not what the order is for; empty where it is."""
    known = {lot.lot: colour.name for colour in mill.colour for lot in colour.dye_lot}
    colours = tuple(dict.fromkeys(known.get(lot, lot) for lot in case.all_lots))
    if case.ball_name == order.ball_name and colours == (order.colour_name,):
        return ""
    return say(
        "case {package} is {what} in {colours}, order {number} is for {ball} in {colour}",
        package=case.package,
        what=case.ball_name or say("of no ball that was told"),
        colours=each_and(colours),
        number=order.number,
        ball=order.ball_name,
        colour=order.colour_name,
    )


def _minded(kept: Kept, mill: Mill, cases: tuple[CaseKept, ...]) -> tuple[str, ...]:
    minded: dict[str, None] = {}
    for one in cases:
        minded |= dict.fromkeys(not_yet(kept, one))
    most = [one.packing.cases_per_pallet for one in mill.ball if one.name == cases[0].ball_name]
    if most and len(cases) > most[0]:
        minded[over_full(len(cases), most[0])] = None
    return tuple(minded)


def too_heavy(gross_g: float, most_g: float) -> str:
    """Say that a pallet is heavier than it may be."""
    return say(
        "{gross:.0f} kg, and the pallet may weigh {most:.0f} kg",
        gross=gross_g / 1000,
        most=most_g / 1000,
    )


def over_full(cases: int, most: int) -> str:
    """Say that so many cases are more than a full pallet has."""
    return say("{cases} cases, {most} make a full pallet", cases=cases, most=most)
