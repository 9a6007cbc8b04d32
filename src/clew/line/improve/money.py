"""What a shift earns and what a ball costs: balls, yarn, hands, waste."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.line.improve.paired import Watch
from clew.line.layout import Layout
from clew.line.simulate.measures import MEASURES
from clew.line.simulate.records import Floats

if TYPE_CHECKING:
    from clew.mill.model import Mill

COUNTED = say(
    "Counted: first- and second-quality balls at their prices, the yarn and the bands in full "
    "balls, wasted yarn and being rid of it, the hands for the whole shift."
)
NOT_COUNTED = say(
    "Not counted: what a change costs to buy, steam, drying and power, rent, yarn left on belt, "
    "buffer and mandrel, and whether the balls sell."
)


@dataclass(frozen=True, slots=True)
class ShiftPrices:
    """What a shift pays and is paid.

    Attributes
    ----------
    ball, second : float
        A first- and a second-quality ball, as they leave the mill [money/ball].
    yarn_per_kg : float
        Yarn as it comes on cones [money/kg].
    hand_per_hour : float
        A hand, resting or not [money/h].
    band_each : float
        A ball's band [money/ball].
    waste_per_kg : float
        To be rid of wasted yarn [money/kg].
    line_per_hour : float
        The line itself, lanes and all, for every hour of the shift [money/h].
    currency : str
        Three letters, for print.
    """

    ball: float
    second: float
    yarn_per_kg: float
    hand_per_hour: float
    band_each: float = 0.0
    waste_per_kg: float = 0.0
    line_per_hour: float = 0.0
    currency: str = ""


def checked_prices(prices: ShiftPrices) -> ShiftPrices:
    """See that prices are money.

    Parameters
    ----------
    prices : ShiftPrices
        What a shift pays and is paid.

    Returns
    -------
    ShiftPrices
        The same.

    Raises
    ------
    BadInput
        With every price that is not a number from 0 on; waste may bring money, below 0.
    """
    faults = list(_price_faults(prices))
    if faults:
        raise BadInput(faults)
    return prices


def _price_faults(prices: ShiftPrices) -> Iterator[Fault]:
    for key in ("ball", "second", "yarn_per_kg", "hand_per_hour", "band_each", "line_per_hour"):
        value = getattr(prices, key)
        if not 0.0 <= value < math.inf:
            yield Fault("not a price", "a number from 0 on", key=key, value=f"{value:g}")
    if not math.isfinite(prices.waste_per_kg):
        yield Fault("not a price", "a number", key="waste_per_kg", value=f"{prices.waste_per_kg:g}")
    if 0.0 <= prices.ball < prices.second < math.inf:
        yield Fault(
            "dearer than a first-quality ball",
            f"at most {prices.ball:g}",
            key="second",
            value=f"{prices.second:g}",
        )


def shift_prices_of(mill: Mill, ball_name: str = "") -> ShiftPrices | None:
    """Read the prices of a shift on one ball off a mill.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name : str
        Name of the ball; empty for the first of the mill file.

    Returns
    -------
    ShiftPrices or None
        None where the ball has no price.

    Raises
    ------
    BadInput
        When the mill has no such ball.
    """
    ball = mill.find_ball(ball_name) if ball_name else mill.ball[0]
    if ball.price is None:
        return None
    prices = mill.prices
    return ShiftPrices(
        ball=ball.price,
        second=ball.price * prices.second_quality_share_frac,
        yarn_per_kg=prices.yarn_per_kg,
        hand_per_hour=prices.hand_per_hour,
        band_each=prices.band_each,
        waste_per_kg=prices.waste_per_kg,
        currency=prices.currency,
    )


def shift_cost(layout: Layout, prices: ShiftPrices, rows: Floats) -> Floats:
    """What each shift costs.

    Parameters
    ----------
    layout : Layout
        The line.
    prices : ShiftPrices
        What a shift pays.
    rows : array, shape (shifts, measures)
        Measures of some shifts, as `clew.line.simulate.measures.measured` gives them.

    Returns
    -------
    array, shape (shifts,)
        Hands, the line's hours, yarn and bands of full balls, waste [money].

    Notes
    -----
    Yarn is charged where it leaves the line, in full balls and as waste, at the count as spun: what
    lies on the belt at the shift's end is the next shift's. Source: DERIVED.
    """
    hours = layout.shift_s / 3600.0
    fixed = prices.hand_per_hour * layout.hands * hours + prices.line_per_hour * hours
    kg_per_m = layout.count_tex * 1e-6
    a_ball = prices.yarn_per_kg * layout.ball_m * kg_per_m + prices.band_each
    a_wasted_m = (prices.yarn_per_kg + prices.waste_per_kg) * kg_per_m
    return np.asarray(
        fixed + a_ball * _column(rows, "balls") + a_wasted_m * _column(rows, "waste_m")
    )


def shift_money(prices: ShiftPrices, rows: Floats) -> Floats:
    """What the balls of each shift fetch [money]."""
    first, second = _column(rows, "first_balls"), _column(rows, "second_balls")
    return np.asarray(prices.ball * first + prices.second * second)


def watch_money(prices: ShiftPrices | None) -> Watch:
    """Watch balls by quality, hands and winders and, with prices, money.

    Parameters
    ----------
    prices : ShiftPrices or None
        What a shift pays and is paid; None to watch no money.

    Returns
    -------
    callable
        Gives ``balls``, ``first_balls``, ``second_balls``, ``busy`` and ``waits`` (shares of the
        hands' and the winders' time; rests of all hands are no waits), ``cost``,
        ``contribution`` (what the balls fetch, less the cost) and ``rests`` (the wage of the
        hours that hands really rested).
    """

    def watch(layout: Layout, rows: Floats) -> dict[str, Floats]:
        busy_s = _column(rows, "hand_serving_s") + _column(rows, "hand_walking_s")
        found = {name: _column(rows, name) for name in ("balls", "first_balls", "second_balls")}
        found["busy"] = busy_s / (layout.hands * layout.shift_s)
        found["waits"] = _column(rows, "winder_waiting_for_doff_s") / (
            layout.lanes * layout.shift_s
        )
        if prices is not None:
            cost = shift_cost(layout, prices, rows)
            found |= {
                "cost": cost,
                "contribution": shift_money(prices, rows) - cost,
                "rests": prices.hand_per_hour * _column(rows, "hand_resting_s") / 3600.0,
            }
        return found

    return watch


def _column(rows: Floats, name: str) -> Floats:
    return np.asarray(rows[:, MEASURES.index(name)])
