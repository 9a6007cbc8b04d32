"""The least lawful target of a question, whole and as plain values."""

from __future__ import annotations

from dataclasses import dataclass

from clew.checks.packages.rule import OFFICE
from clew.checks.target.characteristic import characteristic, scales_about
from clew.checks.target.comparison import Compared, compare
from clew.checks.target.from_mill import TargetTurns, turns_for
from clew.checks.target.gram_worth import DoubtCost, LevelWorth, worth_and_doubt
from clew.checks.target.question import Question
from clew.checks.target.target import (
    FailureRate,
    TargetAnswer,
    failure_rate,
    least_target,
    mass_at_risk,
    money_a_year,
)
from clew.checks.target.target_plain import (
    plain_characteristic,
    plain_plans,
    plain_rate,
    plain_target,
    plain_worth,
)


@dataclass(frozen=True, slots=True)
class Answered:
    """A question with all that is said to it.

    Attributes
    ----------
    question : Question
        The question.
    answer : TargetAnswer
        The target.
    worth : tuple of LevelWorth
        What a gram of each spread is worth.
    doubt : DoubtCost
        What doubt adds.
    now : FailureRate or None
        How many lots fail at the present mean; none where it is not known.
    """

    question: Question
    answer: TargetAnswer
    worth: tuple[LevelWorth, ...]
    doubt: DoubtCost
    now: FailureRate | None


def answered(question: Question, *, inspections: int | None = None, seed: int = 1) -> Answered:
    """Find the least lawful target of a question, and what it is made of.

    Parameters
    ----------
    question : Question
        The question.
    inspections : int, optional
        Inspections to draw; enough for the risk when left out.
    seed : int
        Seed of the draws.

    Returns
    -------
    Answered
        The answer.

    Raises
    ------
    BadInput
        When a risk or a spread cannot be used.
    """
    asked = (question.plans, question.ball, question.spread, question.lot, question.condition)
    risk, present = question.risk, question.present_g
    answer = least_target(*asked, risk=risk, inspections=inspections, seed=seed)
    worth, doubt = worth_and_doubt(*asked, risk=risk, seed=seed)
    return Answered(
        question=question,
        answer=answer,
        worth=worth,
        doubt=doubt,
        now=None
        if present is None
        else failure_rate(answer.drawn.whole, present / question.ball.mass_g),
    )


def plain_answer(found: Answered) -> dict[str, object]:
    """Give the answer as plain values with units in the keys."""
    question, answer, now = found.question, found.answer, found.now
    mass_declared = declared_of(question, "mass")
    inspected_g = answer.mass_g * question.condition.mass_factor
    plain: dict[str, object] = plain_target(answer, with_length=question.length_known)
    turns = turns_of(question, answer)
    plain |= {
        "for_doubt_of_spread_g": found.doubt.spread_g,
        "for_doubt_of_condition_g": found.doubt.condition_g,
        "declared_mass_g": mass_declared,
        "declared_length_m": declared_of(question, "length"),
        "target_as_inspected_g": inspected_g,
        "giveaway_g": None if mass_declared is None else inspected_g - mass_declared,
        "present_mass_g": question.present_g,
        "present_over_g": None
        if question.present_g is None
        else question.present_g - answer.mass_g,
        "present_fails": None if now is None else plain_rate(now),
        "money_a_year": None
        if question.present_g is None
        else money_of(question, question.present_g - answer.mass_g),
        "currency": question.currency or None,
        "turns": None if turns is None else turns.turns,
        "counts": None
        if turns is None
        else {str(winder): setting.counts for winder, setting in turns.counts},
        "lot_size": question.lot.balls,
        "balls_per_cone": question.lot.balls_per_cone,
        "winders": question.lot.winders,
        "gram_worth": plain_worth(found.worth),
        "other_risks": [{"risk_frac": risk, "mass_g": mass} for risk, mass in other_risks(answer)],
        "comparison": [
            {"model": one.key, "mass_g": one.mass_g, "short_frac": one.short_frac}
            for one in compared(question)
        ],
        "characteristic": plain_characteristic(
            characteristic(answer.drawn, question.ball, scales_about(answer.drawn))
        ),
        "plans": plain_plans(question.plans),
        "confirmed": is_confirmed(question),
        "notes": list(question.notes),
        "office": OFFICE,
    }
    return plain


def compared(question: Question) -> tuple[Compared, ...]:
    """Targets of other models, for comparison."""
    return compare(
        question.plans,
        question.spread.mass_frac * question.ball.mass_g,
        yarn_per_kg=question.price_per_kg,
        ball_price=question.ball_price,
        short_price=question.short_price,
    )


def other_risks(answer: TargetAnswer) -> list[tuple[float, float]]:
    """Targets that other usual risks would ask for, as far as the inspections bear them."""
    usual = [risk for risk in (0.05, 0.01, 0.001) if risk != answer.risk]
    return [(risk, mass_at_risk(answer, risk)) for risk in usual]


def declared_of(question: Question, quantity: str) -> float | None:
    """What is declared of a quantity [g or m]; none where it is not."""
    return max((p.declared for p in question.plans if p.quantity == quantity), default=None)


def is_confirmed(question: Question) -> bool:
    """Whether every table that decides was checked against its source."""
    return all(plan.confirmed for plan in question.plans)


def turns_of(question: Question, answer: TargetAnswer) -> TargetTurns | None:
    """Turns and counts that wind the target; none without a mill."""
    of_mill = question.of_mill
    if of_mill is None:
        return None
    line = of_mill.line or min(of_mill.mill.line, key=lambda one: one.lanes)
    wanted_m = answer.length_m if declared_of(question, "length") is not None else 0.0
    return turns_for(of_mill.terms, of_mill.ball, line, of_mill.answer, answer.mass_g, wanted_m)


def money_of(question: Question, grams: float) -> float | None:
    """What so many grams a ball [g] come to in a year [money]; none where that is not known."""
    if question.balls_a_year is None or question.price_per_kg is None:
        return None
    return money_a_year(grams, question.balls_a_year, question.price_per_kg)
