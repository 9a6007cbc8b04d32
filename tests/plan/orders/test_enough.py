"""How surely cones suffice: against runs drawn cone by cone, and as it must be."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.plan.orders.enough import (
    EVERY_CONE,
    balls_table,
    chance_enough,
    chance_lot_suffices,
    cones_for,
    mean_cones,
    most_balls,
)
from clew.plan.orders.strand_use import DOUBTS, StrandUse

USE = StrandUse(
    line_name="Line 1", lanes=6, ball_m=252.0, waste_m=0.5, cone_m=3976.0,
    cone_mass_cv=0.025, cone_count_cv=0.013,
    count_mean_cv=0.0043, shrink_cv=0.0062, winders_cv=0.0033, break_rate_cv=0.0013,
    spoilt_frac=0.03, knots_frac=0.009, spoilt_variance=0.09, knots_variance=0.0096,
    balls_per_h=390.0, cone_mass_g=1600.0,
)  # fmt: skip
EXACT = replace(
    USE, cone_mass_cv=0.0, cone_count_cv=0.0, count_mean_cv=0.0, shrink_cv=0.0, winders_cv=0.0,
    break_rate_cv=0.0, spoilt_frac=0.0, knots_frac=0.0, spoilt_variance=0.0, knots_variance=0.0,
)  # fmt: skip


def drawn_balls(use: StrandUse, cones: int, draws: int, seed: int) -> np.ndarray:
    """First-quality balls of drawn runs: each cone a mass and a count, each lane a part ball.

    Shrink, the lot's count and the winders are drawn once a run, cones go round the lanes, the
    first ball of a lane is part of the colour before, the last one is never full; what is spoilt
    comes in bursts with the variance stated.
    """
    random = np.random.default_rng(seed)
    found = np.empty(draws)
    lanes = min(use.lanes, cones)
    shape = use.spoilt_variance / use.spoilt_frac
    for draw in range(draws):
        lot = math.exp(random.normal(0.0, use.count_mean_cv))
        ball_m = (use.ball_m + use.waste_m) * math.exp(
            random.normal(0.0, math.hypot(use.shrink_cv, use.winders_cv))
        )
        mass = random.normal(1.0, use.cone_mass_cv, cones)
        count = random.normal(1.0, use.cone_count_cv, cones)
        strand = np.zeros(lanes)
        np.add.at(strand, np.arange(cones) % lanes, use.cone_m * mass / count / lot)
        wound = int(np.floor(strand / ball_m - random.uniform(size=lanes)).sum())
        # spoilt in bursts of a mean of `shape` balls: a compound Poisson number
        bursts = random.poisson(wound * use.spoilt_frac / shape)
        spoilt = shape * bursts
        knots_frac = use.knots_frac + (1.0 - use.knots_frac) * random.normal(0, use.break_rate_cv)
        knotted = random.binomial(max(int(wound - spoilt), 0), min(max(knots_frac, 0.0), 1.0))
        found[draw] = wound - spoilt - knotted
    return found


@pytest.mark.parametrize("cones", [3, 12, 40, 90])
def test_the_chance_is_that_of_drawn_runs(cones: int) -> None:
    """Within a few points: a short run's spoilt balls come in too few bursts to be normal."""
    near = {3: 0.09, 12: 0.06}.get(cones, 0.025)
    drawn = drawn_balls(USE, cones, 4000, seed=cones)
    for share in (0.02, 0.1, 0.3, 0.6, 0.9):
        wanted = int(np.quantile(drawn, share))
        chance = float(chance_enough(USE, cones, wanted))
        assert chance == pytest.approx(float(np.mean(drawn >= wanted)), abs=near)


@pytest.mark.parametrize("balls", [60, 600, 1200])
def test_cones_at_95_percent_suffice_in_95_of_100_drawn_runs(balls: int) -> None:
    cones = cones_for(USE, balls, 0.95)
    assert np.mean(drawn_balls(USE, cones, 4000, seed=balls) >= balls) > 0.94
    fewer = drawn_balls(USE, cones - 1, 4000, seed=balls)
    assert np.mean(fewer >= balls) < 0.96


def test_spreads_that_matter_each_for_itself() -> None:
    """Cones' own spreads average out, what the run shares does not: to the square root of cones."""
    alone = replace(EXACT, cone_mass_cv=0.03, cone_count_cv=0.04)
    shared = replace(EXACT, count_mean_cv=0.03, shrink_cv=0.04)
    for use, power in ((alone, 0.5), (shared, 0.0)):
        spreads = []
        for cones in (100, 400):
            half, sure = (int(most_balls(use, cones, p)[0]) for p in (0.5, 0.977))
            spreads.append((half - sure) / half)
        assert spreads[1] / spreads[0] == pytest.approx(0.25**power, rel=0.08)
        assert spreads[0] == pytest.approx(2 * 0.05 * 100**-power, rel=0.1)


