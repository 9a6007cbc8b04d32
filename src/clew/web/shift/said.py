"""What Shift says in words beside what `clew line simulate` says."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from clew.languages import figure, first_lower, joined, say, say_many, told_again
from clew.line.simulate.answer import ShiftAnswer
from clew.line.simulate.words import (
    CAUSE_WORDS,
    WORTH_SAYING,
    mean_and_interval,
    percent,
    shares_said,
)
from clew.quantities import POUND_G, YARD_M, number
from clew.web.asked.entries import Entry
from clew.web.drawn.figures import Figures
from clew.web.drawn.marked_up import say_html
from clew.web.heat.figures import held_together
from clew.web.shift.estimates import Estimates
from clew.web.shift.replay import Replay
from clew.web.shift.states import cause_of, state_of_line

_KM = re.compile(r"(\d+(?:\.\d+)?) km\b")
_LB_KG = POUND_G / 1000.0
_MILE_KM = 1760.0 * YARD_M / 1000.0
_HELD = re.compile(r"(?<=\d) (?=(?:km|kg|lb|miles|min|h|m/min|yd/min|m)\b)")
_SPEED = re.compile(r"(\d+(?:\.\d+)?) m/min\b")
_KG = re.compile(r"(\d+(?:\.\d+)?) kg\b")


def in_readers_units(words: str, figures: Figures) -> str:
    """Write a room's kilometres and kilograms in the reader's units, each on one line."""
    return told_again(words, lambda part: _in_units(part, metric=figures.metric))


def _in_units(words: str, *, metric: bool) -> str:
    if not metric:
        words = _KM.sub(lambda one: f"{number(float(one[1]) / _MILE_KM, 2)} miles", words)
        words = _SPEED.sub(lambda one: f"{number(float(one[1]) / YARD_M, 4)} yd/min", words)
        words = _KG.sub(lambda one: f"{number(float(one[1]) / _LB_KG, 3)} lb", words)
    return _HELD.sub("\u00a0", held_together(words))


def _held(words: str) -> str:
    return told_again(words, held_together)


def winder_words(answer: ShiftAnswer) -> str:
    """In a sentence: how long winders wind, and what else they do, in the words of the page."""
    shares = {cause: one.mean for cause, one in answer.winder_share.items()}
    others = sorted(
        (cause for cause, share in shares.items() if cause != "winding" and share >= WORTH_SAYING),
        key=lambda cause: -shares[cause],
    )
    told = shares_said(shares, ("winding", *others[:3]), CAUSE_WORDS)
    return _held(say("Of the winders' time, {shares}.", shares=told))


def tried_words(entries: Sequence[Entry]) -> str:
    """Name what was tried and what the mill file says; empty when nothing was."""
    told = [_tried(one) for one in entries if one.moved]
    return _held(say("Tried: {values}", values=joined(", ", told))) if told else ""


def _tried(one: Entry) -> str:
    if one.key == "hands":
        return say_many(
            "{n} hand (mill file {own})", "{n} hands (mill file {own})",
            int(one.text), n=one.text, own=one.mill_text,
        )  # fmt: skip
    if one.key == "colour_changes":
        return say_many(
            "{n} colour change (mill file {own})", "{n} colour changes (mill file {own})",
            int(one.text), n=one.text, own=one.mill_text,
        )  # fmt: skip
    if one.key == "lanes":
        return say_many(
            "{n} lane (mill file {own})", "{n} lanes (mill file {own})",
            int(one.text), n=one.text, own=one.mill_text,
        )  # fmt: skip
    return say(
        "{name} {value} (mill file {own})",
        name=first_lower(one.words), value=one.text, own=one.mill_text,
    )  # fmt: skip


def paper_words(subject: str, entries: Sequence[Entry], when: str) -> str:
    """Say on paper what was chosen and tried, and when it was printed."""
    tried = (
        say("{name} {value}", name=first_lower(one.words), value=one.text)
        for one in entries
        if one.moved
    )
    chosen = joined("; ", (subject, *tried))
    return say("{chosen}. Printed {when}.", chosen=chosen, when=when)


def heavy_words(answer: ShiftAnswer, figures: Figures) -> str:
    """Mass of a shift's balls, to as many digits as shifts agree on."""
    value, unit = (answer.kg.mean, "kg") if figures.metric else (answer.kg.mean / _LB_KG, "lb")
    text = f"{value:.0f}" if value >= 100.0 else number(value, 3)
    return figure(f"{text}\u00a0{unit}")


def use_words(answer: ShiftAnswer, figures: Figures) -> str:
    """Cones that a shift uses, and strand that it wastes, in a sentence."""
    cones, waste_m = answer.measures["cones"].mean, answer.measures["waste_m"].mean
    return _held(
        say(
            "A shift uses {cones} cones and wastes {length} of strand, before steam.",
            cones=figure(f"{cones:.0f}") if cones >= 10.0 else number(cones, 2),
            length=figures.length(waste_m),
        )
    )


