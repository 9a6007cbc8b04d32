"""What a mill's sensors and hands report of a lane, one plain event each, put in order of time."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from clew.faults import BadInput, Fault

Kind = Literal[
    "feed", "feed on", "feed off", "belt on", "belt off", "tie", "retie", "colour",
    "turns", "doff", "waste", "content", "seen", "dry", "full",
]  # fmt: skip
KINDS: tuple[Kind, ...] = get_args(Kind)
TIES: tuple[Kind, ...] = ("tie", "retie", "colour")
"""What puts a join into the strand: a cone's end, a strand re-tied, a change of colour."""
WHOLE_LINE: tuple[Kind, ...] = ("belt on", "belt off")
NEEDS_VALUE: tuple[Kind, ...] = ("feed", "turns", "waste", "content")

# At one instant: readings, then what ends a ball, then what was seen; so any order of arrival
# of the messages gives one answer.
_RANK = {
    kind: rank
    for rank, kind in enumerate(
        (
            "belt off", "feed off", "feed", "turns", "waste", "tie", "retie", "colour", "doff",
            "content", "seen", "dry", "full", "belt on", "feed on",
        )
    )
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that was reported.

    Attributes
    ----------
    at_s : float
        When it happened, on the shift's clock [s].
    kind : str
        One of `KINDS`.
    lane : int
        Lane, from 1; 0 for the whole line, which only belt events may be.
    value : float or None
        ``feed``: metres on the feed's counter; ties: the same, where it was read [m, before
        steam]. ``turns``: flyer turns since the ball began; ``doff``, ``seen``, ``dry`` and
        ``full``: the same, where read. ``waste``: metres as wound that went past the ball [m].
        ``content``: strand between creel and winder [m, before steam].
    ball : int or None
        Number of the ball on the winder, of the ball taken off at a ``doff``; None where not told.
    name : str
        A tie's own name; for ``seen`` the tie that was seen; for ``colour`` what comes on.
    key : str
        The sender's own key of the message: two with one key are one message.
    """

    at_s: float
    kind: Kind
    lane: int = 0
    value: float | None = None
    ball: int | None = None
    name: str = ""
    key: str = ""


def in_order(events: Iterable[Event], until_s: float = math.inf) -> tuple[Event, ...]:
    """Put events in order of time; a message that came twice counts once.

    Parameters
    ----------
    events : iterable of Event
        In any order: late messages stand where their own time puts them.
    until_s : float
        Moment that is asked about [s]; later events are left out.

    Returns
    -------
    tuple of Event
        By time, and at one instant in a fixed order.

    Raises
    ------
    BadInput
        Every fault at once: an event that cannot be, or two unlike messages with one key.
    """
    kept: dict[object, Event] = {}
    faults: list[Fault] = []
    for event in events:
        fault = event_fault(event)
        if fault is not None:
            faults.append(fault)
            continue
        first = kept.setdefault(event.key or event, event)
        if first != event:
            faults.append(
                Fault("two unlike messages with one key", "a key of its own", value=event.key)
            )
    if faults:
        raise BadInput(faults)
    return tuple(
        sorted(
            (event for event in kept.values() if event.at_s <= until_s),
            key=lambda one: (
                one.at_s, _RANK[one.kind], one.lane, one.value or 0.0, one.name, one.key,
                one.ball or 0,
            ),
        )
    )  # fmt: skip


def event_fault(event: Event) -> Fault | None:
    """Say what is wrong with one event by itself; None where nothing is."""
    kind = event.kind
    if kind not in KINDS:
        return Fault("no such event", f"one of {', '.join(KINDS)}", key="event", value=repr(kind))
    if not math.isfinite(event.at_s):
        return Fault("no time", "seconds", key="at", value=str(event.at_s))
    if event.lane < 1 and kind not in WHOLE_LINE:
        return Fault("an event of no lane", "the lane, from 1", key="lane", value=str(event.lane))
    return _value_fault(event)


def _value_fault(event: Event) -> Fault | None:
    value, kind = event.value, event.kind
    if value is None:
        if kind in NEEDS_VALUE:
            what = "counts" if kind == "turns" else "metres"
            return Fault(f'"{kind}" without {what}', f"its {what}", key=what)
        return None
    if not math.isfinite(value) or value < 0.0:
        return Fault("no reading", "a number of 0 or more", key="value", value=str(value))
    return None