def test_without_spread_it_is_a_division() -> None:
    """6 lanes lose half a ball at each end on average, and only that is unsure."""
    one_lane = replace(EXACT, lanes=1)
    per_cone = USE.cone_m / (USE.ball_m + USE.waste_m)
    for cones in (1, 7, 50):
        balls = cones * per_cone - 1.0
        assert chance_enough(one_lane, cones, math.floor(balls) - 1) > 0.99
        assert chance_enough(one_lane, cones, math.ceil(balls) + 2) < 0.01


uses = st.builds(
    replace,
    st.just(USE),
    lanes=st.integers(1, 12),
    cone_mass_cv=st.floats(0, 0.08),
    cone_count_cv=st.floats(0, 0.04),
    count_mean_cv=st.floats(0, 0.02),
    shrink_cv=st.floats(0, 0.02),
    spoilt_frac=st.floats(0, 0.2),
    spoilt_variance=st.floats(0, 1),
    knots_frac=st.floats(0, 0.1),
    cone_m=st.floats(600, 9000),
)


@settings(max_examples=60)
@given(use=uses, balls=st.integers(1, 5000), sure=st.floats(0.5, 0.999), more=st.floats(0, 0.0009))
def test_surer_never_takes_fewer_cones(
    use: StrandUse, balls: int, sure: float, more: float
) -> None:
    cones = cones_for(use, balls, sure)
    assert cones_for(use, balls, sure + more) >= cones
    assert cones_for(use, balls + 7, sure) >= cones
    assert chance_enough(use, cones, balls) >= sure
    assert cones == 1 or chance_enough(use, cones - 1, balls) < sure


@settings(max_examples=60)
@given(use=uses, cones=st.integers(1, 200), sure=st.floats(0.5, 0.999))
def test_most_balls_are_the_other_side_of_fewest_cones(
    use: StrandUse, cones: int, sure: float
) -> None:
    most = int(most_balls(use, cones, sure)[0])
    if most:
        assert cones_for(use, most, sure) <= cones
    assert cones_for(use, most + 1, sure) > cones
    steps = most_balls(use, np.arange(cones + 1), sure)
    assert steps[-1] == most
    assert np.all(np.diff(steps) >= 0)


@given(use=uses, balls=st.integers(200, 5000))
def test_on_average_is_as_likely_as_not(use: StrandUse, balls: int) -> None:
    """So many cones suffice about every other time; one fewer is less than likely."""
    cones = mean_cones(use, balls)
    assert abs(cones_for(use, balls, 0.5) - cones) <= 1


def test_a_lot_for_one_run_and_for_two() -> None:
    cones = cones_for(USE, 600, 0.9)
    alone = chance_lot_suffices(cones, [(USE, 600)])
    assert alone == pytest.approx(float(chance_enough(USE, cones, 600)), abs=0.02)
    assert chance_lot_suffices(cones, [(USE, 600), (USE, 600)]) < 1e-6
    assert chance_lot_suffices(2 * cones, [(USE, 600), (USE, 600)]) > alone
    assert chance_lot_suffices(0, []) == 1.0


def test_doubts_add_up_to_the_spread() -> None:
    doubts = USE.doubts(82)
    assert set(doubts) == set(DOUBTS)
    assert sum(doubts.values()) == pytest.approx(1.0)
    calm = replace(USE, spoilt_variance=0.0)
    spread, less = (
        (int(most_balls(use, 82, 0.5)[0]) - int(most_balls(use, 82, 0.977)[0])) ** 2
        for use in (USE, calm)
    )
    assert 1 - less / spread == pytest.approx(doubts["spoilt"], abs=0.12)


def test_the_kept_table_is_that_of_each_cone() -> None:
    """Also where only every 64th cone is reckoned and a line drawn between."""
    cones = np.append(np.arange(0, 300), np.arange(EVERY_CONE - 3, EVERY_CONE + 200, 7))
    table = balls_table(USE, int(cones.max()), 0.95)
    assert len(table) == cones.max() + 1
    assert list(table) == sorted(table)
    each = most_balls(USE, cones, 0.95)
    off = np.asarray(table)[cones] - each
    assert np.all(off[cones < EVERY_CONE] == 0)
    assert np.all(np.abs(off) <= 1)
    assert balls_table(USE, 20, 0.95) == table[:21]
