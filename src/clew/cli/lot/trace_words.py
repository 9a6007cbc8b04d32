"""Traces in words, as `clew lot trace` says them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from clew.ledger.events.field_words import setting_words
from clew.ledger.events.moments import show_local
from clew.ledger.trace.answer import BackTrace, BallFound, CaseIn, ConeIn, ConeStint, ForwardTrace
from clew.ledger.trace.pallets import PalletTrace

_TRIAL = ", of a trial run: not for sale"
MOST = 12
"""Lines of one list that are shown."""


def back_words(trace: BackTrace, zone: str) -> Iterator[str]:
    """Say a trace back, the answer first."""
    yield _answer(trace)
    yield f"  {_first_up(trace.why)}."
    yield from _balls(trace, zone)
    yield "Its cones:" if trace.size == 1 else "Cones of all these balls:"
    yield from _some([_cone(one, zone) for one in trace.cones]) if trace.cones else ["  none told"]
    if trace.run is not None:
        run = trace.run
        ended = "goes on" if run.ended_us is None else f"to {_at(run.ended_us, zone)}"
        trial = ", a trial: not for sale" if run.trial else ""
        yield (
            f"Run {run.run} of {run.lot}, {run.ball_name}, from {_at(run.started_us, zone)} "
            f"{ended}{trial}."
        )
        if run.settings:
            yield "  " + "; ".join(": ".join(setting_words(*one)) for one in run.settings)
    if trace.checks:
        yield "Checks then:"
        yield from _some(
            [
                f"{_at(one.at_us, zone)}  {one.kind}: {one.words}  [{one.rests[0].name}]"
                for one in trace.checks
            ]
        )
    for decision in trace.decisions:
        by = f" by {decision.author}" if decision.author else ""
        yield (
            f"Lot {decision.lot}: {decision.decision}, {_at(decision.at_us, zone)}{by}  "
            f"[{decision.rests[0].name}]"
        )
    yield from _cases(trace.cases)
    yield from _missing(trace.missing)


def _answer(trace: BackTrace) -> str:
    what = _first_up(trace.asked)
    if not trace.balls:
        return f"{what}: no ball is found."
    if trace.size == 1:
        ball = trace.balls[0]
        mass = f", {ball.mass_g:g} g" if ball.mass_g is not None else ", its mass is not told"
        return f"{what}: it is {ball.name}{mass}."
    return f"{what}: one of {trace.size} balls."


def _balls(trace: BackTrace, zone: str) -> Iterator[str]:
    lines = []
    for ball in trace.balls:
        doffed = (
            "doff not told" if ball.doffed_us is None else f"doffed {_at(ball.doffed_us, zone)}"
        )
        mass = f", {ball.mass_g:g} g" if ball.mass_g is not None else ""
        joins = _joins(ball)
        pulled = f", pulled to {ball.pulled_to}" if ball.pulled_to else ""
        trial = _TRIAL if ball.trial else ""
        lines.append(f"{ball.name}: {doffed}{mass}{joins}{pulled}{trial}{_rests(ball.rests)}")
    yield from _some(lines)


def _joins(ball: BallFound) -> str:
    sure, maybe = sum(one.sure for one in ball.joins), sum(not one.sure for one in ball.joins)
    said = [f"{_joins_words(sure)} in it"] if sure else []
    said += [f"{_joins_words(maybe)} may be in it"] if maybe else []
    return f", {', '.join(said)}" if said else ", no join told"


def _joins_words(count: int) -> str:
    return "1 join" if count == 1 else f"{count} joins"


def _cone(one: ConeIn, zone: str) -> str:
    name = one.cone or "a cone without a name"
    lot = f", dye lot {one.lot}" if one.lot else ", dye lot not told"
    spinner = f", spun by {one.spinner}" if one.spinner else ""
    sure = "sure" if one.sure else "possible"
    return (
        f"{name}: {sure}{lot}{spinner}; at the feed {_at(one.from_us, zone)} to "
        f"{_at(one.upto_us, zone)}; {one.why}{_rests(one.rests)}"
    )


def forward_words(trace: ForwardTrace, zone: str) -> Iterator[str]:
    """Say a trace on, the answer first."""
    if not trace.cones:
        yield f"{_first_up(trace.asked)}: no record says that it passed a feed."
        yield from _missing(trace.missing)
        return
    cases = "1 case" if len(trace.cases) == 1 else f"{len(trace.cases)} cases"
    sure = "1 ball" if trace.sure == 1 else f"{trace.sure} balls"
    yield (
        f"{_first_up(trace.asked)}: in {sure} for sure, in {trace.possible} more possibly; {cases}."
    )
    yield "At the feed:"
    yield from _some([_stint(one, zone) for one in trace.cones])
    yield "Balls:"
    lines = []
    for ball in trace.balls:
        doffed = (
            "doff not told" if ball.doffed_us is None else f"doffed {_at(ball.doffed_us, zone)}"
        )
        where = f", pulled to {ball.pulled_to}" if ball.pulled_to else ""
        where = f", case {' or '.join(ball.cases)}" if ball.cases else where or ", in no case"
        how = "sure" if ball.sure else "possible"
        trial = _TRIAL if ball.trial else ""
        lines.append(f"{ball.name}: {how}, {doffed}{where}{trial}{_rests(ball.rests)}")
    yield from _some(lines)
    yield from _cases(trace.cases)
    yield from _missing(trace.missing)


def pallet_words(trace: PalletTrace, zone: str) -> Iterator[str]:
    """Say what is on a pallet, case by case."""
    balls = sum(one.balls for one in trace.cases)
    many = "1 case" if len(trace.cases) == 1 else f"{len(trace.cases)} cases"
    yield (
        f"{_first_up(trace.asked)}: {many}, {balls} balls, closed {_at(trace.closed_us, zone)}."
        f"{_rests(trace.rests)}"
    )
    yield from _cases(trace.cases)
    yield "What may be in them:"
    lines = []
    for one in trace.traces:
        cones = [cone.cone or "a cone without a name" for cone in one.cones]
        shown = ", ".join(cones[:6]) + (f" and {len(cones) - 6} more" if len(cones) > 6 else "")
        lots = ", ".join(sorted({cone.lot for cone in one.cones if cone.lot})) or "not told"
        lines.append(f"{_first_up(one.asked)}: {one.why}; cones {shown or 'not told'}; lot {lots}")
    yield from _some(lines)
    yield from _missing(trace.missing)


def _stint(one: ConeStint, zone: str) -> str:
    began, ended = _at(one.from_earliest_us, zone), _at(one.upto_latest_us, zone)
    lot = f", dye lot {one.lot}" if one.lot else ""
    why = f"; {one.why}" if one.why else ""
    name = one.cone or "a cone without a name"
    return f"{name}: {one.line} lane {one.lane}, {began} to {ended}{lot}{why}{_rests(one.rests)}"


def _cases(cases: Sequence[CaseIn]) -> Iterator[str]:
    if not cases:
        yield "No case that was closed can hold it."
        return
    yield "Cases:"
    yield from _some(
        [
            f"{one.case}: {'sure' if one.sure else 'possible'}, {one.where}"
            + (f", pallet {one.pallet}" if one.customer and one.pallet else "")
            + (f", delivery {one.delivery}" if one.delivery else "")
            + _rests(one.rests)
            for one in cases
        ]
    )


def _missing(missing: Sequence[str]) -> Iterator[str]:
    if missing:
        yield "Missing:"
        yield from (f"  {_first_up(one)}." for one in missing)


def _some(lines: Sequence[str]) -> Iterator[str]:
    yield from (f"  {one}" for one in lines[:MOST])
    if len(lines) > MOST:
        yield f"  and {len(lines) - MOST} more; --json lists all"


def _rests(rests: Sequence[object]) -> str:
    names = [str(getattr(one, "name", "")) for one in rests]
    return f"  [{' '.join(names)}]" if names else ""


def _at(at_us: int | None, zone: str) -> str:
    return "an open end" if at_us is None else show_local(at_us, zone, seconds=False)


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:]
