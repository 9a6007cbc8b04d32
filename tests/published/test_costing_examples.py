"""Normal loss with and without scrap value, as teaching pages of process costing work it."""

from __future__ import annotations

import pytest

from clew.knots.price import Band
from clew.plan.costing.figures import BallFigures
from clew.plan.costing.stages import stages_of


def cost_each(
    *, material: float, labour: float, overhead: float, first_frac: float, scrap: float
) -> float:
    """One unit of input is a ball of a kilogram; what is lost is what the line spoils."""
    none = Band(0.0, 0.0, 0.0)
    figures = BallFigures(
        ball_name="", lot_name="", line_name="", currency="",
        declared_g=1000.0, over_g=0.0, whole_turn_g=0.0, kg_per_g=0.001, line_waste_kg=0.0,
        yarn_per_kg=material, waste_per_kg=0.0, hands=labour, overhead=overhead, band=0.0,
        steam_kwh=0.0, dryer_kwh=0.0, power_kwh=0.0, fuel_per_kwh=0.0, power_per_kwh=0.0,
        balls_per_h=1.0, line_first_frac=first_frac, knot_second_frac=0.0, knot_waste_frac=0.0,
        partings=0.0, parting_each=0.0, second_fetches=scrap, first_balls=0.0, weigh_each=0.0,
        price=None, made_a_year=0, mean_g_band=none, knot_second_band=none, knot_waste_band=none,
        pace_cv=0.0, shift_h=8.0,
    )  # fmt: skip
    return sum(part.money for one in stages_of(figures, 1, None, ()) for part in one.parts)


@pytest.mark.outside(
    document="ACCA F2 course notes, chapter 9",
    edition="as read on a page of the notes",
    section="6.1: 1000 kg at 18, a tenth lost and sold at 1.80, labour 1800, overheads 900: 22.80",
    mark="READ",
)
def test_a_tenth_lost_and_sold() -> None:
    found = cost_each(material=18.0, labour=1.8, overhead=0.9, first_frac=0.9, scrap=1.8)
    assert found == pytest.approx(22.80, abs=1e-9)


@pytest.mark.outside(
    document="ACCA F2 Management Accounting study text, 2010",
    edition="as read",
    section="process costing, 2.2: 100 units for 4500, a tenth lost for nothing: 50",
    mark="READ",
)
def test_a_tenth_lost_for_nothing() -> None:
    found = cost_each(material=45.0, labour=0.0, overhead=0.0, first_frac=0.9, scrap=0.0)
    assert found == pytest.approx(50.0, abs=1e-9)


@pytest.mark.outside(
    document="Question of an exam kit on process costing, as a forum quotes it",
    edition="as read",
    section="13 200 units for 184 800, a loss of a tenth of output sold at 4: 15.00",
    mark="READ",
)
def test_a_tenth_of_output_lost_and_sold() -> None:
    found = cost_each(
        material=184_800.0 / 13_200.0, labour=0.0, overhead=0.0, first_frac=10.0 / 11.0, scrap=4.0
    )
    assert found == pytest.approx(15.00, abs=1e-9)
