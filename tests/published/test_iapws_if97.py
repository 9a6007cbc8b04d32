"""Water and steam against the release of the industrial formulation and tables made with it."""

from __future__ import annotations

import pytest

from clew.line.heat import if97
from clew.line.heat.water import (
    boiling_c,
    expanded_steam,
    saturated_at,
    steam_cost_per_kg,
    vapour_pressure_kpa,
)


@pytest.mark.outside(
    document="IAPWS R7-97(2012), Industrial Formulation 1997",
    edition="2012, values as quoted in several public test suites",
    section="Table 5, region 1",
    mark="READ",
)
@pytest.mark.parametrize(
    ("kelvin", "mpa", "volume", "enthalpy", "entropy"),
    [
        (300.0, 3.0, 0.100215168e-2, 0.115331273e3, 0.392294792),
        (300.0, 80.0, 0.971180894e-3, 0.184142828e3, 0.368563852),
        (500.0, 3.0, 0.120241800e-2, 0.975542239e3, 0.258041912e1),
    ],
)
def test_liquid_water(
    kelvin: float, mpa: float, volume: float, enthalpy: float, entropy: float
) -> None:
    found = if97.liquid(kelvin, mpa)
    assert found.volume_m3_per_kg == pytest.approx(volume, rel=3e-9)
    assert found.enthalpy_kj_per_kg == pytest.approx(enthalpy, rel=3e-9)
    assert found.entropy_kj_per_kg_k == pytest.approx(entropy, rel=3e-9)


@pytest.mark.outside(
    document="IAPWS R7-97(2012), Industrial Formulation 1997",
    edition="2012, recalled and then found in two packages",
    section="Table 15, region 2",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("kelvin", "mpa", "volume", "enthalpy", "entropy"),
    [
        (300.0, 0.0035, 0.394913866e2, 0.254991145e4, 0.852238967e1),
        (700.0, 0.0035, 0.923015898e2, 0.333568375e4, 0.101749996e2),
        (700.0, 30.0, 0.542946619e-2, 0.263149474e4, 0.517540298e1),
    ],
)
def test_steam(kelvin: float, mpa: float, volume: float, enthalpy: float, entropy: float) -> None:
    found = if97.steam(kelvin, mpa)
    assert found.volume_m3_per_kg == pytest.approx(volume, rel=3e-9)
    assert found.enthalpy_kj_per_kg == pytest.approx(enthalpy, rel=3e-9)
    assert found.entropy_kj_per_kg_k == pytest.approx(entropy, rel=3e-9)


@pytest.mark.outside(
    document="IAPWS R7-97(2012), Industrial Formulation 1997",
    edition="2012, values as quoted in several public test suites",
    section="Table 35, saturation pressure",
    mark="READ",
)
@pytest.mark.parametrize(
    ("kelvin", "mpa"),
    [(300.0, 0.353658941e-2), (500.0, 0.263889776e1), (600.0, 0.123443146e2)],
)
def test_saturation_pressure(kelvin: float, mpa: float) -> None:
    assert if97.saturation_pressure_mpa(kelvin) == pytest.approx(mpa, rel=3e-9)


@pytest.mark.outside(
    document="IAPWS R7-97(2012), Industrial Formulation 1997",
    edition="2012, values as quoted in several public test suites",
    section="Table 36, saturation temperature",
    mark="READ",
)
@pytest.mark.parametrize(
    ("mpa", "kelvin"),
    [(0.1, 0.372755919e3), (1.0, 0.453035632e3), (10.0, 0.584149488e3)],
)
def test_saturation_temperature(mpa: float, kelvin: float) -> None:
    assert if97.saturation_temperature_k(mpa) == pytest.approx(kelvin, rel=3e-9)


