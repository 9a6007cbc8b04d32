"""What the joins of one ball probably were: breaks, cone ties, line breaks, colour ties."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.knots.answer_split import (
    KINDS,
    JoinSplit,
    check_joins,
    told_by_kind,
    usual_over_twice,
)
from clew.knots.quadrature import legendre_rule
from clew.knots.renewal import Cones, most_cones, stationary_ties
from clew.knots.sources import Sources

Array = NDArray[np.float64]

_NODES = 96
_DRAWS = 20_000
_LEAST_DRAWS = 400
_BATCHES = 20
_WORK = 4e7
_SHORTER = 1e-13


@dataclass(frozen=True, slots=True)
class _Scenes:
    """Ways the ties may lie: their weights and what they part the ball into.

    Attributes
    ----------
    weight : array, shape (m,)
        Weights; they add up to 1.
    ties : array, shape (m,)
        Ties in the ball.
    pieces_m : array, shape (m, k)
        Metres of the ball that come off each cone, 0 where there is none.
    drawn : bool
        Whether they were drawn at random.
    """

    weight: Array
    ties: NDArray[np.int64]
    pieces_m: Array
    drawn: bool


def split_joins(
    sources: Sources, ball_length_m: float, joins: int, *, seed: int = 1
) -> JoinSplit | None:
    """Find what so many joins in one ball probably were, their places not known.

    Parameters
    ----------
    sources : Sources
        Where joins come from, per metre after steam.
    ball_length_m : float
        Length of the ball [m].
    joins : int
        Joins in it, from 0 to 200.
    seed : int
        Seed of the draws, where there are any.

    Returns
    -------
    JoinSplit or None
        The split; None where these sources cannot give such a ball.

    Raises
    ------
    BadInput
        A number of joins that cannot be.

    Notes
    -----
    The ball starts anywhere. The ties part it into pieces of one cone each; given the pieces,
    breaks are negative binomial on each; line breaks are Poisson, ties of colours stand a run
    apart. P(ties, breaks, colour ties | n) is a sum over ways the ties may lie. Exact (to rounding)
    where all cones have one rate, or no spread of length, or none is shorter than the ball; else
    the ties' places alone are drawn at random. The rate of a cone with b breaks on x metres of the
    ball is gamma with shape a + b and mean (a + b) / (a/r + x). Source: DERIVED.
    """
    check_joins(joins)
    even = math.isinf(sources.dispersion) or sources.breaks_per_m == 0.0
    scenes = _scenes(sources, ball_length_m, joins, even, seed)
    log_tilt = _log_tilt(sources, ball_length_m, joins, even)
    grids = _breaks(sources, scenes, ball_length_m, joins, log_tilt, even)
    line = _poisson(np.array(sources.line_breaks_per_m * ball_length_m), joins, log_tilt)
    colour = colour_chances(sources, ball_length_m)[: joins + 1]
    colour = colour * np.exp(np.arange(colour.size) * log_tilt)
    other = np.convolve(line, colour)[: joins + 1]
    held = scenes.ties <= joins
    tilted = np.where(held, scenes.weight * np.exp(np.where(held, scenes.ties, 0) * log_tilt), 0.0)
    # what the line and the colours made fills up to the number of joins
    left = joins - scenes.ties[:, None] - np.arange(joins + 1)
    filled = np.where(left >= 0, other[np.maximum(left, 0)], 0.0) * tilted[:, None]
    parts = [grid * filled for grid in grids]
    total = float(parts[0].sum())
    if not total > 0.0:
        return None
    joint = np.zeros((joins + 1, joins + 1))
    np.add.at(joint, np.minimum(scenes.ties, joins), parts[0])
    rates = None if even else (float(parts[1].sum()) / total, float(parts[2].sum()) / total)
    error = _batch_error(parts[0].sum(axis=1), scenes.ties) if scenes.drawn else 0.0
    expected, chances = told_by_kind(_with_colours(joint / total, line, colour, other))
    return JoinSplit(
        joins=joins,
        expected=expected,
        chances=chances,
        by_join=tuple({kind: expected[kind] / joins for kind in KINDS} for _ in range(joins)),
        rate_times=None if rates is None else rates[0],
        rate_over_twice=None if rates is None else rates[1],
        usual_over_twice=usual_over_twice(sources),
        placed=False,
        draws=scenes.ties.size if scenes.drawn else 0,
        standard_error=error,
    )


def colour_chances(sources: Sources, ball_length_m: float) -> Array:
    """Chances of 0, 1, ... ties of colours in a ball that starts anywhere.

    Parameters
    ----------
    sources : Sources
        Where joins come from; ties of colours stand a run apart.
    ball_length_m : float
        Length of the ball [m].

    Returns
    -------
    array, shape (n,)
        Probabilities.
    """
    if sources.colour_ties_per_m == 0.0:
        return np.ones(1)
    return stationary_ties(Cones(1.0 / sources.colour_ties_per_m, 0.0), ball_length_m)


def _with_colours(joint: Array, line: Array, colour: Array, other: Array) -> Array:
    """Share what is neither tie nor break between line and colour, in a third axis."""
    numbers = np.arange(line.size)
    rest = line.size - 1 - np.add.outer(numbers, numbers)
    whole = np.zeros((*joint.shape, colour.size))
    for number, chance in enumerate(colour):
        fits = (rest >= number) & (joint > 0.0)
        left = rest[fits]
        whole[fits, number] = joint[fits] * chance * line[left - number] / other[left]
    return whole


def _log_tilt(sources: Sources, length_m: float, joins: int, even: bool) -> float:
    """Log of a factor per join: it leaves what is asked, given their number, as it is.

    It keeps far tails within what a float can hold: towards the mean where breaks are Poisson, and
    no further than their geometric tail where they are not.
    """
    mean = length_m * sum(sources.intensities_per_m.values())
    if joins == 0 or mean == 0.0:
        return 0.0
    centred = math.log(joins / mean)
    if even:
        return centred
    return min(centred, math.log1p(sources.dispersion / (sources.breaks_per_m * length_m)))


def _scenes(sources: Sources, length_m: float, joins: int, even: bool, seed: int) -> _Scenes:
    cones = Cones(sources.cone_length_m, sources.cone_cv)
    if even or math.isinf(cones.mean_m):
        weight = stationary_ties(cones, length_m)
        pieces = np.full((weight.size, 1), length_m)
        return _Scenes(weight, np.arange(weight.size), pieces, drawn=False)
    if cones.even or float(cones.used_up(1.0, length_m)) < _SHORTER * length_m:
        return _laid(cones, length_m)
    return _drawn(cones, length_m, joins, seed)


def _laid(cones: Cones, length_m: float) -> _Scenes:
    """Even cones, or none shorter than the ball: a rule of integration over the first tie."""
    mu = cones.mean_m
    whole, rest = divmod(length_m, mu) if cones.even else (0.0, length_m)
    nodes, weights = legendre_rule(_NODES)
    stretches = [(0.0, rest, int(whole) + 1), (rest, mu, int(whole))]
    weight, ties, pieces = [], [], []
    for low, high, number in stretches:
        if number == 0:
            weight.append(np.array([1.0 - length_m / mu]))
            ties.append(np.zeros(1, dtype=np.int64))
            pieces.append(np.pad([[length_m]], ((0, 0), (0, int(whole) + 1))))
            continue
        first = low + (high - low) * (nodes + 1.0) / 2.0
        cuts = np.zeros((_NODES, int(whole) + 2))
        cuts[:, 0] = first
        cuts[:, 1:number] = mu
        cuts[:, number] = np.maximum(length_m - first - (number - 1) * mu, 0.0)
        weight.append(weights * (high - low) / 2.0 / mu)
        ties.append(np.full(_NODES, number, dtype=np.int64))
        pieces.append(cuts)
    return _Scenes(
        np.concatenate(weight), np.concatenate(ties), np.concatenate(pieces), drawn=False
    )


def _drawn(cones: Cones, length_m: float, joins: int, seed: int) -> _Scenes:
    """Cones that may be shorter than the ball: ties drawn at random, cone by cone."""
    random = np.random.default_rng(seed)
    pieces = most_cones(cones, length_m) + 1
    draws = int(np.clip(_WORK / (pieces * (joins + 1.0) ** 2), _LEAST_DRAWS, _DRAWS))
    scale = cones.mean_m / cones.shape
    ends = random.gamma(cones.shape, scale, (draws, pieces))
    # a ball that starts anywhere meets long cones more often, and each of them somewhere
    ends[:, 0] = random.gamma(cones.shape + 1.0, scale, draws) * (1.0 - random.random(draws))
    ends = np.cumsum(ends, axis=1)
    cuts = np.diff(np.minimum(ends, length_m), axis=1, prepend=0.0)
    used = int(np.count_nonzero(cuts.max(axis=0) > 0.0))
    ties = (ends < length_m).sum(axis=1)
    return _Scenes(np.full(draws, 1.0 / draws), ties, cuts[:, :used], drawn=True)


def _poisson(mean: Array, most: int, log_tilt: float) -> Array:
    """Poisson chances of 0 ... most, tilted; one more axis than ``mean``."""
    from scipy.special import gammaln, xlogy

    numbers = np.arange(most + 1.0)
    log = xlogy(numbers, np.asarray(mean)[..., None]) - np.asarray(mean)[..., None]
    return np.asarray(np.exp(log + numbers * log_tilt - gammaln(numbers + 1.0)))


def _folded(one: Array, other: Array) -> Array:
    """Chances of a sum, row by row, as far as the rows reach."""
    out = np.zeros_like(one)
    for number in range(one.shape[1]):
        out[:, number:] += one[:, number : number + 1] * other[:, : one.shape[1] - number]
    return out


def _breaks(
    sources: Sources, scenes: _Scenes, length_m: float, most: int, log_tilt: float, even: bool
) -> list[Array]:
    """Chances of 0 ... most breaks in each scene; with a spread also those times the cones' rate
    and times whether it is over twice the usual, weighed by metres. Shape (scenes, most + 1)."""
    if even:
        return [_poisson(sources.breaks_per_m * scenes.pieces_m[:, 0], most, log_tilt)]
    from scipy.special import gammaincc, gammaln, xlogy

    shape, numbers = sources.dispersion, np.arange(most + 1.0)
    none = np.zeros((scenes.ties.size, most + 1))
    none[:, 0] = 1.0
    chance, rate, twice = none, np.zeros_like(none), np.zeros_like(none)
    for piece_m in scenes.pieces_m.T:
        mean = (sources.breaks_per_m * piece_m)[:, None]
        log = gammaln(shape + numbers) - gammaln(shape) - gammaln(numbers + 1.0)
        log = log - shape * np.log1p(mean / shape) + xlogy(numbers, mean / (shape + mean))
        here = np.exp(log + numbers * log_tilt)
        weighed = here * (piece_m / length_m)[:, None]
        times = (shape + numbers) / (shape + mean)
        over = gammaincc(shape + numbers, 2.0 * (shape + mean))
        rate = _folded(rate, here) + _folded(chance, weighed * times)
        twice = _folded(twice, here) + _folded(chance, weighed * over)
        chance = _folded(chance, here)
    return [chance, rate, twice]


def _batch_error(weight: Array, ties: NDArray[np.int64]) -> float:
    """Standard error of the weighted mean of ties, from batches of draws."""
    whole = float(weight @ ties / weight.sum())
    off = np.array(
        [
            (some * (count - whole)).sum() / weight.sum()
            for some, count in zip(
                np.array_split(weight, _BATCHES), np.array_split(ties, _BATCHES), strict=True
            )
        ]
    )
    return float(math.sqrt((off**2).sum() * _BATCHES / (_BATCHES - 1)))
