"""States of a drawn shift in words, the same on the drawing, in the JSON and for the script."""

from __future__ import annotations

from collections.abc import Sequence

from clew.line.simulate.timeline import FEED_STATES, HAND_STATES, WINDER_STATES
from clew.line.simulate.words import CAUSE_WORDS
from clew.web.shift_replay import HandFrame, LaneFrame

WINDER_ORDER = tuple(WINDER_STATES.values())
FEED_ORDER = tuple(FEED_STATES.values())
HAND_ORDER = tuple(HAND_STATES.values())

_CAUSES = {"doff": "waiting_for_doff", "mend": "broken", "change": "changing"}
"""What a winder's seconds are booked on while it waits for a hand."""
_FEED_WORDS = {
    "starved": "no tied cone",
    "broken": "strand broken",
    "changing": "next colour, waits",
    "served: feed": "strand tied now",
    "served: colour": "next colour tied now",
    "served: load": "cone loaded now",
}
_HAND_WORDS = {
    "doff": "doffs winder",
    "mend": "mends at winder",
    "change": "pulls the part ball at winder",
    "feed": "ties the strand at creel",
    "load": "loads and ties a cone at creel",
    "colour": "ties the next colour at creel",
}
BELT_STANDS = "belt stands, buffer full"


STATES = ("winding", "doffing", "waiting_for_doff", "starved", "broken", "changing")
"""What a winder does, in the order it is drawn in; words and paint are those of the accounts."""
HAND_DOES = {
    "serving": "serving",
    "walking": "walking",
    "resting": "at rest",
    "idle": "waiting for a call",
}
"""What a hand does."""


def cause_of(state: str) -> str:
    """What a winder's state is booked on, one of `STATES`."""
    if state in ("winding", "starved"):
        return state
    kind = state.rsplit(" ", maxsplit=1)[-1]
    return "doffing" if state == "served: doff" else _CAUSES.get(kind, "changing")


def winder_words(state: str) -> str:
    """What a winder does, in the words of the accounts."""
    return CAUSE_WORDS[cause_of(state)]


def hand_does(state: str) -> str:
    """What a hand's state is booked on, one of `HAND_DOES`."""
    return "serving" if state.startswith("serves") else state


def feed_words(frame: LaneFrame) -> str:
    """What is out of the usual before the belt's end; empty when nothing is."""
    if not frame.whole and frame.feed in _FEED_WORDS:
        return _FEED_WORDS[frame.feed]
    if not frame.runs:
        return BELT_STANDS
    return _FEED_WORDS.get(frame.feed, "")


def hand_words(doing: HandFrame, numbers: Sequence[int]) -> str:
    """What a hand does and where, behind his name."""
    number = numbers[doing.lane]
    if doing.state.startswith("serves: "):
        return f"{_HAND_WORDS[doing.state.removeprefix('serves: ')]} {number}"
    place = f"{'creel' if doing.creel else 'winder'} {number}"
    return {
        "walking": f"walks to {place}",
        "resting": f"rests, at {place}",
        "idle": f"waits for a call, at {place}",
    }[doing.state]


def words_by_state() -> dict[str, list[str] | dict[str, str] | str]:
    """Everything a script needs to say what is said here."""
    return {
        "winder": [winder_words(state) for state in WINDER_ORDER],
        "doing": [cause_of(state) for state in WINDER_ORDER],
        "order": list(STATES),
        "causes": {cause: CAUSE_WORDS[cause] for cause in STATES},
        "feed": [_FEED_WORDS.get(state, "") for state in FEED_ORDER],
        "belt_stands": BELT_STANDS,
        "hand": [
            _HAND_WORDS.get(state.removeprefix("serves: "), "")
            or {"walking": "walks to", "resting": "rests, at", "idle": "waits for a call, at"}[
                state
            ]
            for state in HAND_ORDER
        ],
    }