@pytest.mark.outside(
    document="iapws 1.5.5 and CoolProp 8.0.0, IF97 backend, which agree",
    edition="as run",
    section="saturated steam by temperature",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("celsius", "kpa", "liquid", "steam", "latent", "volume"),
    [
        (20.0, 2.3392, 83.92, 2537.47, 2453.55, 57.761),
        (60.0, 19.946, 251.15, 2608.85, 2357.69, 7.6677),
        (80.0, 47.415, 334.95, 2643.01, 2308.07, 3.4053),
        (100.0, 101.418, 419.10, 2675.57, 2256.47, 1.67186),
        (120.0, 198.665, 503.78, 2705.93, 2202.15, 0.89130),
        (140.0, 361.501, 589.20, 2733.44, 2144.24, 0.50852),
    ],
)
def test_saturated_steam(
    celsius: float, kpa: float, liquid: float, steam: float, latent: float, volume: float
) -> None:
    found = saturated_at(celsius)
    assert found.pressure_kpa == pytest.approx(kpa, rel=3e-5)
    assert found.liquid_kj_per_kg == pytest.approx(liquid, abs=0.006)
    assert found.steam_kj_per_kg == pytest.approx(steam, abs=0.006)
    assert found.latent_kj_per_kg == pytest.approx(latent, abs=0.006)
    assert found.steam_m3_per_kg == pytest.approx(volume, rel=3e-5)


@pytest.mark.outside(
    document="CoolProp 8.0.0, IF97 backend",
    edition="as run",
    section="constant enthalpy from dry steam to 101.325 kPa",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("supply_kpa", "behind_c", "superheat_k"),
    [
        (200.0, 114.9, 15.0),
        (300.0, 124.2, 24.2),
        (400.0, 130.7, 30.8),
        (500.0, 135.8, 35.8),
        (700.0, 143.1, 43.1),
    ],
)
def test_superheat_on_expansion(supply_kpa: float, behind_c: float, superheat_k: float) -> None:
    found = expanded_steam(supply_kpa)
    assert found.temperature_c == pytest.approx(behind_c, abs=0.06)
    assert found.superheat_k == pytest.approx(superheat_k, abs=0.06)


@pytest.mark.outside(
    document="CoolProp 8.0.0, IF97 backend",
    edition="as run",
    section="constant enthalpy from steam of 0.97 to 101.325 kPa",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("supply_kpa", "behind_c", "dryness"),
    [
        (200.0, 99.97, 0.984),
        (300.0, 99.97, 0.993),
        (400.0, 99.97, 0.999),
        (500.0, 104.5, 1.0),
        (700.0, 112.3, 1.0),
    ],
)
def test_wet_steam_on_expansion(supply_kpa: float, behind_c: float, dryness: float) -> None:
    found = expanded_steam(supply_kpa, dryness_frac=0.97)
    assert found.temperature_c == pytest.approx(behind_c, abs=0.06)
    assert found.dryness_frac == pytest.approx(dryness, abs=6e-4)


@pytest.mark.outside(
    document="CoolProp 8.0.0, IF97 backend",
    edition="as run",
    section="fuel money of dry steam of 0.4 MPa, feed 80 °C, efficiency 0.80, 0.05 a kWh",
    mark="DERIVED",
)
def test_the_cost_of_steam() -> None:
    assert steam_cost_per_kg(400.0, 80.0, 0.80, 0.05) == pytest.approx(0.0417, abs=5e-5)


@pytest.mark.outside(
    document="CoolProp",
    edition="8.0.0, IF97 backend, when it is installed",
    section="saturation from 5 to 200 °C",
    mark="COMPUTED",
)
def test_a_grid_of_saturated_states() -> None:
    properties = pytest.importorskip("CoolProp.CoolProp")
    for celsius in range(5, 201, 15):
        kelvin = celsius + 273.15
        pascal = properties.PropsSI("P", "T", kelvin, "Q", 0, "IF97::Water")
        assert vapour_pressure_kpa(celsius) == pytest.approx(pascal / 1000.0, rel=1e-8)
        assert boiling_c(pascal / 1000.0) == pytest.approx(celsius, abs=2e-6)
        latent = sum(
            sign * properties.PropsSI("H", "T", kelvin, "Q", quality, "IF97::Water")
            for sign, quality in ((1, 1), (-1, 0))
        )
        assert saturated_at(celsius).latent_kj_per_kg == pytest.approx(latent / 1000.0, rel=1e-7)
