"""What Shift says in words beside what `clew line simulate` says."""

from __future__ import annotations

import re
from collections import Counter

from clew.line.simulate.answer import ShiftAnswer
from clew.line.simulate.words import percent, said
from clew.quantities import number
from clew.web.figures import Figures
from clew.web.heat_figures import held_together
from clew.web.shift_estimates import Estimates
from clew.web.shift_replay import Replay
from clew.web.shift_states import doing_words

_KM = re.compile(r"(\d+(?:\.\d+)?) km\b")
_KG = re.compile(r"(\d+(?:\.\d+)?) kg\b")


def in_readers_units(words: str, figures: Figures) -> str:
    """Write a room's kilometres and kilograms in the reader's units, numbers held to their units."""
    if not figures.metric:
        words = _KM.sub(lambda one: f"{number(float(one[1]) / 1.609344, 2)} miles", words)
        words = _KG.sub(lambda one: f"{number(float(one[1]) / 0.45359237, 3)} lb", words)
    return held_together(words)


def winder_words(answer: ShiftAnswer) -> str:
    """In a sentence: how long winders wind, and what they lose most to."""
    shares = {cause: one.mean for cause, one in answer.winder_share.items()}
    lost = {
        "waiting_for_doff": "stand full and wait for a doff",
        "doffing": "are doffed",
        "starved": "are dry",
        "broken": "stand broken",
        "changing": "wait at a colour tie",
        "resting": "wait while every hand rests",
    }
    most = sorted((cause for cause in lost if shares[cause] >= 0.005), key=lambda c: -shares[c])
    rest = ", ".join(f"{percent(shares[cause])} they {lost[cause]}" for cause in most[:3])
    told = f"Winders wind {percent(shares['winding'])} of the time"
    return held_together(f"{told}; {rest}." if rest else f"{told}.")


def why_they_differ(answer: ShiftAnswer, quick: Estimates) -> str:
    """Why the closed forms are not the answer, in a sentence or two."""
    hands = answer.hand_share
    layout = answer.layout
    served = answer.served
    doff_s = served["doff"] * layout.doff_s
    other = 1.0 - doff_s / max(answer.measures["hand_serving_s"].mean, 1e-9)
    words = (
        "A ball fills in the same time again and again, so doffs do not come at random: they fall "
        "into step behind a hand, and a call for anything else spoils the step. The truth lies "
        "below both, for hands have more to do than the formulas know: "
        f"{percent(max(other, 0.0))} of their work is not doffing, "
        f"{percent(hands['walking'].mean)} of their time they walk and "
        f"{percent(hands['resting'].mean)} they rest."
    )
    wind = answer.winder_share["winding"].mean
    if wind > min(quick.step_frac, quick.chance_frac) - 0.005:
        words = (
            "A ball fills in the same time again and again, so doffs do not come at random: they "
            "fall into step behind a hand. By chance they would meet more often, and wait longer."
        )
    feed = (
        " Whatever the hands do, winders cannot wind more than the feed brings."
        if quick.feed_frac < 0.999
        else ""
    )
    return held_together(words + feed)


def estimate_note(quick: Estimates) -> str:
    """What the estimates are reckoned with."""
    return held_together(
        f"A ball fills in {number(quick.full_s, 3)} s, a doff takes {number(quick.doff_s, 3)} s, the "
        f"walk to the next winder {number(quick.walk_s, 2)} s. In step: synchronous servicing, "
        f"{quick.per_hand} winders to a hand. By chance: the finite-source formula, the walk put "
        "to the doff. Neither knows rests, cones to load or the buffer."
    )


def mini_words(answer: ShiftAnswer) -> tuple[str, str]:
    """The answer in two phrases, over the inputs."""
    return (
        f"{answer.balls.mean:.0f} balls",
        held_together(f"winders wind {percent(answer.winder_share['winding'].mean)}"),
    )


def interval_words(answer: ShiftAnswer) -> str:
    """The interval of the balls, and what one shift of ten goes beyond."""
    told = said(answer.balls)
    between = told.partition("(")[2].rstrip(")")
    return f"mean of {answer.replications} simulated shifts, {between}" if between else told


def moment_words(replay: Replay, at_s: float) -> str:
    """Say what the line does at a moment, in a sentence."""
    lanes = range(replay.layout.lanes)
    frames = [replay.lane_at(lane, at_s) for lane in lanes]
    counts = Counter(doing_words(frame.winder) for frame in frames)
    told = [f"{counts[doing]} {_DOING[doing]}" for doing in _DOING if counts[doing]]
    belts = sum(not frame.runs for frame in frames)
    said = f"Of {len(frames)} winders {', '.join(told)}."
    return f"{said} {belts} of the belts stand." if belts else said


_DOING = {
    "winding": "wind",
    "waits": "wait for a hand",
    "served": "have a hand at work",
    "dry": "ran dry",
}
