"""On: from a cone or a dye lot to every ball, case, pallet and customer it may be in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from clew.languages import say
from clew.ledger.state.known import Effective
from clew.ledger.trace.answer import BallMaybe, CaseIn, ConeStint, ForwardTrace
from clew.ledger.trace.facts import (
    case_of,
    cases_between,
    closed_with,
    may_hold,
    must_hold,
    sent_on,
)
from clew.ledger.trace.identity import pulled_to
from clew.ledger.trace.in_ball import may_hold_cone, must_hold_cone
from clew.ledger.trace.named import means, naming_balls
from clew.ledger.trace.records import Kept, rest_of
from clew.ledger.trace.runs_then import run_then, trial_words, trials_of
from clew.ledger.trace.stints import KINDS
from clew.ledger.trace.tracing import DAY_US, LaneSeen, Tracing, in_words, see_lane
from clew.ledger.trace.transit import Transit, Wound
from clew.mill.lines import Line

_US = 1_000_000
_LONGEST_US = 30 * DAY_US
"""A cone that nothing ends is followed no further than that [us]."""


def forward_from_cone(tracing: Tracing, cone: str) -> ForwardTrace:
    """Follow a cone on.

    Parameters
    ----------
    tracing : Tracing
        The mill and its ledger.
    cone : str
        Its name.

    Returns
    -------
    ForwardTrace
        Every ball and case it is or may be in; without cones when no record names it.
    """
    with tracing.kept() as kept:
        named = kept.naming("cone", cone, KINDS)
        return _forward(tracing, kept, say("cone {cone}", cone=cone), named, cones={cone}, lot="")


def forward_from_lot(tracing: Tracing, lot: str) -> ForwardTrace:
    """Follow a dye lot on: every cone of it, as `forward_from_cone`.

    Parameters
    ----------
    tracing : Tracing
        The mill and its ledger.
    lot : str
        Its name.
    """
    with tracing.kept() as kept:
        # a hand writes sl-207 for SL-207; the alarms take them for one, so does the trace
        spelled = dict.fromkeys((lot, lot.upper(), lot.lower()))
        named = [one for name in spelled for one in kept.naming("lot", name, KINDS)]
        cones = {one.cone for one in named if one.cone}
        return _forward(tracing, kept, say("dye lot {lot}", lot=lot), named, cones=cones, lot=lot)


def _forward(
    tracing: Tracing,
    kept: Kept,
    asked: str,
    named: Sequence[Effective],
    *,
    cones: set[str],
    lot: str,
) -> ForwardTrace:
    spans: dict[tuple[str, int], list[int]] = {}
    for one in named:
        spans.setdefault((one.line, one.lane), []).append(one.at_us)
    stints: list[ConeStint] = []
    balls: list[BallMaybe] = []
    missing: list[str] = []
    cases: list[CaseIn] = []
    for line_name in sorted({line for line, _ in spans}):
        line = tracing.line(line_name)
        of_line: list[BallMaybe] = []
        for (name, lane), times in sorted(spans.items()):
            if name != line_name:
                continue
            transit, lacks = _way(tracing, kept, line, max(times))
            if lacks and lacks not in missing:
                missing.append(lacks)
            seen = _see(kept, line, lane, times, transit, cones, lot)
            wanted = _wanted(seen.stints, cones, lot)
            stints += wanted
            of_line += _balls(tracing, kept, line, lane, seen, wanted)
        found = _cases_of(kept, line_name, of_line, tracing.zone)
        of_line, words = _of_trials(kept, line_name, _in_cases(of_line, found))
        balls += of_line
        missing += words
        cases += found
    named_by = _naming(kept, lot, cases, tracing.zone)
    missing += _widened(stints)
    if named and not stints:
        missing.append(say("it was named, but no tie or load says when it passed a feed"))
    return ForwardTrace(
        asked, tuple(stints), tuple(balls),
        (*_sure_cases(kept, balls, cases), *sent_on(kept, named_by)),
        (*missing, *kept.troubles()),
    )  # fmt: skip


def _way(tracing: Tracing, kept: Kept, line: Line, at_us: int) -> tuple[Transit, str]:
    """The way while a cone passed: a creel is filled before its run, so the next one's counts."""
    run = run_then(kept, line.name, at_us)
    names = ["" if run is None else run.ball_name]
    for one in kept.of_kind(
        line.name, "run start", from_us=at_us + 1, upto_us=at_us + DAY_US, most=1
    ):
        names.append(str(one.body.get("ball_name", "")))
    known = [name for name in names if name]
    ways = [tracing.transit(line, name) for name in known or [""]]
    return max(ways, key=lambda one: one[0].balls)