def why_they_differ(answer: ShiftAnswer, quick: Estimates) -> str:
    """Why the closed forms are not the answer, in a sentence or two."""
    wind = answer.winder_share["winding"].mean
    if wind > min(quick.step_frac, quick.chance_frac) - 0.005:
        told = [
            say(
                "A ball fills in the same time again and again, so doffs do not come at random: "
                "they fall into step behind a hand. By chance they would meet more often, and "
                "wait longer."
            )
        ]
    else:
        told = [_more_to_do(answer)]
    if quick.feed_frac < 0.999:
        told.append(say("Whatever the hands do, winders cannot wind more than the feed brings."))
    return _held(joined(" ", told))


def _more_to_do(answer: ShiftAnswer) -> str:
    hands = answer.hand_share
    doff_s = answer.served["doff"] * answer.layout.doff_s
    other = 1.0 - doff_s / max(answer.measures["hand_serving_s"].mean, 1e-9)
    return say(
        "A ball fills in the same time again and again, so doffs do not come at random: they fall "
        "into step behind a hand, and a call for anything else spoils the step. The truth lies "
        "below both, for hands have more to do than the formulas know: {other} of their work is "
        "not doffing, {walking} of their time they walk and {resting} they rest.",
        other=percent(max(other, 0.0)),
        walking=percent(hands["walking"].mean),
        resting=percent(hands["resting"].mean),
    )


def estimate_note(quick: Estimates) -> str:
    """What the estimates are reckoned with."""
    return _held(
        say(
            "A ball fills in {fill}, a doff takes {doff}, the walk to the next winder {walk}. In "
            "step: synchronous servicing, {winders} to a hand. By chance: the finite-source "
            "formula for exponential service, a doff and the walk to it taken as one service. "
            "Neither knows rests, cones to load or the buffer.",
            fill=figure(f"{number(quick.full_s, 3)} s"),
            doff=figure(f"{number(quick.doff_s, 3)} s"),
            walk=figure(f"{number(quick.walk_s, 2)} s"),
            winders=say_many("{n} winder", "{n} winders", quick.per_hand),
        )
    )


def which_formula(quick: Estimates) -> str:
    """Which formula applies, as the room's chooser says, and why."""
    law = _LAWS[quick.applies.law]
    if quick.applies.exact:
        nearest = say("Of the formulas the nearest is {law}.", law=law)
    else:
        nearest = say("Of the formulas the nearest is {law}, and it is not exact.", law=law)
    return _held(joined(" ", (nearest, *quick.applies.reasons)))


_LAWS = {
    "constant": say("one hand with services all alike"),
    "exponential": say("the finite-source formula for exponential service"),
    "gamma": say("one hand with gamma service"),
    "patrol": say("one hand on patrol"),
    "synchronous": say("synchronous servicing"),
}
"""What the chooser's laws are called here."""


def mini_words(answer: ShiftAnswer) -> str:
    """The answer in two phrases, over the inputs."""
    return say_html(
        "<strong>{balls:.0f} balls</strong>, winders {share} winding",
        balls=answer.balls.mean,
        share=_held(percent(answer.winder_share["winding"].mean)),
    )


def interval_words(answer: ShiftAnswer) -> str:
    """The interval of the balls, and what nine shifts of ten give."""
    _, between = mean_and_interval(answer.balls)
    low, high = answer.balls_range
    if not between:
        return say(
            "Mean of {n} simulated shifts; 9 shifts of 10 give {low} to {high}.",
            n=answer.replications, low=low, high=high,
        )  # fmt: skip
    return say(
        "Mean of {n} simulated shifts ({interval}); 9 shifts of 10 give {low} to {high}.",
        n=answer.replications, interval=between, low=low, high=high,
    )  # fmt: skip


def quick_words(answer: ShiftAnswer) -> str:
    """The interval of the balls while a slider moves, and that more shifts follow."""
    _, between = mean_and_interval(answer.balls)
    if not between:
        return say(
            "Mean of {n} simulated shifts while the values move; more of them and the drawn line "
            "follow once they rest.",
            n=answer.replications,
        )
    return say(
        "Mean of {n} simulated shifts ({interval}) while the values move; more of them and the "
        "drawn line follow once they rest.",
        n=answer.replications, interval=between,
    )  # fmt: skip


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
    found: dict[str, list[str]] = {place: [] for place in (*_BESIDE.values(), "others")}
    for sentence in reasons:
        place = next(
            (at for begins, at in _BESIDE.items() if sentence.startswith(begins)), "others"
        )
        if place:
            found[place].append(in_readers_units(sentence, figures))
    return {place: joined(" ", told) for place, told in found.items()}


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
    return state_of_line(counts, sum(not frame.runs for frame in frames))
