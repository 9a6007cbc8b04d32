"""Condensate, sorption and a GATE question, from published heats and a published isotherm."""

from __future__ import annotations

import pytest

from clew.line.heat.dryer_balance import Solid
from clew.line.heat.fibres_heat import blend_heat
from clew.line.heat.sorption import binding_between_kj_per_kg, binding_kj_per_kg, regain_ratio
from clew.line.heat.steaming import condensed, flash_off_kg_per_kg


@pytest.mark.outside(
    document="Heats of Morton & Hearle with IF97 steam, 20 to 100 °C",
    edition="as worked out",
    section="condensate on a kg of dry fibre",
    mark="DERIVED",
)
@pytest.mark.parametrize(
    ("heat", "regain", "kg"),
    [
        (1.30, 0.015, 0.0483),
        (1.03, 0.004, 0.0371),
        (1.46, 0.04, 0.0577),
        (1.28, 0.075, 0.0565),
        (1.45, 0.13, 0.0707),
        (1.36, 0.16, 0.0720),
    ],
)
def test_condensate_without_sorption(heat: float, regain: float, kg: float) -> None:
    found = condensed(heat, regain, 20.0, 100.0)
    assert found.condensate_kg_per_kg == pytest.approx(kg, abs=6e-5)


@pytest.mark.outside(
    document="Steel belt of 0.5 kg a kg of yarn, c 0.5 kJ/(kg K), with IF97 steam",
    edition="as worked out",
    section="what the belt adds",
    mark="DERIVED",
)
def test_condensate_on_a_belt() -> None:
    bare = condensed(1.30, 0.015, 20.0, 100.0).condensate_kg_per_kg
    belt = condensed(1.30, 0.015, 20.0, 100.0, belt_kj_per_kg_k=0.25).condensate_kg_per_kg
    assert belt - bare == pytest.approx(0.0089, abs=6e-5)


@pytest.mark.outside(
    document="Acrylic leaving steam, heat balance with h_fg 2370 kJ/kg",
    edition="as worked out",
    section="flash-off from 100 to 40 °C, and what condensed from 22 °C",
    mark="DERIVED",
)
def test_flash_off_of_acrylic() -> None:
    """h_fg at the mean temperature is 2333, not 2370: 1.5 % apart."""
    taken = condensed(1.30, 0.015, 22.0, 100.0).condensate_kg_per_kg
    assert taken == pytest.approx(0.047109, abs=1e-5)
    assert flash_off_kg_per_kg(1.30, 0.062109, 100.0, 40.0) == pytest.approx(0.0395, rel=0.02)


@pytest.mark.outside(
    document="Isotherm and heat of sorption for all fibres, a public file",
    edition="credited to Lotens and Gibson",
    section="regain over that at 65 %, and heat over the latent",
    mark="READ",
)
@pytest.mark.parametrize(
    ("humidity", "ratio", "joule"),
    [
        (0.05, 0.1017, 926.0),
        (0.2, 0.3307, 574.0),
        (0.4, 0.5889, 375.0),
        (0.65, 1.0008, 251.0),
        (0.8, 1.4134, 195.0),
        (0.95, 2.1920, 106.0),
        (1.0, 2.6437, 0.0),
    ],
)
def test_isotherm(humidity: float, ratio: float, joule: float) -> None:
    assert regain_ratio(humidity) == pytest.approx(ratio, abs=6e-5)
    assert binding_kj_per_kg(humidity) == pytest.approx(joule, abs=0.6)


@pytest.mark.outside(
    document="Morton & Hearle, Physical Properties of Textile Fibres",
    edition="as excerpted",
    section="Table 8.1, heat of wetting from dry; cotton's 46 is 23 % off and left out",
    mark="READ",
)
@pytest.mark.parametrize(("regain_65", "joule"), [(0.13, 106.0), (0.16, 113.0), (0.04, 31.0)])
def test_heat_of_wetting(regain_65: float, joule: float) -> None:
    whole = binding_between_kj_per_kg(0.0, 10.0 * regain_65, regain_65)
    assert whole == pytest.approx(joule, rel=0.08)


@pytest.mark.outside(
    document="Morton & Hearle, Physical Properties of Textile Fibres",
    edition="as excerpted",
    section="Table 6.1, specific heats",
    mark="READ",
)
@pytest.mark.parametrize(
    ("key", "low", "high"),
    [
        ("cotton", 1.22, 1.35),
        ("viscose", 1.35, 1.59),
        ("wool_combed", 1.36, 1.36),
        ("silk", 1.38, 1.38),
        ("polyamide_filament", 1.43, 1.46),
        ("polyester", 1.03, 1.03),
    ],
)
def test_specific_heats(key: str, low: float, high: float) -> None:
    assert low <= blend_heat([(key, 1.0)]).heat_kj_per_kg_k <= high


@pytest.mark.outside(
    document="GATE Textile Engineering and Fibre Science",
    edition="2019, question only; answer worked out",
    section="question 55: wet polyester 160 g/m2 at 20 °C dried to 100 g/m2",
    mark="DERIVED",
)
def test_heat_to_dry_polyester_fabric() -> None:
    """Warmed to 100 °C with its water, then dried: 171.76 kJ/m2, by the question's constants."""
    warm = Solid(2.0, 0.6, 100.0).enthalpy_kj_per_kg - Solid(2.0, 0.6, 20.0).enthalpy_kj_per_kg
    # our water is 4.19, the question's 4.2 kJ/(kg K)
    assert 0.100 * warm + 0.060 * 2260.0 == pytest.approx(171.76, abs=0.06)
