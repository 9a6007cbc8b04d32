"""States of a drawn shift in words, the same on the drawing, in the JSON and for the script."""

from __future__ import annotations

from collections.abc import Sequence

from clew.line.simulate.timeline import FEED_STATES, HAND_STATES, WINDER_STATES
from clew.web.shift_replay import HandFrame, LaneFrame

WINDER_ORDER = tuple(WINDER_STATES.values())
FEED_ORDER = tuple(FEED_STATES.values())
HAND_ORDER = tuple(HAND_STATES.values())

_WINDER_WORDS = {
    "winding": "winding",
    "starved": "ran dry",
    "waits for doff": "full, waits",
    "waits for mend": "broken, waits",
    "waits for change": "colour, waits",
    "served: doff": "doffed now",
    "served: mend": "mended now",
    "served: change": "pulled now",
}
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
BELT_STANDS = "belt stands: full"


def winder_words(state: str) -> str:
    """What a winder does, in two or three words."""
    return _WINDER_WORDS.get(state, state)


def doing_words(state: str) -> str:
    """What a winder does, as one of winding, dry, waits, served."""
    if state.startswith("waits"):
        return "waits"
    return {"winding": "winding", "starved": "dry"}.get(state, "served")


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


def words_by_state() -> dict[str, list[str] | str]:
    """Everything a script needs to say what is said here."""
    return {
        "winder": [winder_words(state) for state in WINDER_ORDER],
        "doing": [doing_words(state) for state in WINDER_ORDER],
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
