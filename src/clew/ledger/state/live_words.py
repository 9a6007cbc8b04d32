"""The live view in sentences, as the lead would say them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from clew.languages import figure, joined, moment, say, say_many
from clew.ledger.events.moments import local_of
from clew.ledger.ingest.by_hand import said_again
from clew.ledger.state.alarm_kinds import SILENT_S
from clew.ledger.state.answer import LaneNow, LiveAnswer, TieNow
from clew.ledger.state.known import LaneState, LineState

ON_TARGET_FRAC = 0.002
"""Within so much of the target a mean is called on it [-]: assumed."""


def state_of(lane: LaneState, state: LineState, now_us: int) -> tuple[str, str]:
    """Say what a lane does.

    Parameters
    ----------
    lane : LaneState
        The lane.
    state : LineState
        Its line.
    now_us : int
        The moment [us].

    Returns
    -------
    (str, str)
        One of ``runs``, ``stopped``, ``no feed``, ``silent``, ``not started``; and in words.
    """
    if state.stopped_us is not None:
        return "stopped", say(
            "line stopped {how_long}: {why}",
            how_long=_since(state.stopped_us, now_us), why=said_again(state.stop_why),
        )  # fmt: skip
    if lane.stopped_us is not None:
        return "stopped", say(
            "stopped {how_long}: {why}",
            how_long=_since(lane.stopped_us, now_us), why=said_again(lane.stop_why),
        )  # fmt: skip
    if state.run is None:
        return "not started", say("no run")
    return _told_state(lane, state, now_us)


def _told_state(lane: LaneState, state: LineState, now_us: int) -> tuple[str, str]:
    """Say what a lane does that no hand stopped, by what its machines tell."""
    if lane.heard_us is None:
        return "not started", say("nothing told yet")
    if now_us - lane.heard_us > SILENT_S * 1e6:
        return "silent", say("silent {how_long}", how_long=_since(lane.heard_us, now_us))
    if not state.belt_on:
        how_long = _since(state.belt_changed_us, now_us)
        return "no feed", say("belt stands {how_long}", how_long=how_long)
    if not lane.feed_on:
        how_long = _since(lane.feed_changed_us, now_us)
        return "no feed", say("feed stands {how_long}", how_long=how_long)
    return "runs", say("runs")


def _since(at_us: int | None, now_us: int) -> str:
    return "" if at_us is None else age_words((now_us - at_us) / 1e6)


def age_words(age_s: float) -> str:
    """Write how long something has lasted: ``40 s``, ``12 min``, ``2 h 5 min``, ``2 d 18 h``.

    Parameters
    ----------
    age_s : float
        Time [s].
    """
    age_s = max(age_s, 0.0)
    if age_s < 90.0:
        return f"{age_s:.0f} s"
    whole = round(age_s / 60.0)
    if whole < 120:
        return f"{whole} min"
    if whole < 2880:
        return f"{whole // 60} h {whole % 60} min"
    hours = round(whole / 60.0)
    return f"{hours // 24} d {hours % 24} h"


def off_words(mean_g: float, off_g: float | None, target_g: float | None) -> str:
    """Say how a mean stands to the target: ``101.3 g, 0.3 g heavy``.

    Parameters
    ----------
    mean_g : float
        Mean [g].
    off_g : float or None
        Mean less target [g].
    target_g : float or None
        Target [g].
    """
    mean = figure(f"{mean_g:.1f} g")
    if off_g is None or target_g is None:
        return mean
    if abs(off_g) <= ON_TARGET_FRAC * target_g:
        return say("{mass}, on target", mass=mean)
    off = figure(f"{abs(off_g):.1f} g")
    if off_g > 0:
        return say("{mass}, {off} heavy", mass=mean, off=off)
    return say("{mass}, {off} light", mass=mean, off=off)


def lane_words(row: LaneNow, lane: LaneState, ties: Sequence[TieNow]) -> str:
    """Say a lane in one sentence.

    Parameters
    ----------
    row : LaneNow
        Its row, without words.
    lane : LaneState
        What is known of it.
    ties : sequence of TieNow
        Ties on it.
    """
    parts = [row.state_words]
    if lane.feeding is not None:
        named = say("cone {cone}", cone=row.cone) if row.cone else say("a cone without a name")
        left = say("{n} in reserve", n=row.cones_left) if row.cones_left else say("none in reserve")
        parts.append(
            say("{cone} feeds, {left}", cone=named, left=left)
            if row.state == "runs"
            else say("{cone} is on, {left}", cone=named, left=left)
        )
    if row.to_tie_min is not None:
        parts.append(say("next tie in {span}", span=to_tie_words(row)))
    if row.ball is not None:
        parts.append(say("ball {ball} on the winder", ball=row.ball))
    coming = [one for one in ties if one.to_winder_s is not None]
    if coming:
        balls = sorted({one.ball for one in coming})
        named = ", ".join(str(ball) for ball in balls)
        parts.append(
            say("a tie comes in ball {ball}", ball=named)
            if len(balls) == 1
            else say("ties come in {balls}", balls=named)
        )
    return say("Lane {lane}: {what}.", lane=row.lane, what=joined("; ", parts))


def to_tie_words(row: LaneNow) -> str:
    """Write the minutes to a lane's next tie with their interval."""
    span = row.to_tie_min
    if span is None:
        return ""
    if span.high <= 0.0:
        return say("overdue")
    if span.middle < 0.5:
        return say("less than {most} min", most=max(math.ceil(span.high), 1))
    return say(
        "{middle:.0f} min ({low:.0f} to {high:.0f})",
        middle=span.middle, low=span.low, high=span.high,
    )  # fmt: skip


