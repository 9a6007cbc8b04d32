"""Every alarm there is: how urgent it is, and what it means."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from clew.languages import say
from clew.ledger.state.answer import Urgency

SILENT_S = 300.0
"""A winder that told nothing for so long is called silent [s]: assumed."""


@dataclass(frozen=True, slots=True)
class AlarmKind:
    """One kind of alarm.

    Attributes
    ----------
    urgency : int
        1 at once, 2 within the next minutes, 3 worth knowing.
    means : str
        When it opens, in words.
    """

    urgency: Urgency
    means: str


ALARMS: Mapping[str, AlarmKind] = {
    "ledger trouble": AlarmKind(
        1, say("the ledger cannot write: nothing is kept, nothing acknowledged")
    ),
    "wrong lot": AlarmKind(
        1,
        say(
            "a cone feeds, or stands in reserve, whose dye lot or yarn is not the "
            "run's; or one fed, and no ball of that lane was pulled since"
        ),
    ),
    "cone not loaded": AlarmKind(
        1, say("a cone was tied on that nobody told as loaded: its dye lot was not looked at")
    ),
    "out of cones": AlarmKind(
        1,
        say("nothing feeds a lane, or by its mass the last cone is empty, and none is in reserve"),
    ),
    "ball out of limits": AlarmKind(
        1, say("the ball of a lane weighed last lies outside the run's call-out limits")
    ),
    "tie due": AlarmKind(2, say("a cone may be empty within minutes, and none is in reserve")),
    "tie not told": AlarmKind(
        2, say("by its mass a cone must be empty, cones are in reserve, and no tie was told")
    ),
    "lot not told": AlarmKind(2, say("a cone was loaded without its dye lot")),
    "too many joins": AlarmKind(
        2, say("the ball being wound holds more joins than a first-quality ball may")
    ),
    "winder silent": AlarmKind(
        2, say("a winder that had told of itself, or the whole line, has stopped telling")
    ),
    "long stop": AlarmKind(2, say("lane or line has stood for long, by a hand's stop")),
    "weighing implausible": AlarmKind(2, say("a scale said what no ball weighs")),
    "clock ahead": AlarmKind(
        2,
        say(
            "a machine's clock runs ahead of ours: what it tells is kept, but counts "
            "for nothing yet"
        ),
    ),
    "correction not put in": AlarmKind(2, say("a correction says what cannot be")),
    "start-up not checked": AlarmKind(
        2, say("a run is in progress, and nobody has looked the line over in this shift")
    ),
    "start-up not in order": AlarmKind(
        2, say("the last start-up check of this shift left points open")
    ),
    "no run": AlarmKind(2, say("winders tell of balls, and no run is in progress")),
    "late messages": AlarmKind(3, say("a machine's messages came long after what they tell of")),
}
"""Kinds of alarm, most urgent first, in the order in which they are shown."""
