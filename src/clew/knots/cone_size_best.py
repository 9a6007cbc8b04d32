"""The best cone target: where a habit brings most, and the spread above which it does not pay."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.cone_size import (
    LEAST_SD_BALLS,
    MOST_CV,
    ConeHabit,
    ConeMoney,
    balls_on,
    check_cones,
    start_anew,
    wind_on,
)
from clew.knots.cone_size_near import best_drop, cone_density, drop_when_short, simple_drop_m
from clew.knots.renewal import Cones

Array = NDArray[np.float64]

MOST_BALLS_WIDE = 40.0
_PER_BALL = 12
_ROUNDS = 2
_ALIKE = 1e-12


@dataclass(frozen=True, slots=True)
class BestCones:
    """The best cone target in a range, for each habit.

    Attributes
    ----------
    wind_on, start_anew, drop_short : ConeHabit
        The best of winding on, of starting anew at each cone, and of dropping short leftovers.
    """

    wind_on: ConeHabit
    start_anew: ConeHabit
    drop_short: ConeHabit


def best_cones(
    cv: float, ball_length_m: float, money: ConeMoney, shortest_m: float, longest_m: float
) -> BestCones:
    """Find the cone target that brings most per km of strand, for each habit.

    Parameters
    ----------
    cv : float
        Spread of cone length, a fraction of the mean [1].
    ball_length_m : float
        Length of a ball, after steam [m].
    money : ConeMoney
        What balls bring and ties cost.
    shortest_m, longest_m : float
        Range of targets, after steam [m].

    Returns
    -------
    BestCones
        The best habit of each kind.

    Raises
    ------
    BadInput
        When the range, the spread, the ball or the money cannot be used.

    Notes
    -----
    Targets a twelfth of a ball apart and every multiple of the ball are tried; the best of them is
    bettered by a bounded search (Brent) between its neighbours, in turns with the length to drop.
    Larger cones have fewer ties and so bring more under every habit; the range is what is possible.
    Source: DERIVED.
    """
    _check_range(cv, ball_length_m, money, shortest_m, longest_m)
    targets = _targets(ball_length_m, shortest_m, longest_m)

    def straight(mean_m: float) -> ConeHabit:
        return wind_on(Cones(mean_m, cv), ball_length_m, money)

    def anew(mean_m: float) -> ConeHabit:
        return start_anew(Cones(mean_m, cv), ball_length_m, money)

    best_straight = _top([straight(one) for one in targets])
    best_anew = _bettered(anew, targets, cv)
    return BestCones(
        best_straight,
        best_anew,
        _best_short(cv, ball_length_m, money, targets, [best_straight, best_anew]),
    )


def _top(found: list[ConeHabit]) -> ConeHabit:
    """What brings most; where nothing tells them apart, the longest cone: it has fewest ties."""
    most = max(one.money_per_km for one in found)
    level = most - _ALIKE * abs(most)
    return max((one for one in found if one.money_per_km >= level), key=_length)


def _length(one: ConeHabit) -> float:
    return one.cones.mean_m


def _targets(ball_m: float, shortest_m: float, longest_m: float) -> list[float]:
    steps = max(math.ceil((longest_m - shortest_m) / ball_m * _PER_BALL), 1)
    wholes = np.arange(math.ceil(shortest_m / ball_m), math.floor(longest_m / ball_m) + 1) * ball_m
    return sorted({*np.linspace(shortest_m, longest_m, steps + 1).tolist(), *wholes.tolist()})


def _bettered(
    at: Callable[[float], ConeHabit], targets: list[float], cv: float, within: float = 1e-8
) -> ConeHabit:
    """The best target of a list, moved between its neighbours to where it brings most."""
    from scipy.optimize import minimize_scalar

    found = _top([at(one) for one in targets])
    start = targets.index(found.cones.mean_m)
    if cv == 0.0 or len(targets) == 1:
        return found
    low, high = targets[max(start - 1, 0)], targets[min(start + 1, len(targets) - 1)]
    nearer = minimize_scalar(
        lambda mean_m: -at(mean_m).money_per_km,
        bounds=(low, high),
        method="bounded",
        options={"xatol": within * high},
    )
    return _top([found, at(float(nearer.x))])


def _best_short(
    cv: float,
    ball_m: float,
    money: ConeMoney,
    targets: list[float],
    others: list[ConeHabit],
) -> ConeHabit:
    if cv == 0.0:
        found_even = [best_drop(Cones(one, cv), ball_m, money) for one in targets]
        return _top([*others, *found_even])
    simple = simple_drop_m(ball_m, money)
    best = _top(others)
    if simple < 1e-3 * ball_m:
        return best
    drop_m = simple
    for _ in range(_ROUNDS):

        def short(mean_m: float, drop_m: float = drop_m) -> ConeHabit:
            return drop_when_short(Cones(mean_m, cv), ball_m, money, drop_m)

        found = best_drop(_bettered(short, targets, cv, 1e-6).cones, ball_m, money)
        near = found.cones.mean_m
        targets = [one for one in targets if abs(one - near) < ball_m / 4.0]
        best = _top([best, found])
        if not 0.0 < found.drop_up_to_m < ball_m:
            break
        drop_m = found.drop_up_to_m
    at_anew = best_drop(others[1].cones, ball_m, money)
    return _top([best, at_anew])


def anew_condition(cones: Cones, ball_length_m: float, money: ConeMoney) -> float:
    """What a longer target still brings when every cone starts a new ball; 0 at the best target.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones, after steam, with a spread.
    ball_length_m : float
        Length of a ball, after steam [m].
    money : ConeMoney
        What balls bring and ties cost.

    Returns
    -------
    float
        sum_j jL f(jL) - N + (parting + tie cost) / (ball price + handling L), in balls [1]:
        above 0 a longer cone brings more, below 0 a shorter one.

    Raises
    ------
    BadInput
        When cones, ball or money are out of range.

    Notes
    -----
    The derivative of money per metre, (a N(mu) - c) / mu, by the target at a fixed spread: the
    length is mu times a gamma variable of mean 1, so dN/dmu = sum_j jL f(jL) / mu. Source: DERIVED.
    """
    check_cones(cones, ball_length_m, money)
    if cones.even:
        raise BadInput(Fault("no spread", "a spread above 0", key="cone_cv", value="0"))
    reach = cones.mean_m * (1.0 + 12.0 * cones.cv + 60.0 * cones.cv**2)
    ends: Array = np.arange(1.0, math.ceil(reach / ball_length_m) + 2) * ball_length_m
    gained = float(ends @ cone_density(cones, ends))
    a_ball = money.ball_price + money.waste_per_m * ball_length_m
    return (
        gained - float(balls_on(cones, ball_length_m)) + (money.parting + money.tie_cost) / a_ball
    )


def spare_sds(sd_balls: float) -> float:
    """Standard deviations to wind above a whole number of balls, when each cone starts anew.

    Parameters
    ----------
    sd_balls : float
        Standard deviation of cone length over the length of a ball [1].

    Returns
    -------
    float
        z with phi(z) = sd / L, that is sqrt(-2 ln(sqrt(2 pi) sd / L)); 0 from 0.4 balls on,
        where it no longer describes the best target [1].

    Raises
    ------
    BadInput
        When the standard deviation is not above 0.

    Notes
    -----
    `anew_condition` for nearly normal cones with sd well within a ball and no parting or tie cost:
    n sd balls more yarn a cone guards against losing the n-th. A target near n balls is then
    nL + z sd. Source: newsvendor argument, DERIVED.
    """
    if not 0.0 < sd_balls < math.inf:
        raise BadInput(Fault("out of range", "above 0", key="sd_balls", value=f"{sd_balls:g}"))
    return math.sqrt(max(-2.0 * math.log(sd_balls * math.sqrt(2.0 * math.pi)), 0.0))


def size_matters_below_cv(cone_length_m: float, ball_length_m: float) -> float:
    """Find the spread from which no cone size stands out: every longer cone brings a little more.

    Parameters
    ----------
    cone_length_m : float
        Length of a cone, at least that of a ball [m].
    ball_length_m : float
        Length of a ball [m].

    Returns
    -------
    float
        Ball / cone times sqrt(ln(4 cone / ball) / (2 pi^2)) [1]: a standard deviation of 0.4 to
        0.5 balls.

    Notes
    -----
    With n = C/L and s = sd/L, `anew_condition` is 1/2 + 2 n exp(-2 pi^2 s^2) cos(2 pi n) nearly
    (the first harmonic of the wrapped normal density; no parting or tie cost). It turns negative
    somewhere, so that a best size exists, while 4 n exp(-2 pi^2 s^2) > 1. Just below the edge the
    size that stands out gains next to nothing. Source: DERIVED.
    """
    balls = cone_length_m / ball_length_m
    return math.sqrt(max(math.log(4.0 * balls), 0.0) / 2.0) / (math.pi * balls)


def anew_pays_below_cv(
    ball_length_m: float, money: ConeMoney, shortest_m: float, longest_m: float
) -> float | None:
    """Find the spread above which starting anew at its best target loses against winding on.

    Parameters
    ----------
    ball_length_m : float
        Length of a ball, after steam [m].
    money : ConeMoney
        What balls bring and ties cost.
    shortest_m, longest_m : float
        Range of targets, after steam [m].

    Returns
    -------
    float or None
        The spread [1]; 0 when it never pays, None when it pays up to 30 %.

    Raises
    ------
    BadInput
        When the range, the ball or the money cannot be used.

    Notes
    -----
    Each habit is taken at its own best target of the range. Root of their difference by Brent's
    method, between the least spread that is told from none and 30 %. Source: DERIVED.
    """
    _check_range(0.0, ball_length_m, money, shortest_m, longest_m)
    targets = _targets(ball_length_m, shortest_m, longest_m)

    def gain(cv: float) -> float:
        anew = _bettered(
            lambda mean_m: start_anew(Cones(mean_m, cv), ball_length_m, money), targets, cv
        )
        straight = max(
            wind_on(Cones(one, cv), ball_length_m, money).money_per_km for one in targets
        )
        return anew.money_per_km - straight

    from scipy.optimize import brentq

    least = 1.001 * LEAST_SD_BALLS * ball_length_m / shortest_m
    if least >= MOST_CV or gain(least) <= 0.0:
        return 0.0
    if gain(MOST_CV) > 0.0:
        return None
    return float(brentq(gain, least, MOST_CV, xtol=1e-6))


def _check_range(
    cv: float, ball_m: float, money: ConeMoney, shortest_m: float, longest_m: float
) -> None:
    for end in (shortest_m, longest_m):
        check_cones(Cones(end, cv), ball_m, money)
    if not shortest_m <= longest_m:
        raise BadInput(
            Fault(
                "the wrong way round",
                expected="the shortest target before the longest",
                key="shortest_m",
                value=f"{shortest_m:g} to {longest_m:g}",
            )
        )
    if (longest_m - shortest_m) > MOST_BALLS_WIDE * ball_m:
        raise BadInput(
            Fault(
                "too wide a range of cones",
                expected=f"at most {MOST_BALLS_WIDE:g} balls wide",
                key="longest_m",
                value=f"{longest_m:g}",
            )
        )
