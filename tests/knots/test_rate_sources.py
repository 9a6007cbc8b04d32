"""Spinners side by side: three cones do not condemn one, thirty may."""

from itertools import combinations

import numpy as np
import pytest

from clew.faults import BadInput
from clew.knots.rate_sources import (
    Comparison,
    compare_sources,
    swap_cones,
    within_index,
    worse_words,
)
from clew.knots.rate_tests import compare_rates
from clew.knots.rates import CountedCone


def log_of(**spinners: list[int]) -> list[CountedCone]:
    return [
        CountedCone(f"{name}-{place}", name, "", 1500.0, 250.0, found)
        for name, knots in spinners.items()
        for place, found in enumerate(knots)
    ]


def compared(**spinners: list[int]) -> Comparison:
    found = compare_sources(log_of(**spinners), lambda cone: cone.supplier)
    assert found is not None
    return found


USUAL = {
    "Beck": [2, 3, 1, 2, 4, 2, 3, 2, 1, 2, 3, 2],
    "Scar": [1, 2, 0, 3, 2, 1, 2, 2, 3, 2, 2, 1],
    "Gill": [3, 2, 2, 1, 4, 3, 2, 1, 2, 2, 3, 1],
}


def test_three_cones_do_not_condemn_a_spinner_but_thirty_do() -> None:
    few, many = compared(Fell=[5, 4, 3], **USUAL), compared(Fell=[5, 4, 3] * 10, **USUAL)
    assert few.sources[0].name == many.sources[0].name == "Fell"
    assert few.sources[0].p_worse < 0.975 < many.sources[0].p_worse
    assert many.sources[0].words == "worse"
    assert few.sources[0].own.per_km == pytest.approx(many.sources[0].own.per_km)
    assert few.sources[0].per_km < many.sources[0].per_km < many.sources[0].own.per_km
    assert few.sources[0].own_weight < many.sources[0].own_weight


def test_belief_stands_between_its_own_rate_and_the_rest() -> None:
    found = compared(Fell=[5, 4, 3], **USUAL)
    worst = found.sources[0]
    assert found.pooled_per_km < worst.per_km < worst.own.per_km
    assert worst.low_per_km < worst.per_km < worst.high_per_km
    assert worst.high_per_km - worst.low_per_km < worst.own.high_per_km - worst.own.low_per_km


def test_a_spinner_without_a_knot_is_believed_to_have_a_rate() -> None:
    found = compared(Fell=[0, 0], **USUAL)
    best = found.sources[-1]
    assert best.name == "Fell"
    assert 0.0 < best.low_per_km < best.per_km < found.pooled_per_km
    assert best.p_worse < 0.5


def test_one_bad_cone_among_three_says_less_than_three_middling_ones() -> None:
    """Same knots, same length: cones that differ within a spinner weigh less."""
    even, uneven = compared(Fell=[6, 6, 6], **USUAL), compared(Fell=[18, 0, 0], **USUAL)
    assert even.within_index == 1.0
    assert uneven.within_index > 1.3
    assert uneven.sources[0].p_worse < even.sources[0].p_worse


def test_like_spinners_are_not_told_apart_and_order_does_not_matter() -> None:
    found = compared(**USUAL)
    backwards = compared(**dict(reversed(list(USUAL.items()))))
    assert {one.words for one in found.sources} == {"not told apart"}
    for one, other in zip(found.sources, backwards.sources, strict=True):
        assert one.name == other.name
        assert one.p_worse == pytest.approx(other.p_worse, abs=1e-9)


def test_one_source_or_no_knots_compare_with_nothing() -> None:
    for log in (log_of(Fell=[1, 2]), log_of(Fell=[0], Beck=[0])):
        assert compare_sources(log, lambda cone: cone.supplier) is None
    assert compare_sources(log_of(**USUAL), lambda cone: cone.dye_lot) is None


def test_a_confidence_that_cannot_be_is_refused_even_where_nothing_compares() -> None:
    for log in (log_of(**USUAL), log_of(Fell=[1, 2])):
        for confidence in (0.0, 1.0, 1.5):
            with pytest.raises(BadInput) as caught:
                compare_sources(log, lambda cone: cone.supplier, confidence=confidence)
            assert [fault.key for fault in caught.value.faults] == ["confidence"]


def test_two_spinners_are_enough_to_compare() -> None:
    """Alike they share one belief; names swapped swap it; on long counts each has its own rate."""
    alike = compared(Beck=[2, 3, 1], Fell=[1, 2, 3])
    assert [one.name for one in alike.sources] == ["Beck", "Fell"]
    for name in ("per_km", "low_per_km", "high_per_km", "p_worse"):
        beck, fell = (getattr(one, name) for one in alike.sources)
        assert beck == pytest.approx(fell, rel=1e-9)
    one, other = compared(Beck=[5, 4], Fell=[1, 2]), compared(Beck=[1, 2], Fell=[5, 4])
    assert [source.name for source in one.sources] == ["Beck", "Fell"]
    assert [source.name for source in other.sources] == ["Fell", "Beck"]
    for here, there in zip(one.sources, other.sources, strict=True):
        assert here.p_worse == pytest.approx(there.p_worse, abs=1e-9)
    long = compared(Beck=[600] * 30, Fell=[300] * 30)
    assert [source.words for source in long.sources] == ["worse", "better"]
    assert [source.per_km for source in long.sources] == pytest.approx([100.0, 50.0], rel=1e-3)


def test_single_cones_have_no_spread_within() -> None:
    assert within_index([log_of(Fell=[3]), log_of(Beck=[30])]) == 1.0


