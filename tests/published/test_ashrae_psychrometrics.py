"""Moist air against the tables and the example of the ASHRAE handbook."""

from __future__ import annotations

import pytest

from clew.line.heat.moist_air import (
    MoistAir,
    air_of_wet_bulb,
    enthalpy_kj_per_kg,
    saturated_humidity,
)
from clew.line.heat.water import vapour_pressure_kpa


@pytest.mark.outside(
    document="ASHRAE Handbook Fundamentals, chapter 1",
    edition="2017, as cited in the tests of an open package",
    section="Table 3, vapour pressure",
    mark="READ",
)
@pytest.mark.parametrize(
    ("celsius", "pascal"),
    [(5.0, 872.6), (25.0, 3169.7), (50.0, 12351.3), (100.0, 101418.0), (150.0, 476101.4)],
)
def test_vapour_pressure(celsius: float, pascal: float) -> None:
    assert 1000.0 * vapour_pressure_kpa(celsius) == pytest.approx(pascal, rel=3e-4)


@pytest.mark.outside(
    document="ASHRAE Handbook Fundamentals, chapter 1",
    edition="2017, as cited in the tests of an open package",
    section="Table 2, saturated air at 101.325 kPa",
    mark="READ",
)
@pytest.mark.parametrize(
    ("celsius", "humidity", "joule"),
    [
        (5.0, 0.005425, 18639.0),
        (25.0, 0.020173, 76504.0),
        (50.0, 0.086863, 275353.0),
        (85.0, 0.838105, 2307539.0),
    ],
)
def test_saturated_air(celsius: float, humidity: float, joule: float) -> None:
    """Without the enhancement of 1.0045 the humidity at 85 °C would be 1.2 % short."""
    found = saturated_humidity(celsius)
    assert found == pytest.approx(humidity, rel=1.5e-3)
    assert 1000.0 * enthalpy_kj_per_kg(celsius, found) == pytest.approx(joule, rel=2e-3)


@pytest.mark.outside(
    document="ASHRAE Handbook Fundamentals, chapter 1",
    edition="2017, as cited in the tests of an open package",
    section="dry air at 25 °C",
    mark="READ",
)
def test_dry_air() -> None:
    air = MoistAir(25.0, 0.0)
    assert 1000.0 * air.enthalpy_kj_per_kg == pytest.approx(25148.0, abs=5.0)
    assert air.volume_m3_per_kg == pytest.approx(0.8443, rel=6e-4)


@pytest.mark.outside(
    document="ASHRAE Handbook Fundamentals, chapter 1",
    edition="2017, as cited in the tests of an open package",
    section="Example 1, 40 °C with a wet bulb of 20 °C, read off a chart",
    mark="READ",
)
def test_air_by_its_wet_bulb() -> None:
    air = air_of_wet_bulb(40.0, 20.0)
    assert air.humidity_kg_per_kg == pytest.approx(0.0065, abs=1e-4)
    assert air.dew_point_c == pytest.approx(7.0, abs=0.6)
    assert air.relative_humidity == pytest.approx(0.14, abs=0.01)
    assert air.enthalpy_kj_per_kg == pytest.approx(56.7, abs=0.25)
    assert air.volume_m3_per_kg == pytest.approx(0.896, rel=0.01)


@pytest.mark.outside(
    document="CoolProp, humid air, and two packages of ideal gas",
    edition="8.0.0 and as run",
    section="wet bulb of hot air",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("celsius", "humidity", "wet_bulb"),
    [(65.6, 0.010, 28.89), (110.0, 0.05, 48.24), (120.0, 0.2, 66.98), (82.0, 0.08, 51.56)],
)
def test_wet_bulb_of_hot_air(celsius: float, humidity: float, wet_bulb: float) -> None:
    assert MoistAir(celsius, humidity).wet_bulb_c == pytest.approx(wet_bulb, abs=0.1)
