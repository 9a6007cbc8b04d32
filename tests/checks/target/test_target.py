"""The least lawful target keeps its risk, and moves the way it must."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from clew.checks.target.chances import LotMake
from clew.checks.target.characteristic import characteristic, scales_about
from clew.checks.target.gram_worth import DoubtCost, gram_worth, worth_and_doubt
from clew.checks.target.inspected import Condition, MeanBall
from clew.checks.target.passing import average_pass, passing
from clew.checks.target.spread import Level, Sd, Spread, spread_of_sources
from clew.checks.target.target import (
    failure_rate,
    inspections_for,
    least_scale,
    least_target,
    mass_at_risk,
    money_a_year,
)
from clew.faults import BadInput
from target_plans import averages_only, double, judged, single

BALL = MeanBall(100.0, 200.0)
LOT = LotMake(900, 20, 6)
USUAL = spread_of_sources(
    count_lot=0.004, count_cone=0.010, turns_winder=0.006, count_within=0.012, length_error=0.01
)


def test_independent_balls_and_a_mean_alone_by_the_normal_quantile() -> None:
    """m (1 - z sd / sqrt n) = floor, z the 99 % quantile."""
    spread = spread_of_sources(count_within=0.03)
    found = least_target(
        [averages_only()], MeanBall(50.0, 1.0), spread, LOT, at_least_declared=False
    )
    exact = 48.5 / (1 - stats.norm.ppf(0.99) * 0.03 / math.sqrt(10))
    assert found.mass_g == pytest.approx(exact, abs=0.05)
    assert found.mass_g >= exact - 0.005  # drawing too few is on the safe side


def test_independent_balls_by_the_noncentral_t() -> None:
    plan = replace(single(), deficiency=math.inf, stages=())
    spread = spread_of_sources(count_within=0.03)
    found = least_target([plan], BALL, spread, LOT, risk=0.01, at_least_declared=False)
    exact = optimize.brentq(lambda m: 0.99 - average_pass(plan, m, 0.03 * m), 95, 110)
    assert found.mass_g == pytest.approx(exact, abs=0.08)


@given(
    cone=st.floats(0.0, 0.02),
    winder=st.floats(0.0, 0.015),
    within=st.floats(0.003, 0.02),
    per_cone=st.integers(1, 60),
    winders=st.integers(1, 8),
    two=st.booleans(),
    seed=st.integers(0, 10_000),
)
@settings(max_examples=13)
def test_the_failure_rate_at_the_target_is_within_the_risk(
    cone: float, winder: float, within: float, per_cone: int, winders: int, two: bool, seed: int
) -> None:
    """A ball-by-ball model with its own chances: 800 lots, of which at most the risk may fail."""
    plan = double() if two else single()
    lot, risk = LotMake(500, per_cone, winders), 0.05
    spread = spread_of_sources(count_cone=cone, turns_winder=winder, count_within=within)
    found = least_target([plan], BALL, spread, lot, risk=risk, seed=seed, at_least_declared=False)
    rng = random.Random(seed)
    failed = 0
    for _ in range(800):
        by_winder = [rng.gauss(0, winder) for _ in range(winders)]
        by_cone = [rng.gauss(0, cone) for _ in range(500 // per_cone + 1)]
        contents = []
        for place in rng.sample(range(500), plan.n_most):
            at = place // per_cone
            part = by_cone[at] + by_winder[at % winders] + rng.gauss(0, within)
            contents.append(found.mass_g * (1 + part))
        failed += not judged(plan, contents)
    assert stats.binom.sf(failed - 1, 800, risk) > 1e-5
    assert found.failure.upper <= risk


def test_shared_cones_ask_for_more_than_balls_of_their_own() -> None:
    alone = spread_of_sources(count_within=0.02)
    shared = spread_of_sources(count_cone=math.sqrt(0.02**2 - 0.005**2), count_within=0.005)
    few = LotMake(900, 90, 2)
    one = least_target([single()], BALL, alone, few)
    two = least_target([single()], BALL, shared, few)
    assert two.mass_g > one.mass_g + 0.5


def test_monotone_in_risk_spread_and_declaration() -> None:
    plan = double()
    by_risk = [least_target([plan], BALL, USUAL, LOT, risk=r).mass_g for r in (0.001, 0.01, 0.1)]
    assert by_risk[0] > by_risk[1] > by_risk[2]
    for name in ("lot", "winder"):
        by_sd = [
            least_target([plan], BALL, USUAL.with_level(name, Level(Sd(s))), LOT).mass_g
            for s in (0.005, 0.015, 0.03)
        ]
        assert by_sd[0] < by_sd[1] < by_sd[2]
    by_sd = [
        least_target([averages_only(100.0, floor=100.0)], BALL, USUAL.with_level(
            "within", Level(Sd(s))), LOT).mass_g
        for s in (0.005, 0.015, 0.03)
    ]  # fmt: skip
    assert by_sd[0] < by_sd[1] < by_sd[2]
    heavier = replace(plan, declared=150.0, floor=150.0, deficiency=6.8, far_deficiency=13.6)
    assert least_target([heavier], MeanBall(150.0, 1.0), USUAL, LOT).mass_g > 150.0
    doubt = [
        least_target([plan], BALL, USUAL, LOT, Condition(mass_doubt_g=d)).mass_g
        for d in (0, 0.3, 1)
    ]
    assert doubt[0] < doubt[1] < doubt[2]


def test_several_markets_ask_at_least_what_each_asks() -> None:
    plans = [single(), double(), replace(single(200.0, deficiency=14.4), quantity="length")]
    together = least_target(plans, BALL, USUAL, LOT)
    for plan in plans:
        assert together.mass_g >= least_target([plan], BALL, USUAL, LOT).mass_g - 0.03
    assert together.length_m == pytest.approx(2.0 * together.mass_g)
    assert sum(need.share_frac for need in together.needs) == pytest.approx(1.0)
    assert together.binding.mass_g == max(need.mass_g for need in together.needs)


def test_the_far_short_binds_when_single_balls_spread_far() -> None:
    wide = spread_of_sources(count_within=0.05)
    found = least_target([double(deficiency=9.0, far=12.0)], BALL, wide, LOT)
    assert found.binding.asked.requirement == "far short"


def test_a_drier_inspection_asks_for_more_as_weighed() -> None:
    moist = Condition(regain_weighed_frac=0.13, regain_seen_frac=0.11)
    plain = least_target([single()], BALL, USUAL, LOT)
    found = least_target([single()], BALL, USUAL, LOT, moist)
    assert found.mass_g == pytest.approx(plain.mass_g * 1.13 / 1.11, rel=1e-9)


def test_what_is_left_to_sampling_is_not_used_up() -> None:
    """Balls of their own at the declared mean fail one lot in 200: sampling would allow less."""
    alone = spread_of_sources(count_within=0.01)
    plan = replace(double(), factor=0.379)
    found = least_target([plan], BALL, alone, LOT, risk=0.05)
    assert found.by_declaration
    assert found.mass_g == pytest.approx(100.0)
    free = least_target([plan], BALL, alone, LOT, risk=0.05, at_least_declared=False)
    assert not free.by_declaration
    assert free.mass_g < 100.0


def test_balls_that_differ_more_may_be_judged_more_mildly() -> None:
    """The sample's own spread is taken off the floor: a wider cone spread can lower the target."""
    uneven = spread_of_sources(count_lot=0.004, count_within=0.005)
    wider = spread_of_sources(count_lot=0.004, count_within=0.015)
    one, two = (least_target([double()], BALL, s, LOT).mass_g for s in (uneven, wider))
    assert two < one


