"""Yarn diameter: volume is kept, and the inverse comes back."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.strand.diameter import (
    blend_density_kg_m3,
    packing_from_diameter,
    twist_angle_deg,
    yarn_diameter_mm,
)

TEX = st.floats(1.0, 5000.0)
DENSITY = st.floats(800.0, 3000.0)
PACKING = st.floats(0.02, 1.0)


@given(count=TEX, density=DENSITY, packing=PACKING)
def test_a_kilometre_of_the_rod_weighs_its_count(count, density, packing) -> None:
    diameter_m = yarn_diameter_mm(count, density, packing) / 1000.0
    mass_g = math.pi / 4.0 * diameter_m**2 * 1000.0 * density * packing * 1000.0
    assert mass_g == pytest.approx(count, rel=1e-12)


@given(count=TEX, density=DENSITY, packing=PACKING)
def test_packing_comes_back_from_the_diameter(count, density, packing) -> None:
    diameter = yarn_diameter_mm(count, density, packing)
    assert packing_from_diameter(count, density, diameter) == pytest.approx(packing, rel=1e-12)


def test_the_constant_of_a_solid_yarn() -> None:
    assert yarn_diameter_mm(1.0, 1000.0, 1.0) == pytest.approx(0.035682, abs=5e-7)


def test_a_yarn_thinner_than_its_fibre_is_refused() -> None:
    with pytest.raises(BadInput, match="thinner than its fibre"):
        packing_from_diameter(500.0, 1190.0, 0.5)


@pytest.mark.parametrize("packing", [0.0, 1.01, math.nan])
def test_packing_is_a_part_of_the_volume(packing: float) -> None:
    with pytest.raises(BadInput, match="packing"):
        yarn_diameter_mm(500.0, 1190.0, packing)


def test_twist_angle_of_45_degrees_where_one_turn_takes_one_circumference() -> None:
    assert twist_angle_deg(1.0, 1000.0 / math.pi) == pytest.approx(45.0)
    assert twist_angle_deg(1.0, 0.0) == 0.0


@given(share=st.floats(0.01, 0.99), first=DENSITY, second=DENSITY)
def test_a_blend_holds_the_mass_and_volume_of_its_fibres(share, first, second) -> None:
    blended = blend_density_kg_m3([share, 1.0 - share], [first, second])
    assert 1.0 / blended == pytest.approx(share / first + (1.0 - share) / second, rel=1e-12)


def test_shares_must_make_the_whole() -> None:
    with pytest.raises(BadInput, match="100 %"):
        blend_density_kg_m3([0.5, 0.4], [1310.0, 1190.0])
    with pytest.raises(BadInput, match="every fibre"):
        blend_density_kg_m3([1.0], [1310.0, 1190.0])
