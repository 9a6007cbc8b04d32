"""What else is known around a ball: run, checks, decisions on its lot, case and customer."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import replace

from clew.faults import BadInput
from clew.languages import figure, joined, say
from clew.ledger.events.message import MILL_LINE
from clew.ledger.events.moments import read_moment
from clew.ledger.ingest.by_hand import LOOKS, said_again
from clew.ledger.state.known import Effective
from clew.ledger.trace.answer import CaseIn, CheckSeen, Decision
from clew.ledger.trace.records import Kept, rest_of
from clew.ledger.trace.tracing import DAY_US

CASE_OPEN_US = 2 * DAY_US
"""A case is closed at the latest so long after its last ball was banded [us]: assumed."""
CHECK_US = 4 * 3_600_000_000
"""Looks over the line so long before a ball belong to it [us]: assumed."""
PALLET_REACH_US = (2 * DAY_US, 30 * DAY_US, 400 * DAY_US)
"""How long after a case its pallet is looked for, step by step [us]."""


def checks_near(
    kept: Kept, line: str, lane: int, from_us: int, upto_us: int
) -> tuple[CheckSeen, ...]:
    """Find the balls weighed and reeled of a lane, and looks over the line, around a time."""
    found = []
    for kind in ("weighing", "length check"):
        for one in kept.of_kind(line, kind, lane=lane, from_us=from_us, upto_us=upto_us):
            value = one.body.get("mass_g") if kind == "weighing" else one.body.get("length_m")
            unit = "g" if kind == "weighing" else "m"
            words = say("no reading")
            if isinstance(value, (int, float)):
                words = figure(f"{value:g} {unit}")
                if one.ball is not None:
                    words = say("{reading}, ball {ball}", reading=words, ball=one.ball)
            found.append(CheckSeen(kind, words, one.at_us, one.lane, (rest_of(one),)))
    for one in kept.of_kind(line, "check", from_us=from_us - CHECK_US, upto_us=upto_us):
        done, not_done = one.body.get("done", ()), one.body.get("not_done", ())
        words = say(
            "{look}: {right} in order, {wrong} not",
            look=LOOKS.get(str(one.body.get("what")), say("look")),
            right=len(done), wrong=len(not_done),
        )  # fmt: skip
        if not_done:
            words = say(
                "{found} ({points})", found=words, points=joined(", ", map(said_again, not_done))
            )
        found.append(CheckSeen("check", words, one.at_us, 0, (rest_of(one),)))
    return tuple(sorted(found, key=lambda one: one.at_us))


def decisions_on(kept: Kept, *lots: str) -> tuple[Decision, ...]:
    """Find what was decided on dye lots, the latest last."""
    found = [
        Decision(
            lot, str(one.body.get("decision", "")), one.at_us, one.author,
            str(one.body.get("certificate", "")), str(one.body.get("why", "")), (rest_of(one),),
        )
        for lot in lots
        if lot
        for one in kept.naming("lot", lot, ("lot decision",))
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: one.at_us))


def cases_between(kept: Kept, line: str, from_us: int, upto_us: int, zone: str) -> list[CaseIn]:
    """Find cases of a line that may hold balls banded in a span of time; not where they went."""
    closed = kept.of_kind(line, "case closed", from_us=from_us, upto_us=upto_us + CASE_OPEN_US)
    cases = [case_of(one, zone) for one in closed]
    return [one for one in cases if may_hold(one, (from_us, upto_us))]


def others_in(closed: Effective) -> tuple[str, ...]:
    """Name all dye lots of a case that was closed where there are several; else none."""
    lots = dict.fromkeys((closed.lot, *(str(one) for one in closed.body.get("lots") or ())))
    found = tuple(one for one in lots if one)
    return found if len(found) > 1 else ()


def closed_with(kept: Kept, lot: str) -> list[Effective]:
    """Find the closings of all cases that hold a dye lot, in order of time.

    A case of several names only its first where an index finds it, so the others are looked for
    among the cases of each line.
    """
    first = kept.naming("lot", lot, ("case closed",))
    holding = json.dumps(lot, ensure_ascii=False)
    others = [
        one
        for line in kept.lines()
        for one in kept.of_kind(line, "case closed", holding=holding)
        if one.lot != lot and lot in others_in(one)
    ]
    return sorted([*first, *others], key=lambda one: (one.at_us, one.line, one.seq))


def case_of(closed: Effective, zone: str) -> CaseIn:
    """Read a case off the record of its closing."""
    balls = closed.body.get("balls", 0)
    return CaseIn(
        closed.package, closed.lot, closed.line, int(balls), closed.at_us,
        _moment(closed.body.get("from"), zone), _moment(closed.body.get("upto"), zone),
        False, "", "", "", None, (rest_of(closed),), others_in(closed),
    )  # fmt: skip


def _moment(said: object, zone: str) -> int | None:
    try:
        return None if said is None else read_moment(said, zone).at_us
    except BadInput:
        return None


def may_hold(case: CaseIn, banded_us: tuple[int, int]) -> bool:
    """Say whether a ball banded in a span of time may be in a case, by its own times."""
    upto = case.closed_us if case.upto_us is None else case.upto_us
    begun = upto - CASE_OPEN_US if case.from_us is None else case.from_us
    return banded_us[0] <= _minute_on(upto) and banded_us[1] >= begun


def must_hold(case: CaseIn, banded_us: tuple[int, int], others: Iterable[CaseIn]) -> bool:
    """Say whether it is in that case and can be in none of the others."""
    if case.from_us is None or case.upto_us is None:
        return False
    within = case.from_us <= banded_us[0] and banded_us[1] <= _minute_on(case.upto_us)
    return within and not any(one.case != case.case and may_hold(one, banded_us) for one in others)


def _minute_on(at_us: int) -> int:
    """A time told to the minute means all of that minute."""
    return at_us + 59_999_999 if at_us % 60_000_000 == 0 else at_us


def sent_on(kept: Kept, cases: Sequence[CaseIn]) -> tuple[CaseIn, ...]:
    """Find each case's pallet, customer and delivery."""
    pallets: dict[str, tuple[str, Effective]] = {}
    if len(cases) > 20:
        first = min(one.closed_us for one in cases)
        last = max(one.closed_us for one in cases)
        names = {one.case for one in cases}
        for one in kept.of_kind(
            MILL_LINE, "pallet closed", from_us=first, upto_us=last + PALLET_REACH_US[1]
        ):
            for name in one.body.get("cases", ()):
                if name in names:
                    pallets[str(name)] = (one.package, one)  # stacked anew: the last counts
    shipments: dict[str, Effective | None] = {}

    def shipment_of(package: str) -> Effective | None:
        if package not in shipments:
            found = kept.naming("package", package, ("shipped",))
            shipments[package] = found[-1] if found else None
        return shipments[package]

    found = []
    for case in cases:
        pallet, pallet_event = pallets.get(case.case, ("", None))
        if pallet_event is None and len(cases) <= 20:
            pallet_event = _pallet_of(kept, case)
            pallet = "" if pallet_event is None else pallet_event.package
        shipped = shipment_of(case.case)
        if shipped is None and pallet:
            shipped = shipment_of(pallet)
        rests = [*case.rests]
        rests += [rest_of(one) for one in (pallet_event, shipped) if one is not None]
        body = {} if shipped is None else shipped.body
        found.append(
            replace(
                case, pallet=pallet, customer=str(body.get("customer", "")),
                delivery=str(body.get("delivery", "")),
                shipped_us=None if shipped is None else shipped.at_us, rests=tuple(rests),
            )
        )  # fmt: skip
    return tuple(found)


