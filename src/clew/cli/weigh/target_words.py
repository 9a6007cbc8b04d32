"""The answer of `clew weigh target` for people."""

from __future__ import annotations

from collections.abc import Sequence

import click

from clew.checks.packages.rule import OFFICE
from clew.checks.target.answer_plain import (
    Answered,
    compared,
    is_confirmed,
    money_of,
    other_risks,
    turns_of,
)
from clew.checks.target.answer_words import (
    against_now,
    aim_words,
    binds_words,
    doubt_words,
    percent_words,
)
from clew.checks.target.gram_worth import LevelWorth
from clew.checks.target.question import Question
from clew.cli.output import print_rows, print_table

LEVEL_WORDS = {
    "lot": "lot to lot",
    "cone": "cone to cone",
    "winder": "winder to winder",
    "within": "ball to ball",
}


def tell(found: Answered) -> None:
    """Print the answer, words first."""
    question, answer, now = found.question, found.answer, found.now
    click.echo(aim_words(question, answer))
    turns = turns_of(question, answer)
    if turns is not None:
        unlike = [(w, s.counts) for w, s in turns.counts if s.counts != turns.turns]
        more = "".join(f"; winder {w}: {counts} counts" for w, counts in unlike)
        click.echo(f"Set {turns.turns} turns on every winder ({turns.mass_g:.2f} g){more}.")
    if question.present_g is not None and now is not None:
        click.echo(against_now(question, answer, now))
    click.echo(binds_words(answer))
    rate = answer.failure
    click.echo(
        f"Risk: at most {percent_words(answer.risk)} of lots may fail. At the target "
        f"{percent_words(rate.frac)} do (± {percent_words(rate.se)}; 95 % sure: at most "
        f"{percent_words(rate.upper)}), of {answer.drawn.least.shape[0]} inspections "
        f"drawn with seed {answer.drawn.seed}."
    )
    click.echo(
        "A risk of "
        + ", of ".join(
            f"{100 * risk:g} % asks for {mass:.2f} g" for risk, mass in other_risks(answer)
        )
        + "."
    )
    click.echo(doubt_words(answer, found.doubt))
    if not is_confirmed(question):
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
                percent_words(need.failure.frac),
                f"{100 * need.share_frac:.0f} %",
            ]
            for need in answer.needs
        ],
    )
    if found.worth:
        click.echo()
        _tell_worth(question, found.worth)
    models = compared(question)
    if models:
        click.echo()
        print_table(
            ["for comparison, inspections left out", "mean as inspected", "short"],
            [[one.words, f"{one.mass_g:.2f} g", percent_words(one.short_frac)] for one in models],
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
        money = money_of(question, one.all_gain_g)
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


def _lot_words(question: Question) -> str:
    lot = question.lot
    text = f"{lot.balls} balls"
    if not question.spread.cone.mass.none:
        text += f", {lot.balls_per_cone} to a cone"
    if not question.spread.winder.mass.none:
        text += f", {lot.winders} winder{'s' if lot.winders > 1 else ''}"
    return text
