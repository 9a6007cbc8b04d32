"""A lot of the mill file from its sample to the decision: every check that is due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from clew.checks.attributes.design import Points, design_single
from clew.checks.attributes.inspection import Inspection, judge_all
from clew.checks.attributes.plans import AttributePlan, single_plan
from clew.checks.attributes.shade_of_lot import (
    LotShade,
    ShadeLimits,
    ShadeReading,
    compare_lots,
    judge_shades,
)
from clew.checks.condition import Condition
from clew.checks.packages.ball_terms import (
    BallTerms,
    ball_terms,
    mill_commercial,
    mill_tare,
    more_lots,
    samples_of,
)
from clew.checks.packages.judge_lot import judge_lot
from clew.checks.packages.plan import Quantity
from clew.checks.packages.rule_sets import plan_of, rule_of
from clew.checks.packages.verdict import Verdict
from clew.checks.release.band import band_finding
from clew.checks.release.decision import Decision, decide
from clew.checks.release.finding import Finding
from clew.checks.release.findings import (
    content_finding,
    fault_finding,
    length_open,
    not_looked_for,
    shade_finding,
)
from clew.checks.release.sorting import SortTerms
from clew.checks.weighings import Weighings
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.model import Mill
from clew.mill.net_content import Tables

CONSUMER_RISK_FRAC = 0.10
PRODUCER_RISK_FRAC = 0.05
"""Risks of the plan for faults: common practice, no published source."""


@dataclass(frozen=True, slots=True)
class LotQuestion:
    """What a decision is asked for.

    Attributes
    ----------
    ball, lot : str
        Names of the ball and of its dye lot; the lot may be empty.
    lot_size : int
        Balls in the lot.
    weighings : Weighings
        The sample, in the order drawn.
    rules : tuple of str
        Rule sets to judge by; empty takes the ball's own and those of its other markets.
    inspections : tuple of Inspection
        Faults looked for.
    shades : tuple of ShadeReading
        Readings of cones, of this dye lot and perhaps of others.
    regain_frac : float or None
        Regain at weighing, where the file has none [1].
    accepted_by : str
        Who takes an unconfirmed table on them.
    """

    ball: str
    lot: str
    lot_size: int
    weighings: Weighings
    rules: tuple[str, ...] = ()
    inspections: tuple[Inspection, ...] = ()
    shades: tuple[ShadeReading, ...] = ()
    regain_frac: float | None = None
    accepted_by: str = ""


@dataclass(frozen=True, slots=True)
class LotAnswer:
    """The decision on a lot with what it was made of.

    Attributes
    ----------
    decision : Decision
        The decision.
    verdicts : tuple of Verdict
        One for each rule set.
    fault_plan : AttributePlan
        How many balls are to be looked at for faults, and how many may be at fault.
    """

    decision: Decision
    verdicts: tuple[Verdict, ...]
    fault_plan: AttributePlan


def lot_answer(mill: Mill, question: LotQuestion, tables: Tables) -> LotAnswer:
    """Decide on a lot by every check that is due.

    Parameters
    ----------
    mill : Mill
        The mill.
    question : LotQuestion
        The lot.
    tables : Tables
        Tables of the rule sets.

    Returns
    -------
    LotAnswer
        The decision and the worksheets behind it.

    Raises
    ------
    BadInput
        When the ball or dye lot is not in the mill file, no rule set is named anywhere, or the
        sample cannot be judged.
    """
    ball = mill.find_ball(question.ball)
    terms = ball_terms(mill, question.ball)
    sort = SortTerms(hand_per_hour=mill.prices.hand_per_hour, band_each=mill.prices.band_each)
    rules = question.rules or tuple(rule for rule in (terms.rule, *terms.other_rules) if rule)
    if not rules:
        raise BadInput(
            Fault(say("no rule set"), say("one or more, or rule_set of the ball"), key="rule set")
        )
    verdicts = [_verdict(question, terms, rule, tables) for rule in dict.fromkeys(rules)]
    findings = [content_finding(one, question.weighings, sort) for one in verdicts]
    findings += _lengths_open(question, terms, rules, tables)
    plan = fault_plan(mill, question.lot_size)
    seen = {one.fault for one in question.inspections}
    for verdict in judge_all(question.inspections, plan, question.lot_size):
        findings.append(fault_finding(verdict, plan, sort))
    if seen and "knots" not in seen:
        findings.append(not_looked_for("knots", plan))
    findings += _shade(mill, question, sort)
    keys = [verdict.rule.key for verdict in verdicts]
    band = band_finding(ball.band_text, ball.declared_mass_g, ball.declared_length_m, keys)
    findings += [] if band is None else [band]
    decision = decide(findings, accepted_by=question.accepted_by.strip())
    return LotAnswer(decision, tuple(verdicts), plan)


def fault_plan(mill: Mill, lot_size: int) -> AttributePlan:
    """Plan how many balls to look at for faults, from the mill's own two shares.

    Parameters
    ----------
    mill : Mill
        The mill: `fault_good` and `fault_bad` under ``[checks]``.
    lot_size : int
        Balls in the lot.

    Returns
    -------
    AttributePlan
        A single plan: of lots as good as `fault_good` at most 5 % are rejected, of lots as bad as
        `fault_bad` at most 10 % are accepted. Every ball where no smaller sample can do that.
    """
    rules = mill.checks
    try:
        points = Points(
            rules.fault_good_frac, PRODUCER_RISK_FRAC, rules.fault_bad_frac, CONSUMER_RISK_FRAC,
            lot_size,
        )  # fmt: skip
        return design_single(points)
    except BadInput:
        return single_plan(lot_size, int(rules.fault_good_frac * lot_size + 1e-9))


def _verdict(question: LotQuestion, ball: BallTerms, rule: str, tables: Tables) -> Verdict:
    contents = _contents(question.weighings, ball.declared, rule)
    told = more_lots(question.weighings)
    commercial = mill_commercial(ball, rule, told)
    tare = mill_tare(ball, question.weighings, None, told)
    condition = Condition(tare_g=tare)
    if commercial:
        condition = Condition(
            say("agreed regain: {regain}", regain=ball.agreed_words),
            regain_from_frac=question.regain_frac,
            regain_to_frac=ball.agreed_frac,
            tare_g=tare,
        )
    samples = samples_of(question.weighings, contents, condition, rule)
    return judge_lot(
        rule, samples, contents, question.lot_size, tables, commercial=commercial, cautions=told
    )


def _lengths_open(
    question: LotQuestion, ball: BallTerms, rules: Sequence[str], tables: Tables
) -> list[Finding]:
    """Find the rule sets that ask for a length while no ball was reeled."""
    open_still = []
    for rule in dict.fromkeys(rules):
        declared = ball.declared.get("length")
        judged = _contents(question.weighings, ball.declared, rule)
        if declared and "length" in rule_of(rule).covers and "length" not in judged:
            asked = plan_of(rule, "length", declared, question.lot_size, tables)
            open_still.append(length_open(rule_of(rule), asked))
    return open_still


def _contents(
    weighings: Weighings, declared: Mapping[Quantity, float], rule: str
) -> dict[Quantity, float]:
    """Judge mass, and length where the rule set covers it and balls were reeled."""
    length = weighings.numbers.get("length_m")
    reeled = length is not None and bool(np.isfinite(length).any())
    covers = rule_of(rule).covers
    return {
        quantity: amount
        for quantity, amount in declared.items()
        if quantity in covers and (quantity == "mass" or reeled)
    }


def _shade(mill: Mill, question: LotQuestion, sort: SortTerms) -> list[Finding]:
    if not question.shades or not question.lot:
        return []
    colour, _ = mill.find_dye_lot(question.lot)
    rules = mill.checks
    limits = ShadeLimits(rules.shade_limit, rules.shade_between_lots)
    siblings = {one.lot.casefold() for one in colour.dye_lot}
    readings = [one for one in question.shades if one.lot.casefold() in siblings]
    if not any(_same(one.lot, question.lot) for one in readings):
        return []
    standard = (colour.lab.lightness, colour.lab.a, colour.lab.b)
    lots = judge_shades(readings, standard, limits)
    own: Sequence[LotShade] = [one for one in lots if _same(one.lot, question.lot)]
    pairs = [
        pair
        for pair in compare_lots(lots, limits)
        if _same(pair.first, question.lot) or _same(pair.second, question.lot)
    ]
    return [shade_finding(own[0], pairs, limits, sort, question.lot_size)]


def _same(one: str, other: str) -> bool:
    return one.strip().casefold() == other.strip().casefold()
