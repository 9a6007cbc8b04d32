"""Balls drawn at random, cone by cone: a check on the law that shares none of its formulas."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.knots.sources import Sources

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class DrawnKnots:
    """Balls drawn at random.

    Attributes
    ----------
    seed : int
        Seed they were drawn with.
    joins : array, shape (balls,)
        Joins in each ball.
    shortest_m : array, shape (balls,)
        Shortest piece of each, end pieces included [m].
    """

    seed: int
    joins: Whole
    shortest_m: Array

    @property
    def share(self) -> Array:
        """Share of balls with 0, 1, 2, ... joins."""
        return np.asarray(np.bincount(self.joins) / self.joins.size)


def draw_balls(
    sources: Sources,
    ball_length_m: float,
    *,
    balls: int,
    seed: int,
    ball_number: int | None = None,
) -> DrawnKnots:
    """Draw balls, each from a strand of its own.

    Parameters
    ----------
    sources : Sources
        Where joins come from, per metre after steam.
    ball_length_m : float
        Length of a ball [m].
    balls : int
        How many.
    seed : int
        Seed of the random numbers.
    ball_number : int or None
        Which ball since a cone's start, from 1; None for balls that start anywhere.

    Returns
    -------
    DrawnKnots
        Joins and shortest piece of each ball.

    Notes
    -----
    A ball that starts anywhere meets a cone with a chance in proportion to its length: a gamma
    length with one more in the shape, cut at a uniform place. Source: inspection paradox, MEMORY.
    """
    random = np.random.default_rng(seed)
    owners: list[Whole] = []
    places: list[Array] = []

    def scatter(who: Whole, start: Array, length: Array, rate: Array | float) -> None:
        number = random.poisson(rate * length)
        owner = np.repeat(who, number)
        at = np.repeat(start, number) + np.repeat(length, number) * random.random(owner.size)
        owners.append(owner)
        places.append(at)

    everyone = np.arange(balls)
    zero = np.zeros(balls)
    scatter(
        everyone,
        zero,
        zero + ball_length_m,
        sources.line_breaks_per_m,
    )
    if sources.colour_ties_per_m > 0.0:
        run_m = 1.0 / sources.colour_ties_per_m
        who, place = everyone, run_m * random.random(balls)
        while who.size:
            inside = place < ball_length_m
            who, place = who[inside], place[inside]
            owners.append(who)
            places.append(place)
            place = place + run_m
    who, start = everyone, zero
    end = _first_ends(random, sources, balls, ball_length_m, ball_number)
    while who.size:
        stop = np.minimum(end, ball_length_m)
        scatter(who, start, stop - start, _rates(random, sources, who.size))
        on = end < ball_length_m * (1.0 - 1e-12)
        who, start = who[on], end[on]
        owners.append(who)
        places.append(start)
        end = start + _lengths(random, sources, who.size)
    joins = np.bincount(np.concatenate(owners), minlength=balls)
    # the ball's end closes its last piece
    owner = np.concatenate([*owners, everyone])
    place = np.concatenate([*places, zero + ball_length_m])
    order = np.lexsort((place, owner))
    gaps = np.diff(place[order], prepend=0.0)
    heads = np.concatenate(([0], np.cumsum(joins + 1)[:-1]))
    gaps[heads] = place[order][heads]
    return DrawnKnots(seed, joins, np.minimum.reduceat(gaps, heads))


def _lengths(random: np.random.Generator, sources: Sources, size: int, more: float = 0.0) -> Array:
    """Cone lengths; ``more`` is added to the gamma shape."""
    if math.isinf(sources.cone_length_m) or sources.cone_cv == 0.0:
        return np.full(size, sources.cone_length_m)
    spread = sources.cone_cv**2
    return np.asarray(random.gamma(1.0 / spread + more, spread * sources.cone_length_m, size))


def _rates(random: np.random.Generator, sources: Sources, size: int) -> Array:
    """Break rate of each cone."""
    if math.isinf(sources.dispersion):
        return np.full(size, sources.breaks_per_m)
    shape = sources.dispersion
    return np.asarray(random.gamma(shape, sources.breaks_per_m / shape, size))


def _first_ends(
    random: np.random.Generator,
    sources: Sources,
    balls: int,
    ball_length_m: float,
    ball_number: int | None,
) -> Array:
    """Where the first cone of each ball ends, from the ball's start on [m]."""
    if math.isinf(sources.cone_length_m):
        return np.full(balls, math.inf)
    if ball_number is None:
        return _lengths(random, sources, balls, 1.0) * (1.0 - random.random(balls))
    gone = (ball_number - 1) * ball_length_m
    reached = np.zeros(balls)
    short = np.arange(balls)
    while short.size:
        reached[short] += _lengths(random, sources, short.size)
        # a tie on the cut between two balls is in neither
        short = short[reached[short] <= gone * (1.0 + 1e-12)]
    return reached - gone
