"""Closing and shipping, arranged as forms, sentences and a table for Case."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from clew.faults import BadInput, Fault
from clew.ledger.events.moments import local_of
from clew.ledger.shipping.masses import Masses
from clew.ledger.shipping.names import package_said
from clew.ledger.store.trouble import CannotKeep
from clew.mill.model import Mill
from clew.web.case_page import CasePage
from clew.web.figures import plural
from clew.web.ship_page import MOST_LATELY, Delivered, LotLeft, PackageHere, ShipState, ship_state
from clew.web.who import Who
from clew.web.workbench import Workbench

SHIP_KEYS = ("closed", "for", "delivery")
"""What the address of Case names beyond its own, to tell what was just kept."""


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
        return "; ".join(_words(one) for one in self.faults if one.key == name)

    def others(self, form: str, names: tuple[str, ...]) -> tuple[str, ...]:
        """Say what is wrong that belongs to none of some fields."""
        if self.form != form:
            return ()
        return (*(_words(one) for one in self.faults if one.key not in names), *self.reasons)


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
    }  # fmt: skip
    try:
        state = ship_state(bench.ledger.ledger(make=False), mill)
    except BadInput:  # no ledger yet: the page says how one comes about
        return shown
    except CannotKeep as trouble:
        return shown | {"ship_trouble": trouble.reason}
    if state.nothing:
        return shown
    first = _first(state, page)
    return shown | {
        "ship": state,
        "own": {
            "line": first.line if first else page.chosen.line.name,
            "lot": first.lot if first else page.chosen.lot_name,
            "order": first.order if first else "",
            "balls": str(first.full) if first and first.full else "",
        },
        "lots_left": tuple(_left_words(one) for one in state.lots),
        "several_lots": any(one.dye_lots == "any" for one in mill.order),
        "all_lots": _lot_choices(mill, state),
        "all_lines": tuple((one.name, one.name) for one in mill.line),
        "tick_cases": tuple(
            (one.package, _package_words(one).partition(": ")[2]) for one in state.free_cases
        ),
        "ship_packages": tuple(
            (one.package, _package_words(one) + _held_words(state, one))
            for one in (*state.pallets_here, *state.free_cases)
        ),
        "lately": _lately(state, mill),
        "done": _done(state, mill, told or {}),
    }  # fmt: skip


def _words(one: Fault) -> str:
    value = f" ({one.value})" if one.value else ""
    return f"{one.what}{value}" + (f"; expected {one.expected}" if one.expected else "")


def _orders(mill: Mill) -> tuple[tuple[str, str], ...]:
    return tuple(
        (one.number, f"{one.number}: {one.balls} {one.ball} in {one.colour}, {one.customer}")
        for one in mill.order
    )


def _first(state: ShipState, page: CasePage) -> LotLeft | None:
    """Choose what is most likely cased next: what runs on the page's line, else what is left."""
    line = page.chosen.line.name
    order = sorted(
        state.lots, key=lambda one: (one.line != line, not one.running, one.left < one.full)
    )
    return order[0] if order else None


def _left_words(one: LotLeft) -> str:
    words = f"{one.line}: {plural(max(one.left, 0), 'ball')} of {one.lot} left to case"
    full = f"; {one.full} {one.ball_name} make a full case" if one.full else ""
    return words + full + (", its run goes on" if one.running else "")


def _lot_choices(mill: Mill, state: ShipState) -> tuple[tuple[str, str], ...]:
    left: dict[str, int] = {}
    for one in state.lots:
        left[one.lot] = left.get(one.lot, 0) + max(one.left, 0)
    named = [(lot.lot, colour.name) for colour in mill.colour for lot in colour.dye_lot]
    named.sort(key=lambda one: one[0] not in left)
    return tuple(
        (lot, f"{lot} {colour}" + (f", {left[lot]} left to case" if lot in left else ""))
        for lot, colour in named
    )


def _package_words(one: PackageHere) -> str:
    balls = ", ".join(dict.fromkeys(case.ball_name for case in one.cases if case.ball_name))
    words = f"{one.balls} {balls or 'balls'} of {', '.join(one.lots) or 'no lot that was told'}"
    return f"pallet, {plural(len(one.cases), 'case')}: {words}" if one.pallet else f"case: {words}"


def _held_words(state: ShipState, one: PackageHere) -> str:
    held = state.not_released(one.cases)
    return "".join(f"; {lot} is {word}" for lot, word in held)


