"""What the forms of "Close and ship" keep: worked out and recorded in turn, each form once."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from sqlalchemy import select

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.ledger.events.kinds import LONGEST_NAME
from clew.ledger.events.message import MILL_LINE, Message, Record
from clew.ledger.events.reading import is_plain
from clew.ledger.people.names import read_name
from clew.ledger.shipping.case import CaseClosing, CaseQuestion, close_case
from clew.ledger.shipping.names import package_said
from clew.ledger.shipping.note import Shipping, ShipQuestion, ship
from clew.ledger.shipping.pallet import PalletClosing, PalletQuestion, close_pallet
from clew.ledger.shipping.turn import keep_in_turn
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import run
from clew.ledger.store.schema import EVENT
from clew.mill.model import Mill
from clew.plan.orders.asked import OrderAsked
from clew.web.asked.whole import whole_typed
from clew.web.case.ship_papers import order_named
from clew.web.door.who import Who

Made = TypeVar("Made", CaseClosing, PalletClosing)
MOST_BALLS = 10_000
"""Balls in a case, as the ledger takes them."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a form was sent with.

    Attributes
    ----------
    typed : mapping of str to list of str
        All that was typed and ticked, by name.
    key : str
        The form's own key.
    who : Who
        Who asks.
    """

    typed: Mapping[str, list[str]]
    key: str
    who: Who

    @property
    def source(self) -> str:
        """Who sends it."""
        return self.who.source or "tablet"

    def said(self, name: str) -> str:
        """What was typed into a field, without blanks around it."""
        return self.typed.get(name, [""])[-1].strip()

    def ticked(self, name: str) -> tuple[str, ...]:
        """What was ticked, each once; what no page of ours offers is left out."""
        said = dict.fromkeys(self.typed.get(name, []))
        return tuple(one for one in said if is_plain(one) and len(one) <= LONGEST_NAME)


class Refused(Exception):  # noqa: N818 - the answer is no, which is no error
    """Packages may not leave, with every reason."""

    def __init__(self, reasons: tuple[str, ...]) -> None:
        super().__init__("; ".join(reasons))
        self.reasons = reasons


def close_a_case(ledger: Ledger, mill: Mill, asked: Asked) -> dict[str, str]:
    """Close a case as a form asks it.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill.
    asked : Asked
        The form.

    Returns
    -------
    dict of str to str
        What the page is asked next, to tell of it.

    Raises
    ------
    BadInput
        With everything that is wrong with it; nothing is kept then.
    CannotKeep
        When the ledger cannot write.
    """
    faults: list[Fault] = []
    line = asked.said("line")
    if line not in [one.name for one in mill.line]:
        faults.append(_none_of("line", line, [one.name for one in mill.line]))
    elif not asked.who.may_write_to(line):
        faults.append(
            Fault(say("not for this sender"), say("only {line}", line=asked.who.line), key="line")
        )
    known = [lot.lot for one in mill.colour for lot in one.dye_lot]
    lots = tuple(dict.fromkeys(one for one in map(asked.said, ("lot", "with")) if one))
    for key in ("lot", "with"):
        if asked.said(key) not in (*known, *([""] if key == "with" else [])):
            faults.append(_none_of(key, asked.said(key), known))
    balls, fault = whole_typed("balls", asked.said("balls"), MOST_BALLS, 1)
    if fault is not None:
        faults.append(fault)
    order = _order(mill, asked, faults)
    author = _author(asked, faults)
    if faults:
        raise BadInput(faults)

    def work() -> CaseClosing | Record:
        before = _kept_before(ledger, line, asked.source, asked.key)
        if before is not None:
            body = before.fields()
            same = (body.get("balls"), {before.lot, *body.get("lots", ())}) == (balls, set(lots))
            if same and before.kind == "case closed":
                return before
            raise _used(before)
        question = CaseQuestion(
            lots, balls, ledger.clock(), author, asked.source, asked.key, line,
            order=order, anyway=asked.said("anyway"),
        )  # fmt: skip
        return close_case(ledger, mill, question)

    package = _in_turn(ledger, work, lambda made: [made.message]).package
    return _told(package, order)


def close_a_pallet(ledger: Ledger, mill: Mill, asked: Asked) -> dict[str, str]:
    """Close a pallet as a form asks it; parameters and faults as for `close_a_case`."""
    faults: list[Fault] = []
    cases = asked.ticked("case")
    if not cases:
        faults.append(
            Fault(say("no case is ticked"), say("the cases that stand on it"), key="case")
        )
    if not asked.who.may_write_to(MILL_LINE):
        faults.append(
            Fault(say("not for this sender"), say("only {line}", line=asked.who.line), key="case")
        )
    order = _order(mill, asked, faults)
    author = _author(asked, faults)
    if faults:
        raise BadInput(faults)

    def work() -> PalletClosing | Record:
        before = _kept_before(ledger, MILL_LINE, asked.source, asked.key)
        if before is not None:
            said = {package_said(one) for one in cases}
            if before.kind == "pallet closed" and set(before.fields().get("cases", ())) == said:
                return before
            raise _used(before)
        question = PalletQuestion(cases, ledger.clock(), author, asked.source, asked.key, order)
        return close_pallet(ledger, mill, question)

    package = _in_turn(ledger, work, lambda made: [made.message]).package
    return _told(package, order)


def ship_it(ledger: Ledger, mill: Mill, asked: Asked) -> dict[str, str]:
    """Ship as a form asks it; parameters and faults as for `close_a_case`.

    Raises
    ------
    Refused
        When the packages may not leave: with every reason, and nothing is kept.
    """
    faults: list[Fault] = []
    packages = asked.ticked("package")
    if not packages:
        faults.append(
            Fault(say("nothing is ticked"), say("the pallets and cases that leave"), key="package")
        )
    order = _order(mill, asked, faults)
    if order is None and not asked.said("order"):
        faults.append(Fault(say("no order is chosen"), say("the order it is for"), key="order"))
    author = _author(asked, faults)
    if faults or order is None:
        raise BadInput(faults)
    question_of = _ship_question(ledger, order, packages, asked, author)

    def work() -> Shipping | Record:
        shipping = ship(ledger, mill, question_of())
        for one in shipping.messages:
            before = _kept_before(ledger, MILL_LINE, asked.source, one.key)
            if before is not None:  # it left by this form and came back since
                raise _used(before)
        return shipping

    try:
        made, _ = keep_in_turn(ledger, work, _messages_of_shipping)
    except BadInput as bad:
        raise _worded(bad) from None
    except ValueError:  # the same form, at the same moment: the other one has kept it
        made = ship(ledger, mill, question_of())
    assert isinstance(made, Shipping)
    if made.consignment is None:
        raise Refused(made.reasons)
    return {"delivery": made.consignment.delivery}


def _ship_question(
    ledger: Ledger, order: OrderAsked, packages: tuple[str, ...], asked: Asked, author: str
) -> Callable[[], ShipQuestion]:
    return lambda: ShipQuestion(order, packages, ledger.clock(), author, asked.source, asked.key)


def _messages_of_shipping(made: Shipping | Record) -> Sequence[Message]:
    return made.messages if isinstance(made, Shipping) else ()


def _in_turn(
    ledger: Ledger, work: Callable[[], Made | Record], messages_of: Callable[[Made], list[Message]]
) -> Message | Record:
    """Keep what is worked out, or find what the very same form has kept before."""

    def wanted(made: Made | Record) -> list[Message]:
        return [] if isinstance(made, Record) else messages_of(made)

    try:
        try:
            made, _ = keep_in_turn(ledger, work, wanted)
        except ValueError:  # the same form, at the same moment: the other one has kept it
            made, _ = keep_in_turn(ledger, work, wanted)
    except BadInput as bad:
        raise _worded(bad) from None
    return made if isinstance(made, Record) else messages_of(made)[0]


def _kept_before(ledger: Ledger, line: str, source: str, key: str) -> Record | None:
    """Find the record that has a key already; None where none has."""
    query = select(EVENT).where(
        EVENT.c.line == line, EVENT.c.source == source, EVENT.c.key == key
    )  # fmt: skip
    return next(run(ledger, query), None)


def _used(before: Record) -> BadInput:
    """Say that a form was sent before, with something else in it."""
    told = {"package": before.package}
    what = say("this form was sent before, for package {package}; nothing more is recorded", **told)
    if before.kind == "case closed":
        what = say(
            "this form was sent before, for case {package}; nothing more is recorded", **told
        )
    elif before.kind == "pallet closed":
        what = say(
            "this form was sent before, for pallet {package}; nothing more is recorded", **told
        )
    expected = say("look below whether it is there; if this is another one, send it again")
    return BadInput(Fault(what, expected, key="form"))


def _none_of(key: str, said: str, names: Sequence[str]) -> Fault:
    among = joined(", ", names[:8]) or say("none is in the mill file")
    return Fault(
        say("no such line") if key == "line" else say("no such lot"),
        say("one of {names}", names=among),
        key=key,
        value=repr(said)[:80],
    )


def _order(mill: Mill, asked: Asked, faults: list[Fault]) -> OrderAsked | None:
    try:
        return order_named(mill, asked.said("order"))
    except BadInput as bad:
        faults += bad.faults
        return None


def _author(asked: Asked, faults: list[Fault]) -> str:
    """Say who closes or ships: who signed in; at the tablet the name in the form."""
    said = asked.said("by") if asked.who.how == "tablet" else asked.who.name
    if not said:
        faults.append(Fault(say("nobody is named"), say("who does it"), key="by"))
        return ""
    try:
        return read_name(said, "by")
    except BadInput as bad:
        faults += bad.faults
        return ""


def _told(package: str, order: OrderAsked | None) -> dict[str, str]:
    return {"closed": package} | ({} if order is None else {"for": order.number})


_ANYWAY = re.compile("at most ([0-9]+), or --anyway and why")
_FIELDS = {"pallet": "package", "ball": "lot"}


def _worded(bad: BadInput) -> BadInput:
    """Name the fields of the page in faults of the room, and none of the command's options."""
    return BadInput(
        replace(one, expected=_of_page(one.expected), key=_FIELDS.get(one.key, one.key))
        for one in bad.faults
    )


def _of_page(expected: str) -> str:
    most = _ANYWAY.fullmatch(expected)
    if most:
        return say("at most {most}, or say below why there are more", most=int(most[1]))
    return {
        "a case on no pallet, or --anew": say("a case on no pallet"),
        "one lot, or --order": say("one lot, or the order they are for"),
    }.get(expected, expected)
