"""What is wrong with a shift, beside the input it is about, in words and the reader's units."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from clew.faults import Fault
from clew.languages import say, told_again
from clew.line.layout import Layout
from clew.line.layout_checks import MOST_TIMES_FEED
from clew.quantities import SPEED, UnitSystem, number, show

_PLACES = {
    "crew": "hands",
    "hands": "hands",
    "lanes": "lanes",
    "colour changes": "colour_changes",
    "colour_at_s": "colour_changes",
    "feed_m_per_s": "feed_speed",
    "wind_m_per_s": "feed_speed",
    "buffer_m": "buffer",
    "go_m": "buffer",
    "loose_m": "buffer",
    "doff_s": "doff_time",
    "load_s": "load_time",
    "cone_load_time": "load_time",
    "shift": "shift_time",
    "shift_s": "shift_time",
    "breaks": "shift_time",
    "crew_breaks": "shift_time",
    "passage_s": "shift_time",
    "ball_m": "shift_time",
    "cone_m": "shift_time",
    "feed_breaks_per_km": "shift_time",
    "wind_breaks_per_km": "shift_time",
}
"""By what a room or the mill file calls it: the input that a fault stands beside."""
_SECONDS = re.compile(r"\b(\d+(?:\.\d+)?) s\b")
_LIMIT = re.compile(r"(\d+(?:\.\d+)?(?:e[+-]?\d+)?)(?: (?:m/s|s)\b)?")
_LONG_S = 7200.0
_SMALL = say("so small that belt or winder would start and stop all the time")


def placed(
    fault: Fault, asked: Mapping[str, str], layout: Layout | None, units: UnitSystem
) -> Fault:
    """Put a fault beside the input that it is about.

    Parameters
    ----------
    fault : Fault
        As a room, the mill file or the reading of an input gives it.
    asked : mapping of str to str
        What was typed.
    layout : Layout or None
        The line as the mill file has it, for its winders.
    units : {"metric", "yard"}
        The reader's system of units.

    Returns
    -------
    Fault
        The same under the input's key, its limits with a unit.
    """
    key = _PLACES.get(fault.key, fault.key)
    if key != fault.key or fault.key == "lanes":
        typed = asked.get(key, "").strip()[:80]
        fault = replace(_in_words(fault, layout, units), key=key, section="", value=repr(typed))
    return replace(fault, what=_hours(fault.what), expected=_hours(fault.expected))


def _in_words(fault: Fault, layout: Layout | None, units: UnitSystem) -> Fault:
    """What a room says in its own units and names, said of the input."""
    place = _PLACES[fault.key]
    what, expected = fault.what, fault.expected
    if what.startswith("a winder ") and layout is not None:
        least = show(layout.wind_m_per_s / MOST_TIMES_FEED, SPEED, units)
        what = say("slower than a twentieth of the winders")
        expected = say("at least {least}", least=least)
    elif "events in one lane" in what and place == "buffer":
        what, expected = _SMALL, say("a larger buffer")
    elif "events in one lane" in what:
        what, expected = say("more happens than can be simulated"), say("a shorter shift")
    elif place == "buffer":
        small = "at most" not in expected
        what = _SMALL if small else say("more than any belt's end holds")
        expected = say("a larger buffer") if small else say("a smaller buffer")
    elif fault.key == "passage_s":
        what, expected = say("shorter than the way along the belt"), say("a longer shift")
    elif what == "a value that cannot be meant" and fault.key in _TIMES:
        what = say("out of reach")
        expected = told_again(expected, lambda part: _LIMIT.sub(lambda one: _time(one[1]), part))
    elif what == "a value that cannot be meant" and place == "feed_speed":
        what = say("out of reach")
        expected = told_again(
            expected,
            lambda part: _LIMIT.sub(lambda one: show(float(one[1]), SPEED, units), part),
        )
    return replace(fault, what=what, expected=expected)


_TIMES = ("doff_s", "load_s", "shift", "shift_s")


def _time(text: str) -> str:
    return f"{number(float(text), 6)} s" if float(text) else text


def _hours(words: str) -> str:
    """Seconds past two hours in hours."""

    def said(one: re.Match[str]) -> str:
        time_s = float(one[1])
        return one[0] if time_s < _LONG_S else f"{number(time_s / 3600.0, 4)} h"

    return told_again(words, lambda part: _SECONDS.sub(said, part))
