"""Spinners side by side: three cones do not condemn one, thirty may."""

import numpy as np
import pytest

from clew.knots.rate_sources import Comparison, compare_sources, say, within_index
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
    assert many.sources[0].words == "worse than the rest"
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
    assert {one.words for one in found.sources} == {"not told apart from the rest"}
    for one, other in zip(found.sources, backwards.sources, strict=True):
        assert one.name == other.name
        assert one.p_worse == pytest.approx(other.p_worse, abs=1e-9)


def test_one_source_or_no_knots_compare_with_nothing() -> None:
    for log in (log_of(Fell=[1, 2]), log_of(Fell=[0], Beck=[0])):
        assert compare_sources(log, lambda cone: cone.supplier) is None
    assert compare_sources(log_of(**USUAL), lambda cone: cone.dye_lot) is None


def test_single_cones_have_no_spread_within() -> None:
    assert within_index([log_of(Fell=[3]), log_of(Beck=[30])]) == 1.0


def test_words_run_from_better_to_worse() -> None:
    said = [say(chance) for chance in (0.0, 0.05, 0.5, 0.95, 1.0)]
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
