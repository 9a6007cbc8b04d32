"""The least lawful target in words."""

from __future__ import annotations

import math

from clew.checks.target.answer_plain import declared_of, money_of
from clew.checks.target.gram_worth import DoubtCost
from clew.checks.target.question import Question
from clew.checks.target.target import FailureRate, TargetAnswer
from clew.languages import figure, joined, say


def aim_words(question: Question, answer: TargetAnswer) -> str:
    """Say the target."""
    grams = math.ceil(answer.mass_g * 100.0 - 1e-6) / 100.0
    length_m = answer.length_m * grams / answer.mass_g
    seen = grams * question.condition.mass_factor
    text = say("Aim at {mass:.2f} g", mass=grams)
    if question.condition.mass_factor != 1.0:
        text = say(
            "Aim at {mass:.2f} g as weighed ({seen:.2f} g as inspected)", mass=grams, seen=seen
        )
    if question.length_known:
        text = say("{masses} and {length:.1f} m", masses=text, length=length_m)
    over = []
    for quantity, unit, value in (("mass", "g", seen), ("length", "m", length_m)):
        declared = declared_of(question, quantity)
        if declared is not None:
            amounts = {"off": abs(value - declared), "unit": unit, "declared": declared}
            over.append(
                say("{off:.2f} {unit} above the declared {declared:g} {unit}", **amounts)
                if value >= declared
                else say("{off:.2f} {unit} below the declared {declared:g} {unit}", **amounts)
            )
    return say("{aim}: {over}.", aim=text, over=joined(say(" and "), over))


def against_now(
    question: Question, answer: TargetAnswer, now: FailureRate, *, of_file: bool = False
) -> str:
    """Say how the present mean stands to the target; of a file, what its balls weigh."""
    assert question.present_g is not None
    over = question.present_g - answer.mass_g
    wound = (
        say("The balls of this file weigh {mass:.2f} g now", mass=question.present_g)
        if of_file
        else say("You wind {mass:.2f} g now", mass=question.present_g)
    )
    if over < 0.005 and over > -0.005:
        return say("{wound}: on the target.", wound=wound)
    if over < 0.0:
        light = say("{wound}: {off:.2f} g too light.", wound=wound, off=-over)
        return joined(" ", (light, failing_words(now)))
    text = say("{wound}: {off:.2f} g higher than the law needs", wound=wound, off=over)
    year = question.balls_a_year
    if year is not None:
        text = say(
            "{more}: {off:.2f} g x {balls} balls = {yarn:.0f} kg a year",
            more=text,
            off=over,
            balls=year,
            yarn=over * year / 1000.0,
        )
        money = money_of(question, over)
        if money is not None:
            worth = figure(f"{money:.0f} {question.currency}".rstrip())
            text = say("{more}, worth {money}", more=text, money=worth)
    return joined(" ", (say("{more}.", more=text), failing_words(now, still=True)))


def failing_words(rate: FailureRate, *, still: bool = False) -> str:
    """Say how many lots fail; `still` of what is wound now."""
    if rate.frac == 0.0:
        share = percent_words(rate.upper)
        if still:
            return say("Under {share} of lots fail now.", share=share)
        return say("Under {share} of lots fail.", share=share)
    share = percent_words(rate.frac)
    if still:
        return say("{share} of lots fail now.", share=share)
    return say("{share} of lots fail.", share=share)


def binds_words(answer: TargetAnswer) -> str:
    """Say what decides the target."""
    if answer.by_declaration:
        return say(
            "What binds: the declaration itself. Sampling alone would let the mean lie at "
            "{mass:.2f} g, but what the rules leave to sampling is not there to be used up.",
            mass=answer.binding.mass_g,
        )
    first = answer.binding
    if len(answer.needs) > 1:
        second = answer.needs[1]
        return say(
            "What binds: {first}; next {second}, which alone would need {mass:.2f} g.",
            first=first.asked.words,
            second=second.asked.words,
            mass=second.mass_g,
        )
    return say("What binds: {first}.", first=first.asked.words)


def doubt_words(answer: TargetAnswer, doubt: DoubtCost) -> str:
    """Say how much of the target is for doubt."""
    parts = [
        (doubt.spread_g, say("{mass:.2f} g for not knowing the spreads for certain",
                             mass=doubt.spread_g)),
        (doubt.condition_g, say("{mass:.2f} g for doubts of mean, tare, scale and regain",
                                mass=doubt.condition_g)),
        (answer.drawing_g, say("{mass:.2f} g for drawing no more inspections",
                               mass=answer.drawing_g)),
    ]  # fmt: skip
    said = [words for grams, words in sorted(parts, reverse=True) if grams >= 0.005]
    if not said:
        return say("Doubt adds nothing to the target.")
    return say("Of the target: {parts}.", parts=joined(", ", said))


def percent_words(frac: float) -> str:
    """Write a share of lots [-]."""
    places = 2 if frac >= 0.001 or frac == 0.0 else 3
    return figure(f"{100 * frac:.{places}f} %")