def _pallet_of(kept: Kept, case: CaseIn) -> Effective | None:
    """Look for the pallet, at first soon after the case was closed."""
    since = case.closed_us
    for reach in PALLET_REACH_US:
        upto = case.closed_us + reach
        found = kept.of_kind(
            MILL_LINE, "pallet closed", from_us=since, upto_us=upto, latest_first=True,
            holding=json.dumps(case.case, ensure_ascii=False),
        )  # fmt: skip
        for one in found:  # stacked anew: the last counts
            if case.case in one.body.get("cases", ()):
                return one
        since = upto + 1
    return None


def cases_banded(
    kept: Kept, line: str, banded: tuple[tuple[int, int], ...], zone: str, lot: str
) -> tuple[CaseIn, ...]:
    """Find the cases that balls banded then may be in, and where those cases were sent."""
    found: list[CaseIn] = []
    for span in banded:
        for one in cases_between(kept, line, *span, zone):
            lots = {name.casefold() for name in one.all_lots}
            same_lot = not lot or not one.lot or lot.casefold() in lots
            if same_lot and one.case not in [other.case for other in found]:
                found.append(one)
    sure = len(banded) == 1
    marked = [replace(one, sure=sure and must_hold(one, banded[0], found)) for one in found]
    return sent_on(kept, marked)