def test_no_spread_at_all_needs_the_declaration_and_no_more() -> None:
    found = least_target([single()], BALL, Spread(), LOT)
    assert found.mass_g == pytest.approx(100.0)
    assert found.failure.frac == 0.0


def test_another_risk_off_the_same_inspections() -> None:
    found = least_target([double()], BALL, USUAL, LOT, inspections=40_000)
    other = least_target([double()], BALL, USUAL, LOT, risk=0.05, inspections=40_000)
    assert mass_at_risk(found, 0.05) == pytest.approx(other.mass_g)
    assert mass_at_risk(found, 0.001) > found.mass_g > mass_at_risk(found, 0.05) >= 100.0


def test_the_upper_bound_is_clopper_and_pearson() -> None:
    least = np.concatenate([np.full(9, 2.0), np.full(991, 0.5)])
    rate = failure_rate(least, 1.0)
    assert rate.frac == 0.009
    assert stats.binom.cdf(9, 1000, rate.upper) == pytest.approx(0.05, abs=1e-9)


@given(st.integers(0, 10_000), st.sampled_from([0.01, 0.05, 0.2]))
def test_the_least_scale_is_the_smallest_that_shows_the_risk_kept(seed: int, risk: float) -> None:
    least = np.random.default_rng(seed).normal(size=1000)
    at = least_scale(least, risk)
    assert failure_rate(least, at).upper <= risk
    below = np.max(least[least < at])
    assert failure_rate(least, below).upper > risk


