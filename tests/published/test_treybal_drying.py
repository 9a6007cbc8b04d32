"""Worked examples of Treybal, chapter 12, among them rayon skeins in a tunnel."""

from __future__ import annotations

import pytest

from clew.line.heat.drying import DryingLaw, falling_time_by_curve_s
from clew.line.heat.moist_air import MoistAir, saturated_humidity
from clew.strand.moisture import MoistureContent


@pytest.mark.outside(
    document="Treybal, Mass-Transfer Operations",
    edition="3rd ed., in a public transcription",
    section="Illustration 12.1, p. 660: 3750 kg",
    mark="READ",
)
def test_water_to_take_off() -> None:
    start, end = (MoistureContent(one).to_regain().frac for one in (0.80, 0.05))
    assert 1000.0 * 0.95 * (start - end) == pytest.approx(3750.0, abs=1e-6)


@pytest.mark.outside(
    document="Treybal, Mass-Transfer Operations",
    edition="3rd ed., in a public transcription",
    section="Illustration 12.2, p. 665: recycle 90.65 %",
    mark="READ",
)
def test_air_renewed_in_a_truck_dryer() -> None:
    """Its heater of 34.3 kW rests on inputs that the transcription does not give."""
    through, evaporated = MoistAir(95.0, 0.05), 7.5e-3
    area_m2 = 11 * 1.0 * (0.100 - 0.038)  # an opening over each tray
    dry_kg_per_s = 3.0 * area_m2 / through.volume_m3_per_kg
    leaves_humidity = 0.05 + evaporated / dry_kg_per_s
    fresh_kg_per_s = evaporated / (leaves_humidity - 0.01)
    assert 100.0 * (1.0 - fresh_kg_per_s / dry_kg_per_s) == pytest.approx(90.65, abs=0.05)


@pytest.mark.outside(
    document="Treybal, Mass-Transfer Operations",
    edition="3rd ed., in a public transcription",
    section="Illustration 12.3, p. 671: 16.7 h",
    mark="READ",
)
def test_time_by_a_curve_of_rates() -> None:
    regain = (0.2, 0.18, 0.16, 0.14, 0.12, 0.1, 0.09, 0.08, 0.07, 0.064)
    rate = (0.3, 0.266, 0.239, 0.208, 0.18, 0.15, 0.097, 0.07, 0.043, 0.025)
    falling = falling_time_by_curve_s(40.0, regain, [1e-3 * one for one in rate])
    start = MoistureContent(0.25).to_regain().frac
    constant, _ = DryingLaw(0.3e-3 / 40.0, 0.2, 0.0).time_s(start, 0.2)
    assert (constant + falling) / 3600.0 == pytest.approx(16.7, rel=0.01)


SKEINS = (
    # regain, humidity, relative humidity %, balance regain, humidity at the wet bulb
    (0.8519, 0.0800, 22.35, 0.0592, 0.0949),
    (0.8, 0.0766, 21.50, 0.0568, 0.0917),
    (0.6, 0.0634, 18.14, 0.0475, 0.0793),
    (0.4, 0.0502, 14.66, 0.0380, 0.0671),
    (0.2, 0.0371, 11.03, 0.0283, 0.0551),
    (0.0929, 0.0300, 9.02, 0.0231, 0.0487),
)


@pytest.mark.outside(
    document="Treybal, Mass-Transfer Operations",
    edition="3rd ed., air computed with CoolProp humid air",
    section="Illustration 12.9, p. 709: air along a tunnel of rayon skeins at 82 °C",
    mark="COMPUTED",
)
@pytest.mark.parametrize(("regain", "humidity", "percent", "balance", "wet"), SKEINS)
def test_air_round_rayon_skeins(
    regain: float, humidity: float, percent: float, balance: float, wet: float
) -> None:
    air = MoistAir(82.0, humidity)
    assert 100.0 * air.relative_humidity == pytest.approx(percent, rel=6e-3)
    content = air.relative_humidity / 4.0
    assert MoistureContent(content).to_regain().frac == pytest.approx(balance, rel=8e-3)
    assert saturated_humidity(air.wet_bulb_c) == pytest.approx(wet, rel=8e-3)


@pytest.mark.outside(
    document="Treybal, Mass-Transfer Operations",
    edition="3rd ed., in a public transcription",
    section="Illustration 12.9, p. 709: about 1.96 to 2.0 h, chart-read; all falling rate",
    mark="READ",
)
def test_time_of_rayon_skeins() -> None:
    """Counter-current tunnel, 46 to 8.5 % on the wet mass, integrated with our own air."""
    start, end = (MoistureContent(one).to_regain().frac for one in (0.46, 0.085))
    ratio = (0.08 - 0.03) / (start - end)
    assert ratio == pytest.approx(0.0659, abs=1e-4)
    steps, total = 400, 0.0
    width = (start - end) / steps
    for k in range(steps):
        x = end + (k + 0.5) * width
        air = MoistAir(82.0, 0.03 + ratio * (x - end))
        balance = MoistureContent(air.relative_humidity / 4.0).to_regain().frac
        pull = saturated_humidity(air.wet_bulb_c) - air.humidity_kg_per_kg
        total += width / ((x - balance) * pull)
    hours = total / (0.0137 * 1.36**1.47) / 3600.0
    assert hours == pytest.approx(1.96, rel=0.05)
    assert hours == pytest.approx(1.91, rel=0.02)
