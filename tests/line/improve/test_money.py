"""What a shift earns and costs, reckoned by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from clew.faults import BadInput
from clew.line.improve.money import (
    ShiftPrices,
    checked_prices,
    shift_cost,
    shift_money,
    shift_prices_of,
    watch_money,
)
from clew.line.layout import Layout
from clew.line.simulate.measures import MEASURES
from clew.mill import mill_from_text
from clew.mill.model import Mill

PRICES = ShiftPrices(
    ball=5.0, second=2.0, yarn_per_kg=10.0, hand_per_hour=20.0, band_each=0.1, waste_per_kg=1.0
)


@pytest.fixture
def layout(demo_layout: Layout) -> Layout:
    """Two hands for 8 h; a ball of 250 m at 400 tex holds 0.1 kg of yarn."""
    return replace(demo_layout, hands=2, lanes=1, shift_s=28800.0, ball_m=250.0, count_tex=400.0)


def a_shift(**values: float) -> np.ndarray:
    row = np.zeros((1, len(MEASURES)))
    for name, value in values.items():
        row[0, MEASURES.index(name)] = value
    return row


def test_a_shift_by_hand(layout: Layout) -> None:
    """100 balls, 90 first-quality, 1 kg wasted, 16 hours of hands.

    They fetch 450 + 20; hands cost 320, the yarn of balls 100, bands 10, waste 10 + 1.
    """
    rows = a_shift(balls=100, first_balls=90, second_balls=10, waste_m=2500)
    assert shift_money(PRICES, rows)[0] == pytest.approx(470.0)
    assert shift_cost(layout, PRICES, rows)[0] == pytest.approx(441.0)
    watched = watch_money(PRICES)(layout, rows)
    assert watched["contribution"][0] == pytest.approx(29.0)


def test_rests_and_the_line_itself_have_their_price(layout: Layout) -> None:
    rows = a_shift(balls=0, hand_resting_s=1800)
    watched = watch_money(PRICES)(layout, rows)
    assert watched["rests"][0] == pytest.approx(10.0)
    assert watched["cost"][0] == pytest.approx(320.0)
    dear = replace(PRICES, line_per_hour=3.0)
    assert shift_cost(layout, dear, rows)[0] == pytest.approx(344.0)


def test_shares_of_time(layout: Layout) -> None:
    rows = a_shift(
        hand_serving_s=14400, hand_walking_s=14400, winder_waiting_for_doff_s=2880, balls=1
    )
    watched = watch_money(None)(layout, rows)
    assert watched["busy"][0] == pytest.approx(0.5)
    assert watched["waits"][0] == pytest.approx(0.1)
    assert "cost" not in watched


def test_prices_of_the_demo_mill(demo_mill: Mill) -> None:
    found = shift_prices_of(demo_mill)
    assert found is not None
    assert found == shift_prices_of(demo_mill, demo_mill.ball[0].name)
    assert (found.ball, found.second) == (4.6, pytest.approx(0.45 * 4.6))
    assert found.currency == demo_mill.prices.currency


def test_a_ball_without_a_price(demo_text: str) -> None:
    mill = mill_from_text(demo_text.replace("price = 4.6 ", "# price = 4.6 "))
    assert shift_prices_of(mill) is None


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("ball", -1.0),
        ("yarn_per_kg", float("inf")),
        ("hand_per_hour", float("nan")),
        ("waste_per_kg", float("nan")),
        ("second", 6.0),
    ],
)
def test_what_is_no_price(key: str, value: float) -> None:
    with pytest.raises(BadInput) as bad:
        checked_prices(replace(PRICES, **{key: value}))
    assert [fault.key for fault in bad.value.faults] == [key]


def test_waste_may_be_sold() -> None:
    assert checked_prices(replace(PRICES, waste_per_kg=-0.5)).waste_per_kg == -0.5
