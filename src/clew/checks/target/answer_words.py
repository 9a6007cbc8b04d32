"""The least lawful target in words."""

from __future__ import annotations

import math

from clew.checks.target.answer_plain import declared_of, money_of
from clew.checks.target.gram_worth import DoubtCost
from clew.checks.target.question import Question
from clew.checks.target.target import FailureRate, TargetAnswer


def aim_words(question: Question, answer: TargetAnswer) -> str:
    """Say the target."""
    grams = math.ceil(answer.mass_g * 100.0 - 1e-6) / 100.0
    length_m = answer.length_m * grams / answer.mass_g
    seen = grams * question.condition.mass_factor
    text = f"Aim at {grams:.2f} g"
    if question.condition.mass_factor != 1.0:
        text += f" as weighed ({seen:.2f} g as inspected)"
    if question.length_known:
        text += f" and {length_m:.1f} m"
    over = []
    for quantity, unit, value in (("mass", "g", seen), ("length", "m", length_m)):
        declared = declared_of(question, quantity)
        if declared is not None:
            side = "above" if value >= declared else "below"
            over.append(
                f"{abs(value - declared):.2f} {unit} {side} the declared {declared:g} {unit}"
            )
    return f"{text}: {' and '.join(over)}."


def against_now(question: Question, answer: TargetAnswer, now: FailureRate) -> str:
    """Say how the present mean stands to the target."""
    assert question.present_g is not None
    over = question.present_g - answer.mass_g
    if over < 0.005 and over > -0.005:
        return f"You wind {question.present_g:.2f} g now: on the target."
    if over < 0.0:
        light = f"You wind {question.present_g:.2f} g now: {-over:.2f} g too light"
        return f"{light}. {failing_words(now)}."
    text = f"You wind {question.present_g:.2f} g now: {over:.2f} g higher than the law needs"
    year = question.balls_a_year
    if year is not None:
        text += f": {over:.2f} g x {year} balls = {over * year / 1000.0:.0f} kg a year"
        money = money_of(question, over)
        if money is not None:
            text += f", worth {money:.0f} {question.currency}".rstrip()
    return f"{text}. {failing_words(now)} now."


def failing_words(rate: FailureRate) -> str:
    """Say how many lots fail."""
    if rate.frac == 0.0:
        return f"Under {percent_words(rate.upper)} of lots fail"
    return f"{percent_words(rate.frac)} of lots fail"


def binds_words(answer: TargetAnswer) -> str:
    """Say what decides the target."""
    if answer.by_declaration:
        return (
            "What binds: the declaration itself. Sampling alone would let the mean lie at "
            f"{answer.binding.mass_g:.2f} g, but what the rules leave to sampling is not there to "
            "be used up."
        )
    first = answer.binding
    text = f"What binds: {first.asked.words}"
    if len(answer.needs) > 1:
        second = answer.needs[1]
        text += f"; next {second.asked.words}, which alone would need {second.mass_g:.2f} g"
    return f"{text}."


def doubt_words(answer: TargetAnswer, doubt: DoubtCost) -> str:
    """Say how much of the target is for doubt."""
    parts = [
        (doubt.spread_g, "not knowing the spreads for certain"),
        (doubt.condition_g, "doubts of mean, tare, scale and regain"),
        (answer.drawing_g, "drawing no more inspections"),
    ]
    said = [f"{grams:.2f} g for {words}" for grams, words in sorted(parts, reverse=True)
            if grams >= 0.005]  # fmt: skip
    return f"Of the target: {', '.join(said)}." if said else "Doubt adds nothing to the target."


def percent_words(frac: float) -> str:
    """Write a share of lots [-]."""
    places = 2 if frac >= 0.001 or frac == 0.0 else 3
    return f"{100 * frac:.{places}f} %"
