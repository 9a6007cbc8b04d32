"""What Shift says in words beside what `clew line simulate` says."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from clew.line.simulate.answer import ShiftAnswer
from clew.line.simulate.words import CAUSE_WORDS, WORTH_SAYING, percent, said
from clew.quantities import number
from clew.web.entries import Entry
from clew.web.figures import Figures
from clew.web.heat_figures import held_together
from clew.web.shift_estimates import Estimates
from clew.web.shift_replay import Replay
from clew.web.shift_states import STATES, cause_of

_KM = re.compile(r"(\d+(?:\.\d+)?) km\b")
_LB_KG = 0.45359237
_HELD = re.compile(r"(?<=\d) (?=(?:km|kg|lb|miles|min|h|m/min|yd/min|m)\b)")
_SPEED = re.compile(r"(\d+(?:\.\d+)?) m/min\b")
_KG = re.compile(r"(\d+(?:\.\d+)?) kg\b")


def in_readers_units(words: str, figures: Figures) -> str:
    """Write a room's kilometres and kilograms in the reader's units, each on one line."""
    if not figures.metric:
        words = _KM.sub(lambda one: f"{number(float(one[1]) / 1.609344, 2)} miles", words)
        words = _SPEED.sub(lambda one: f"{number(float(one[1]) / 0.9144, 4)} yd/min", words)
        words = _KG.sub(lambda one: f"{number(float(one[1]) / _LB_KG, 3)} lb", words)
    return _HELD.sub("\u00a0", held_together(words))


def winder_words(answer: ShiftAnswer) -> str:
    """In a sentence: how long winders wind, and what else they do, in the words of the page."""
    shares = {cause: one.mean for cause, one in answer.winder_share.items()}
    others = sorted(
        (cause for cause, share in shares.items() if cause != "winding" and share >= WORTH_SAYING),
        key=lambda cause: -shares[cause],
    )
    told = [f"{percent(shares[cause])} {CAUSE_WORDS[cause]}" for cause in ("winding", *others[:3])]
    return held_together(f"Of the winders' time, {', '.join(told)}.")


def tried_words(entries: Sequence[Entry]) -> str:
    """Name what was tried and what the mill file says; empty when nothing was."""
    said = []
    for one in entries:
        if not one.moved:
            continue
        name = one.words.lower()
        if not one.slider.unit:  # what is counted
            name = name.removesuffix("s") if one.text == "1" else name
            said.append(f"{one.text} {name} (mill file {one.mill_text})")
        else:
            said.append(f"{name} {one.text} (mill file {one.mill_text})")
    return held_together(f"Tried: {', '.join(said)}") if said else ""


def heavy_words(answer: ShiftAnswer, figures: Figures) -> str:
    """Mass of a shift's balls, to as many digits as shifts agree on."""
    value, unit = (answer.kg.mean, "kg") if figures.metric else (answer.kg.mean / _LB_KG, "lb")
    return f"{value:.0f}\u00a0{unit}" if value >= 100.0 else f"{number(value, 3)}\u00a0{unit}"


def use_words(answer: ShiftAnswer, figures: Figures) -> str:
    """Cones that a shift uses, and strand that it wastes, in a sentence."""
    cones, waste_m = answer.measures["cones"].mean, answer.measures["waste_m"].mean
    used = f"{cones:.0f}" if cones >= 10.0 else number(cones, 2)
    return held_together(
        f"A shift uses {used} cones and wastes {figures.length(waste_m)} of strand, before steam."
    )


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
        f"{quick.per_hand} winders to a hand. By chance: the finite-source formula for exponential "
        "service, a doff and the walk to it taken as one service. Neither knows rests, cones to "
        "load or the buffer."
    )


def which_formula(quick: Estimates) -> str:
    """Which formula applies, as the room's chooser says, and why."""
    law = _LAWS[quick.applies.law]
    exact = "" if quick.applies.exact else ", and it is not exact"
    why = " ".join(quick.applies.reasons)
    return held_together(f"Of the formulas the nearest is {law}{exact}. {why}")


_LAWS = {
    "constant": "one hand with services all alike",
    "exponential": "the finite-source formula for exponential service",
    "gamma": "one hand with gamma service",
    "patrol": "one hand on patrol",
    "synchronous": "synchronous servicing",
}
"""What the chooser's laws are called here."""


def mini_words(answer: ShiftAnswer) -> tuple[str, str]:
    """The answer in two phrases, over the inputs."""
    return (
        f"{answer.balls.mean:.0f} balls",
        held_together(f"winders {percent(answer.winder_share['winding'].mean)} winding"),
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
    counts = Counter(cause_of(frame.winder) for frame in frames)
    told = [f"{counts[cause]} {CAUSE_WORDS[cause]}" for cause in STATES if counts[cause]]
    belts = sum(not frame.runs for frame in frames)
    line = f"Of {len(frames)} winders: {', '.join(told)}."
    return f"{line} {belts} of the belts {'stand' if belts > 1 else 'stands'}." if belts else line