def _of_trials(
    kept: Kept, line: str, balls: Sequence[BallMaybe]
) -> tuple[list[BallMaybe], list[str]]:
    """Mark the balls of trial runs, and say in which cases they would be by time."""
    times = [one.doffed_us for one in balls if one.doffed_us is not None]
    if not times:
        return list(balls), []
    trials = trials_of(kept, line, min(times), max(times))
    if not trials.names:
        return list(balls), []
    marked = [
        replace(one, trial=one.doffed_us is not None and trials.hold(one.doffed_us))
        for one in balls
    ]
    found = [one for one in marked if one.trial]
    if not found:
        return marked, []
    names = trials.names_of(one.doffed_us for one in found)
    cases = [case for one in found for case in one.cases]
    return marked, [trial_words(names, len(found), cases)]


def _wanted(stints: Sequence[ConeStint], cones: set[str], lot: str) -> list[ConeStint]:
    return [
        one
        for one in stints
        if (one.cone and one.cone in cones) or (lot and one.lot.casefold() == lot.casefold())
    ]


def _see(
    kept: Kept,
    line: Line,
    lane: int,
    times: Sequence[int],
    transit: Transit,
    cones: set[str],
    lot: str,
) -> LaneSeen:
    """Read the lane from the first record of a cone to where its last strand may be wound."""
    first, last = min(times), max(times)
    seen = see_lane(kept, line.name, lane, first, last, transit)
    ends = [one.upto_latest_us for one in _wanted(seen.stints, cones, lot) if one.upto_latest_us]
    open_end = any(one.upto_latest_us is None for one in _wanted(seen.stints, cones, lot))
    upto = max([last, *ends])
    if open_end:
        upto = last + _LONGEST_US
    return see_lane(kept, line.name, lane, first, upto, transit) if upto > last else seen


def _balls(
    tracing: Tracing,
    kept: Kept,
    line: Line,
    lane: int,
    seen: LaneSeen,
    stints: Sequence[ConeStint],
) -> list[BallMaybe]:
    held: list[tuple[Wound, list[ConeStint]]] = []
    for ball in seen.wound.balls:
        of_ball = [one for one in stints if may_hold_cone(ball, one, seen.wound)]
        if of_ball:
            held.append((ball, of_ball))
    if not held:
        return []
    least, most = int(line.doff_to_band_least_s * _US), int(line.doff_to_band_most_s * _US)
    first, last = held[0][0].ended_us, max(ball.ended_us for ball, _ in held)
    pulled, bands = (
        naming_balls(
            kept, line, kind, lane, first, upto_us, numbers=seen.numbers,
            seen_upto_us=seen.upto_us,
        )
        for kind, upto_us in (("pulled", last + DAY_US), ("banded", last + most))
    )  # fmt: skip
    by_number: dict[int, list[Effective]] = {}
    for one in bands:
        if one.ball is not None:
            by_number.setdefault(one.ball, []).append(one)
    by_token: dict[str, list[Effective]] = {}
    for one in bands:
        if one.token:
            by_token.setdefault(one.token, []).append(one)
    found = []
    for ball, of_ball in held:
        began = ball.ended_us if ball.record is not None else (ball.begun_us or ball.ended_us)
        window = (began + least, ball.ended_us + most)
        token = "" if ball.record is None else ball.record.token
        named = by_number.get(ball.number, ()) if ball.number is not None else ()
        band = next((one for one in named if means(one, ball, seen.wound.balls)), None)
        if band is None and token and line.ball_identity == "token":
            after = [one for one in by_token.get(token, ()) if one.at_us >= ball.ended_us]
            band = after[0] if after else None
        gone = pulled_to(ball, pulled, seen.wound.balls)
        banded = None if gone else (window if band is None else (band.at_us, band.at_us))
        rests = [rest_of(one) for one in (ball.record, band) if one is not None]
        found.append(
            BallMaybe(
                line.name, lane, tracing.winder_of(line, lane), ball.number, token,
                ball.doffed_us, any(must_hold_cone(ball, one, seen.wound) for one in of_ball),
                banded, (), gone, tuple(dict.fromkeys(one.cone for one in of_ball)),
                tuple(rests),
            )
        )  # fmt: skip
    return found


