"""The least lawful target held against lots made ball by ball, under every rule set as it stands.

Nothing of the room is used to make or judge a lot: a lot is all its balls, its inspector counts.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from tests.models.target_plans import judged

from clew.checks.packages.plan import RULE_KEYS, Plan
from clew.checks.packages.rule_sets import plan_of, rule_of
from clew.checks.target.chances import LotMake
from clew.checks.target.inspected import Condition, MeanBall
from clew.checks.target.spread import spread_of_sources
from clew.checks.target.target import TargetAnswer, least_target
from clew.mill.net_content import read_tables

LOTS = 400


def plans_for(rules: list[str], mass_g: float, length_m: float, size: int) -> list[Plan]:
    tables = read_tables(None)
    said = {"mass": mass_g, "length": length_m}
    return [
        plan_of(rule, quantity, said[quantity], size, tables, destructive=quantity == "length")
        for rule in rules
        for quantity in ("mass", "length")
        if quantity in rule_of(rule).covers
    ]


def lot_fails(
    rng: np.random.Generator,
    plans: list[Plan],
    found: TargetAnswer,
    make: LotMake,
    sds: dict[str, float],
    condition: Condition,
) -> bool:
    """Make one lot of all its balls, draw from it, and look at each ball."""
    place = np.arange(make.balls) // make.balls_per_cone
    count = rng.normal(0, sds["count_lot"]) + rng.normal(0, sds["count_cone"], place[-1] + 1)[place]
    count = count + rng.normal(0, sds["count_within"], make.balls)
    turns = rng.normal(0, sds["turns_winder"], make.winders)[place % make.winders]
    turns = turns + rng.normal(0, sds["turns_within"], make.balls)
    dried = (1 + condition.regain_seen_frac) / (1 + condition.regain_weighed_frac)
    mass = found.mass_g * dried * (1 + count + turns)
    mass = mass + rng.normal(0, condition.mass_doubt_g)
    length = found.length_m * (1 + turns + rng.normal(0, sds["length_error"], make.balls))
    drawn = rng.permutation(make.balls)[: max(plan.n_most for plan in plans)]
    seen = {"mass": mass[drawn].tolist(), "length": length[drawn].tolist()}
    return not all(judged(plan, seen[plan.quantity][: plan.n_most]) for plan in plans)


@given(
    rules=st.lists(st.sampled_from(RULE_KEYS), min_size=1, max_size=2, unique=True),
    declared=st.sampled_from([(25.0, 60.0), (50.0, 105.0), (100.0, 200.0), (200.0, 140.0)]),
    lot=st.floats(0.0, 0.012),
    cone=st.floats(0.0, 0.02),
    winder=st.floats(0.0, 0.012),
    within=st.floats(0.002, 0.015),
    size=st.sampled_from([120, 300, 900]),
    per_cone=st.integers(1, 40),
    winders=st.integers(1, 8),
    drier=st.floats(0.0, 0.02),
    seed=st.integers(0, 10_000),
)
@settings(max_examples=26, deadline=None)
def test_lots_at_the_target_fail_within_the_risk_under_every_rule_set(
    rules: list[str],
    declared: tuple[float, float],
    lot: float,
    cone: float,
    winder: float,
    within: float,
    size: int,
    per_cone: int,
    winders: int,
    drier: float,
    seed: int,
) -> None:
    """Some 10 000 lots over all questions: mass and length together, drier than weighed."""
    plans = plans_for(rules, *declared, size)
    if not plans:
        return
    sds = {
        "count_lot": lot,
        "count_cone": cone,
        "count_within": within,
        "turns_winder": winder,
        "turns_within": 0.3 * within,
        "length_error": 0.004,
    }
    make, risk = LotMake(size, per_cone, winders), 0.05
    condition = Condition(0.12, 0.12 - drier, mass_doubt_g=0.1)
    found = least_target(
        plans,
        MeanBall(*declared),
        spread_of_sources(**sds),
        make,
        condition,
        risk=risk,
        inspections=6000,
        seed=seed,
        at_least_declared=False,
    )
    rng = np.random.default_rng(seed)
    failed = sum(lot_fails(rng, plans, found, make, sds, condition) for _ in range(LOTS))
    assert stats.binom.sf(failed - 1, LOTS, risk) > 1e-5


@pytest.mark.parametrize("rule", RULE_KEYS)
def test_a_smaller_ball_fails_as_often_as_it_was_asked_to(rule: str) -> None:
    """The target is the least: the size read off for a risk of 45 % loses 45 % of real lots."""
    plans = plans_for([rule], 100.0, 200.0, 300)
    if not plans:
        pytest.skip("the rule set judges no such ball")
    sds = dict.fromkeys(
        ("count_lot", "count_cone", "count_within", "turns_winder", "turns_within"), 0.002
    ) | {"length_error": 0.002}
    make, condition = LotMake(300, 10, 4), Condition()
    found = least_target(
        plans, MeanBall(98.0, 196.0), spread_of_sources(**sds), make, risk=0.05, inspections=6000,
        at_least_declared=False,
    )  # fmt: skip
    less = least_target(
        plans, MeanBall(98.0, 196.0), spread_of_sources(**sds), make, risk=0.45, inspections=6000,
        at_least_declared=False,
    )  # fmt: skip
    rng = np.random.default_rng(3)
    failed = sum(lot_fails(rng, plans, less, make, sds, condition) for _ in range(200))
    assert less.mass_g < found.mass_g
    assert 60 < failed < 120
