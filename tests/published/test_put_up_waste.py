"""Waste of a put-up line, by the forms of the winding pages: a yield, and a cone's ends."""

import pytest

from clew.mill.model import Mill
from clew.plan.orders.enough import mean_cones
from clew.plan.orders.strand_use import strand_use


@pytest.mark.outside(
    document="Put-up line: production and waste, collected facts on yarn",
    edition="section 9",
    section="waste fraction per cone = (tail + head + knot cuts) / length of the cone",
    mark="DERIVED",
)
def test_a_cone_loses_its_ends_and_nothing_else(demo_mill: Mill) -> None:
    """Ends of 8 m after steam, 10 m before it at 20 % shrink, off a cone of 4000 m: 0.25 %."""
    knots = demo_mill.knots.model_copy(update={"join_length_m": 8.0})
    mill = demo_mill.model_copy(update={"knots": knots})
    use = strand_use(mill, "Querl 100", "", ["Line 1"])
    cone_m = 1000.0 * 1600.0 / 400.0
    assert 1.0 - use.cone_m / cone_m == pytest.approx(10.0 / 4000.0, rel=1e-9)


@pytest.mark.outside(
    document="Teaching pages, formulas of winding production",
    edition="as read",
    section="P = 6e-5 v tex n eff (1 - waste): waste multiplies as a yield",
    mark="READ",
)
def test_waste_multiplies_as_a_yield(demo_mill: Mill) -> None:
    """Mass of the cones for a long run, less what is wasted and spoilt, is that of its balls."""
    use = strand_use(demo_mill, "Sallowe 100", "", ["Line 1"])
    balls = 200_000
    cones = mean_cones(use, balls)
    yield_frac = use.first_frac * use.ball_m / (use.ball_m + use.waste_m)
    in_balls_m = cones * use.cone_m * yield_frac
    assert in_balls_m / use.ball_m == pytest.approx(balls, rel=2e-4)