def test_enough_inspections_for_a_small_risk() -> None:
    assert inspections_for(0.01) == 40_000
    assert inspections_for(0.001) == 150_000
    assert inspections_for(0.0001) == 400_000
    with pytest.raises(BadInput, match="too few inspections drawn"):
        least_target([single()], BALL, USUAL, LOT, risk=0.001, inspections=500)


@pytest.mark.parametrize("risk", [0.0, -0.1, 0.6, math.nan, 1e-6])
def test_a_risk_out_of_reach_is_one_clear_line(risk: float) -> None:
    with pytest.raises(BadInput, match="a risk out of reach") as caught:
        least_target([single()], BALL, USUAL, LOT, risk=risk)
    assert len(str(caught.value).splitlines()) == 1


def test_a_gram_of_spread() -> None:
    """Independent balls, a mean alone: target = floor/(1 - z s/(D sqrt n)): its slope is known."""
    spread = spread_of_sources(count_within=0.04)
    ball = MeanBall(50.0, 1.0)
    (worth,) = gram_worth(
        [averages_only()], ball, spread, LOT, Condition(),
        risk=0.01, inspections=40_000, seed=1, at_least_declared=False,
    )  # fmt: skip
    share = stats.norm.ppf(0.99) / math.sqrt(10)
    slope = (48.5 / (1 - share * 0.04) - 48.5 / (1 - share * 0.032)) / 0.4
    assert worth.sd_g == pytest.approx(2.0)
    assert worth.slope == pytest.approx(slope, rel=0.05)
    assert worth.step_gain_g == pytest.approx(
        48.5 / (1 - share * 0.04) - 48.5 / (1 - share * 0.02), rel=0.05
    )
    assert worth.all_gain_g == pytest.approx(48.5 / (1 - share * 0.04) - 48.5, rel=0.05)
    assert money_a_year(worth.step_gain_g, 90_000, 17.5) == pytest.approx(
        worth.step_gain_g * 90 * 17.5
    )


def test_what_doubt_costs() -> None:
    asked = ([double()], BALL, USUAL, LOT, Condition())
    assert worth_and_doubt(*asked, risk=0.01, seed=1)[1] == DoubtCost(0.0, 0.0)
    unsure = USUAL.with_level("lot", Level(Sd(0.004, log_sd=0.5)))
    _, found = worth_and_doubt(
        [double()], BALL, unsure, LOT, Condition(mass_doubt_g=0.4), risk=0.01, seed=1
    )
    assert found.spread_g > 0.1
    assert found.condition_g > 0.1
    whole = least_target([double()], BALL, unsure, LOT, Condition(mass_doubt_g=0.4))
    sure = least_target([double()], BALL, USUAL, LOT, Condition(mass_doubt_g=0.4))
    assert whole.mass_g - sure.mass_g == pytest.approx(found.spread_g, abs=0.06)
    assert 0.0 <= whole.drawing_g < 0.1


def test_a_shared_level_is_dearer_than_the_ball_by_itself() -> None:
    spread = spread_of_sources(count_cone=0.015, count_within=0.015)
    cone, within = gram_worth(
        [single()], BALL, spread, LotMake(900, 90, 2), Condition(),
        risk=0.01, inspections=20_000, seed=1,
    )  # fmt: skip
    assert (cone.level, within.level) == ("cone", "within")
    assert cone.slope > within.slope


def test_the_characteristic_rises_and_passes_through_the_target() -> None:
    found = least_target([double()], BALL, USUAL, LOT)
    curve = characteristic(found.drawn, BALL, [*scales_about(found.drawn), found.scale])
    assert (np.diff(curve.passes[:-1]) >= 0).all()
    assert curve.passes[-1] == pytest.approx(1 - found.failure.frac)
    assert (curve.by_requirement >= curve.passes[:, None]).all()
    assert curve.words[0] == "eu-average, mass, average"


def test_the_characteristic_of_independent_balls_is_the_exact_one() -> None:
    plan = single()
    spread = spread_of_sources(count_within=0.02)
    found = least_target([plan], BALL, spread, LOT)
    scales = [0.99, 1.0, 1.01]
    curve = characteristic(found.drawn, BALL, scales)
    for at, scale in enumerate(scales):
        exact = passing(plan, 100 * scale, 2.0 * scale)
        assert curve.by_requirement[at, 0] == pytest.approx(exact.average, abs=0.01)
        assert curve.by_requirement[at, 1] == pytest.approx(exact.individual, abs=0.01)
