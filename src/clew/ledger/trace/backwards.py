"""Back: from a band, a token, a ball's number or a case to the balls, cones and all around them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from clew.faults import BadInput, Fault
from clew.languages import moment, say
from clew.ledger.events.moments import local_of
from clew.ledger.state.known import Effective
from clew.ledger.trace.answer import BackTrace, BallFound, RunThen
from clew.ledger.trace.band_code import BandCode
from clew.ledger.trace.facts import (
    case_of,
    cases_banded,
    checks_near,
    decisions_on,
    sent_on,
)
from clew.ledger.trace.identity import Candidates, candidates, doffed_between
from clew.ledger.trace.in_ball import ball_found, cones_of_all
from clew.ledger.trace.lacking import lacking, of_trials
from clew.ledger.trace.named import means, naming_balls
from clew.ledger.trace.records import Kept
from clew.ledger.trace.runs_then import (
    run_of_band,
    run_then,
    trials_of,
)
from clew.ledger.trace.tracing import DAY_US, LaneSeen, Tracing, see_lane
from clew.ledger.trace.transit import Wound
from clew.mill.lines import Line

_US = 1_000_000
LOOK_BACK_US = 400 * DAY_US
"""A ball that is asked for by its number is looked for so far back [us]: assumed."""


def back_from_band(tracing: Tracing, code: BandCode) -> BackTrace:
    """Trace a ball back from what its band says.

    Parameters
    ----------
    tracing : Tracing
        The mill and its ledger.
    code : BandCode
        Dye lot, line, winder and time; an empty lot is not compared.

    Returns
    -------
    BackTrace
        The ball, or the set of balls that it may be, and all that is known around it.

    Raises
    ------
    BadInput
        When the mill has no such line or winder.
    """
    with tracing.kept() as kept:
        line = tracing.line(code.line)
        lane = tracing.lane_of(line, code.winder)
        first, last = code.spans_us[0][0], code.spans_us[-1][1]
        windows = doffed_between(line, code.spans_us)
        run = run_of_band(kept, line.name, lane, windows, code.lot)
        transit, lacks = tracing.transit(line, "" if run is None else run.ball_name)
        seen = see_lane(kept, line.name, lane, windows[0][0], windows[-1][1], transit)
        found = candidates(
            kept, line, lane, code.spans_us, seen,
            run_from_us=None if run is None else run.started_us,
            run_upto_us=None if run is None else run.ended_us, transit=transit,
        )  # fmt: skip
        missing = [lacks] if lacks else []
        if len(code.spans_us) > 1:
            missing.append(
                say("the mill's clock showed that minute twice: balls of both are listed")
            )
        if run is not None and code.lot and run.lot.casefold() != code.lot.casefold():
            missing.append(
                say(
                    "the band says dye lot {lot}; the run of that time was of {other_lot}",
                    lot=code.lot,
                    other_lot=run.lot,
                )
            )
        zone = tracing.zone
        asked = say(
            "the ball of {line}, winder {winder}, banded {when}",
            line=line.name,
            winder=code.winder,
            when=moment(local_of(first, zone)),
        )
        banded = ((first, last),) if len(code.spans_us) == 1 else code.spans_us
        if found.banded is not None:
            banded = ((found.banded.at_us, found.banded.at_us),)
        return _answer(
            tracing, kept, line, asked=asked, lane=lane, lot=code.lot, banded=banded, run=run,
            seen=seen, found=found, missing=missing,
        )  # fmt: skip


def back_from_token(tracing: Tracing, token: str, *, upto_us: int | None = None) -> BackTrace:
    """Trace back from a token, or from a tray: its last filling up to a moment.

    Parameters
    ----------
    tracing : Tracing
        The mill and its ledger.
    token : str
        What it is called.
    upto_us : int, optional
        The moment; the newest doff where left out [us].

    Raises
    ------
    BadInput
        When no doff names it.
    """
    with tracing.kept() as kept:
        doffs = [
            one
            for one in kept.naming("token", token, ("doff",))
            if upto_us is None or one.at_us <= upto_us
        ]
        if not doffs:
            raise BadInput(
                Fault(say("no doff names that token"), say("one that is in use"), value=token)
            )
        last = doffs[-1]
        line = tracing.line(last.line)
        tray = line.ball_identity == "tray"
        most_us = int((line.doff_to_band_most_s - line.doff_to_band_least_s) * _US)
        same = [
            one
            for one in doffs
            if one.line == last.line and one.lane == last.lane and one.at_us >= last.at_us - most_us
        ]
        wanted = {one.seq for one in (same if tray else [last])}
        words = (
            say(
                "{n} balls of winder {winder} went onto that tray, which takes about {room}",
                n=len(wanted),
                winder=tracing.winder_of(line, last.lane),
                room=line.tray_balls,
            )
            if tray
            else say("by its token")
        )
        return _from_doffs(
            tracing,
            kept,
            line,
            last,
            wanted,
            say("the ball of tray {token}", token=token)
            if tray
            else say("the ball of token {token}", token=token),
            words,
        )


def back_from_ball(
    tracing: Tracing, line_name: str, lane: int, number: int, *, upto_us: int | None = None
) -> BackTrace:
    """Trace back a ball by its number on a lane: the last of that number up to a moment.

    Raises
    ------
    BadInput
        When no doff has that number, or the mill has no such line.
    """
    with tracing.kept() as kept:
        line = tracing.line(line_name)
        newest = kept.of_kind(line.name, "doff", latest_first=True, most=1, upto_us=upto_us)
        since = newest[0].at_us - LOOK_BACK_US if newest else None
        doffs = [
            one
            for one in kept.of_kind(line.name, "doff", lane=lane, from_us=since, upto_us=upto_us)
            if one.ball == number
        ]
        if not doffs:
            raise BadInput(
                Fault(
                    say(
                        "no doff of ball {number} on lane {lane} of {line}",
                        number=number,
                        lane=lane,
                        line=line.name,
                    ),
                    say("one that was told"),
                )
            )
        last = doffs[-1]
        asked = say(
            "ball {number} of {line}, lane {lane}", number=number, line=line.name, lane=lane
        )
        return _from_doffs(tracing, kept, line, last, {last.seq}, asked, say("by its number"))


def _from_doffs(
    tracing: Tracing,
    kept: Kept,
    line: Line,
    last: Effective,
    wanted: set[int],
    asked: str,
    words: str,
) -> BackTrace:
    run = run_then(kept, line.name, last.at_us)
    transit, lacks = tracing.transit(line, "" if run is None else run.ball_name)
    most_us = int(line.doff_to_band_most_s * _US)
    seen = see_lane(kept, line.name, last.lane, last.at_us - most_us, last.at_us, transit)
    balls = tuple(
        one for one in seen.wound.balls if one.record is not None and one.record.seq in wanted
    )
    banded = tuple(
        sorted(
            {
                (one.at_us, one.at_us)
                for one in kept.of_kind(
                    line.name, "banded", lane=last.lane, from_us=last.at_us - most_us,
                    upto_us=last.at_us + most_us,
                )
                if (len(balls) == 1 and means(one, balls[0], seen.wound.balls))
                or (last.token and one.token == last.token and one.at_us >= last.at_us)
            }
        )
    )  # fmt: skip
    if not banded:
        least_us = int(line.doff_to_band_least_s * _US)
        banded = ((last.at_us + least_us, last.at_us + most_us),)
    return _answer(
        tracing, kept, line, asked=asked, lane=last.lane, lot="", banded=banded, run=run,
        seen=seen, found=Candidates(balls, words), missing=[lacks] if lacks else [],
    )  # fmt: skip


def back_from_case(tracing: Tracing, case_name: str) -> BackTrace:
    """Trace back a case, or a pallet's cases one by one through `clew.ledger.trace.facts`.

    Parameters
    ----------
    tracing : Tracing
        The mill and its ledger.
    case_name : str
        What it is called.

    Returns
    -------
    BackTrace
        Every ball that may be in it, of all winders (winder and lane are 0 then).

    Raises
    ------
    BadInput
        When no such case was closed.
    """
    with tracing.kept() as kept:
        closed = kept.naming("package", case_name, ("case closed",))
        if not closed:
            raise BadInput(
                Fault(say("no such case was closed"), say("one that was told"), value=case_name)
            )
        line = tracing.line(closed[-1].line)
        case = case_of(closed[-1], tracing.zone)
        upto = case.closed_us if case.upto_us is None else case.upto_us
        span = (upto - DAY_US if case.from_us is None else case.from_us, upto + 59_999_999)
        run = run_then(kept, line.name, upto)
        transit, lacks = tracing.transit(line, "" if run is None else run.ball_name)
        missing = [lacks] if lacks else []
        if case.from_us is None or case.upto_us is None:
            missing.append(
                say("when its first and last ball were banded is not told: a day is taken")
            )
        ((first, last),) = doffed_between(line, [span])
        tokens = {str(one) for one in closed[-1].body.get("tokens", ())}
        balls: list[BallFound] = []
        trials = trials_of(kept, line.name, first, last)
        for lane in range(1, line.lanes + 1):
            seen = see_lane(kept, line.name, lane, first, last, transit)
            pulled = naming_balls(
                kept, line, "pulled", lane, first, last + DAY_US, numbers=seen.numbers,
                seen_upto_us=seen.upto_us,
            )  # fmt: skip
            for one in seen.balls_in(first, last):
                if tokens and (one.record is None or one.record.token not in tokens):
                    continue
                ball = ball_found(
                    one, seen, line=line.name, winder=tracing.winder_of(line, lane), pulled=pulled,
                    trials=trials,
                )  # fmt: skip
                if not ball.pulled_to:
                    balls.append(ball)
        (sent,) = sent_on(kept, [replace(case, sure=True)])
        why = say(
            "{n} balls were doffed in time for it; {balls} are in it",
            n=len(balls),
            balls=case.balls,
        )
        if tokens:
            why = say(
                "{n} balls by their tokens; {balls} are in it", n=len(balls), balls=case.balls
            )
        return BackTrace(
            asked=say("case {case}", case=case_name), line=line.name, winder=0, lane=0,
            lot="" if case.lots else case.lot,
            banded_us=(span,), identity=line.ball_identity, balls=tuple(balls), why=why,
            cones=cones_of_all(balls), run=run, checks=checks_near(kept, line.name, 0, first, last),
            decisions=decisions_on(kept, *case.all_lots), cases=(sent,),
            missing=(
                *missing, *of_trials(balls, trials, (sent,)),
                *lacking(balls, cones_of_all(balls)), *kept.troubles(),
            ),
        )  # fmt: skip


def _answer(
    tracing: Tracing,
    kept: Kept,
    line: Line,
    *,
    asked: str,
    lane: int,
    lot: str,
    banded: tuple[tuple[int, int], ...],
    run: RunThen | None,
    seen: LaneSeen,
    found: Candidates,
    missing: list[str],
) -> BackTrace:
    first, last = _span(found.balls, banded)
    pulled, weighings = (
        naming_balls(
            kept, line, kind, lane, first, upto_us, numbers=seen.numbers,
            seen_upto_us=seen.upto_us,
        )
        for kind, upto_us in (
            ("pulled", last + DAY_US),
            ("weighing", last + int(line.doff_to_band_most_s * _US)),
        )
    )  # fmt: skip
    winder = tracing.winder_of(line, lane)
    trials = trials_of(kept, line.name, first, last)
    balls = [
        ball_found(
            one, seen, line=line.name, winder=winder, pulled=pulled, weighings=weighings,
            trials=trials,
        )
        for one in found.balls
    ]  # fmt: skip
    if run is None:
        missing.append(say("no run start is told before it: its run and settings are not known"))
    lot = lot or ("" if run is None else run.lot)
    decisions = decisions_on(kept, lot)
    if lot and not decisions:
        missing.append(say("no decision on dye lot {lot} is told", lot=lot))
    cones = cones_of_all(balls)
    cases = cases_banded(kept, line.name, banded, tracing.zone, lot)
    if any(one.trial for one in balls):  # not for sale: in a case only if somebody packed it
        cases = tuple(replace(one, sure=False) for one in cases)
    missing += of_trials(balls, trials, cases)
    return BackTrace(
        asked=asked, line=line.name, winder=winder, lane=lane, lot=lot, banded_us=banded,
        identity=line.ball_identity, balls=tuple(balls), why=found.why, cones=cones, run=run,
        checks=checks_near(kept, line.name, lane, first, last), decisions=decisions,
        cases=cases,
        missing=(*missing, *found.missing, *lacking(balls, cones), *kept.troubles()),
    )  # fmt: skip


def _span(balls: Sequence[Wound], banded: tuple[tuple[int, int], ...]) -> tuple[int, int]:
    if not balls:
        return banded[0][0], banded[-1][1]
    begins = [one.ended_us if one.begun_us is None else one.begun_us for one in balls]
    return min(begins), max(one.ended_us for one in balls)
