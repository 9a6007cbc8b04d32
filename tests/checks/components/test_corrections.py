"""Corrections: fewest counts that reach the targets, made only where they help and pay."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.components.corrections import Aim, Count, Standing, corrections
from clew.faults import BadInput

COUNT = Count(turns=1.0, mass_g=0.14, length_m=0.28)


def one(standing: Standing, aim: Aim, count: Count = COUNT, ahead: int = 1000):  # type: ignore[no-untyped-def]
    (found,) = corrections([standing], {standing.winder: count}, {standing.winder: ahead}, aim)
    return found


def test_a_heavy_winder_gives_up_whole_counts_and_stays_on_target() -> None:
    aim = Aim(target_mass_g=100.0, price_per_kg=14.0, change_cost=0.5)
    found = one(Standing("4", 300, 101.9, 0.1), aim)
    assert found.counts == -13
    assert found.gain_g == pytest.approx(1.82)
    assert found.gain == pytest.approx(1.82 * 14 - 0.5)
    assert found.make
    assert 101.9 + found.counts * 0.14 >= 100.0


def test_a_light_winder_gets_the_fewest_counts_that_reach() -> None:
    found = one(Standing("2", 300, 99.5, 0.1), Aim(100.0, declared_mass_g=99.4))
    assert found.counts == 4
    assert found.make
    assert found.short_chance is not None and found.short_chance_then is not None
    assert found.short_chance == pytest.approx(0.158655, abs=1e-5)
    assert found.short_chance_then < 1e-6
    assert found.gain == 0.0


def test_a_mean_known_to_the_last_is_short_or_is_not() -> None:
    """Without any doubt of the mean the chance is 1 below the declared mass and 0 on it."""
    under = one(Standing("2", 300, 99.5, 0.0), Aim(100.0, declared_mass_g=99.6))
    assert (under.short_chance, under.short_chance_then) == (1.0, 0.0)
    on_it = one(Standing("2", 300, 99.5, 0.0), Aim(100.0, declared_mass_g=99.5))
    assert on_it.short_chance == 0.0


def test_a_winder_that_may_be_short_is_raised_at_once() -> None:
    """Not sure to be nearer, but one chance in four of a mean under the declared mass."""
    aim = Aim(100.5, declared_mass_g=100.0)
    found = one(Standing("2", 6, 100.2, 0.3), aim)
    assert found.better_chance < 0.9 and found.make
    assert found.short_chance == pytest.approx(0.2525, abs=1e-3)
    assert not one(Standing("2", 6, 100.2, 0.3), Aim(100.5)).make


def test_noise_is_not_chased() -> None:
    found = one(Standing("1", 5, 100.5, 0.6), Aim(100.0, price_per_kg=14.0))
    assert found.counts == -3
    assert not found.make
    assert "may be chance" in found.why


def test_a_change_that_does_not_pay_is_left() -> None:
    aim = Aim(100.0, price_per_kg=14.0, change_cost=2.0)
    found = one(Standing("1", 500, 100.5, 0.05), aim, ahead=100)
    assert not found.make and "over the 100 balls ahead does not pay" in found.why
    assert "from 341 balls it does" in found.why  # 2 / (0.42 g x 14 / 1000) = 340.1
    assert not one(Standing("1", 500, 100.5, 0.05), aim, ahead=340).make
    assert one(Standing("1", 500, 100.5, 0.05), aim, ahead=341).make


def test_without_a_price_nothing_speaks_against_saving_yarn() -> None:
    heavy = Standing("1", 500, 101.2, 0.05)
    assert one(heavy, Aim(100.0), ahead=10).make
    assert one(heavy, Aim(100.0), ahead=0).make
    priced = one(heavy, Aim(100.0, price_per_kg=14.0), ahead=0)
    assert not priced.make and priced.why == "no ball is ahead of it"
    costly = one(heavy, Aim(100.0, change_cost=1.0), ahead=10)
    assert not costly.make and "priced at nothing" in costly.why


def test_length_stops_a_winder_that_is_only_heavy() -> None:
    aim = Aim(100.0, target_length_m=200.0, price_per_kg=14.0)
    held = one(Standing("3", 300, 102.0, 0.1, 200.1, 0.3), aim)
    assert held.counts == 0 and "length" in held.why
    short = one(Standing("3", 300, 102.0, 0.1, 198.0, 0.3), aim)
    assert short.counts == math.ceil(2.0 / 0.28) and short.make
    assert short.why == "its length asks for it"


def test_the_chance_that_a_change_helps_is_that_of_draws() -> None:
    found = one(Standing("1", 50, 100.6, 0.3), Aim(100.0))
    offsets = np.random.default_rng(4).normal(0.6, 0.3, 400_000)
    helps = np.mean(np.abs(offsets + found.counts * 0.14) < np.abs(offsets))
    assert found.better_chance == pytest.approx(float(helps), abs=4e-3)


@given(
    mass=st.floats(90, 110),
    se=st.floats(0.01, 2),
    per_count=st.floats(0.02, 2),
)
def test_counts_reach_the_target_and_no_more(mass: float, se: float, per_count: float) -> None:
    count = Count(1.0, per_count, 0.3)
    found = one(Standing("1", 10, mass, se), Aim(100.0), count)
    after = mass + found.counts * per_count
    assert after >= 100.0 - 1e-6
    assert after - per_count < 100.0 + 1e-6
    assert not found.make or found.better_chance >= 0.9


@pytest.mark.parametrize(
    ("aim", "count"),
    [
        (Aim(0.0), COUNT),
        (Aim(100.0, target_length_m=-1.0), COUNT),
        (Aim(100.0, sure_frac=1.0), COUNT),
        (Aim(100.0, price_per_kg=-1.0), COUNT),
        (Aim(100.0), Count(1.0, 0.0, 0.3)),
        (Aim(math.nan), COUNT),
    ],
)
def test_what_cannot_be_used_is_refused(aim: Aim, count: Count) -> None:
    with pytest.raises(BadInput):
        one(Standing("1", 10, 100.0, 0.1), aim, count)
