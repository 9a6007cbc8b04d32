"""Plying: mass is kept, take-up thickens, and the two measures of take-up are not mixed up."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.quantities import SYSTEMS, convert_count
from clew.strand.plies import (
    component_to_reach,
    factor_from_take_up,
    mean_count_tex,
    resultant_count,
    spun_cotton_take_up,
    take_up_from_factor,
    twist_after_take_up,
)

COUNTS = st.lists(st.floats(0.1, 1e4), min_size=1, max_size=6)
TAKE_UPS = st.floats(0.0, 0.5)


@pytest.mark.parametrize("unit", [system.name for system in SYSTEMS])
@given(counts_tex=COUNTS, take_up=TAKE_UPS)
def test_every_system_gives_the_same_yarn(unit, counts_tex, take_up) -> None:
    """Plying in any system and plying in tex are one yarn, and it holds all the mass."""
    components = [convert_count(count, "tex", unit) for count in counts_tex]
    plied = resultant_count(components, unit, take_up_frac=take_up)
    twisted_m = 1000.0 * (1.0 - take_up)
    mass_g = sum(counts_tex)
    assert convert_count(plied, unit, "tex") == pytest.approx(
        1000.0 * mass_g / twisted_m, rel=1e-12
    )


@given(counts_tex=COUNTS, extra=st.floats(0.1, 1e4), take_up=TAKE_UPS)
def test_the_missing_component_brings_the_yarn_to_the_wanted_count(
    counts_tex, extra, take_up
) -> None:
    wanted = resultant_count([*counts_tex, extra], "tex", take_up_frac=take_up)
    found = component_to_reach(wanted, counts_tex, "tex", take_up_frac=take_up)
    assert found == pytest.approx(extra, rel=1e-6, abs=1e-8 * sum(counts_tex))


def test_no_component_can_make_a_yarn_finer() -> None:
    with pytest.raises(BadInput, match="already as thick"):
        component_to_reach(16.0, [24.0, 48.0], "Ne")


@given(take_up=TAKE_UPS)
def test_factor_and_fraction_come_back(take_up: float) -> None:
    assert take_up_from_factor(factor_from_take_up(take_up)) == pytest.approx(take_up, abs=1e-15)


def test_a_factor_of_1_06_is_a_fraction_of_0_0566() -> None:
    assert take_up_from_factor(1.06) == pytest.approx(0.0566, abs=5e-5)


def test_a_factor_given_as_a_fraction_is_refused_and_named() -> None:
    with pytest.raises(BadInput, match="contraction factor"):
        resultant_count([20.0, 20.0], "tex", take_up_frac=1.06)
    with pytest.raises(BadInput, match="take-up fraction"):
        take_up_from_factor(0.0566)


@given(twist=st.floats(0.0, 2000.0), take_up=TAKE_UPS)
def test_the_turns_are_kept_on_the_shorter_yarn(twist: float, take_up: float) -> None:
    assert twist_after_take_up(twist, take_up) * (1.0 - take_up) == pytest.approx(twist, rel=1e-12)


@given(counts_tex=COUNTS)
def test_a_mixture_lies_between_its_lots_and_below_the_plain_mean(counts_tex) -> None:
    mean = mean_count_tex([1.0] * len(counts_tex), counts_tex)
    assert min(counts_tex) * (1 - 1e-12) <= mean <= sum(counts_tex) / len(counts_tex) * (1 + 1e-12)


def test_a_mixture_needs_a_mass_for_every_count() -> None:
    with pytest.raises(BadInput, match="every lot"):
        mean_count_tex([1.0], [20.0, 30.0])


@pytest.mark.parametrize("multiplier", [0.0, 1.8, 8.1, math.nan])
def test_the_cotton_line_is_refused_outside_its_range(multiplier: float) -> None:
    with pytest.raises(BadInput, match="outside the range"):
        spun_cotton_take_up(multiplier)


def test_nothing_cannot_be_plied() -> None:
    with pytest.raises(BadInput, match="no component"):
        resultant_count([], "tex")
