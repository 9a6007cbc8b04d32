"""What is wrong with a shift, said beside the input it is about, in words and the reader's units."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from clew.faults import Fault
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
_BARE = re.compile(r"\d+(?:\.\d+)?(?:e[+-]?\d+)?")
_LONG_S = 7200.0


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
    if fault.what.startswith("a winder ") and layout is not None:
        least = show(layout.wind_m_per_s / MOST_TIMES_FEED, SPEED, units)
        return replace(
            fault, what="slower than a twentieth of the winders", expected=f"at least {least}"
        )
    if "events in one lane" in fault.what:
        if _PLACES[fault.key] == "buffer":
            return replace(
                fault,
                what="so small that belt or winder would start and stop all the time",
                expected="a larger buffer",
            )
        return replace(fault, what="more happens than can be simulated", expected="a shorter shift")
    if _PLACES[fault.key] == "buffer":
        return replace(fault, what="no buffer that a line can run on", expected="other strand")
    if fault.key == "passage_s":
        return replace(fault, what="shorter than the way along the belt", expected="a longer shift")
    if fault.what == "a value that cannot be meant" and fault.key in _TIMES:
        return replace(
            fault,
            what="out of reach",
            expected=_BARE.sub(lambda one: _time(one[0]), fault.expected),
        )
    if fault.what == "a value that cannot be meant" and _PLACES[fault.key] == "feed_speed":
        expected = _BARE.sub(lambda one: show(float(one[0]), SPEED, units), fault.expected)
        return replace(fault, what="out of reach", expected=expected)
    return fault


_TIMES = ("doff_s", "load_s", "shift", "shift_s")


def _time(text: str) -> str:
    return f"{number(float(text), 6)} s" if float(text) else text


def _hours(words: str) -> str:
    """Seconds past two hours in hours."""

    def said(one: re.Match[str]) -> str:
        time_s = float(one[1])
        return one[0] if time_s < _LONG_S else f"{number(time_s / 3600.0, 4)} h"

    return _SECONDS.sub(said, words)
