"""From what counts to the tie tracker's events: its kinds, in its units, thinned."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from clew.ball.counter import Counter
from clew.ledger.events.kinds import TRACKED
from clew.ledger.state.effective import AHEAD
from clew.ledger.state.known import Effective
from clew.line.tracker.events import NEEDS_VALUE, Event, Kind

THIN_S = 20.0
"""Of a winder's readings one in so long is enough [s]: a ball takes minutes."""

_IN_METRES = ("feed", "tie", "retie", "colour", "waste", "content")
_IN_COUNTS = ("turns", "doff", "seen", "dry", "full")
_KINDS: Mapping[str, Kind] = {kind: kind for kind in TRACKED}  # type: ignore[misc]


def tracker_events(
    events: Sequence[Effective],
    counters: Mapping[int, Counter],
    from_us: int,
    now_us: int,
    *,
    base_us: int | None = None,
) -> list[Event]:
    """Make the tracker's events of what counts.

    Parameters
    ----------
    events : sequence of Effective
        In order of time.
    counters : mapping of int to Counter
        Each lane's counter.
    from_us, now_us : int
        Of which time [us].
    base_us : int, optional
        Moment from which seconds are counted; `from_us` where left out [us].

    Returns
    -------
    list of Event
        Readings of the winders thinned to one in `THIN_S`, each ball's last and every lane's
        latest kept; readings that cannot be are left out. A ball's number that was told before
        the time is counted on to its first event.
    """
    base_us = from_us if base_us is None else base_us
    number: dict[int, int] = {}
    found: list[Event] = []
    waiting: dict[int, Event] = {}
    kept_us: dict[int, float] = {}
    for one in _tracked(events, counters, now_us):
        lane = one.lane
        if one.at_us < from_us:
            if one.ball is not None:
                number[lane] = one.ball
            if one.kind == "doff" and lane in number:
                number[lane] += 1
            continue
        event = _event(one, counters, base_us)
        if event is None:
            continue
        if lane in number and one.kind in ("turns", "doff"):
            told = number.pop(lane)
            event = event if event.ball is not None else replace(event, ball=told)
        if one.kind == "turns":
            if event.at_s - kept_us.get(lane, -math.inf) < THIN_S:
                waiting[lane] = event
                continue
            kept_us[lane] = event.at_s
            waiting.pop(lane, None)
        elif lane in waiting and one.kind in ("doff", "seen", "dry", "full"):
            found.append(waiting.pop(lane))  # the last reading before it says how far it was
        if one.kind == "doff":
            kept_us.pop(lane, None)
        found.append(event)
    return found + list(waiting.values())


def _tracked(
    events: Sequence[Effective], counters: Mapping[int, Counter], now_us: int
) -> Iterator[Effective]:
    """Pick what the tracker follows: of the line's own lanes, by clocks that are not ahead."""
    again = _told_again(events, now_us)
    for one in events:
        if one.at_us > now_us:
            return
        followed = one.kind in _KINDS and AHEAD not in one.flags
        here = one.lane in counters or one.lane == 0
        if followed and here and (one.source, one.key) not in again:
            yield one


def _told_again(events: Sequence[Effective], now_us: int) -> set[tuple[str, str]]:
    """Find ties whose next one on their lane brings the same cone on: of the two the later counts.

    A hand tells of it when it ties, the feed when the tie goes past.
    """
    following: dict[int, str] = {}
    found = set()
    for one in reversed(events):
        if one.kind in ("tie", "colour") and one.at_us <= now_us and AHEAD not in one.flags:
            if one.cone and following.get(one.lane) == one.cone:
                found.add((one.source, one.key))
            following[one.lane] = one.cone
    return found


def _event(one: Effective, counters: Mapping[int, Counter], base_us: int) -> Event | None:
    body, kind = one.body, _KINDS[one.kind]
    if kind == "retie" and body.get("parted_at") == "winder":
        return None  # the join is in the ball at once: nothing to follow
    value: float | None = None
    if kind in _IN_METRES:
        value = body.get("metres")
    elif kind in _IN_COUNTS:
        value = body.get("counts")
    if value is not None and (value < 0.0 or any("out of range" in flag for flag in one.flags)):
        if kind in NEEDS_VALUE:
            return None
        value = None  # it happened all the same
    if value is not None and kind in _IN_COUNTS:
        value = counters[one.lane].turns_of_counts(value)
    name = body.get("name") or (one.lot if kind == "colour" else "")
    return Event(
        (one.at_us - base_us) / 1e6, kind, one.lane, value, one.ball, name,
        f"{one.source}\n{one.key}",
    )  # fmt: skip
