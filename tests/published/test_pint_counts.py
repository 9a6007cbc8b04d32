"""Counts against an independent unit library, for the systems it knows."""

import functools

import pint
import pytest

from clew.quantities import convert_count

DIRECT = {"tex": "tex", "dtex": "dtex", "den": "denier", "jute": "jute"}
INDIRECT = {"Nm": "number_meter", "Ne": "number_english"}


@functools.lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


def kg_per_m(value: float, unit: str) -> float:
    if unit in DIRECT:
        return registry().Quantity(value, DIRECT[unit]).to("kg/m").magnitude
    return 1.0 / registry().Quantity(value, INDIRECT[unit]).to("m/kg").magnitude


@pytest.mark.outside(
    document="pint, unit definitions, group Textile",
    edition="0.24 or later",
    section="tex, dtex, denier, jute, number_meter, number_english",
    mark="READ",
)
@pytest.mark.parametrize("unit", ["tex", "dtex", "den", "jute", "Nm", "Ne"])
@pytest.mark.parametrize("value", [0.5, 7.3, 400.0])
def test_count_against_pint(unit: str, value: float) -> None:
    assert convert_count(value, unit, "tex") == pytest.approx(
        1e6 * kg_per_m(value, unit), rel=1e-12
    )


@pytest.mark.outside(
    document="pint, unit definitions, group Textile",
    edition="0.24 or later",
    section="yards in a pound",
    mark="READ",
)
def test_yards_per_pound_against_pint() -> None:
    metres_per_kg = registry().Quantity(1000.0, "yard/pound").to("m/kg").magnitude
    assert convert_count(1000.0, "yd/lb", "m/kg") == pytest.approx(metres_per_kg, rel=1e-12)
