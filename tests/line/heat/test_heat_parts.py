"""Water, air, fibres, drying laws: their own limits, inverses and refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.line.heat.crossing import crossing
from clew.line.heat.dryer_balance import Solid, air_needed, dryer_heat
from clew.line.heat.drying import DryingLaw, calibrated_factor, cylinder_bed, through_bed_w_per_m2_k
from clew.line.heat.fibres_heat import blend_heat, fibre_heat
from clew.line.heat.moist_air import (
    MoistAir,
    air_of_dew_point,
    air_of_relative_humidity,
    air_of_vapour,
    air_of_wet_bulb,
    saturated_humidity,
)
from clew.line.heat.sorption import (
    SATURATION_RATIO,
    binding_between_kj_per_kg,
    binding_kj_per_kg,
    humidity_at_ratio,
    regain_ratio,
)
from clew.line.heat.steaming import (
    bulk_share,
    condensed,
    flash_off_kg_per_kg,
    full_bulk_dwell_s,
    steam_demand,
)
from clew.line.heat.water import (
    absolute_kpa,
    boiling_c,
    expanded_steam,
    latent_kj_per_kg,
    saturated_at,
    vapour_pressure_kpa,
)


@given(st.floats(0.0, 350.0))
def test_boiling_and_vapour_pressure_are_inverse(celsius: float) -> None:
    assert boiling_c(vapour_pressure_kpa(celsius)) == pytest.approx(celsius, abs=1e-5)


@pytest.mark.parametrize("celsius", [-1.0, 351.0, math.nan, math.inf])
def test_water_outside_the_range_is_refused(celsius: float) -> None:
    with pytest.raises(BadInput):
        vapour_pressure_kpa(celsius)


def test_gauge_is_not_absolute() -> None:
    """100 kPa on the gauge boils at 120 °C, 100 kPa absolute at 99.6 °C."""
    assert boiling_c(absolute_kpa(100.0)) == pytest.approx(120.4, abs=0.1)
    assert boiling_c(100.0) == pytest.approx(99.6, abs=0.1)
    with pytest.raises(BadInput):
        absolute_kpa(-5.0)


def test_expansion_refuses_all_faults_at_once() -> None:
    with pytest.raises(BadInput) as bad:
        expanded_steam(90.0, 101.325, 1.2)
    assert {fault.key for fault in bad.value.faults} == {"steam supply", "dryness"}


def test_steam_that_does_not_expand_is_not_superheated() -> None:
    found = expanded_steam(101.325)
    assert found.superheat_k == pytest.approx(0.0, abs=1e-6)
    assert found.dryness_frac == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(("celsius", "share"), [(150.0, 0.5), (105.0, 0.99), (120.0, 0.5)])
def test_relative_humidity_of_hot_air_is_refused(celsius: float, share: float) -> None:
    """An open package gives 1e-7 or 31 kg/kg here without a word."""
    with pytest.raises(BadInput):
        air_of_relative_humidity(celsius, share)


@pytest.mark.parametrize("vapour_kpa", [101.325, 150.0, -1.0, math.nan])
def test_vapour_that_leaves_no_room_for_air_is_refused(vapour_kpa: float) -> None:
    with pytest.raises(BadInput):
        air_of_vapour(150.0, vapour_kpa)


def test_more_vapour_than_saturation_is_refused() -> None:
    most = saturated_humidity(25.0)
    MoistAir(25.0, most)
    with pytest.raises(BadInput):
        MoistAir(25.0, 1.01 * most)
    with pytest.raises(BadInput):
        air_of_dew_point(25.0, 26.0)
    assert saturated_humidity(100.5) == math.inf


@pytest.mark.parametrize(("dry", "wet"), [(40.0, 41.0), (60.0, 5.0)])
def test_a_wet_bulb_that_cannot_be_is_refused(dry: float, wet: float) -> None:
    with pytest.raises(BadInput):
        air_of_wet_bulb(dry, wet)


@settings(max_examples=60)
@given(st.floats(15.0, 180.0), st.floats(0.02, 0.98))
def test_wet_bulb_and_dew_point_are_inverse(dry: float, share: float) -> None:
    wet = 10.0 + share * (min(dry, 90.0) - 10.0)
    try:
        air = air_of_wet_bulb(dry, wet)
    except BadInput:
        return  # less than dry
    assert air.wet_bulb_c == pytest.approx(wet, abs=1e-5)
    if air.humidity_kg_per_kg > 0.004:
        assert air.dew_point_c <= wet + 0.01
        again = air_of_dew_point(dry, air.dew_point_c)
        assert again.humidity_kg_per_kg == pytest.approx(air.humidity_kg_per_kg, rel=1e-6)


def test_air_by_its_relative_humidity() -> None:
    air = air_of_relative_humidity(20.0, 0.65)
    assert air.relative_humidity == pytest.approx(0.65, rel=1e-12)
    assert air.wet_bulb_c < 20.0


def test_crossing_finds_it_or_says_the_nearer_end() -> None:
    assert crossing(lambda x: x**3 - 2.0, 0.0, 5.0, 1e-12) == pytest.approx(2 ** (1 / 3), abs=1e-9)
    assert crossing(lambda x: math.exp(9 * x) - 5.0, -3.0, 3.0, 1e-12) == pytest.approx(
        math.log(5.0) / 9.0, abs=1e-8
    )
    assert crossing(lambda x: x + 1.0, 0.0, 5.0, 1e-9) == 0.0
    assert crossing(lambda x: x - 9.0, 0.0, 5.0, 1e-9) == 5.0


@given(st.floats(0.0, SATURATION_RATIO * 0.9999))
def test_isotherm_and_its_inverse(ratio: float) -> None:
    assert regain_ratio(humidity_at_ratio(ratio)) == pytest.approx(ratio, abs=1e-9)


def test_binding_is_the_sum_of_its_parts_and_of_a_fine_grid() -> None:
    whole = binding_between_kj_per_kg(0.02, 0.3, 0.16)
    parts = binding_between_kj_per_kg(0.02, 0.1, 0.16) + binding_between_kj_per_kg(0.1, 0.3, 0.16)
    assert whole == pytest.approx(parts, rel=1e-9)
    assert binding_between_kj_per_kg(0.3, 0.02, 0.16) == pytest.approx(-whole, rel=1e-9)
    steps = 4000
    grid = 0.0
    for k in range(steps):
        regain = 0.02 + (k + 0.5) * 0.28 / steps
        grid += binding_kj_per_kg(humidity_at_ratio(regain / 0.16)) * 0.28 / steps
    assert whole == pytest.approx(grid, rel=1e-4)


@settings(max_examples=40)
@given(st.floats(0.0, 0.4), st.floats(0.001, 0.2), st.floats(1.0, 1.9), st.floats(5.0, 40.0))
def test_condensing_closes_its_heat(
    regain: float, at_65: float, heat: float, room_c: float
) -> None:
    found = condensed(heat, regain, room_c, 99.97, regain_65_frac=at_65)
    given_up = found.condensate_kg_per_kg * found.latent_kj_per_kg + found.sorption_kj_per_kg
    assert given_up == pytest.approx(found.warming_kj_per_kg, rel=1e-9)
    bare = condensed(heat, regain, room_c, 99.97)
    assert found.condensate_kg_per_kg <= bare.condensate_kg_per_kg + 1e-12
    assert found.regain_frac - regain == pytest.approx(found.condensate_kg_per_kg, abs=1e-12)


def test_steam_must_be_hotter_than_the_yarn() -> None:
    with pytest.raises(BadInput):
        condensed(1.3, 0.02, 100.0, 100.0)


def test_steam_demand_adds_up() -> None:
    found = steam_demand(30.0, 0.05, dryness_frac=0.95, losses_kg_per_h=4.0)
    assert found.least_kg_per_h == pytest.approx(1.5)
    assert found.total_kg_per_h == pytest.approx(1.5 / 0.95 + 4.0, rel=1e-12)
    assert found.multiple == pytest.approx(found.total_kg_per_h / 1.5, rel=1e-12)
    for dryness in (0.0, 1.1, math.nan):
        with pytest.raises(BadInput):
            steam_demand(30.0, 0.05, dryness_frac=dryness)


def test_flash_off_takes_no_more_than_there_is() -> None:
    assert flash_off_kg_per_kg(1.3, 0.01, 100.0, 20.0) == 0.01
    assert flash_off_kg_per_kg(1.3, 0.1, 40.0, 60.0) == 0.0
    assert flash_off_kg_per_kg(1.3, 0.1, 100.0, 40.0, own_heat_frac=0.0) == 0.0


def test_bulk_share_and_its_dwell() -> None:
    assert bulk_share(full_bulk_dwell_s(10.0, 3.0), 10.0, 3.0) == pytest.approx(0.99, rel=1e-12)
    assert bulk_share(2.0, 10.0, 3.0) == 0.0
    assert bulk_share(10.0, 10.0) == pytest.approx(1.0 - math.exp(-1.0), rel=1e-12)


LAWS = st.builds(
    lambda rate, balance, above: DryingLaw(rate, balance + above, balance),
    st.floats(1e-5, 1e-2),
    st.floats(0.0, 0.1),
    st.floats(0.01, 0.4),
)


@given(LAWS, st.floats(0.05, 1.5), st.floats(0.01, 0.99))
def test_time_and_regain_are_inverse(law: DryingLaw, above: float, share: float) -> None:
    start = law.balance_frac + above
    end = law.balance_frac + share * above
    time = sum(law.time_s(start, end))
    assert law.regain_after(start, time) == pytest.approx(end, rel=1e-9)
    half = law.regain_after(start, 0.5 * time)
    assert end <= half <= start
    assert law.regain_after(half, 0.5 * time) == pytest.approx(end, rel=1e-9)


def test_time_against_small_steps() -> None:
    """A naive stepping of dX/dt."""
    law, regain, dwell, steps = DryingLaw(5e-4, 0.2, 0.02), 0.3, 600.0, 60_000
    for _ in range(steps):
        rate = min(1.0, (regain - 0.02) / 0.18) * 5e-4
        regain -= rate * dwell / steps
    assert law.regain_after(0.3, dwell) == pytest.approx(regain, abs=2e-6)


def test_what_the_law_refuses() -> None:
    law = DryingLaw(5e-4, 0.2, 0.02)
    assert law.time_s(0.3, 0.02)[1] == math.inf
    with pytest.raises(BadInput):
        law.time_s(0.1, 0.2)
    with pytest.raises(BadInput):
        DryingLaw(5e-4, 0.02, 0.02)


def test_a_trial_calibrates_the_rate() -> None:
    law, true = DryingLaw(5e-4, 0.2, 0.02), DryingLaw(1.3 * 5e-4, 0.2, 0.02)
    out = true.regain_after(0.25, 400.0)
    assert calibrated_factor(law, 0.25, out, 400.0) == pytest.approx(1.3, rel=1e-9)
    for regain in (0.02, 0.01, 0.25):
        with pytest.raises(BadInput):
            calibrated_factor(law, 0.25, regain, 400.0)


def test_a_strand_is_a_cylinder_without_ends() -> None:
    void, surface, piece = cylinder_bed(30.0, 300.0, 0.002, math.inf)
    assert (void, piece) == (pytest.approx(0.9), 0.002)
    assert surface == pytest.approx(cylinder_bed(30.0, 300.0, 0.002, 1e4)[1], rel=1e-5)
    with pytest.raises(BadInput):
        cylinder_bed(300.0, 300.0, 0.002, 1.0)
    assert through_bed_w_per_m2_k(2000.0, 0.002) > through_bed_w_per_m2_k(1000.0, 0.002)


def test_a_dryer_with_more_loss_needs_more_air() -> None:
    before, after, air = Solid(1.4, 0.2, 30.0), Solid(1.4, 0.05, 60.0), MoistAir(95.0, 0.01)
    plain, _ = air_needed(40.0, before, after, air, 50.0)
    lossy, _ = air_needed(40.0, before, after, air, 50.0, loss_kj_per_h=5000.0)
    assert lossy > plain
    with pytest.raises(BadInput):
        air_needed(40.0, before, after, air, 95.0)
    with pytest.raises(BadInput):  # leaves damper than it can be
        air_needed(40.0, before, after, air, 5.0)


@settings(max_examples=50)
@given(st.floats(0.05, 0.5), st.floats(0.0, 0.9), st.floats(20.0, 500.0), st.floats(0.0, 10.0))
def test_dryer_heat_closes(start: float, share: float, fresh: float, fixed: float) -> None:
    """Everything in equals everything out, reckoned from the ends and not from the parts."""
    before, after = Solid(1.35, start, 55.0), Solid(1.35, share * start, 80.0)
    room, solid = MoistAir(22.0, 0.008), 40.0
    dryer = MoistAir(95.0, 0.008 + solid * (before.regain_frac - after.regain_frac) / fresh)
    found = dryer_heat(solid, before, after, room, dryer, fresh, fixed_kw=fixed)
    carried = fresh * (dryer.enthalpy_kj_per_kg - room.enthalpy_kj_per_kg)
    taken = solid * (after.enthalpy_kj_per_kg - before.enthalpy_kj_per_kg)
    assert found.total_kw == pytest.approx((carried + taken) / 3600.0 + fixed, rel=1e-9)
    gained = fresh * (dryer.humidity_kg_per_kg - room.humidity_kg_per_kg)
    assert found.evaporated_kg_per_h == pytest.approx(gained, rel=1e-9)


def test_a_blend_is_weighed_by_mass() -> None:
    both = blend_heat([("wool_combed", 0.55), ("acrylic", 0.45)])
    assert both.heat_kj_per_kg_k == pytest.approx(0.55 * 1.36 + 0.45 * 1.30)
    assert both.regain_65_frac == pytest.approx(0.55 * 0.16 + 0.45 * 0.015)
    assert (both.softens_first, both.harsh_first) == ("acrylic", "acrylic")
    assert fibre_heat("cotton").softens_c is None


def test_every_fault_of_a_blend_is_told() -> None:
    with pytest.raises(BadInput) as bad:
        blend_heat([("kapok", 0.5), ("moonlight", 0.4)])
    assert [fault.value for fault in bad.value.faults] == ["kapok", "moonlight", "90 %"]


@given(st.floats(0.0, 350.0))
def test_the_heat_of_evaporation_is_the_one_of_water_and_steam(temperature_c: float) -> None:
    found = latent_kj_per_kg(temperature_c)
    assert found == pytest.approx(saturated_at(temperature_c).latent_kj_per_kg, abs=1e-6)
