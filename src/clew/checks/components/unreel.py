"""How many balls to unreel a shift: a length check destroys the ball it measures."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from clew.faults import BadInput, Fault

Z95 = 1.959963984540054
MOST_BALLS = 10_000


@dataclass(frozen=True, slots=True)
class Unreeling:
    """Balls to unreel, and what that costs.

    Attributes
    ----------
    balls : int
        Balls of one winder.
    half_width_m : float
        Half width at 95 % of the mean length they give [m].
    floor_m : float
        Half width that no number of balls of the same cones gets below [m].
    cost : float
        Yarn spoilt and hand's time, for one winder [money].
    """

    balls: int
    half_width_m: float
    floor_m: float
    cost: float


def unreel_cost(
    balls: int, *, ball_price: float, hand_s: float = 0.0, hand_per_hour: float = 0.0
) -> float:
    """Cost of unreeling balls.

    Parameters
    ----------
    balls : int
        Balls unreeled.
    ball_price : float
        What a ball that is gone was worth [money].
    hand_s : float
        Hand's time to reel one [s].
    hand_per_hour : float
        What an hour of a hand costs [money/h].

    Returns
    -------
    float
        Cost [money].
    """
    return balls * (ball_price + hand_s / 3600.0 * hand_per_hour)


def balls_to_know_length(
    half_width_m: float,
    *,
    within_sd_m: float,
    cone_sd_m: float = 0.0,
    cones: int | None = None,
    ball_price: float = 0.0,
    hand_s: float = 0.0,
    hand_per_hour: float = 0.0,
) -> Unreeling:
    """Find how many balls of a winder to unreel to know its mean length.

    Parameters
    ----------
    half_width_m : float
        How closely, at 95 % [m].
    within_sd_m, cone_sd_m : float
        Spread of length within a cone, and from cone to cone [m].
    cones : int, optional
        Cones the balls can come from; left out, each from a cone of its own.
    ball_price, hand_s, hand_per_hour : float
        As for `unreel_cost` [money], [s], [money/h].

    Returns
    -------
    Unreeling
        Fewest balls, and what they cost.

    Raises
    ------
    BadInput
        If no number of balls of so few cones tells it so closely, or a number cannot be used.

    Notes
    -----
    Half width 1.96 sqrt(within² / n + cone² / min(n, cones)), the spreads taken as known.
    Source: variance of a mean, DERIVED.
    """
    bad = [
        Fault("not a usable number", "a number above 0", key=key, value=str(value))
        for key, value in (("half_width_m", half_width_m), ("cones", cones or 1))
        if not (math.isfinite(value) and value > 0.0)
    ]
    bad += [
        Fault("not a usable number", "0 or more", key=key, value=str(value))
        for key, value in (("within_sd_m", within_sd_m), ("cone_sd_m", cone_sd_m))
        if not (math.isfinite(value) and value >= 0.0)
    ]
    if bad:
        raise BadInput(bad)

    def half(balls: int) -> float:
        among = balls if cones is None else min(balls, cones)
        return Z95 * math.sqrt(within_sd_m**2 / balls + cone_sd_m**2 / among)

    floor = 0.0 if cones is None else Z95 * cone_sd_m / math.sqrt(cones)
    if half(MOST_BALLS) > half_width_m:
        raise BadInput(
            Fault(
                f"so close cannot be known from {MOST_BALLS} balls",
                expected=f"±{half(MOST_BALLS):.2g} m or wider, or more cones",
                key="half_width_m",
                value=f"{half_width_m:g}",
            )
        )
    few, enough = 0, MOST_BALLS
    while enough - few > 1:
        middle = (few + enough) // 2
        few, enough = (few, middle) if half(middle) <= half_width_m else (middle, enough)
    cost = unreel_cost(enough, ball_price=ball_price, hand_s=hand_s, hand_per_hour=hand_per_hour)
    return Unreeling(enough, half(enough), floor, cost)


def balls_to_tell(sure: Callable[[int], float], enough: float, *, most: int = 40) -> int | None:
    """Find how many more balls are expected to tell one cause from the others.

    Parameters
    ----------
    sure : callable
        Balls more to the expected probability of the likeliest cause [-].
    enough : float
        Probability that is called told [-].
    most : int
        Most balls that are asked for.

    Returns
    -------
    int or None
        Fewest balls; none where `most` are not expected to tell.
    """
    return next((balls for balls in range(1, most + 1) if sure(balls) >= enough), None)
