"""States of a drawn shift in words, the same on the drawing, in the JSON and for the script."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from clew.languages import joined, say, say_many, spoken, told_again
from clew.line.simulate.timeline import FEED_STATES, HAND_STATES, WINDER_STATES
from clew.line.simulate.words import CAUSE_WORDS
from clew.web.shift.replay import HandFrame, LaneFrame

WINDER_ORDER = tuple(WINDER_STATES.values())
FEED_ORDER = tuple(FEED_STATES.values())
HAND_ORDER = tuple(HAND_STATES.values())

_CAUSES = {"doff": "waiting_for_doff", "mend": "broken", "change": "changing"}
"""What a winder's seconds are booked on while it waits for a hand."""
_FEED_WORDS = {
    "starved": say("no tied cone"),
    "broken": say("strand broken"),
    "changing": say("next colour, waits"),
    "served: feed": say("strand tied now"),
    "served: colour": say("next colour tied now"),
    "served: load": say("cone loaded now"),
}
_HAND_WORDS = {
    "serves: doff": say("doffs winder {number}", number="{number}"),
    "serves: mend": say("mends at winder {number}", number="{number}"),
    "serves: change": say("pulls the part ball at winder {number}", number="{number}"),
    "serves: feed": say("ties the strand at creel {number}", number="{number}"),
    "serves: load": say("loads and ties a cone at creel {number}", number="{number}"),
    "serves: colour": say("ties the next colour at creel {number}", number="{number}"),
    "walking": say("walks to winder {number}", number="{number}"),
    "resting": say("rests, at winder {number}", number="{number}"),
    "idle": say("waits for a call, at winder {number}", number="{number}"),
}
_AT_CREEL = {
    "walking": say("walks to creel {number}", number="{number}"),
    "resting": say("rests, at creel {number}", number="{number}"),
    "idle": say("waits for a call, at creel {number}", number="{number}"),
}
"""What a hand does whose place is not told by it."""
BELT_STANDS = say("belt stands, buffer full")


STATES = ("winding", "doffing", "waiting_for_doff", "starved", "broken", "changing")
"""What a winder does, in the order it is drawn in; words and paint are those of the accounts."""
HAND_DOES = {
    "serving": say("serving"),
    "walking": say("walking"),
    "resting": say("at rest"),
    "idle": say("waiting for a call"),
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
    words = _hand_state(doing.state, creel=doing.creel)
    return told_again(words, lambda part: part.replace("{number}", str(numbers[doing.lane])))


def _hand_state(state: str, *, creel: bool) -> str:
    return (_AT_CREEL if creel else {}).get(state) or _HAND_WORDS[state]


def words_by_state() -> dict[str, Any]:
    """Everything a program needs to say what is said here; ``{number}`` is a winder's number."""
    return {
        "winder": [winder_words(state) for state in WINDER_ORDER],
        "doing": [cause_of(state) for state in WINDER_ORDER],
        "order": list(STATES),
        "causes": {cause: CAUSE_WORDS[cause] for cause in STATES},
        "feed": [_FEED_WORDS.get(state, "") for state in FEED_ORDER],
        "belt_stands": BELT_STANDS,
        "hand": [_hand_state(state, creel=False) for state in HAND_ORDER],
        "hand_at_creel": [_hand_state(state, creel=True) for state in HAND_ORDER],
    }


def line_title(clock: str) -> str:
    """What the drawing of the line at a moment is called."""
    return say("The line {clock} into the shift", clock=clock)


def state_of_line(counts: Mapping[str, int], belts: int) -> str:
    """Say how many winders do what, and how many belts stand."""
    told = [_so_many(counts[cause], cause) for cause in STATES if counts.get(cause)]
    winders = _of_winders(sum(counts.values()), joined(", ", told))
    return joined(" ", (winders, _belts(belts))) if belts else winders


def _of_winders(count: int, told: str, **shown: str) -> str:
    return say_many("Of {n} winder: {told}.", "Of {n} winders: {told}.", count, told=told, **shown)


def _so_many(count: int | str, cause: str) -> str:
    return say("{n} {what}", n=count, what=CAUSE_WORDS[cause])


def _belts(count: int, **shown: str) -> str:
    return say_many("{n} of the belts stands.", "{n} of the belts stand.", count, **shown)


def player_words() -> str:
    """Everything the script that moves the drawing says, in the reader's language, as JSON.

    Places are left open: a count is given as its words for one and for many.
    """
    open_n = {"n": "{n}"}
    words = words_by_state() | {
        "title": line_title("{clock}"),
        "balls": [say_many("{n} ball", "{n} balls", count, **open_n) for count in (1, 2)],
        "tied": say("{n} tied", n="{n}"),
        "so_many": {cause: _so_many("{n}", cause) for cause in STATES},
        "winders": [_of_winders(count, "{told}", **open_n) for count in (1, 2)],
        "belts": [_belts(count, **open_n) for count in (1, 2)],
        "play": say("Play"),
        "pause": say("Pause"),
    }
    return json.dumps(_spoken(words), ensure_ascii=False)


def _spoken(part: Any) -> Any:
    if isinstance(part, dict):
        return {key: _spoken(one) for key, one in part.items()}
    if isinstance(part, list):
        return [_spoken(one) for one in part]
    return spoken(part)
