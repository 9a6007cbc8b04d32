"""Worked examples of Geankoplis, chapter 9: humid air, drying times, balances."""

from __future__ import annotations

import pytest

from clew.line.heat.dryer_balance import Solid, air_needed
from clew.line.heat.drying import (
    DryingLaw,
    cylinder_bed,
    falling_time_by_curve_s,
    over_layer_w_per_m2_k,
    over_rate_kg_per_m2_s,
    through_bed_w_per_m2_k,
    through_rate_kg_per_m2_s,
)
from clew.line.heat.moist_air import MoistAir, air_of_dew_point, air_of_vapour, air_of_wet_bulb


@pytest.mark.outside(
    document="Geankoplis, Transport Processes and Unit Operations",
    edition="3rd ed., in a public transcription",
    section="Example 9.3-1, p. 526",
    mark="READ",
)
def test_humidity_of_air_by_its_vapour() -> None:
    air, full = air_of_vapour(26.7, 2.76, 101.3), 0.621945 * 3.5 / (101.3 - 3.5)
    assert air.humidity_kg_per_kg == pytest.approx(0.01742, abs=1.5e-5)
    assert 100.0 * air.humidity_kg_per_kg / full == pytest.approx(78.3, abs=0.1)
    # our own vapour pressure at 26.7 °C, with the enhancement, against the 3.50 kPa of the book
    assert 100.0 * air.relative_humidity == pytest.approx(78.9, abs=0.7)


@pytest.mark.outside(
    document="Geankoplis, Transport Processes and Unit Operations",
    edition="3rd ed., in a public transcription",
    section="Example 9.3-2, p. 528",
    mark="READ",
)
def test_air_by_its_dew_point() -> None:
    air = air_of_dew_point(60.0, 26.7)
    assert air.humidity_kg_per_kg == pytest.approx(0.0225, rel=7e-3)
    assert air.humid_heat_kj_per_kg_k == pytest.approx(1.047, abs=2e-3)
    assert air.volume_m3_per_kg == pytest.approx(0.977, abs=2e-3)


@pytest.mark.outside(
    document="Geankoplis, Transport Processes and Unit Operations",
    edition="3rd ed., in a public transcription",
    section="Example 9.3-4, p. 532, chart-read",
    mark="READ",
)
def test_air_by_its_wet_bulb() -> None:
    assert air_of_wet_bulb(60.0, 29.5).humidity_kg_per_kg == pytest.approx(0.0135, abs=1e-4)


@pytest.mark.outside(
    document="Geankoplis, Transport Processes and Unit Operations",
    edition="3rd ed., in a public transcription",
    section="Example 9.6-2, p. 541",
    mark="READ",
)
def test_time_at_constant_rate() -> None:
    law = DryingLaw(1.51 / 3600.0 / 21.5, 0.195, 0.0)
    constant_s, falling_s = law.time_s(0.38, 0.25)
    assert constant_s / 3600.0 == pytest.approx(1.85, abs=0.005)
    assert falling_s == 0.0


@pytest.mark.outside(
    document="Geankoplis, Transport Processes and Unit Operations",
    edition="3rd ed., in a public transcription",
    section="Example 9.6-3, p. 543: pan of 0.457 m in air of 6.1 m/s",
    mark="READ",
)
def test_rate_from_a_pan() -> None:
    air = MoistAir(65.6, 0.010, 101.3)
    velocity = 6.1 * air.density_kg_per_m3 * 3600.0
    assert velocity == pytest.approx(22770.0, rel=2e-3)
    coefficient = over_layer_w_per_m2_k(velocity)
    assert coefficient == pytest.approx(62.45, rel=2e-3)
    rate = over_rate_kg_per_m2_s(coefficient, 65.6, 28.9, 2433.0)
    assert 3600.0 * rate * 0.457**2 == pytest.approx(0.708, rel=3e-3)
    assert air.wet_bulb_c == pytest.approx(28.9, abs=0.1)


