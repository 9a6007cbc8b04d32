"""Production of winders as teaching pages work it; one key rounds drums down."""

import math

import pytest

from clew.quantities import convert_count
from clew.strand.notation import read_plied
from clew.strand.production import drums_needed, hours_needed, output_kg_per_h

POUND_KG = 0.45359237
YARD_M = 0.9144


def pounds_per_h(yards_per_min: float, count_ne: float, **rest) -> float:
    count_tex = convert_count(count_ne, "Ne", "tex")
    return output_kg_per_h(yards_per_min * YARD_M / 60, count_tex, **rest) / POUND_KG


@pytest.mark.outside(
    document="Teaching page, mathematical problems and solutions of winding",
    edition="as read",
    section="2000 lb of 20s, 900 yd/min, 90 %, 30 drums: 23.04 h, 57.86 hanks",
    mark="READ",
)
def test_time_for_2000_pounds() -> None:
    rate = pounds_per_h(900.0, 20.0, drums=30, efficiency_frac=0.90)
    assert hours_needed(2000.0, rate) == pytest.approx(23.045, abs=5e-4)
    assert math.floor(hours_needed(2000.0, rate) * 100) / 100 == 23.04
    assert rate / 30 * 20.0 == pytest.approx(57.86, abs=0.005)


@pytest.mark.outside(
    document="Teaching page, mathematical problems and solutions of winding",
    edition="as read",
    section="1600 lb of 46s in 8 h, 651 yd/min, 92 %: keyed 215 drums, error",
    mark="READ",
)
def test_part_of_a_drum_is_a_whole_drum() -> None:
    """7.44 lb a drum make 215.05 drums: 215 would not finish in time, so 216."""
    each = pounds_per_h(651.0, 46.0, efficiency_frac=0.92)
    assert 8 * each == pytest.approx(7.44, abs=0.005)
    assert drums_needed(1600.0 * POUND_KG, 8.0, each * POUND_KG) == 216
    assert hours_needed(1600.0, 215 * each) > 8.0


@pytest.mark.outside(
    document="Teaching page, mathematical problems and solutions of winding",
    edition="as read",
    section="384 hanks in 8 h at 800 yd/min: 84 %",
    mark="READ",
)
def test_efficiency_is_actual_over_calculated() -> None:
    calculated_hanks = 8 * pounds_per_h(800.0, 20.0) * 20.0
    assert 100 * 384.0 / calculated_hanks == pytest.approx(84.0, abs=0.005)


@pytest.mark.outside(
    document="Teaching page, how to calculate winding efficiency",
    edition="2014",
    section="3 lb of 16s at 745 yd/min, whole and at 95 %: 54.12 and 56.97 min",
    mark="READ",
)
@pytest.mark.parametrize(("efficiency", "minutes"), [(1.0, 54.12), (0.95, 56.97)])
def test_time_for_one_cone(efficiency: float, minutes: float) -> None:
    rate = pounds_per_h(745.0, 16.0, efficiency_frac=efficiency)
    assert 60 * hours_needed(3.0, rate) == pytest.approx(minutes, abs=0.005)


@pytest.mark.outside(
    document="Teaching page, formulas of winding calculation",
    edition="as read",
    section="drum of 3 in at 2400 rpm, 30s, 68 %, 8 h: 8.13 lb, cut off from 8.138",
    mark="READ",
)
def test_output_of_one_drum() -> None:
    surface_yd_per_min = math.pi * 3.0 * 2400.0 / 36.0
    found = 8 * pounds_per_h(surface_yd_per_min, 30.0, efficiency_frac=0.68)
    assert math.floor(found * 100) / 100 == 8.13
    assert found == pytest.approx(8.138, abs=5e-4)


@pytest.mark.outside(
    document="Teaching page, winding speed calculation",
    edition="as read",
    section="900 m/min, 990 spindles, 85 %, Ne 40: 16 047.84 kg a day with 1.09 yd in a metre",
    mark="READ",
)
def test_daily_output_with_the_page_s_yard_and_with_the_real_one() -> None:
    count_tex = convert_count(40.0, "Ne", "tex")
    exact = 24 * output_kg_per_h(900 / 60, count_tex, drums=990, efficiency_frac=0.85)
    assert exact == pytest.approx(16_100.87, abs=0.05)
    # The page takes 1.09 yd in a metre and 2.2046 lb in a kilogram.
    page = exact * 1.09 * YARD_M / POUND_KG / 2.2046
    assert page == pytest.approx(16_047.84, abs=0.02)


@pytest.mark.outside(
    document="Teaching page, length of sewing thread",
    edition="as read",
    section="95 g of 50/2: 4002.31 m with rounded constants",
    mark="READ",
)
def test_length_of_95_g_of_thread() -> None:
    plied = read_plied("50/2 Ne")
    exact_m = 1000.0 * 95.0 / plied.resultant_tex
    assert exact_m == pytest.approx(4021.7, abs=0.05)
    # The page takes 0.91 m in a yard and 453.6 g in a pound.
    assert exact_m * (0.91 / YARD_M) * (453.59237 / 453.6) == pytest.approx(4002.31, abs=0.01)
