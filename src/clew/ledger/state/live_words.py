"""The live view in sentences, as the lead would say them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from clew.ledger.events.moments import show_local
from clew.ledger.state.alarm_kinds import SILENT_S
from clew.ledger.state.answer import LaneNow, LiveAnswer, TieNow
from clew.ledger.state.known import LaneState, LineState
from clew.quantities.show import number

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
        return "stopped", f"line stopped {_since(state.stopped_us, now_us)}: {state.stop_why}"
    if lane.stopped_us is not None:
        return "stopped", f"stopped {_since(lane.stopped_us, now_us)}: {lane.stop_why}"
    if state.run is None:
        return "not started", "no run"
    return _told_state(lane, state, now_us)


def _told_state(lane: LaneState, state: LineState, now_us: int) -> tuple[str, str]:
    """Say what a lane does that no hand stopped, by what its machines tell."""
    if lane.heard_us is None:
        return "not started", "nothing told yet"
    if now_us - lane.heard_us > SILENT_S * 1e6:
        return "silent", f"silent {_since(lane.heard_us, now_us)}"
    if not state.belt_on:
        return "no feed", f"belt stands {_since(state.belt_changed_us, now_us)}"
    if not lane.feed_on:
        return "no feed", f"feed stands {_since(lane.feed_changed_us, now_us)}"
    return "runs", "runs"


def _since(at_us: int | None, now_us: int) -> str:
    return "" if at_us is None else age_words((now_us - at_us) / 1e6)


def age_words(age_s: float) -> str:
    """Write how long something has lasted: ``40 s``, ``12 min``, ``2 h 5 min``.

    Parameters
    ----------
    age_s : float
        Time [s].
    """
    age_s = max(age_s, 0.0)
    if age_s < 90.0:
        return f"{age_s:.0f} s"
    whole = round(age_s / 60.0)
    return f"{whole} min" if whole < 120 else f"{whole // 60} h {whole % 60} min"


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
    head = f"{mean_g:.1f} g"
    if off_g is None or target_g is None:
        return head
    if abs(off_g) <= ON_TARGET_FRAC * target_g:
        return f"{head}, on target"
    return f"{head}, {abs(off_g):.1f} g {'heavy' if off_g > 0 else 'light'}"


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
        named = f"cone {row.cone}" if row.cone else "a cone without a name"
        feeds = f"{named} feeds" if row.state == "runs" else f"{named} is on"
        left = f"{row.cones_left} in reserve" if row.cones_left else "none in reserve"
        parts.append(f"{feeds}, {left}")
    if row.to_tie_min is not None:
        parts.append(f"next tie in {to_tie_words(row)}")
    if row.ball is not None:
        parts.append(f"ball {row.ball} on the winder")
    coming = [one for one in ties if one.to_winder_s is not None]
    if coming:
        balls = sorted({one.ball for one in coming})
        named = ", ".join(str(ball) for ball in balls)
        parts.append(f"a tie comes in ball {named}" if len(balls) == 1 else f"ties come in {named}")
    return f"Lane {row.lane}: {'; '.join(parts)}."


def to_tie_words(row: LaneNow) -> str:
    """Write the minutes to a lane's next tie with their interval."""
    span = row.to_tie_min
    if span is None:
        return ""
    if span.high <= 0.0:
        return "overdue"
    if span.middle < 0.5:
        return f"less than {max(math.ceil(span.high), 1)} min"
    return f"{span.middle:.0f} min ({span.low:.0f} to {span.high:.0f})"


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
        kept.append(listed[-1] + (f" ({before} note{_s(before)} before it)" if before else ""))
    return tuple(kept)


def words_of(found: LiveAnswer) -> tuple[str, ...]:
    """Say what the lead must know, most important first; alarms are said beside it."""
    words = [_headline(found), _run_words(found)]
    if found.mean_g is not None:
        target_g = None if found.run is None else found.run.target_g
        many = sum(one.plausible for row in found.lanes for one in row.last_balls)
        heads = f"The last {many} balls weighed" if many > 1 else "The last ball weighed"
        words.append(f"{heads}: mean {off_words(found.mean_g, found.off_target_g, target_g)}.")
    due = [row for row in found.lanes if row.to_tie_min is not None and row.to_tie_min.high > 0.0]
    if due:
        first = min(due, key=lambda row: row.to_tie_min.middle if row.to_tie_min else 0.0)
        words.append(f"Next tie: lane {first.lane} in {to_tie_words(first)}.")
    if found.open_case or found.state.last_case:
        of = f" of {found.case_balls}" if found.case_balls else ""
        trial = sum(one.trial for one in found.state.open_case)
        also = f", {trial} of them banded in a trial run: not for sale" if trial else ""
        words.append(f"Open case: {found.open_case}{of} balls{also}.")
    if found.last_age_s is not None:
        words.append(
            f"Last message {age_words(found.last_age_s)} ago."
            if found.last_age_s >= 0.0
            else "The last message is of a moment to come."
        )
    return tuple(words)


def _headline(found: LiveAnswer) -> str:
    at_once = sum(one.urgency == 1 for one in found.alarms)
    soon = sum(one.urgency == 2 for one in found.alarms)
    if at_once:
        more = f", {soon} more soon" if soon else ""
        return f"{number(at_once, 3)} alarm{_s(at_once)} want{_v(at_once)} a hand at once{more}."
    if soon:
        return f"{soon} alarm{_s(soon)} want{_v(soon)} a hand soon; none at once."
    know = len(found.alarms)
    if know:
        things = "1 thing is" if know == 1 else f"{know} things are"
        return f"Nothing wants a hand; {things} worth knowing."
    return "No alarm is open."


def _s(many: int) -> str:
    return "" if many == 1 else "s"


def _v(many: int) -> str:
    return "s" if many == 1 else ""


def _run_words(found: LiveAnswer) -> str:
    run = found.run
    if run is None:
        last = found.state.last_run
        if last is None or last.ended_us is None:
            return f"{found.line}: no run is in progress."
        at = show_local(last.ended_us, found.zone, seconds=False)
        return f"{found.line}: no run is in progress; {last.run} ended {at}."
    what = " ".join(part for part in (run.ball_name, "of", found.colour, run.lot) if part)
    at = show_local(run.started_us, found.zone, seconds=False)
    trial = "Trial run" if run.trial else "Run"
    pulled = f", {found.pulled} pulled" if found.pulled else ""
    return (
        f"{found.line}: {what}. {trial} {run.run} since {at}, "
        f"{found.doffed} ball{_s(found.doffed)} off{pulled}."
    )
