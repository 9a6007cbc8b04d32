"""Questions of the Indian graduate examination in textiles, with their answers and two bad keys."""

import pytest

from clew.strand.allowances import Allowance, blend_allowance
from clew.strand.diameter import packing_from_diameter, yarn_diameter_mm
from clew.strand.moisture import Regain, dry_mass_kg
from clew.strand.plies import mean_count_tex, take_up_from_factor


def own_table(**percents: float) -> dict[str, Allowance]:
    return {key: Allowance(value / 100, "READ", "the question") for key, value in percents.items()}


@pytest.mark.outside(
    document="GATE Textile Engineering and Fibre Science",
    edition="2013",
    section="question 40",
    mark="READ",
)
def test_mean_count_of_two_lots_of_equal_mass() -> None:
    """1200 kg each of 30 and 20 tex: 24 tex, not the plain mean of 25."""
    assert mean_count_tex([1200.0, 1200.0], [30.0, 20.0]) == pytest.approx(24.0, rel=1e-12)


@pytest.mark.outside(
    document="GATE Textile Engineering and Fibre Science",
    edition="2014",
    section="question 37",
    mark="READ",
)
def test_untwisted_length_by_the_contraction_factor() -> None:
    """5 t of 50 tex twisted at a factor of 1.06 were 106 000 km untwisted."""
    twisted_km = 5.0e6 / 50.0
    untwisted_km = twisted_km / (1.0 - take_up_from_factor(1.06))
    assert untwisted_km == pytest.approx(106_000.0, rel=1e-12)


@pytest.mark.outside(
    document="GATE Textile Engineering and Fibre Science",
    edition="2022",
    section="question 23",
    mark="READ",
)
def test_regain_of_polyester_and_cotton_at_70_to_30() -> None:
    blend = [("polyester", 0.70), ("cotton", 0.30)]
    assert 100 * blend_allowance(blend, "astm-d1909").frac == pytest.approx(2.83, abs=0.005)


@pytest.mark.outside(
    document="GATE Textile Engineering and Fibre Science",
    edition="2007",
    section="question 70, with an option of 12.22 that is not the answer",
    mark="READ",
)
def test_water_in_a_blend_of_three() -> None:
    table = own_table(wool_combed=17.0, silk=11.0, viscose=11.0)
    blend = [("wool_combed", 0.50), ("silk", 0.25), ("viscose", 0.25)]
    regain = blend_allowance(blend, table).frac
    assert regain == pytest.approx(0.14, abs=1e-12)
    water_g = 100.0 - dry_mass_kg(100.0, Regain(regain))
    assert water_g == pytest.approx(12.28, abs=0.005)
    assert abs(water_g - 12.22) > 0.05


@pytest.mark.outside(
    document="GATE Textile Engineering and Fibre Science",
    edition="2006",
    section="question 68, keyed 7.27: error",
    mark="READ",
)
def test_a_wrong_key_for_a_linen_blend_is_not_ours() -> None:
    table = own_table(flax=12.0, cotton=7.5, polyester=0.4)
    blend = [("flax", 0.30), ("cotton", 0.50), ("polyester", 0.20)]
    found = 100 * blend_allowance(blend, table).frac
    assert found == pytest.approx(7.43, abs=0.005)
    assert abs(found - 7.27) > 0.1


@pytest.mark.outside(
    document="GATE Textile Engineering and Fibre Science",
    edition="2008",
    section="question 71, diameter 4.44e-3 sqrt(tex/density) cm",
    mark="READ",
)
def test_yarn_diameter_at_the_packing_of_the_question() -> None:
    """The printed constant is our formula at a packing of 0.646, the same at every count."""
    for count_tex, density in ((20.0, 1520.0), (100.0, 1310.0), (500.0, 1190.0)):
        printed_mm = 10.0 * 4.44e-3 * (count_tex / (density / 1000.0)) ** 0.5
        assert yarn_diameter_mm(count_tex, density, 0.646) == pytest.approx(printed_mm, rel=1e-3)
        packing = packing_from_diameter(count_tex, density, printed_mm)
        assert packing == pytest.approx(0.646, abs=5e-4)


@pytest.mark.outside(
    document="Teaching page on yarn diameter with a packing coefficient",
    edition="as read",
    section="constant 3.37e-3: misprint of 3.57e-3",
    mark="DERIVED",
)
def test_a_misprinted_diameter_constant_is_not_ours() -> None:
    constant_cm = yarn_diameter_mm(1.0, 1000.0, 1.0) / 10.0
    assert constant_cm == pytest.approx(3.57e-3, abs=5e-6)
    assert abs(constant_cm - 3.37e-3) > 1e-4
