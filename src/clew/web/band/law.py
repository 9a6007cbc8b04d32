"""What the law needs, for Band: the least lawful target beside what the winders do now."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from clew.checks.packages.rule import OFFICE
from clew.checks.packages.rule_sets import RULE_SETS, rule_of
from clew.checks.target.answer_plain import Answered, answered, money_of, plain_answer
from clew.checks.target.answer_words import (
    against_now,
    aim_words,
    binds_words,
    doubt_words,
    percent_words,
)
from clew.checks.target.ball_now import wound_now
from clew.checks.target.characteristic import characteristic, scales_about
from clew.checks.target.given import Given
from clew.checks.target.question import question_of
from clew.checks.target.target import FailureRate, failure_rate
from clew.checks.weighings import Weighings
from clew.faults import BadInput, Fault
from clew.languages import figure, first_upper, joined, say, told_again
from clew.mill.net_content import Tables
from clew.web.band.charts import passing_spec
from clew.web.band.figures import Measure, in_readers_units
from clew.web.band.kept import Kept
from clew.web.band.page import BandPage
from clew.web.drawn.chart_svg import Chart, Table, drawn
from clew.web.drawn.figures import Figures
from clew.web.drawn.reworded import reworded
from clew.web.knots.money import whole_sum

LEVEL_WORDS = {
    "lot": say("dye lot to dye lot"),
    "cone": say("cone to cone"),
    "winder": say("winder to winder"),
    "within": say("ball to ball"),
}
_OPTION = re.compile(r"(?<![\w-])(--[a-z][a-z-]+)")
_PLACES = (10.0, 26.0, 42.0)
"""Heights at which the rules' words stand, so that they do not cover one another [%]."""


@dataclass(frozen=True, slots=True)
class Law:
    """The least lawful target, and what is set now.

    Attributes
    ----------
    found : Answered
        The answer.
    set_g : float
        What the winders are set to [g].
    set_rate : FailureRate
        How many lots fail at that.
    """

    found: Answered
    set_g: float
    set_rate: FailureRate


_law: Kept[Law] = Kept(16)


def law_of(page: BandPage, tables: Tables) -> Law:
    """Find the least lawful target for the balls of a page.

    Parameters
    ----------
    page : BandPage
        What was asked; its balls, ball and prices.
    tables : Tables
        The tables of the net-content rules.

    Returns
    -------
    Law
        The target; kept as long as nothing of it changes.

    Raises
    ------
    BadInput
        When the ball names no rule set, or there are too few balls.
    """
    balls = page.balls
    if balls is None:
        raise BadInput(Fault(say("no balls"), say("a file of weighings"), key="file"))
    chosen = page.chosen
    names = (chosen.ball.name, chosen.lot_name, chosen.line.name)
    return _law.of(
        (*page.balls_key, page.tried, *names, tables.sha256),
        lambda: _found(page, balls, tables, names),
    )


def _found(page: BandPage, balls: Weighings, tables: Tables, names: tuple[str, str, str]) -> Law:
    ball = page.chosen.ball
    if ball.rule_set is None:
        raise BadInput(
            Fault(
                say("{ball} names no rule set", ball=ball.name),
                say('rule_set of the ball in the mill file, such as "eu-average"'),
                key="rule_set",
            )
        )
    of_mill = wound_now(page.tried, *names)
    found = answered(question_of(Given(), balls, of_mill, tables))
    set_g = ball.declared_mass_g if ball.target_mass_g is None else ball.target_mass_g
    rate = failure_rate(found.answer.drawn.whole, set_g / found.question.ball.mass_g)
    return Law(found, set_g, rate)


def law_plain(law: Law) -> dict[str, Any]:
    """Give the answer as `clew weigh target --json` does, with what is set now."""
    return plain_answer(law.found) | {
        "set_mass_g": law.set_g,
        "set_fails": {
            "frac": law.set_rate.frac,
            "se": law.set_rate.se,
            "upper_95_frac": law.set_rate.upper,
        },
    }