@pytest.mark.outside(
    document="Geankoplis, Transport Processes and Unit Operations",
    edition="3rd ed., in a public transcription",
    section="Example 9.7-1, p. 545: total 6.54 h numerical, about 6.7 h graphical",
    mark="READ",
)
def test_time_by_a_measured_curve() -> None:
    load = 399.0 / 18.58
    law = DryingLaw(1.51 / 3600.0 / load, 0.195, 0.0)
    constant_h = law.time_s(0.38, 0.195)[0] / 3600.0
    assert constant_h == pytest.approx(2.63, abs=0.005)
    rates = [rate / 3600.0 for rate in (1.51, 1.21, 0.9, 0.71, 0.37, 0.27)]
    falling_h = falling_time_by_curve_s(load, (0.195, 0.15, 0.1, 0.065, 0.05, 0.04), rates) / 3600
    assert constant_h + falling_h == pytest.approx(6.69, abs=0.01)
    assert constant_h + falling_h == pytest.approx(6.54, rel=0.03)


@pytest.mark.outside(
    document="Geankoplis, Transport Processes and Unit Operations",
    edition="3rd ed., in a public transcription",
    section="Example 9.7-2, p. 547: straight line through the origin",
    mark="READ",
)
def test_time_at_falling_rate() -> None:
    law = DryingLaw(1.51 / 3600.0 / (399.0 / 18.58), 0.195, 0.0)
    assert law.time_s(0.38, 0.04)[1] / 3600.0 == pytest.approx(4.39, abs=0.005)


@pytest.mark.outside(
    document="Geankoplis, Transport Processes and Unit Operations",
    edition="3rd ed., in a public transcription",
    section="Example 9.10-1, p. 559: air through a bed of cylinders, 0.628 h",
    mark="READ",
)
def test_time_of_a_bed_blown_through() -> None:
    void, surface, piece = cylinder_bed(641.0, 1602.0, 0.00635, 0.0254)
    assert void == pytest.approx(0.60, abs=0.001)
    assert surface == pytest.approx(283.5, rel=1e-3)
    assert piece == pytest.approx(0.0135, rel=3e-3)
    dry_air, humidity = 2459.0 / 3600.0, 0.05
    # the coefficient goes with the moist air, the heat it carries with the dry
    coefficient = through_bed_w_per_m2_k(2459.0 * (1.0 + humidity), piece)
    assert coefficient == pytest.approx(90.9, rel=2e-3)
    humid_heat = 1.005 + 1.88 * humidity
    depth, latent = 0.0508, 2389.0
    units = coefficient * surface * depth / (1000.0 * dry_air * humid_heat)
    rate = through_rate_kg_per_m2_s(dry_air, humid_heat, units, 121.1 - 47.2, latent)
    law = DryingLaw(rate / (641.0 * depth), 0.49, 0.0)  # free regains: 0.01 taken off each
    constant_s, falling_s = law.time_s(0.99, 0.09)
    assert constant_s == pytest.approx(850.0, rel=5e-3)
    assert falling_s == pytest.approx(1412.0, rel=5e-3)
    assert (constant_s + falling_s) / 3600.0 == pytest.approx(0.628, rel=3e-3)


@pytest.mark.outside(
    document="Geankoplis, Transport Processes and Unit Operations",
    edition="3rd ed., in a public transcription",
    section="Example 9.10-2, p. 562: G 1171 kg/h, H 0.0247",
    mark="READ",
)
def test_air_of_a_dryer_by_its_balances() -> None:
    """The book takes 1.005 + 1.88 H for the humid heat, the handbook 1.006 + 1.86 W."""
    flow, humidity = air_needed(
        453.6, Solid(1.465, 0.04, 26.7), Solid(1.465, 0.002, 62.8), MoistAir(93.3, 0.010), 37.8
    )
    assert flow == pytest.approx(1171.0, rel=3e-3)
    assert humidity == pytest.approx(0.0247, abs=1e-4)
    # and it closes: heat that the air lost is heat that the solid took
    lost = MoistAir(93.3, 0.010).enthalpy_kj_per_kg - MoistAir(37.8, humidity).enthalpy_kj_per_kg
    took = (
        Solid(1.465, 0.002, 62.8).enthalpy_kj_per_kg - Solid(1.465, 0.04, 26.7).enthalpy_kj_per_kg
    )
    assert flow * lost == pytest.approx(453.6 * took, rel=1e-9)
