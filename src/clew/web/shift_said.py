"""What Shift says in words beside what `clew line simulate` says."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from clew.line.simulate.answer import ShiftAnswer
from clew.line.simulate.words import percent, said
from clew.quantities import number
from clew.web.figures import Figures
from clew.web.heat_figures import held_together
from clew.web.shift_estimates import Estimates
from clew.web.shift_replay import Replay
from clew.web.shift_states import doing_words

_KM = re.compile(r"(\d+(?:\.\d+)?) km\b")
_HELD = re.compile(r"(?<=\d) (?=(?:km|kg|lb|miles|min|h|m)\b)")
_KG = re.compile(r"(\d+(?:\.\d+)?) kg\b")


def in_readers_units(words: str, figures: Figures) -> str:
    """Write a room's kilometres and kilograms in the reader's units, each on one line."""
    if not figures.metric:
        words = _KM.sub(lambda one: f"{number(float(one[1]) / 1.609344, 2)} miles", words)
        words = _KG.sub(lambda one: f"{number(float(one[1]) / 0.45359237, 3)} lb", words)
    return _HELD.sub("\u00a0", held_together(words))


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
        f"A ball fills in {number(quick.full_s, 3)} s, a doff takes {number(quick.doff_s, 3)} s, "
        f"the walk to the next winder {number(quick.walk_s, 2)} s. In step: synchronous servicing, "
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
    """The interval of the balls, and what nine shifts of ten give."""
    told, (low, high) = said(answer.balls), answer.balls_range
    between = told.partition("(")[2].rstrip(")")
    shifts = f"{answer.replications} simulated shifts"
    mean = f"Mean of {shifts} ({between})" if between else f"Mean of {shifts}"
    return f"{mean}; 9 shifts of 10 give {low} to {high}."


def beside(reasons: Sequence[str], figures: Figures) -> dict[str, str]:
    """Sort the room's sentences to the pictures that they stand beside.

    Parameters
    ----------
    reasons : sequence of str
        The room's sentences.
    figures : Figures
        The reader's printing.

    Returns
    -------
    dict of str to str
        By place; what the words over the picture say already is left out, and what belongs to no
        picture is under ``others``.
    """
    found = dict.fromkeys((*_BESIDE.values(), "others"), "")
    for sentence in reasons:
        place = next(
            (at for begins, at in _BESIDE.items() if sentence.startswith(begins)), "others"
        )
        if place:
            found[place] = f"{found[place]} {in_readers_units(sentence, figures)}".strip()
    return found


_BESIDE = {
    "Winders:": "",
    "From shift to shift:": "",
    "Feed:": "feed",
    "Hands:": "hands",
    "A full ball": "waits",
    "The line makes": "joins",
}
"""Where a sentence of the room stands, by how it begins; nowhere when it is said already."""


def moment_words(replay: Replay, at_s: float) -> str:
    """Say what the line does at a moment, in a sentence."""
    lanes = range(replay.layout.lanes)
    frames = [replay.lane_at(lane, at_s) for lane in lanes]
    counts = Counter(doing_words(frame.winder) for frame in frames)
    told = [f"{counts[doing]} {words[counts[doing] > 1]}" for doing, words in DOING.items()
            if counts[doing]]  # fmt: skip
    belts = sum(not frame.runs for frame in frames)
    line = f"Of {len(frames)} winders {', '.join(told)}."
    return f"{line} {belts} of the belts {'stand' if belts > 1 else 'stands'}." if belts else line


DOING = {
    "winding": ("winds", "wind"),
    "waits": ("waits for a hand", "wait for a hand"),
    "served": ("has a hand at work", "have a hand at work"),
    "dry": ("ran dry", "ran dry"),
}
"""What one winder does, and what several do."""
