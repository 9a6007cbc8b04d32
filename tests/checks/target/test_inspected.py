"""Drawn inspections against a ball-by-ball model, and against closed forms."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
import pytest

from clew.checks.packages.judge import judge_many
from clew.checks.packages.plan import Plan
from clew.checks.target.chances import LotMake, chance_blocks
from clew.checks.target.inspected import Condition, MeanBall, draw_inspections
from clew.checks.target.passing import average_pass, individual_pass, passing
from clew.checks.target.spread import Level, Sd, Spread, spread_of_sources
from clew.faults import BadInput
from target_plans import averages_only, double, judged, single

BALL = MeanBall(100.0, 200.0)
IID = spread_of_sources(count_within=0.02)
LOT = LotMake(900, 20, 6)


def failing(least: np.ndarray, scale: float) -> float:
    """Share of inspections that fail at a size."""
    return float(np.mean(least > scale))


@pytest.mark.parametrize("scale", [0.985, 0.995, 1.0, 1.01, 1.03])
@pytest.mark.parametrize(
    "plan",
    [
        single(),
        single(n=80, accept=5, deficiency=4.5, far=9.0, average_n=50, factor=0.379),
        double(),
        averages_only(100.0, floor=99.0),
    ],
    ids=["small", "single", "double", "average"],
)
def test_independent_balls_pass_as_the_closed_forms_say(plan: Plan, scale: float) -> None:
    number = 20_000
    drawn = draw_inspections([plan], BALL, IID, LOT, Condition(), inspections=number, seed=7)
    mean, sd = 100.0 * scale, 2.0 * scale
    by_name = {asked.requirement: drawn.least[:, i] for i, asked in enumerate(drawn.asked)}
    average = average_pass(plan, mean, sd)
    se = math.sqrt(max(average * (1 - average), 1e-5) / number)
    assert 1.0 - failing(by_name["average"], scale) == pytest.approx(average, abs=4.5 * se)
    if "individual" in by_name:
        rest = np.max([v for k, v in by_name.items() if k != "average"], axis=0)
        individual = individual_pass(plan, mean, sd)
        se = math.sqrt(max(individual * (1 - individual), 1e-5) / number)
        assert 1.0 - failing(rest, scale) == pytest.approx(individual, abs=4.5 * se)
        both = passing(plan, mean, sd)
        whole = 1.0 - failing(drawn.whole, scale)
        assert both.low - 4.5 * se <= whole <= both.high + 4.5 * se


@pytest.mark.parametrize("plan", [single(), double(deficiency=3.0, far=6.0)], ids=["single", "two"])
def test_least_sizes_are_where_the_judge_of_samples_changes_its_mind(plan: Plan) -> None:
    """On the very same balls: just below the least size each sample fails, just above it passes."""
    number = 300
    drawn = draw_inspections([plan], BALL, IID, LOT, Condition(), inspections=number, seed=3)
    (block,) = chance_blocks(LOT, IID, plan.n_most, inspections=number, seed=3)
    parts = block.parts(IID, "mass")
    least = drawn.whole[:, None]
    assert judge_many(plan, 100.0 * least * (1.0 + 1e-6) * (1.0 + parts)).passed.all()
    assert not judge_many(plan, 100.0 * least * (1.0 - 1e-6) * (1.0 + parts)).passed.any()


def naive_lot(rng: random.Random, plan: Plan, scale: float, condition: Condition) -> bool:
    """One lot, ball by ball: cones with their counts hang on winders, a sample is drawn."""
    lot, sds = 0.004, {"cone": 0.012, "winder": 0.008, "ball": 0.015}
    count_lot = rng.gauss(0, lot)
    winders = [rng.gauss(0, sds["winder"]) for _ in range(LOT.winders)]
    cones = [rng.gauss(0, sds["cone"]) for _ in range(math.ceil(LOT.balls / LOT.balls_per_cone))]
    moist = 1 + rng.gauss(0, condition.regain_seen_sd_frac) / (1 + condition.regain_seen_frac)
    error = rng.gauss(0, condition.mass_doubt_g)
    contents = []
    for place in rng.sample(range(LOT.balls), plan.n_most):
        cone = place // LOT.balls_per_cone
        part = count_lot + cones[cone] + winders[cone % LOT.winders] + rng.gauss(0, sds["ball"])
        mass = 100.0 * scale * (1 + part) * condition.mass_factor * moist
        contents.append(mass + error)
    return bool(judged(plan, contents))


def test_shared_cones_and_winders_agree_with_a_ball_by_ball_model() -> None:
    plan, number = double(), 1500
    condition = Condition(
        regain_weighed_frac=0.12,
        regain_seen_frac=0.11,
        regain_seen_sd_frac=0.006,
        mass_doubt_g=0.3,
    )
    spread = spread_of_sources(
        count_lot=0.004, count_cone=0.012, turns_winder=0.008, count_within=0.015
    )
    drawn = draw_inspections([plan], BALL, spread, LOT, condition, inspections=20_000, seed=11)
    rng = random.Random(5)
    for scale in (1.0, 1.01):
        naive = sum(not naive_lot(rng, plan, scale, condition) for _ in range(number)) / number
        found = failing(drawn.whole, scale)
        se = math.sqrt(naive * (1 - naive) / number + found * (1 - found) / 20_000)
        assert found == pytest.approx(naive, abs=4 * se)


def test_equal_seeds_draw_equal_chances_and_a_shift_is_only_a_shift() -> None:
    plan = single()
    one = draw_inspections([plan], BALL, IID, LOT, Condition(), inspections=500, seed=2)
    two = draw_inspections(
        [plan], MeanBall(50.0, 200.0), IID, LOT, Condition(), inspections=500, seed=2
    )
    assert two.least == pytest.approx(2.0 * one.least)
    other = draw_inspections([plan], BALL, IID, LOT, Condition(), inspections=500, seed=3)
    assert not np.allclose(one.least, other.least)


def test_mass_and_length_share_the_turns() -> None:
    """With turns alone, the length plan and the mass plan are met by the same samples."""
    spread = spread_of_sources(turns_winder=0.01, turns_within=0.02)
    mass = single()
    length = replace(single(200.0, deficiency=14.4), quantity="length")
    drawn = draw_inspections(
        [mass, length], BALL, spread, LOT, Condition(), inspections=400, seed=1
    )
    assert drawn.least[:, 2:] == pytest.approx(drawn.least[:, :2])
    apart = spread_of_sources(count_within=0.02, length_error=0.02)
    drawn = draw_inspections(
        [mass, length], BALL, apart, LOT, Condition(), inspections=4000, seed=1
    )
    assert abs(np.corrcoef(drawn.least[:, 0], drawn.least[:, 2])[0, 1]) < 0.06


def test_a_reel_s_doubt_moves_the_least_length_by_its_share_of_the_ball() -> None:
    """Balls all alike: the mean passes from (199 - d)/200 on, d normal about nothing."""
    plan = replace(averages_only(200.0, floor=199.0), quantity="length")

    def least(**doubt: float) -> np.ndarray:
        return draw_inspections(
            [plan], BALL, Spread(), LOT, Condition(**doubt), inspections=4000, seed=6
        ).whole

    assert least() == pytest.approx(0.995)
    assert least(mass_doubt_g=0.5) == pytest.approx(0.995)
    half, whole = least(length_doubt_m=0.5), least(length_doubt_m=1.0)
    assert half.mean() == pytest.approx(0.995, abs=5 * 0.0025 / math.sqrt(4000))
    assert half.std() == pytest.approx(0.5 / 200.0, rel=5 / math.sqrt(2 * 4000))
    assert whole - 0.995 == pytest.approx(2.0 * (half - 0.995))


def test_within_covariance_is_that_of_the_turns() -> None:
    spread = spread_of_sources(count_within=0.01, turns_within=0.02, mass_error=0.005)
    level = spread.within
    covariance = level.correlation * level.mass.value_frac * level.length.value_frac
    assert covariance == pytest.approx(0.02**2)


def test_doubt_of_a_spread_widens_what_is_drawn() -> None:
    sure = Spread(within=Level(Sd(0.02)))
    unsure = Spread(within=Level(Sd(0.02, log_sd=0.4)))
    found = [
        np.quantile(
            draw_inspections(
                [averages_only()],
                MeanBall(50.0, 1.0),
                s,
                LOT,
                Condition(),
                inspections=8000,
                seed=1,
            ).whole,
            0.999,
        )
        for s in (sure, unsure)
    ]
    assert found[1] > found[0] + 0.001


def test_a_small_lot_and_no_plan_are_refused() -> None:
    with pytest.raises(BadInput, match="a lot smaller than the sample"):
        draw_inspections([double()], BALL, IID, LotMake(40), Condition(), inspections=10, seed=1)
    with pytest.raises(BadInput, match="nothing to judge by"):
        draw_inspections([], BALL, IID, LOT, Condition(), inspections=10, seed=1)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: MeanBall(0.0, 1.0), "not a ball"),
        (lambda: MeanBall(math.nan, 1.0), "not a ball"),
        (lambda: LotMake(0), "not a number of them"),
        (lambda: Sd(-0.01), "a spread out of reach"),
        (lambda: Sd(math.nan), "a spread out of reach"),
        (lambda: Sd(0.9), "a spread out of reach"),
        (lambda: Condition(mass_doubt_g=-1.0), "not usable"),
        (lambda: Level(correlation=1.5), "not a correlation"),
    ],
)
def test_nonsense_is_one_clear_line(make: object, said: str) -> None:
    with pytest.raises(BadInput, match=said) as caught:
        make()  # type: ignore[operator]
    assert len(str(caught.value).splitlines()) == 1