def fewer_notes(notes: Sequence[str]) -> tuple[str, ...]:
    """Keep the latest note of each lane, with how many like it came before; and all others."""
    by_lane: dict[str, list[str]] = {}
    for note in notes:
        head, colon, _ = note.partition(":")
        lane = head.partition(",")[0]
        by_lane.setdefault(lane if colon and lane.startswith("Lane ") else note, []).append(note)
    kept = []
    for listed in by_lane.values():
        before = len(listed) - 1
        kept.append(
            say_many(
                "{note} ({n} note before it)", "{note} ({n} notes before it)",
                before, note=listed[-1],
            )
            if before
            else listed[-1]
        )  # fmt: skip
    return tuple(kept)


def words_of(found: LiveAnswer) -> tuple[str, ...]:
    """Say what the lead must know, most important first; alarms are said beside it."""
    words = [_headline(found), _run_words(found)]
    if found.mean_g is not None:
        target_g = None if found.run is None else found.run.target_g
        weighed = sum(one.plausible for row in found.lanes for one in row.last_balls)
        words.append(
            say_many(
                "The last ball weighed: mean {mean}.", "The last {n} balls weighed: mean {mean}.",
                max(weighed, 1), mean=off_words(found.mean_g, found.off_target_g, target_g),
            )
        )  # fmt: skip
    due = [row for row in found.lanes if row.to_tie_min is not None and row.to_tie_min.high > 0.0]
    if due:
        first = min(due, key=lambda row: row.to_tie_min.middle if row.to_tie_min else 0.0)
        span = to_tie_words(first)
        words.append(say("Next tie: lane {lane} in {span}.", lane=first.lane, span=span))
    if found.open_case or found.state.last_case:
        words.append(_case_words(found))
    if found.last_age_s is not None:
        words.append(
            say("Last message {how_long} ago.", how_long=age_words(found.last_age_s))
            if found.last_age_s >= 0.0
            else say("The last message is of a moment to come.")
        )
    return tuple(words)


def _case_words(found: LiveAnswer) -> str:
    balls = (
        say("{n} of {full} balls", n=found.open_case, full=found.case_balls)
        if found.case_balls
        else say("{n} balls", n=found.open_case)
    )
    trial = sum(one.trial for one in found.state.open_case)
    if not trial:
        return say("Open case: {balls}.", balls=balls)
    return say(
        "Open case: {balls}, {trial} of them banded in a trial run: not for sale.",
        balls=balls, trial=trial,
    )  # fmt: skip


def _headline(found: LiveAnswer) -> str:
    at_once = sum(one.urgency == 1 for one in found.alarms)
    soon = sum(one.urgency == 2 for one in found.alarms)
    if at_once and soon:
        return say_many(
            "{n} alarm wants a hand at once, {soon} more soon.",
            "{n} alarms want a hand at once, {soon} more soon.",
            at_once, soon=soon,
        )  # fmt: skip
    if at_once:
        return say_many(
            "{n} alarm wants a hand at once.", "{n} alarms want a hand at once.", at_once
        )
    if soon:
        return say_many(
            "{n} alarm wants a hand soon; none at once.",
            "{n} alarms want a hand soon; none at once.",
            soon,
        )
    know = len(found.alarms)
    if know:
        return say_many(
            "Nothing wants a hand; {n} thing is worth knowing.",
            "Nothing wants a hand; {n} things are worth knowing.",
            know,
        )
    return say("No alarm is open.")


def _run_words(found: LiveAnswer) -> str:
    run = found.run
    if run is None:
        last = found.state.last_run
        if last is None or last.ended_us is None:
            return say("{line}: no run is in progress.", line=found.line)
        at = moment(local_of(last.ended_us, found.zone))
        return say(
            "{line}: no run is in progress; {run} ended {when}.",
            line=found.line, run=last.run, when=at,
        )  # fmt: skip
    of = " ".join(part for part in (found.colour, run.lot) if part)
    what = say("{ball} of {lot}", ball=run.ball_name, lot=of)
    at = moment(local_of(run.started_us, found.zone))
    since = (
        say("Trial run {run} since {when}", run=run.run, when=at)
        if run.trial
        else say("Run {run} since {when}", run=run.run, when=at)
    )
    off = say_many("{n} ball off", "{n} balls off", found.doffed)
    pulled = [say_many("{n} pulled", "{n} pulled", found.pulled)] if found.pulled else []
    return say(
        "{line}: {what}. {made}.",
        line=found.line, what=what, made=joined(", ", (since, off, *pulled)),
    )  # fmt: skip
