"""The answer of `clew weigh target` for people, and for programs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from clew.checks.packages.rule import OFFICE
from clew.checks.target.characteristic import characteristic, scales_about
from clew.checks.target.comparison import Compared, compare
from clew.checks.target.gram_worth import DoubtCost, LevelWorth
from clew.checks.target.target import FailureRate, TargetAnswer, mass_at_risk, money_a_year
from clew.checks.target.target_plain import (
    plain_characteristic,
    plain_plans,
    plain_rate,
    plain_target,
    plain_worth,
)
from clew.cli.output import print_rows, print_table
from clew.cli.weigh_target_terms import Question

if TYPE_CHECKING:
    from clew.checks.target.from_mill import TargetTurns

LEVEL_WORDS = {
    "lot": "lot to lot",
    "cone": "cone to cone",
    "winder": "winder to winder",
    "within": "ball to ball",
}


def plain_answer(
    question: Question,
    answer: TargetAnswer,
    worth: Sequence[LevelWorth],
    doubt: DoubtCost,
    now: FailureRate | None,
) -> dict[str, object]:
    """Give the answer as plain values with units in the keys."""
    mass_declared = _declared(question, "mass")
    inspected_g = answer.mass_g * question.condition.mass_factor
    plain: dict[str, object] = plain_target(answer, with_length=question.length_known)
    turns = _turns(question, answer)
    plain |= {
        "for_doubt_of_spread_g": doubt.spread_g,
        "for_doubt_of_condition_g": doubt.condition_g,
        "declared_mass_g": mass_declared,
        "declared_length_m": _declared(question, "length"),
        "target_as_inspected_g": inspected_g,
        "giveaway_g": None if mass_declared is None else inspected_g - mass_declared,
        "present_mass_g": question.present_g,
        "present_over_g": None
        if question.present_g is None
        else question.present_g - answer.mass_g,
        "present_fails": None if now is None else plain_rate(now),
        "money_a_year": None
        if question.present_g is None
        else _money(question, question.present_g - answer.mass_g),
        "currency": question.currency or None,
        "turns": None if turns is None else turns.turns,
        "counts": None
        if turns is None
        else {str(winder): setting.counts for winder, setting in turns.counts},
        "lot_size": question.lot.balls,
        "balls_per_cone": question.lot.balls_per_cone,
        "winders": question.lot.winders,
        "gram_worth": plain_worth(worth),
        "other_risks": [{"risk_frac": risk, "mass_g": mass} for risk, mass in _others(answer)],
        "comparison": [
            {"model": one.key, "mass_g": one.mass_g, "short_frac": one.short_frac}
            for one in _compared(question)
        ],
        "characteristic": plain_characteristic(
            characteristic(answer.drawn, question.ball, scales_about(answer.drawn))
        ),
        "plans": plain_plans(question.plans),
        "confirmed": _confirmed(question),
        "notes": list(question.notes),
        "office": OFFICE,
    }
    return plain


def tell(
    question: Question,
    answer: TargetAnswer,
    worth: Sequence[LevelWorth],
    doubt: DoubtCost,
    now: FailureRate | None,
) -> None:
    """Print the answer, words first."""
    click.echo(_aim(question, answer))
    turns = _turns(question, answer)
    if turns is not None:
        unlike = [(w, s.counts) for w, s in turns.counts if s.counts != turns.turns]
        more = "".join(f"; winder {w}: {counts} counts" for w, counts in unlike)
        click.echo(f"Set {turns.turns} turns on every winder ({turns.mass_g:.2f} g){more}.")
    if question.present_g is not None and now is not None:
        click.echo(_against_now(question, answer, now))
    click.echo(_binds(answer))
    rate = answer.failure
    click.echo(
        f"Risk: at most {_percent(answer.risk)} of lots may fail. At the target "
        f"{_percent(rate.frac)} do (± {_percent(rate.se)}; 95 % sure: at most "
        f"{_percent(rate.upper)}), of {answer.drawn.least.shape[0]} inspections "
        f"drawn with seed {answer.drawn.seed}."
    )
    click.echo(
        "A risk of "
        + ", of ".join(f"{100 * risk:g} % asks for {mass:.2f} g" for risk, mass in _others(answer))
        + "."
    )
    click.echo(_doubt_words(answer, doubt))
    if not _confirmed(question):
        click.echo(
            "TABLE UNCONFIRMED: a figure below rests on a table not checked against its source."
        )
    click.echo()
    print_table(
        ["what is asked", "alone needs", "fails there", "decides"],
        [
            [
                need.asked.words,
                f"{need.mass_g:.2f} g",
                _percent(need.failure.frac),
                f"{100 * need.share_frac:.0f} %",
            ]
            for need in answer.needs
        ],
    )
    if worth:
        click.echo()
        _tell_worth(question, worth)
    compared = _compared(question)
    if compared:
        click.echo()
        print_table(
            ["for comparison, inspections left out", "mean as inspected", "short"],
            [[one.words, f"{one.mass_g:.2f} g", _percent(one.short_frac)] for one in compared],
        )
    click.echo()
    for note in question.notes:
        click.echo(note if note.endswith(".") else f"Note: {note}.")
    for plan in question.plans:
        if plan.individual_open:
            click.echo(f"Note: {plan.rule}, {plan.quantity}: single balls are not in this target.")
    print_rows(
        [
            ("spread from", question.spread_from),
            ("lot", _lot_words(question)),
            *(
                ("rests on", mark)
                for mark in dict.fromkeys(m for p in question.plans for m in p.marks)
            ),
        ]
    )
    click.echo(f"This is {OFFICE}.")


def _compared(question: Question) -> tuple[Compared, ...]:
    return compare(
        question.plans,
        question.spread.mass_frac * question.ball.mass_g,
        yarn_per_kg=question.price_per_kg,
        ball_price=question.ball_price,
        short_price=question.short_price,
    )


def _doubt_words(answer: TargetAnswer, doubt: DoubtCost) -> str:
    parts = [
        (doubt.spread_g, "not knowing the spreads for certain"),
        (doubt.condition_g, "doubts of mean, tare, scale and regain"),
        (answer.drawing_g, "drawing no more inspections"),
    ]
    said = [f"{grams:.2f} g for {words}" for grams, words in sorted(parts, reverse=True)
            if grams >= 0.005]  # fmt: skip
    return f"Of the target: {', '.join(said)}." if said else "Doubt adds nothing to the target."


def _others(answer: TargetAnswer) -> list[tuple[float, float]]:
    """Targets that other usual risks would ask for, as far as the inspections bear them."""
    usual = [risk for risk in (0.05, 0.01, 0.001) if risk != answer.risk]
    return [(risk, mass_at_risk(answer, risk)) for risk in usual]


def _marks(question: Question) -> tuple[str, ...]:
    return tuple(dict.fromkeys(mark for plan in question.plans for mark in plan.marks))


def _declared(question: Question, quantity: str) -> float | None:
    return max((p.declared for p in question.plans if p.quantity == quantity), default=None)


def _confirmed(question: Question) -> bool:
    return all(plan.confirmed for plan in question.plans)


def _turns(question: Question, answer: TargetAnswer) -> TargetTurns | None:
    of_mill = question.of_mill
    if of_mill is None:
        return None
    from clew.checks.target.from_mill import turns_for

    line = min(of_mill.mill.line, key=lambda one: one.lanes)
    wanted_m = answer.length_m if _declared(question, "length") is not None else 0.0
    return turns_for(of_mill.terms, of_mill.ball, line, of_mill.answer, answer.mass_g, wanted_m)


def _aim(question: Question, answer: TargetAnswer) -> str:
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
        declared = _declared(question, quantity)
        if declared is not None:
            side = "above" if value >= declared else "below"
            over.append(
                f"{abs(value - declared):.2f} {unit} {side} the declared {declared:g} {unit}"
            )
    return f"{text}: {' and '.join(over)}."


def _against_now(question: Question, answer: TargetAnswer, now: FailureRate) -> str:
    assert question.present_g is not None
    over = question.present_g - answer.mass_g
    if over < 0.005 and over > -0.005:
        return f"You wind {question.present_g:.2f} g now: on the target."
    if over < 0.0:
        return f"You wind {question.present_g:.2f} g now: {-over:.2f} g too light. {_failing(now)}."
    text = f"You wind {question.present_g:.2f} g now: {over:.2f} g higher than the law needs"
    year = question.balls_a_year
    if year is not None:
        text += f": {over:.2f} g x {year} balls = {over * year / 1000.0:.0f} kg a year"
        money = _money(question, over)
        if money is not None:
            text += f", worth {money:.0f} {question.currency}".rstrip()
    return f"{text}. {_failing(now)} now."


def _failing(rate: FailureRate) -> str:
    if rate.frac == 0.0:
        return f"Under {_percent(rate.upper)} of lots fail"
    return f"{_percent(rate.frac)} of lots fail"


def _money(question: Question, grams: float) -> float | None:
    if question.balls_a_year is None or question.price_per_kg is None:
        return None
    return money_a_year(grams, question.balls_a_year, question.price_per_kg)


def _binds(answer: TargetAnswer) -> str:
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


def _tell_worth(question: Question, worth: Sequence[LevelWorth]) -> None:
    rows = []
    for one in worth:
        row = [
            LEVEL_WORDS[one.level],
            f"{one.sd_g:.2f} g",
            _signed(one.slope),
            f"{one.step_g:.2f} g",
            _signed(one.step_gain_g),
            _signed(one.all_gain_g),
        ]
        money = _money(question, one.all_gain_g)
        if money is not None:
            row.append(f"{money:.0f} {question.currency}".strip().replace("-", "−"))
        rows.append(row)
    head = ["spread", "sd", "g a gram", "so much less", "saves", "without it"]
    if rows and len(rows[0]) > len(head):
        head.append("a year")
    print_table(head, rows)
    click.echo(
        "A gram of spread moves the target by so many grams; below nought where the rule judges "
        "balls that differ more, more mildly."
        if any(one.slope < 0.0 for one in worth)
        else "A gram of spread moves the target by so many grams."
    )


def _signed(grams: float) -> str:
    return f"{grams + 0.0:.2f}".replace("-0.00", "0.00").replace("-", "−") + " g"


def _percent(frac: float) -> str:
    places = 2 if frac >= 0.001 or frac == 0.0 else 3
    return f"{100 * frac:.{places}f} %"


def _lot_words(question: Question) -> str:
    lot = question.lot
    text = f"{lot.balls} balls"
    if not question.spread.cone.mass.none:
        text += f", {lot.balls_per_cone} to a cone"
    if not question.spread.winder.mass.none:
        text += f", {lot.winders} winder{'s' if lot.winders > 1 else ''}"
    return text
