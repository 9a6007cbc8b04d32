"""Policies side by side."""

from __future__ import annotations

import numpy as np
import pytest

from clew.faults import BadInput
from clew.knots.cutting import CutPrices, FirstRule, plan_cuts
from clew.knots.policy.compare import PolicyComparison, compare_policies
from clew.knots.policy.watch import Detector
from clew.knots.sources import Sources
from clew.knots.strand_draw import draw_strand

pytestmark = pytest.mark.kernel

RULE = FirstRule(200.0, 1, 10.0, 0.1)
PRICES = CutPrices(5.0, 2.5, 0.002, 0.05)
BUSY = Sources(0.002, 2.0, 3000.0, 0.05)


def compared(detector: Detector | None = None, **more: object) -> PolicyComparison:
    return compare_policies(
        BUSY, RULE, PRICES, look_aheads_m=(200.0, 600.0), strand_length_m=100_000.0, runs=6,
        detector=detector, **more,  # type: ignore[arg-type]
    )  # fmt: skip


@pytest.fixture(scope="module")
def found() -> PolicyComparison:
    return compared()


def test_the_order_of_the_ways(found: PolicyComparison) -> None:
    assert [(one.name, one.look_ahead_m) for one in found.ways] == [
        ("straight", 0.0), ("part_every", 0.0),
        ("thumb", 0.0), ("thumb", 200.0), ("thumb", 600.0),
        ("rolling", 0.0), ("rolling", 200.0), ("rolling", 600.0), ("offline", 100_000.0),
    ]  # fmt: skip
    assert found.way("part_every").over_straight.high < 0.0
    assert found.way("thumb").over_straight.low > 0.0
    assert found.way("thumb", 200.0).value_per_km.mean > found.way("thumb").value_per_km.mean
    assert found.way("rolling", 600.0).below_offline.mean < 0.01 * 24.0
    for way in found.ways[:-1]:
        assert way.below_offline.low > 0.0
        assert way.hidden_frac == 0.0


def test_the_same_strands_for_all(found: PolicyComparison) -> None:
    """The last way is the cutting plan of the strands that the seed names, or a little more."""
    seeds = np.random.SeedSequence(1).generate_state(24).tolist()[:12:2]
    values = []
    for seed in seeds:
        plan = plan_cuts(draw_strand(BUSY, 100_000.0, seed=seed), RULE, PRICES).best
        used_m = plan.starts_m[-1] + 200.0
        dropped_m = used_m - 200.0 * plan.starts_m.size
        money = 5.0 * plan.first + 2.5 * plan.second - 0.002 * dropped_m - 0.05 * plan.partings
        values.append(1000.0 * money / used_m)
    best = found.ways[-1].value_per_km
    # up to its last ball it may end a ball sooner than on the whole strand: 0.2 % of 100 km
    assert np.mean(values) <= best.mean + 1e-9 < 1.002 * np.mean(values)
    assert best.high - best.mean == pytest.approx(2.5706 * best.standard_error, rel=1e-4)
    straight = found.way("straight")
    for way in found.ways:
        lead = way.value_per_km.mean - straight.value_per_km.mean
        assert way.over_straight.mean == pytest.approx(lead, abs=1e-9)
        lead = way.value_per_km.mean - found.way("thumb").value_per_km.mean
        assert way.over_short.mean == pytest.approx(lead, abs=1e-9)


def test_an_eye_that_misses_brings_less_and_hides_balls(found: PolicyComparison) -> None:
    poor = compared(Detector(0.7, 0.5))
    good, bad = found.way("rolling", 600.0), poor.way("rolling", 600.0)
    assert bad.value_per_km.mean < good.value_per_km.mean
    assert 0.01 < bad.hidden_frac < 0.2
    # a ball that a false alarm spoils is sold as second-quality, wound straight through or not
    assert poor.way("straight").value_per_km.high < found.way("straight").value_per_km.mean
    assert poor.way("straight").first_frac == found.way("straight").first_frac
    missing = compared(Detector(0.7))
    assert missing.way("straight").value_per_km == found.way("straight").value_per_km
    dear = compared(Detector(0.7, 0.5), miss_cost=20.0)
    assert dear.way("rolling", 600.0).value_per_km.mean < bad.value_per_km.mean


