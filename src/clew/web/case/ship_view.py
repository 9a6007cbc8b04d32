"""Closing and shipping, arranged as forms, sentences and a table for Case."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from clew.faults import BadInput, Fault
from clew.languages import first_upper, joined, moment, say, say_many
from clew.ledger.events.moments import local_of
from clew.ledger.shipping.case_faults import no_full_case
from clew.ledger.shipping.masses import Masses, full_case
from clew.ledger.shipping.names import package_said
from clew.ledger.shipping.packed import not_shipped_yet
from clew.ledger.shipping.pallet import over_full, too_heavy
from clew.ledger.store.trouble import CannotKeep
from clew.mill.model import Mill
from clew.web.case.page import CasePage
from clew.web.case.ship_page import (
    MOST_LATELY,
    Delivered,
    LotLeft,
    PackageHere,
    ShipState,
    ship_state,
)
from clew.web.case.ship_said import (
    content_words,
    count_packages,
    delivered_words,
    held_words,
    left_words,
    package_words,
    where_words,
)
from clew.web.case.ship_undo import may_undo_closing
from clew.web.door.who import Who
from clew.web.workbench import Workbench

SHIP_KEYS = ("closed", "for", "delivery", "on", "undone")
"""What the address of Case names beyond its own, to tell what was just kept and lead on from it."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """A form that was not kept.

    Attributes
    ----------
    form : str
        Which: case, pallet or ship; empty for none.
    typed : mapping of str to list of str
        What was typed and ticked.
    faults : tuple of Fault
        What is wrong with it.
    reasons : tuple of str
        Why it is not kept, where nothing is wrong with what was typed.
    """

    form: str = ""
    typed: Mapping[str, list[str]] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()
    reasons: tuple[str, ...] = ()

    def value(self, form: str, name: str, own: str) -> str:
        """Give what was typed into a field of a form; its own value where nothing was sent."""
        return self.typed.get(name, [""])[-1] if self.form == form else own

    def ticked(self, form: str, name: str, value: str) -> bool:
        """Say whether a box of a form was ticked."""
        return self.form == form and value in self.typed.get(name, ())

    def fault(self, form: str, name: str) -> str:
        """Say what is wrong with a field; empty where nothing is."""
        if self.form != form:
            return ""
        return joined("; ", [_words(one) for one in self.faults if one.key == name])

    def others(self, form: str, names: tuple[str, ...]) -> tuple[str, ...]:
        """Say what is wrong that belongs to none of some fields."""
        if self.form != form:
            return ()
        mine = (_words(one) for one in self.faults if one.key not in names)
        return tuple(say("{what}.", what=first_upper(one)) for one in (*mine, *self.reasons))


def ship_shown(
    bench: Workbench, mill: Mill, page: CasePage, asked: Mapping[str, str], who: Who, *,
    told: Mapping[str, str] | None = None, refusal: Refusal | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Arrange everything of closing and shipping.

    Parameters
    ----------
    bench : Workbench
        The ledger; looking at the page makes none.
    mill : Mill
        The mill.
    page : CasePage
        The page around it.
    asked : mapping of str to str
        What that page was asked, for the way back to it.
    who : Who
        Who looks.
    told : mapping of str to str, optional
        What was just kept, as the address says it.
    refusal : Refusal, optional
        A form that was not kept.

    Returns
    -------
    dict
        What the template asks for.
    """
    shown: dict[str, Any] = {
        "ship": None, "ship_trouble": "", "refusal": refusal or Refusal(), "who": who,
        "ship_page": urlencode(dict(asked)), "ship_orders": _orders(mill), "done": None,
        "form_keys": {one: secrets.token_hex(12) for one in ("case", "pallet", "ship")},
        "ticks_on": {"pallet": (), "ship": ()}, "order_on": "", "undone": "",
    }  # fmt: skip
    try:
        state = ship_state(bench.ledger.ledger(make=False), mill)
    except BadInput:  # no ledger yet: the page says how one comes about
        return shown
    except CannotKeep as trouble:
        return shown | {"ship_trouble": trouble.reason}
    if state.nothing:
        return shown
    first = _first(state, page, asked)
    told = told or {}
    shown |= {"ticks_on": _ticked_on(state, told), "order_on": told.get("for", "")}
    undone = state_name(told.get("undone", ""))
    return shown | {
        "undone": undone,
        "ship": state,
        "own": {
            "line": first.line if first else page.chosen.line.name,
            "lot": first.lot if first else page.chosen.lot_name,
            "order": first.order if first else "",
            "balls": _offered(first),
        },
        "lots_left": tuple(left_words(one) for one in state.lots),
        "several_lots": any(one.dye_lots == "any" for one in mill.order),
        "all_lots": _lot_choices(mill, state),
        "all_lines": tuple((one.name, one.name) for one in mill.line),
        "tick_cases": tuple(
            (one.package, content_words(one)) for one in state.free_cases
        ),
        "ship_packages": tuple(
            (one.package, joined("; ", (package_words(one), *held_words(state, one))))
            for one in (*state.pallets_here, *state.free_cases)
        ),
        "lately": _lately(state, mill),
        "done": None if undone else _done(bench, state, mill, told, who, shown["ship_page"]),
    }  # fmt: skip