def law_shown(law: Law, figures: Figures) -> dict[str, Any]:
    """Everything the page arranges on what the law needs.

    Parameters
    ----------
    law : Law
        The answer.
    figures : Figures
        The reader's printing.

    Returns
    -------
    dict
        Words, marks, chart, tables and notes.
    """
    found = law.found
    question, answer = found.question, found.answer
    said = [aim_words(question, answer), _set_words(law)]
    if question.present_g is not None and found.now is not None:
        said.append(against_now(question, answer, found.now, of_file=True))
    said += [
        _with_titles(binds_words(answer)),
        joined(
            " ",
            (
                say(
                    "At most {share} of lots may fail an inspection.",
                    share=percent_words(answer.risk),
                ),
                doubt_words(answer, found.doubt),
            ),
        ),
    ]
    notes = _notes(found, figures)
    minded = [one for one in notes if "first ball" in one]  # it moves the target more than others
    return {
        "words": [in_readers_units(one, figures) for one in said],
        "minded": minded,
        "marks": [
            say("{rule}, mass: {mark}", rule=rule_of(plan.rule).title, mark=mark)
            if plan.quantity == "mass"
            else say("{rule}, length: {mark}", rule=rule_of(plan.rule).title, mark=mark)
            for plan in question.plans
            if not plan.confirmed
            for mark in plan.marks
        ],
        "chart": _curve(law, figures),
        "caption": say("Chance that a lot passes every rule, over its mean ball as weighed."),
        "needs": _needs(found, figures),
        "worth": _worth(found, figures) if found.worth else None,
        "worth_note": say(
            "Below nought the rule judges balls that differ more, more mildly: less of that spread "
            "asks for more yarn."
        )
        if any(min(one.step_gain_g, one.all_gain_g) <= -0.005 for one in found.worth)
        else "",
        "notes": [one for one in notes if one not in minded],
        "office": OFFICE,
    }


def _set_words(law: Law) -> str:
    least = law.found.answer.mass_g
    off = law.set_g - least
    rate = law.set_rate
    fails = (
        say("under {share} of lots would fail", share=percent_words(rate.upper))
        if rate.frac == 0.0
        else say("{share} of lots would fail", share=percent_words(rate.frac))
    )
    if abs(off) < 0.005:
        return say("You are set to {mass:.2f} g: on it.", mass=law.set_g)
    if off < 0.0:
        return say(
            "You are set to {mass:.2f} g, {off:.2f} g under it: {fails}.",
            mass=law.set_g,
            off=-off,
            fails=fails,
        )
    more = say(
        "You are set to {mass:.2f} g: {off:.2f} g a ball more than the law needs",
        mass=law.set_g,
        off=off,
    )
    costs = [more]
    year = law.found.question.balls_a_year
    if year is not None:
        costs.append(say("{yarn:.0f} kg a year", yarn=off * year / 1000.0))
        money = money_of(law.found.question, off)
        if money is not None:
            costs.append(whole_sum(money, law.found.question.currency).rstrip())
    return say("{costs}; {fails}.", costs=joined(", ", costs), fails=fails)