def test_the_best_plan_is_best_on_short_strands_too() -> None:
    """A strand of five balls: dropping what the tail loses anyway must not make it seem worse."""
    for seed in range(6):
        short = compare_policies(
            BUSY, RULE, PRICES, look_aheads_m=(200.0, 600.0), strand_length_m=1_090.0, runs=2,
            seed=seed,
        )  # fmt: skip
        for way in short.ways:
            # of two strands the mean less the standard error is the lesser of the two
            lacks = way.below_offline
            assert lacks.mean - lacks.standard_error >= -1e-9


@pytest.mark.parametrize("miss_cost", [2.5, 6.0])
def test_no_miss_cost_that_is_allowed_beats_the_best_plan(miss_cost: float) -> None:
    poor = compared(Detector(0.3, 2.0), miss_cost=miss_cost)
    for way in poor.ways[:-1]:
        assert way.below_offline.mean > 0.0


def test_a_miss_cost_under_the_difference_of_the_prices_is_refused() -> None:
    """With 0 a hidden ball would bring 5, and being blind more than the best plan."""
    for low in (0.0, 2.49):
        with pytest.raises(BadInput, match=r"2\.5 or more") as caught:
            compared(Detector(0.3), miss_cost=low)
        assert [fault.key for fault in caught.value.faults] == ["miss cost"]


def test_a_blind_eye_is_winding_straight() -> None:
    blind = compared(Detector(0.0))
    for way in blind.ways[:-1]:
        assert way.over_straight.mean == 0.0
        assert way.partings_per_km == 0.0


def test_a_part_of_the_strand_is_lost_where_it_is_dropped(found: PolicyComparison) -> None:
    every = found.way("part_every")
    assert every.first_frac == 1.0
    # Parting at each offence drops about half a ball each time.
    assert 20.0 < 1000.0 * every.dropped_frac / every.partings_per_km < 150.0


def test_the_tail_counts_for_nothing() -> None:
    """Without a single join every way winds straight, and half a ball left over costs nothing."""
    clean = compare_policies(
        Sources(), RULE, PRICES, look_aheads_m=(300.0,), strand_length_m=1_100.0, runs=2
    )
    for way in clean.ways:
        assert way.value_per_km.mean == pytest.approx(25.0)
        assert way.dropped_frac == pytest.approx(0.0, abs=1e-12)


def test_what_cannot_be_meant_is_refused_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        compare_policies(
            BUSY, RULE, PRICES, look_aheads_m=(-1.0,), strand_length_m=100.0, runs=1,
            detector=Detector(2.0), miss_cost=-1.0,
        )  # fmt: skip
    assert {fault.key for fault in caught.value.faults} == {
        "finds_frac", "runs", "strand length", "look-ahead", "miss cost",
    }  # fmt: skip


def test_the_most_balls_are_still_wound_and_one_more_is_not() -> None:
    """A look-ahead that cannot be meant keeps the millions of balls from being wound."""
    for balls, refused in ((500_000, {"look-ahead"}), (500_001, {"look-ahead", "strand length"})):
        with pytest.raises(BadInput) as caught:
            compare_policies(
                BUSY, RULE, PRICES, look_aheads_m=(-1.0,), strand_length_m=200.0 * balls, runs=10
            )
        assert {fault.key for fault in caught.value.faults} == refused


def test_where_no_ball_is_sold_as_first_quality_none_is_hidden() -> None:
    """Ties every 90 m and no join allowed in 200 m: every ball looks what it is."""
    tied = compare_policies(
        Sources(cone_length_m=90.0), FirstRule(200.0, 0, 0.0, 0.1), PRICES,
        look_aheads_m=(300.0,), strand_length_m=4_000.0, runs=2,
    )  # fmt: skip
    for way in tied.ways:
        assert (way.first_frac, way.first_per_km, way.hidden_frac) == (0.0, 0.0, 0.0)
    assert tied.way("straight").value_per_km.mean == pytest.approx(2.5 / 0.2)