def test_words_run_from_better_to_worse() -> None:
    said = [worse_words(chance) for chance in (0.0, 0.05, 0.5, 0.95, 1.0)]
    assert len(set(said)) == 5
    assert said[0].startswith("better")
    assert said[-1].startswith("worse")


def test_intervals_hold_the_true_rates_and_nobody_is_condemned_for_nothing() -> None:
    """Six spinners of 3 to 30 cones, drawn with a known spread; sixty logs."""
    rng = np.random.default_rng(7)
    held, condemned, spinners = 0, 0, 0
    for log in range(60):
        between = 0.4 if log % 2 else 0.0
        truth, cones = {}, []
        for place, number in enumerate((3, 3, 6, 10, 20, 30)):
            rate = 0.4 * (rng.gamma(between**-2, between**2) if between else 1.0)
            truth[str(place)] = rate
            cones += [
                CountedCone(f"{place}-{one}", str(place), "", 1500.0, 250.0, int(knots))
                for one, knots in enumerate(rng.poisson(6.0 * rate, number))
            ]
        found = compare_sources(cones, lambda cone: cone.supplier)
        assert found is not None
        for source in found.sources:
            spinners += 1
            held += source.low_per_km <= truth[source.name] <= source.high_per_km
            condemned += not between and source.p_worse >= 0.975
    assert held / spinners > 0.92
    assert condemned <= 3


def sample(name: str, knots: list[int], mass_g: list[float] | None = None) -> list[CountedCone]:
    masses = mass_g or [1500.0] * len(knots)
    return [
        CountedCone(str(place), name, "", mass, 250.0, found)
        for place, (found, mass) in enumerate(zip(knots, masses, strict=True))
    ]


def test_swapped_cones_agree_with_every_split_counted_by_hand() -> None:
    first = sample("Beck", [7, 0, 4], [1500.0, 900.0, 1200.0])
    second = sample("Fell", [1, 3, 0, 2], [1500.0, 1500.0, 700.0, 1000.0])
    cones = first + second

    def apart(places: tuple[int, ...]) -> float:
        mine = [cones[place] for place in places]
        rest = [cone for place, cone in enumerate(cones) if place not in places]
        return sum(one.knots for one in mine) / sum(one.length_km for one in mine) - sum(
            one.knots for one in rest
        ) / sum(one.length_km for one in rest)

    found = swap_cones(first, second)
    every = [abs(apart(places)) for places in combinations(range(7), 3)]
    here = apart((0, 1, 2))
    assert found.difference_per_km == pytest.approx(here)
    assert (found.splits, found.seed) == (35, None)
    assert found.p_value == pytest.approx(sum(one >= here - 1e-12 for one in every) / 35)
    assert found.least_p_value == pytest.approx(1 / 35)


def test_three_and_three_cones_can_never_show_less_than_a_tenth() -> None:
    found = swap_cones(sample("Beck", [15, 16, 14]), sample("Fell", [2, 3, 0]))
    assert (found.p_value, found.least_p_value, found.splits) == (0.1, 0.1, 20)


def test_drawn_splits_come_near_all_of_them_and_hang_on_the_seed_alone() -> None:
    knots = np.random.default_rng(4).poisson(3.0, 24).tolist()
    first, second = sample("Beck", [one + 1 for one in knots[:12]]), sample("Fell", knots[12:])
    found, again, other = (swap_cones(first, second, seed=seed) for seed in (1, 1, 2))
    assert found == again
    assert (found.splits, found.seed) == (9999, 1)
    assert found.p_value != other.p_value
    # Every split, by how many ways so many knots fall on twelve of the cones.
    ways = np.zeros((13, 1 + sum(one.knots for one in first + second)), dtype=np.int64)
    ways[0, 0] = 1
    for cone in first + second:
        grown = ways.copy()
        grown[1:, cone.knots :] += ways[:-1, : ways.shape[1] - cone.knots]
        ways = grown
    total = ways.shape[1] - 1
    here = abs(2 * sum(one.knots for one in first) - total)
    far = np.abs(2 * np.arange(total + 1) - total) >= here
    exact = ways[12, far].sum() / ways[12].sum()
    assert found.p_value == pytest.approx(exact, abs=4 * (exact * (1 - exact) / 9999) ** 0.5)


def test_like_spinners_are_told_apart_no_more_than_one_time_in_twenty() -> None:
    """Eight cones each at a spread of 0.9: counts alone tell apart more than twice too often."""
    rng = np.random.default_rng(11)
    alike, swapped = 0, 0
    for _ in range(150):
        rates = 2.0 * rng.gamma(1.235, 1 / 1.235, 16)
        knots = rng.poisson(rates).tolist()
        first, second = sample("Beck", knots[:8]), sample("Fell", knots[8:])
        alike += compare_rates(sum(knots[:8]), 48.0, sum(knots[8:]), 48.0).p_value <= 0.05
        swapped += swap_cones(first, second).p_value <= 0.05
    assert alike > 15
    assert swapped <= 15


def test_swapped_cones_of_no_cones_or_of_one_cone_twice_are_refused() -> None:
    with pytest.raises(BadInput, match="no cones"):
        swap_cones(sample("Beck", [1]), [])
    with pytest.raises(BadInput, match="a cone twice"):
        swap_cones(sample("Beck", [1]), sample("Beck", [1]))


def test_one_cone_against_many_is_looked_at_whole_from_either_side() -> None:
    """The one bad cone is the worst of 3001: no other split is so far apart."""
    one, many = sample("Beck", [9]), sample("Fell", [2, 3, 1] * 1000)
    found, turned = swap_cones(one, many), swap_cones(many, one)
    assert (found.splits, found.seed) == (3001, None)
    assert found.p_value == turned.p_value == pytest.approx(1 / 3001)
    assert found.difference_per_km == pytest.approx(-turned.difference_per_km)
