"""Costs that many tests start from, each worked out once."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from clew.knots.price import Band
from clew.mill import mill_from_text
from clew.mill.model import Mill
from clew.plan.costing.ball_cost import BallCost, ball_cost
from clew.plan.costing.figures import BallFigures

REPLICATIONS = 10


@pytest.fixture(scope="session")
def edited(demo_text: str) -> Callable[..., Mill]:
    """Read the demo mill with some of its lines written otherwise."""

    def edit(*changes: tuple[str, str]) -> Mill:
        text = demo_text
        for before, after in changes:
            assert before in text, before
            text = text.replace(before, after, 1)
        return mill_from_text(text)

    return edit


@pytest.fixture(scope="session")
def querl(demo_mill: Mill) -> BallCost:
    """The cost of the demo mill's first ball, from a few simulated shifts."""
    return ball_cost(demo_mill, "Querl 100", replications=REPLICATIONS)


@pytest.fixture(scope="session")
def by_hand() -> BallFigures:
    """A ball of round numbers: 0.1 kg at 20 a kg, nothing lost."""
    return BallFigures(
        ball_name="Ball",
        lot_name="",
        line_name="Line",
        currency="GBP",
        declared_g=100.0,
        over_g=0.0,
        whole_turn_g=0.0,
        kg_per_g=0.001,
        line_waste_kg=0.0,
        yarn_per_kg=20.0,
        waste_per_kg=0.5,
        hands=0.10,
        overhead=0.20,
        band=0.05,
        steam_kwh=0.5,
        dryer_kwh=1.0,
        power_kwh=0.2,
        fuel_per_kwh=0.1,
        power_per_kwh=0.25,
        balls_per_h=100.0,
        line_first_frac=1.0,
        knot_second_frac=0.0,
        knot_waste_frac=0.0,
        partings=0.0,
        parting_each=0.4,
        second_fetches=1.0,
        first_balls=10.0,
        weigh_each=3.0,
        price=4.0,
        made_a_year=1000,
        mean_g_band=Band(99.0, 100.0, 101.0),
        knot_second_band=Band(0.0, 0.0, 0.0),
        knot_waste_band=Band(0.0, 0.0, 0.0),
        pace_cv=0.0,
        shift_h=8.0,
    )