def _clock(at_us: int, mill: Mill) -> str:
    return f"{local_of(at_us, mill.mill.time_zone):%Y-%m-%d %H:%M}"


def _where(one: PackageHere) -> str:
    on = f"on pallet {one.on}" if one.on else ""
    if one.left is None:
        return f"here, {on}" if on else "here" if one.pallet else "here, on no pallet"
    left = f"left with {one.left.body.get('delivery') or 'a delivery'} to " + str(
        one.left.body.get("customer") or "a customer"
    )
    return f"{left}, {on}" if on else left


def _delivered_where(one: Delivered) -> str:
    words = f"to {one.customer}, order {one.order}" if one.order else f"to {one.customer}"
    return f"{words}; {one.back} of {len(one.packages)} came back" if one.back else words


def _lately(state: ShipState, mill: Mill) -> tuple[dict[str, Any], ...]:
    rows: list[tuple[int, dict[str, Any]]] = []
    for one in (*state.cases[:MOST_LATELY], *state.pallets[:MOST_LATELY]):
        what = "Pallet" if one.pallet else "Case"
        query = urlencode({"package": one.package})
        rows.append((one.closed_us, {
            "name": f"{what} {one.package}", "what": _package_words(one).partition(": ")[2],
            "when": _clock(one.closed_us, mill), "who": one.author, "where": _where(one),
            "papers": (("Label", f"/case/label.pdf?{query}"),),
        }))  # fmt: skip
    for note in state.deliveries[:MOST_LATELY]:
        rows.append((note.at_us, {
            "name": f"Delivery {note.delivery}", "what": plural(len(note.packages), "package"),
            "when": _clock(note.at_us, mill), "who": note.author, "where": _delivered_where(note),
            "papers": _papers(note.delivery),
        }))  # fmt: skip
    rows.sort(key=lambda row: -row[0])
    return tuple(row for _, row in rows[:MOST_LATELY])


def _papers(delivery: str) -> tuple[tuple[str, str], ...]:
    query = urlencode({"delivery": delivery})
    return (
        ("Delivery note", f"/case/note.pdf?{query}"),
        ("Packing list", f"/case/packing-list.pdf?{query}"),
    )


def _done(state: ShipState, mill: Mill, told: Mapping[str, str]) -> dict[str, Any] | None:
    """Tell what was just kept, from the ledger; None where it holds nothing of that name."""
    delivery = told.get("delivery", "")
    note = next((one for one in state.deliveries if delivery and one.delivery == delivery), None)
    if note is not None:
        return {
            "name": note.delivery, "head": "Delivery",
            "said": f"has left: {plural(len(note.packages), 'package')} {_delivered_where(note)}.",
            "mind": (), "papers": _papers(note.delivery),
        }  # fmt: skip
    found = state.package(package_said(told.get("closed", "")))
    if found is None:
        return None
    query = {"package": found.package} | ({"order": told["for"]} if told.get("for") else {})
    words = _package_words(found).partition(": ")[2]
    count = f"{plural(len(found.cases), 'case')}, " if found.pallet else ""
    return {
        "name": found.package, "head": "Pallet" if found.pallet else "Case",
        "said": f"is closed: {count}{words}.", "mind": _mind(state, mill, found),
        "papers": (("Its label (PDF)", f"/case/label.pdf?{urlencode(query)}"),),
    }  # fmt: skip


def _mind(state: ShipState, mill: Mill, found: PackageHere) -> tuple[str, ...]:
    minded = [
        f"{lot} is {word}: its cases may not ship yet"
        for lot, word in state.not_released(found.cases)
    ]
    balls = {one.name: one for one in mill.ball}
    ball = balls.get(found.cases[0].ball_name) if found.cases else None
    if ball is None:
        return tuple(minded)
    full = ball.packing.balls_per_bag * ball.packing.bags_per_case
    if not found.pallet and found.balls != full:
        more = "a part case" if found.balls < full else "more than a full case"
        minded.append(f"{found.balls} balls, {full} make a full case: {more}, without a GTIN")
    if found.pallet:
        if len(found.cases) > ball.packing.cases_per_pallet:
            most = ball.packing.cases_per_pallet
            minded.append(f"{len(found.cases)} cases, {most} make a full pallet")
        gross_g, most_g = Masses(mill).pallet_gross_g(found.cases), mill.pack.pallet.most_mass_g
        if gross_g is not None and gross_g > most_g:
            minded.append(
                f"{gross_g / 1000:.0f} kg, and the pallet may weigh {most_g / 1000:.0f} kg"
            )
    return tuple(minded)
