"""Worked examples of Coulson and Richardson, volume 2, chapter 16, and a notebook that slipped."""

from __future__ import annotations

import pytest

from clew.line.heat.dryer_balance import Solid, air_needed
from clew.line.heat.drying import DryingLaw
from clew.line.heat.moist_air import MoistAir
from clew.strand.moisture import MoistureContent


def law_from_time(
    time_s: float, start: float, end: float, critical: float, balance: float
) -> DryingLaw:
    """The law that takes so long from one regain to another: times are inverse to rates."""
    unit = DryingLaw(1.0, critical, balance)
    return DryingLaw(sum(unit.time_s(start, end)) / time_s, critical, balance)


@pytest.mark.outside(
    document="Coulson & Richardson, Chemical Engineering volume 2",
    edition="5th ed., in a public transcription",
    section="Example 16.1, p. 909: 24.0 ks",
    mark="READ",
)
def test_time_from_an_earlier_time() -> None:
    law = law_from_time(15_000.0, 0.25, 0.10, 0.15, 0.05)
    # the sum form's mA is the rate over the free critical regain: 0.113 a ks
    assert 1000.0 / law.falling_s == pytest.approx(0.113, abs=5e-4)
    assert sum(law.time_s(0.30, 0.08)) / 1000.0 == pytest.approx(24.0, rel=3e-3)


@pytest.mark.outside(
    document="Notebook Exercise_W10_2021 on drying",
    edition="as read: codes a constant part without its divisor, 12 465 s",
    section="20 to 5 % in 7300 s, then 30 to 3 %",
    mark="DERIVED",
)
def test_a_wrong_notebook_is_not_ours() -> None:
    law = law_from_time(7300.0, 0.20, 0.05, 0.18, 0.02)
    found = sum(law.time_s(0.30, 0.03))
    assert found == pytest.approx(14_294.0, abs=1.0)
    assert abs(found - 12_465.0) > 1000.0


@pytest.mark.outside(
    document="Coulson & Richardson, Chemical Engineering volume 2",
    edition="5th ed., in a public transcription",
    section="Example 16.3, p. 911: 2.07 kg/s, 0.0284",
    mark="READ",
)
def test_air_of_a_dryer_with_a_loss() -> None:
    """0.125 kg/s of 40 % on the wet mass; the solid's own heat was neglected but for its water."""
    dry_kg_per_s, regain = 0.125 * 0.6, MoistureContent(0.40).to_regain().frac
    flow, humidity = air_needed(
        3600.0 * dry_kg_per_s,
        Solid(0.88, regain, 295.0 - 273.0),
        Solid(0.88, 0.05, 305.0 - 273.0),
        MoistAir(385.0 - 273.0, 0.006),
        310.0 - 273.0,
        loss_kj_per_kg=20.0,
    )
    assert flow / 3600.0 == pytest.approx(2.07, rel=0.02)
    assert humidity == pytest.approx(0.0284, rel=0.02)


@pytest.mark.outside(
    document="Coulson & Richardson, Chemical Engineering volume 2",
    edition="5th ed., in a public transcription",
    section="Example 16.4, p. 922: 17.2 kg of water, 11.7 ks",
    mark="READ",
)
def test_water_and_time_of_a_batch() -> None:
    dry_kg = 100.0 * 0.70
    start = MoistureContent(0.30).to_regain().frac
    end = MoistureContent(0.155).to_regain().frac
    assert dry_kg * (start - end) == pytest.approx(17.2, abs=0.05)
    law = DryingLaw(0.0007 * 0.03, 0.05, 0.0)
    assert law.time_s(start, end)[0] / 1000.0 == pytest.approx(11.7, abs=0.05)