def _curve(law: Law, figures: Figures) -> Chart | None:
    """Draw the chance to pass over the mean ball; none where balls are too few to tell a curve."""
    found, measure = law.found, Measure("mass", figures)
    answer, question = found.answer, found.question
    curve = characteristic(answer.drawn, question.ball, scales_about(answer.drawn))
    least_g = math.ceil(100.0 * answer.mass_g - 1e-6) / 100.0
    marks = [
        (least_g, "solid", say("needed {mass}", mass=measure.bare(least_g))),
        (law.set_g, "dashed", say("set {mass}", mass=measure.bare(law.set_g))),
    ]
    if question.present_g is not None:
        weighed = say("weighed {mass}", mass=measure.bare(question.present_g))
        marks.append((question.present_g, "dotted", weighed))
    known = [
        (float(mass), float(passes))
        for mass, passes in zip(curve.mass_g, curve.passes, strict=True)
        if math.isfinite(mass) and math.isfinite(passes)
    ]
    masses = [*(mass for mass, _ in known), *(mass for mass, _, _ in marks)]
    if len(known) < 2 or not all(math.isfinite(mass) for mass in masses):
        return None
    low, high = min(masses), max(masses)
    ends = (measure.plain(low), measure.plain(high))
    room = 0.02 * (ends[1] - ends[0])
    domain = (round(ends[0] - room, 4), round(ends[1] + room, 4))
    rows = [
        {"x": round(measure.plain(mass), 5), "y": round(100.0 * passes, 3)}
        for mass, passes in known
    ]
    at_most = 0.48 * domain[0] + 0.52 * domain[1]  # farther right there is no room for words
    width = 0.32 * (domain[1] - domain[0])
    places = [measure.plain(mass) for mass, _, _ in marks]
    rules = [
        {
            "at": round(measure.plain(mass), 5),
            "dash": dash,
            "words": words,
            "place": place,
            "side": "right"
            if (at := measure.plain(mass)) > at_most
            or (at - domain[0] > width and any(0.0 < one - at < width for one in places))
            else "left",  # not across the rule of another mark, where it can be helped
        }
        for (mass, dash, words), place in zip(sorted(marks), _PLACES, strict=False)
    ]
    table = Table(
        (say("Mean ball"), say("Lots that pass")),
        tuple((measure.text(mass), figures.percent(passes)) for mass, passes in known),
    )
    title = say("Chance that a lot passes every rule, over its mean ball")
    spec = passing_spec(
        say("mean ball as weighed, {unit}", unit=measure.unit), domain, _ticks(*domain)
    )
    return drawn("passing", title, spec, {"rows": rows, "rules": rules}, table)


def _ticks(low: float, high: float) -> tuple[float, ...]:
    from clew.web.band.drawing import nice_ticks

    return tuple(round(one, 6) for one in nice_ticks(low, high, 5))


def _with_titles(words: str) -> str:
    """Name rule sets by their titles; commands and the mill file have their keys."""
    return told_again(
        words,
        lambda text: RULE_SETS[text].title if text in RULE_SETS else text,
    )


def _needs(found: Answered, figures: Figures) -> Table:
    measure = Measure("mass", figures)
    return Table(
        (say("What is asked"), say("Alone needs"), say("Fails there"), say("Decides")),
        tuple(
            (
                _with_titles(need.asked.words),
                measure.text(need.mass_g),
                figure(percent_words(need.failure.frac).replace(" ", "\u00a0")),
                figures.percent(need.share_frac, 0),
            )
            for need in found.answer.needs
        ),
    )


def _worth(found: Answered, figures: Figures) -> Table:
    """What spread is worth, level by level; a year of all of it gone in money."""
    measure, question = Measure("mass", figures), found.question
    head = [say("Spread"), say("sd"), say("So much less"), say("saves"), say("Without it")]
    rows = []
    money_known = question.balls_a_year is not None and question.price_per_kg is not None
    for one in found.worth:
        row = [
            LEVEL_WORDS[one.level],
            measure.text(one.sd_g),
            measure.text(one.step_g),
            measure.text(one.step_gain_g),
            measure.text(one.all_gain_g),
        ]
        money = money_of(question, one.all_gain_g)
        if money_known and money is not None:
            row.append(_rounded_sum(money, question.currency))
        rows.append(tuple(row))
    return Table((*head, *([say("A year")] if money_known else [])), tuple(rows))


def _rounded_sum(money: float, currency: str) -> str:
    return figure(whole_sum(float(math.floor(money + 0.5)), currency).removesuffix(".00"))


def _begun(words: str) -> str:
    """Begin a sentence; the name of a rule set stays as it is written."""
    return words if "-" in words.split(" ", 1)[0] else first_upper(words)


def _notes(found: Answered, figures: Figures) -> list[str]:
    """What was assumed; an option named in it is one of the command."""
    notes = []
    for note in found.question.notes:
        words = reworded(note, lambda text: _OPTION.sub(r"clew weigh target \1", text))
        words = _begun(in_readers_units(words, figures))
        notes.append(reworded(words, lambda text: f"{text.rstrip('.')}."))
    notes.append(
        say(
            "Spread from {source}; a lot of {balls} balls, {balls_per_cone} to a cone, {winders} "
            "winders.",
            source=found.question.spread_from,
            balls=found.question.lot.balls,
            balls_per_cone=found.question.lot.balls_per_cone,
            winders=found.question.lot.winders,
        )
    )
    return notes
