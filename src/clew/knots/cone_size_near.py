"""Drop a cone's leftover only when it is short: the phase chain, and the best length to drop."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.cone_size import (
    ConeHabit,
    ConeMoney,
    balls_on,
    check_cones,
    habit,
    span_m,
    start_anew,
    wind_on,
)
from clew.knots.cone_size_even import EvenTurn, even_turns
from clew.knots.renewal import Cones

Array = NDArray[np.float64]

_POINTS_PER_SD = 3.0
_LEAST_POINTS = 40
_UNIFORM = 1e-15
_TRIED = 12
_LEAST_DROP_BALLS = 1e-3


def drop_when_short(
    cones: Cones,
    ball_length_m: float,
    money: ConeMoney,
    drop_up_to_m: float,
    *,
    finer: float = 1.0,
) -> ConeHabit:
    """Drop a leftover of at most so many metres and start anew; tie on and wind on otherwise.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones, after steam.
    ball_length_m : float
        Length of a ball, after steam [m].
    money : ConeMoney
        What balls bring and ties cost.
    drop_up_to_m : float
        Longest leftover dropped [m]: 0 winds on always, a whole ball or more drops always.
    finer : float
        Factor on the number of points of the integral equation, to see its error [1].

    Returns
    -------
    ConeHabit
        Its long run, from a start at a ball's head.

    Raises
    ------
    BadInput
        When cones, ball, money or the length to drop are out of range.

    Notes
    -----
    Between two drops the yarn already in the ball when a cone starts is a Markov chain on (y, L)
    whose step is a cone's length modulo L. Mean visits v(r) = k(r) + int_y^L v(u) k(r - u) du, with
    k the density of a cone's length wrapped round the ball, are solved on Gauss-Legendre points;
    what a cone yields is averaged over them and the start (renewal-reward). Twice as many points
    moved money by less than 1e-9 of itself in the tests. Source: DERIVED; renewal-reward theorem,
    MEMORY (Ross, Stochastic Processes, 1996).
    """
    check_cones(cones, ball_length_m, money)
    if not drop_up_to_m >= 0.0:
        raise BadInput(
            Fault("out of range", "0 m or more", key="drop_up_to_m", value=f"{drop_up_to_m:g}")
        )
    if drop_up_to_m >= ball_length_m:
        return start_anew(cones, ball_length_m, money)
    if cones.even:
        return _even(cones, ball_length_m, money, drop_up_to_m)
    if drop_up_to_m < _LEAST_DROP_BALLS * ball_length_m:
        if drop_up_to_m == 0.0:
            return wind_on(cones, ball_length_m, money)
        raise BadInput(
            Fault(
                "too short to tell from 0",
                f"0, or {_LEAST_DROP_BALLS * ball_length_m:g} m or more",
                key="drop_up_to_m",
                value=f"{drop_up_to_m:g}",
            )
        )
    return _spread(cones, ball_length_m, money, drop_up_to_m, finer)


def _even(cones: Cones, ball_m: float, money: ConeMoney, drop_m: float) -> ConeHabit:
    """Even cones: the first leftover short enough closes the turn."""
    turns = even_turns(cones.mean_m, ball_m)
    turn = next((one for one in turns if one.leftover_m <= drop_m), None)
    if turn is None:
        return wind_on(cones, ball_m, money)
    return _turning(cones, ball_m, money, drop_m, turn)


def _turning(
    cones: Cones, ball_m: float, money: ConeMoney, drop_m: float, turn: EvenTurn
) -> ConeHabit:
    """Even cones that start anew after every turn."""
    return habit(
        cones,
        ball_m,
        money,
        drop_m,
        turn.balls / turn.cones,
        turn.tied / turn.cones,
        turn.leftover_m / turn.cones,
        (1.0 if turn.leftover_m > 0.0 else 0.0) / turn.cones,
    )


@lru_cache(maxsize=32)
def gauss_points(least: int) -> tuple[Array, Array]:
    """Gauss-Legendre points and weights on 0 to 1, at least so many.

    Parameters
    ----------
    least : int
        Points needed; the next multiple of 32 is taken, so that few sets are worked out.

    Returns
    -------
    tuple of array
        Points and weights [1].
    """
    from scipy.special import roots_legendre

    points, weights = roots_legendre(32 * math.ceil(least / 32))
    found = (points + 1.0) / 2.0, weights / 2.0
    for one in found:
        one.setflags(write=False)
    return found


def _spread(
    cones: Cones, ball_m: float, money: ConeMoney, drop_m: float, finer: float
) -> ConeHabit:
    from scipy.special import gammaincc

    sd = cones.cv * cones.mean_m
    width = ball_m - drop_m
    points = int(finer * (_LEAST_POINTS + _POINTS_PER_SD * width / sd))
    unit, unit_weight = gauss_points(points)
    place, weight = drop_m + width * unit, width * unit_weight
    points = place.size
    first = wrapped_density(cones, ball_m, place)
    steps = wrapped_density(cones, ball_m, place[:, None] - place[None, :])
    visits = weight * np.linalg.solve(np.eye(points) - steps * weight, first)

    offsets = np.concatenate(([0.0], place))
    shares = np.concatenate(([1.0], visits))
    shares /= shares.sum()
    ends_ball = gammaincc(cones.shape, (ball_m - place) * cones.shape / cones.mean_m)
    dropped, left = _dropped(cones, ball_m, drop_m, offsets)
    return habit(
        cones,
        ball_m,
        money,
        drop_m,
        float(shares @ balls_on(cones, ball_m, offsets)),
        float(shares[1:] @ ends_ball),
        float(shares @ left),
        float(shares @ dropped),
    )


def wrapped_density(cones: Cones, ball_length_m: float, place_m: Array) -> Array:
    """Density of a cone's length modulo the ball.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones, with a spread.
    ball_length_m : float
        Length of a ball [m].
    place_m : array
        Places, less than a ball from 0 either way [m].

    Returns
    -------
    array
        Density [1/m]; uniform once its first harmonic is below 1e-15.

    Notes
    -----
    The first harmonic of a gamma density wrapped round L is (1 + (2 pi c^2 mu / L)^2)^(-1/(2 c^2)).
    Source: characteristic function of the gamma distribution, MEMORY.
    """
    turn = 2.0 * math.pi * cones.cv**2 * cones.mean_m / ball_length_m
    if -0.5 * cones.shape * math.log1p(turn * turn) < math.log(_UNIFORM):
        return np.full(place_m.shape, 1.0 / ball_length_m)
    low, high = span_m(cones)
    found = np.zeros(place_m.shape)
    for wrap in range(math.floor(low / ball_length_m) - 1, math.ceil(high / ball_length_m) + 2):
        length = place_m + wrap * ball_length_m
        there = (length > low) & (length < high)
        found[there] += cone_density(cones, length[there])
    return found


def cone_density(cones: Cones, length_m: Array) -> Array:
    """Density of a cone's length.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones, with a spread.
    length_m : array
        Lengths [m]; 0 below 0.

    Returns
    -------
    array
        Density [1/m].

    Notes
    -----
    Written by the distance from the mean, so that shapes of 1e8 (a spread of 0.01 %) keep their
    digits. Source: gamma density; Stirling's series, MEMORY.
    """
    from scipy.special import gammaln

    shape = cones.shape
    if shape > 100.0:
        head = 0.5 * math.log(shape / (2.0 * math.pi)) - 1.0 / (12.0 * shape)
        head += 1.0 / (360.0 * shape**3)
    else:
        head = shape * math.log(shape) - shape - float(gammaln(shape))
    off = np.where(length_m > 0.0, length_m / cones.mean_m, 1.0) - 1.0
    log = np.log1p(off)
    with np.errstate(under="ignore"):
        density = np.exp(head - shape * (off - log) - log) / cones.mean_m
    return np.asarray(np.where(length_m > 0.0, density, 0.0))


def _dropped(cones: Cones, ball_m: float, drop_m: float, offset_m: Array) -> tuple[Array, Array]:
    """Chance that a cone's leftover is dropped, and the mean dropped [m], by the ball's offset."""
    from scipy.special import gammainc

    low, high = span_m(cones)
    numbers = np.arange(max(math.floor(low / ball_m), 0), math.ceil(high / ball_m) + 2)
    start = numbers * ball_m - offset_m[:, None]
    stop = np.maximum(start + drop_m, 0.0)
    scale = cones.shape / cones.mean_m
    below_start = gammainc(cones.shape, np.maximum(start, 0.0) * scale)
    below_stop = gammainc(cones.shape, stop * scale)
    area = cones.used_up(1.0, stop) - cones.used_up(1.0, np.maximum(start, 0.0))
    left = drop_m * below_stop - area
    return (below_stop - below_start).sum(axis=1), left.sum(axis=1)


def simple_drop_m(ball_length_m: float, money: ConeMoney) -> float:
    """Length up to which a leftover is worth less than a tie, when cones forget their place.

    Parameters
    ----------
    ball_length_m : float
        Length of a ball, after steam [m].
    money : ConeMoney
        What balls bring and ties cost.

    Returns
    -------
    float
        (tie loss - parting) / (ball price / ball + handling per m), from 0 to a ball [m].

    Notes
    -----
    Exact when a cone's spread is so large that the next leftover is uniform whatever is done now:
    dropping r loses r metres of ball and its handling and a parting, winding on loses a tie.
    Source: one step of the average-reward equation, DERIVED.
    """
    a_metre = money.ball_price / ball_length_m + money.waste_per_m
    return min(max((money.tie_loss - money.parting) / a_metre, 0.0), ball_length_m)


def best_drop(cones: Cones, ball_length_m: float, money: ConeMoney) -> ConeHabit:
    """Find the longest leftover to drop that brings most, for cones of one size.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones, after steam.
    ball_length_m : float
        Length of a ball, after steam [m].
    money : ConeMoney
        What balls bring and ties cost.

    Returns
    -------
    ConeHabit
        The habit with that length; never worse than winding on or starting anew.

    Raises
    ------
    BadInput
        When cones, ball or money are out of range.

    Notes
    -----
    Twelve lengths evenly over the ball and `simple_drop_m`, then a bounded search (Brent) around
    the best; for even cones every leftover that is shorter than those before it is tried. No rule
    of another form brought more where all were open (policy iteration in the tests, COMPUTED).
    Source: DERIVED.
    """
    straight = wind_on(cones, ball_length_m, money)
    anew = start_anew(cones, ball_length_m, money)
    if cones.even:
        shortest_m, found = math.inf, []
        for turn in even_turns(cones.mean_m, ball_length_m):
            if turn.leftover_m < shortest_m:
                shortest_m = turn.leftover_m
                found.append(_turning(cones, ball_length_m, money, shortest_m, turn))
        return max([straight, anew, *found], key=_worth)
    grid = np.arange(1.0, _TRIED) / _TRIED * ball_length_m
    simple = simple_drop_m(ball_length_m, money)
    least = _LEAST_DROP_BALLS * ball_length_m
    simple = min(max(simple, least), 0.999 * ball_length_m)
    # two lengths alike but for rounding would leave one side of the best out of the search
    tried = sorted([simple, *grid[np.abs(grid - simple) > least].tolist()])
    found = [drop_when_short(cones, ball_length_m, money, length) for length in tried]
    top = max(range(len(tried)), key=lambda one: found[one].money_per_km)
    edges = [least, *tried, ball_length_m * (1.0 - 1e-9)]
    from scipy.optimize import minimize_scalar

    nearer = minimize_scalar(
        lambda length: -drop_when_short(cones, ball_length_m, money, length).money_per_km,
        bounds=(edges[top], edges[top + 2]),
        method="bounded",
        options={"xatol": 1e-4 * ball_length_m},
    )
    near = drop_when_short(cones, ball_length_m, money, float(nearer.x))
    return max([straight, anew, *found, near], key=_worth)


def _worth(one: ConeHabit) -> float:
    return one.money_per_km
