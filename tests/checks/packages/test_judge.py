"""Judging many samples at once: limits, stages, and that more yarn never fails a lot."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.checks.packages.plan import Plan, Stage
from clew.checks.packages.rule_sets import RULE_SETS, judge_many, plan_of
from clew.checks.packages.sample import Sample
from clew.checks.packages.worksheet import work_out
from clew.faults import BadInput
from clew.mill.net_content import read_tables

TABLES = read_tables()
LOTS = (1, 2, 7, 12, 60, 400, 900, 5000)
DECLARED = {"mass": (25.0, 50.0, 100.0, 454.0), "length": (4.0, 87.5, 200.0)}


def one(plan: Plan, contents: list[float]) -> tuple[bool, bool, bool]:
    found = judge_many(plan, np.array([contents]))
    return bool(found.average[0]), bool(found.individual[0]), bool(found.passed[0])


def test_a_ball_written_at_its_limit_is_not_short() -> None:
    """0.1 + 0.2 and its like must not decide a lot."""
    plan = plan_of("uk-2006", "mass", 50.0, 20, TABLES)
    contents = [52.0] * 18 + [45.5, 50.0 - 4.5]
    assert one(plan, contents) == (True, True, True)
    by_tenths = np.array([52.0] * 18 + [0.1 * 455, 46.7 - 1.2])
    assert bool(judge_many(plan, by_tenths[None]).individual[0])


def test_a_tenth_of_a_division_below_is_short() -> None:
    plan = plan_of("uk-2006", "mass", 50.0, 19, TABLES)
    assert not one(plan, [52.0] * 18 + [45.499])[1]
    assert one(plan, [52.0] * 18 + [45.5])[1]


def test_a_double_plan_draws_again_between_its_numbers() -> None:
    plan = plan_of("eu-average", "mass", 50.0, 400, TABLES)
    good, short = 52.0, 45.0

    def counts(first: int, second: int) -> bool:
        contents = [short] * first + [good] * (30 - first)
        contents += [short] * second + [good] * (30 - second)
        return one(plan, contents)[1]

    assert counts(1, 30)  # accepted at the first stage: the rest is not looked at
    assert counts(2, 2)
    assert not counts(2, 3)
    assert not counts(3, 0)


def test_one_far_short_ball_fails_the_lot() -> None:
    plan = plan_of("uk-2006", "mass", 50.0, 400, TABLES)
    assert one(plan, [51.0] * 49 + [41.0])[1]
    assert not one(plan, [51.0] * 49 + [40.9])[1]


def test_too_few_or_no_numbers_are_refused() -> None:
    plan = plan_of("uk-2006", "mass", 50.0, 400, TABLES)
    with pytest.raises(BadInput, match="50 in each sample"):
        judge_many(plan, np.full((3, 49), 50.0))
    with pytest.raises(BadInput, match="no number"):
        judge_many(plan, np.full((3, 50), math.nan))


def test_a_mean_at_its_limit_passes() -> None:
    plan = Plan("eu-average", "mass", 50.0, 50.0, 0.5, 2, (), math.inf, math.inf, False, (), True)
    half = 1.0 / math.sqrt(2.0)  # of two balls 2 * half apart the sd is 1
    assert one(plan, [49.5 - half, 49.5 + half])[0]
    assert not one(plan, [49.499 - half, 49.499 + half])[0]


def test_stages_are_met_by_the_first_balls_in_order() -> None:
    stages = (Stage(2, 0, 1),)
    plan = Plan("oiml-r87", "mass", 50.0, 0.0, 0.0, 2, stages, 4.5, 9.0, False, (), True)
    assert one(plan, [50.0, 50.0, 44.0])[1]
    assert not one(plan, [50.0, 44.0, 50.0])[1]


@pytest.mark.parametrize("rule", list(RULE_SETS))
@settings(max_examples=100, deadline=None)
@given(data=st.data())
def test_more_yarn_never_fails_a_lot(rule: str, data: st.DataObject) -> None:
    """100 times 100 random lots a rule set: the same residuals, shifted up, pass if they passed."""
    quantity = data.draw(st.sampled_from(RULE_SETS[rule].covers))  # type: ignore[index]
    declared = data.draw(
        st.sampled_from([d for d in DECLARED[quantity] if d >= 5 or rule[0] != "e"])
    )
    lot = data.draw(st.sampled_from(LOTS))
    plan = plan_of(rule, quantity, declared, lot, TABLES)
    rng = np.random.default_rng(data.draw(st.integers(0, 2**32 - 1)))
    spread = data.draw(st.floats(0.0, 0.08)) * declared
    residuals = rng.standard_t(4, size=(100, max(1, plan.n_most))) * spread
    if data.draw(st.booleans()):
        residuals = np.round(residuals, 1)
    low = data.draw(st.floats(-0.1, 0.05)) * declared
    shift = data.draw(st.floats(0.001, 0.1)) * declared
    below = judge_many(plan, declared + low + residuals)
    above = judge_many(plan, declared + low + shift + residuals)
    for before, after in (
        (below.average, above.average),
        (below.individual, above.individual),
        (below.passed, above.passed),
    ):
        assert not (before & ~after).any()


@pytest.mark.parametrize("rule", list(RULE_SETS))
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_the_worksheet_and_the_many_agree(rule: str, data: st.DataObject) -> None:
    lot = data.draw(st.sampled_from(LOTS))
    plan = plan_of(rule, "mass", 50.0, lot, TABLES)
    n = min(lot, plan.n_most)
    rng = np.random.default_rng(data.draw(st.integers(0, 2**32 - 1)))
    mean = data.draw(st.floats(46.0, 53.0))
    contents = np.round(rng.normal(mean, data.draw(st.floats(0.0, 4.0)), plan.n_most), 1)
    names = tuple(map(str, range(n)))
    sample = Sample("mass", contents[:n], None, np.zeros(0), names, "")
    sheet = work_out(plan, sample, lot)
    if n < plan.n_most:
        assert sheet.passed is not True  # the thread laws ask for ten
        return
    found = judge_many(plan, contents[None])
    assert sheet.average_pass == bool(found.average[0])
    if sheet.left_out_far:  # the inspector never drew them, the mill weighed them
        assert sheet.individual_pass is False
        return
    assert sheet.individual_pass == bool(found.individual[0])
    assert sheet.passed == bool(found.passed[0])