def _cases_of(kept: Kept, line: str, balls: Sequence[BallMaybe], zone: str) -> list[CaseIn]:
    """Cases of a line that may hold one of the balls; balls far apart are asked for apart."""
    spans = sorted(one.banded_us for one in balls if one.banded_us is not None)
    joined: list[tuple[int, int]] = []
    for first, last in spans:
        if joined and first <= joined[-1][1] + DAY_US:
            joined[-1] = (joined[-1][0], max(joined[-1][1], last))
        else:
            joined.append((first, last))
    found: dict[str, CaseIn] = {}
    for first, last in joined:
        for one in cases_between(kept, line, first, last, zone):
            found.setdefault(one.case, one)
    return sorted(found.values(), key=lambda one: one.closed_us)


def _naming(kept: Kept, lot: str, cases: Sequence[CaseIn], zone: str) -> list[CaseIn]:
    """Cases whose own record names the lot, and that no ball's time leads to.

    What is left of a lot may wait long until it is packed, and not every ball's cone is told: a
    recall that leaves out a case with the lot's name on it would be none.
    """
    there = {one.case for one in cases}
    spelled = dict.fromkeys((lot, lot.upper(), lot.lower())) if lot else {}
    closed = {one.package: one for name in spelled for one in closed_with(kept, name)}
    found = [case_of(one, zone) for name, one in closed.items() if name not in there]
    return [replace(one, sure=True) for one in found]


def _in_cases(balls: Sequence[BallMaybe], cases: Sequence[CaseIn]) -> list[BallMaybe]:
    return [
        one
        if one.banded_us is None
        else replace(one, cases=tuple(case.case for case in cases if may_hold(case, one.banded_us)))
        for one in balls
    ]


def _sure_cases(
    kept: Kept, balls: Sequence[BallMaybe], cases: Sequence[CaseIn]
) -> tuple[CaseIn, ...]:
    named = {case for ball in balls for case in ball.cases}
    sure = set()
    for case in cases:
        for ball in balls:
            certain = ball.sure and not ball.trial and ball.cases == (case.case,)
            if certain and ball.banded_us is not None:
                near = [one for one in cases if one.case in ball.cases]
                if must_hold(case, ball.banded_us, near):
                    sure.add(case.case)
                    break
    marked = [replace(one, sure=one.case in sure) for one in cases if one.case in named]
    return sent_on(kept, marked)


def _widened(stints: Sequence[ConeStint]) -> list[str]:
    wide = [
        say(
            "{cone} on lane {lane} ({why})",
            cone=one.cone or say("a cone without a name"),
            lane=one.lane,
            why=one.why,
        )
        for one in stints
        if one.why
    ]
    return [say("widened for {cones}", cones=in_words(wide))] if wide else []