def state_name(text: str) -> str:
    """Read the name of a package out of an address; empty for what is none."""
    return package_said(text)[:80] if text.isprintable() else ""


def _ticked_on(state: ShipState, told: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """Tick what the link on from a closed package means: it, and on a pallet what goes with it."""
    found = state.package(package_said(told.get("closed", "")))
    on = told.get("on", "")
    if found is None or on not in ("pallet", "ship"):
        return {"pallet": (), "ship": ()}
    if on == "ship":
        return {"pallet": (), "ship": (found.package,)}
    alike = tuple(
        one.package
        for one in state.free_cases
        if (one.lots, one.cases[0].ball_name, one.cases[0].order)
        == (found.lots, found.cases[0].ball_name, found.cases[0].order)
    )
    return {"pallet": alike, "ship": ()}


def _words(one: Fault) -> str:
    what = one.what
    if one.value:
        what = say("{what} ({value})", what=what, value=one.value)
    if one.expected:
        return say("{what}; expected {expected}", what=what, expected=one.expected)
    return what


def _orders(mill: Mill) -> tuple[tuple[str, str], ...]:
    return tuple(
        (
            one.number,
            say(
                "{number}: {balls} {ball} in {colour}, {customer}",
                number=one.number,
                balls=one.balls,
                ball=one.ball,
                colour=one.colour,
                customer=one.customer,
            ),
        )
        for one in mill.order
    )


def _offered(first: LotLeft | None) -> str:
    """Balls to begin with in a case: a full one, or what is left of a run that gives no more."""
    if first is None or not first.full:
        return ""
    whole = first.running or first.left <= 0
    return str(first.full if whole else min(first.full, first.left))


def _first(state: ShipState, page: CasePage, asked: Mapping[str, str]) -> LotLeft | None:
    """Choose what is most likely cased next: the lot that was asked for, else what runs there."""
    line, lot = page.chosen.line.name, asked.get("lot", "").strip()
    order = sorted(
        state.lots,
        key=lambda one: (one.lot != lot, one.line != line, not one.running, one.left < one.full),
    )
    return order[0] if order else None


def _lot_choices(mill: Mill, state: ShipState) -> tuple[tuple[str, str], ...]:
    left: dict[str, int] = {}
    for one in state.lots:
        left[one.lot] = left.get(one.lot, 0) + max(one.left, 0)
    named = [(lot.lot, colour.name) for colour in mill.colour for lot in colour.dye_lot]
    named.sort(key=lambda one: one[0] not in left)
    return tuple(
        (
            lot,
            say("{lot} {colour}, {left} left to case", lot=lot, colour=colour, left=left[lot])
            if lot in left
            else f"{lot} {colour}",
        )
        for lot, colour in named
    )


def _clock(at_us: int, mill: Mill) -> str:
    return moment(local_of(at_us, mill.mill.time_zone))


def _lately(state: ShipState, mill: Mill) -> tuple[dict[str, Any], ...]:
    rows: list[tuple[int, dict[str, Any]]] = []
    for one in (*state.cases[:MOST_LATELY], *state.pallets[:MOST_LATELY]):
        query = urlencode({"package": one.package})
        rows.append((one.closed_us, {
            "name": say("Pallet {package}", package=one.package) if one.pallet
            else say("Case {package}", package=one.package),
            "what": content_words(one),
            "when": _clock(one.closed_us, mill), "who": one.author, "where": where_words(one),
            "papers": (
                (say("Label"), f"/case/label.pdf?{query}"),
                (say("Trace"), f"/trace?{_traced(one)}"),
            ),
        }))  # fmt: skip
    for note in state.deliveries[:MOST_LATELY]:
        rows.append((note.at_us, {
            "name": say("Delivery {delivery}", delivery=note.delivery),
            "what": count_packages(len(note.packages)),
            "when": _clock(note.at_us, mill), "who": note.author, "where": delivered_words(note),
            "papers": _papers(note.delivery),
        }))  # fmt: skip
    rows.sort(key=lambda row: -row[0])
    return tuple(row for _, row in rows[:MOST_LATELY])


def _papers(delivery: str) -> tuple[tuple[str, str], ...]:
    query = urlencode({"delivery": delivery})
    return (
        (say("Delivery note"), f"/case/note.pdf?{query}"),
        (say("Packing list"), f"/case/packing-list.pdf?{query}"),
    )


def _traced(one: PackageHere) -> str:
    return urlencode({"what": "pallet" if one.pallet else "case", "name": one.package})


def _done(
    bench: Workbench, state: ShipState, mill: Mill, told: Mapping[str, str], who: Who, page: str
) -> dict[str, Any] | None:
    """Tell what was just kept, from the ledger; None where it holds nothing of that name."""
    delivery = told.get("delivery", "")
    note = next((one for one in state.deliveries if delivery and one.delivery == delivery), None)
    if note is not None:
        return {
            "name": note.delivery, "head": say("Delivery"),
            "said": say(
                "has left: {packages} {where}.", packages=count_packages(len(note.packages)),
                where=delivered_words(note),
            ),
            "mind": (), "papers": _papers(note.delivery), "undo": "",
            "onward": _from_delivery(state, note),
        }  # fmt: skip
    found = state.package(package_said(told.get("closed", "")))
    if found is None:
        return None
    query = {"package": found.package} | ({"order": told["for"]} if told.get("for") else {})
    what = content_words(found)
    said = say("is closed: {what}.", what=what)
    if found.pallet:
        said = say_many(
            "is closed: {n} case, {what}.", "is closed: {n} cases, {what}.", len(found.cases),
            what=what,
        )  # fmt: skip
    return {
        "name": found.package, "head": say("Pallet") if found.pallet else say("Case"),
        "said": said, "mind": _mind(state, mill, found),
        "papers": ((say("Its label (PDF)"), f"/case/label.pdf?{urlencode(query)}"),),
        "onward": _from_closed(state, found, told, page),
        "undo": found.package
        if may_undo_closing(bench.ledger.ledger(make=False), found, who) else "",
    }  # fmt: skip


def _from_closed(
    state: ShipState, found: PackageHere, told: Mapping[str, str], page: str
) -> tuple[tuple[str, str], ...]:
    """Lead on from a closed package: a case to its pallet or the next case, a pallet out."""
    if found.left is not None:
        return ((say("Trace it"), f"/trace?{_traced(found)}"),)
    ways = []
    order = told.get("for") or (found.cases[0].order if found.cases else "")
    own = {"closed": found.package} | ({"for": order} if order else {})
    around = f"{page}&" if page else ""
    for lot, _ in state.not_released(found.cases):
        named = {"ball": found.cases[0].ball_name, "lot": lot}
        ways.append((say("Test the lot {lot}", lot=lot), f"/lots?{urlencode(named)}"))
    if not found.pallet and not found.on:
        query = urlencode({**own, "on": "pallet"})
        ways.append((say("Put it on a pallet"), f"/case?{around}{query}#close-pallet"))
    if not found.on:
        query = urlencode({**own, "on": "ship"})
        ways.append((say("Ship it"), f"/case?{around}{query}#ship-out"))
    return tuple(ways)


def _from_delivery(state: ShipState, note: Delivered) -> tuple[tuple[str, str], ...]:
    found = next((one for one in map(state.package, note.packages) if one is not None), None)
    if found is None:
        return ()
    return ((say("Trace {package}", package=found.package), f"/trace?{_traced(found)}"),)


def _mind(state: ShipState, mill: Mill, found: PackageHere) -> tuple[str, ...]:
    minded = [not_shipped_yet(lot, decided) for lot, decided in state.not_released(found.cases)]
    balls = {one.name: one for one in mill.ball}
    ball = balls.get(found.cases[0].ball_name) if found.cases else None
    if ball is None:
        return tuple(minded)
    full = full_case(ball)
    if not found.pallet and found.balls != full:
        minded.append(no_full_case(found.balls, full))
    if found.pallet:
        if len(found.cases) > ball.packing.cases_per_pallet:
            most = ball.packing.cases_per_pallet
            minded.append(over_full(len(found.cases), most))
        gross_g, most_g = Masses(mill).pallet_gross_g(found.cases), mill.pack.pallet.most_mass_g
        if gross_g is not None and gross_g > most_g:
            minded.append(too_heavy(gross_g, most_g))
    return tuple(minded)
