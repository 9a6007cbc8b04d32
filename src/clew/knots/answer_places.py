"""What the joins of one ball probably were when their places in it are known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.answer_split import KINDS, JoinSplit, told_by_kind, usual_over_twice
from clew.knots.knot_map import knot_map
from clew.knots.renewal import Cones
from clew.knots.sources import Sources
from clew.languages import say

Array = NDArray[np.float64]

MOST_PLACED = 60
"""More places than this nobody reads off one ball."""

PLACE_SPREAD = 0.01
"""Cones shorter than the ball are never taken as more alike than this, because a place read off a
returned ball is no better. Assumed."""


@dataclass(frozen=True, slots=True)
class _Segment:
    """A stretch of the ball off one cone, from one tie or end to the next.

    Attributes
    ----------
    weight : array, shape (2, k + 1)
        Likelihood of its k inner joins without and with the one tie of colours, with 0 ... k
        breaks among them.
    rate, twice : array, shape (2,)
        Sum of ``weight`` times the cone's rate over the usual, and times over twice.
    share : float
        Its share of the ball's length.
    """

    weight: Array
    rate: Array
    twice: Array
    share: float


def places_in_ball(positions_m: Sequence[float], ball_length_m: float) -> Array:
    """Check places read off a ball and set them in order.

    Parameters
    ----------
    positions_m : sequence of float
        Where the joins are, from either end of the ball [m].
    ball_length_m : float
        Length of the ball [m].

    Returns
    -------
    array
        The places, ascending [m].

    Raises
    ------
    BadInput
        Every fault at once: outside the ball, the same place twice, more than 60.
    """
    if len(positions_m) > MOST_PLACED:
        raise BadInput(
            Fault(
                say("too many places"),
                expected=say("at most {most}", most=MOST_PLACED),
                key="position",
                value=str(len(positions_m)),
            )
        )
    return knot_map(positions_m, ball_length_m).positions_m


def split_placed(
    sources: Sources, ball_length_m: float, positions_m: Sequence[float]
) -> JoinSplit | None:
    """Find what the joins of one ball probably were from their number and their places.

    Parameters
    ----------
    sources : Sources
        Where joins come from, per metre after steam.
    ball_length_m : float
        Length of the ball [m].
    positions_m : sequence of float
        Where all its joins are, from either end [m].

    Returns
    -------
    JoinSplit or None
        The split, joins in order of their places; None where these sources cannot give such a ball.

    Raises
    ------
    BadInput
        As `places_in_ball`.

    Notes
    -----
    Every choice of joins as ties parts the ball into stretches off one cone each. The ties weigh
    (1 - F(x))/mu for the first stretch, f(x) between two, 1 - F(x) for the last; k joins on x
    metres of one cone weigh E[(r + s)^k exp(-(r + s) x)], r the cone's gamma rate and s what the
    line breaks; one join or none is a tie of colours, each with the same weight. Sums over all
    choices run forwards and backwards over the joins. Exact; the same from either end. Where a ball
    is as long as a run of one colour or longer, its ties of colours are taken as falling anywhere.
    Source: DERIVED.
    """
    places = places_in_ball(positions_m, ball_length_m)
    joins = int(places.size)
    cuts = np.concatenate(([0.0], places, [ball_length_m]))
    mean = ball_length_m * sum(sources.intensities_per_m.values())
    # a factor per join, the same in every choice, keeps the products within a float
    scale_m = ball_length_m * max(joins, 1) / mean if mean > 0.0 else 1.0
    pieces = {
        (i, j): _segment(sources, cuts[j] - cuts[i], j - i - 1, ball_length_m, scale_m)
        for i in range(joins + 1)
        for j in range(i + 1, joins + 2)
    }
    chain = _chain(sources, cuts, scale_m)
    last = joins + 1
    # by whether the tie of colours has been met
    ahead, behind = np.zeros((2, last + 1)), np.zeros((2, last + 1))
    ahead[0, 0] = 1.0
    colours = _colours(sources, ball_length_m, scale_m)
    behind[:, last] = colours
    tables = np.zeros((last + 1, 2, joins + 1, joins + 1))
    tables[0, 0, 0, 0] = 1.0
    for (i, j), piece in pieces.items():
        if chain[i, j] > 0.0:
            step = chain[i, j] * piece.weight
            whole = step.sum(axis=1)
            ahead[0, j] += ahead[0, i] * whole[0]
            ahead[1, j] += ahead[1, i] * whole[0] + ahead[0, i] * whole[1]
            for before, now in ((0, 0), (1, 1), (0, 1)):
                _add_step(tables[i, before], tables[j, now], step[now - before], tie=j < last)
    for (i, j), piece in reversed(pieces.items()):
        whole = chain[i, j] * piece.weight.sum(axis=1)
        behind[0, i] += whole[0] * behind[0, j] + whole[1] * behind[1, j]
        behind[1, i] += whole[0] * behind[1, j]
    total = float(ahead[:, last] @ colours)
    if not total > 0.0:
        return None
    tie = (ahead[:, 1:last] * behind[:, 1:last]).sum(axis=0) / total
    broken, coloured = np.zeros(joins), np.zeros(joins)
    rate = twice = 0.0
    for (i, j), piece in pieces.items():
        outer = chain[i, j] / total
        without = outer * float(ahead[:, i] @ behind[:, j])
        using = outer * float(ahead[0, i] * behind[1, j])
        ways = np.array([without, using])
        inner = j - i - 1
        if inner:
            broken[i : j - 1] += ways @ (piece.weight @ np.arange(inner + 1.0)) / inner
            coloured[i : j - 1] += using * piece.weight[1].sum() / inner
        rate += piece.share * float(ways @ piece.rate)
        twice += piece.share * float(ways @ piece.twice)
    joint = np.moveaxis(tables[last] * colours[:, None, None], 0, -1)
    share = _anywhere_share(sources, ball_length_m)
    expected, chances = told_by_kind(_shared(joint / total, share))
    usual = usual_over_twice(sources)
    rest = np.maximum(1.0 - tie - broken - coloured, 0.0)
    by_join = np.stack([broken, tie, rest * (1.0 - share), coloured + rest * share], axis=1)
    return JoinSplit(
        joins=joins,
        expected=expected,
        chances=chances,
        by_join=tuple(dict(zip(KINDS, one, strict=True)) for one in by_join.tolist()),
        rate_times=None if usual is None else rate,
        rate_over_twice=None if usual is None else twice,
        usual_over_twice=usual,
        placed=True,
        draws=0,
        standard_error=0.0,
    )


def _one_colour(sources: Sources, ball_length_m: float) -> bool:
    """Whether a ball holds one tie of colours at most."""
    return sources.colour_ties_per_m * ball_length_m < 1.0


def _colours(sources: Sources, ball_length_m: float, scale_m: float) -> Array:
    """Weight of no tie of colours in the ball, and of one at a given join."""
    if not _one_colour(sources, ball_length_m):
        return np.array([1.0, 0.0])
    per_m = sources.colour_ties_per_m
    return np.array([1.0 - per_m * ball_length_m, per_m * scale_m])


def _anywhere_share(sources: Sources, ball_length_m: float) -> float:
    """Share of ties of colours in what is taken as falling anywhere."""
    if sources.colour_ties_per_m == 0.0 or _one_colour(sources, ball_length_m):
        return 0.0
    return sources.colour_ties_per_m / (sources.line_breaks_per_m + sources.colour_ties_per_m)


def _shared(joint: Array, share: float) -> Array:
    """Part what falls anywhere into line breaks and so large a share of ties of colours."""
    if share == 0.0:
        return joint
    from scipy.stats import binom

    numbers = np.arange(joint.shape[0])
    rest = numbers[-1] - np.add.outer(numbers, numbers)[..., None]
    ways = binom.pmf(numbers, np.maximum(rest, 0), share)
    return np.asarray(np.where(rest >= 0, joint[..., :1] * ways, 0.0))


def _segment(
    sources: Sources, length_m: float, inner: int, ball_length_m: float, scale_m: float
) -> _Segment:
    from scipy.special import gammaincc, gammaln, xlogy

    breaks = np.arange(inner + 1.0)
    anywhere = sources.line_breaks_per_m
    if not _one_colour(sources, ball_length_m):
        anywhere += sources.colour_ties_per_m
    # joins that fall anywhere: what is neither break nor, in the second row, the tie of colours
    rest = np.array([[inner], [inner - 1.0]]) - breaks
    ways = np.array([[1.0], [float(inner)]])
    fits = rest >= 0.0
    rest = np.maximum(rest, 0.0)
    log = gammaln(breaks + rest + 1.0) - gammaln(breaks + 1.0) - gammaln(rest + 1.0)
    log = log + xlogy(rest, anywhere * scale_m) - anywhere * length_m
    mean, shape = sources.breaks_per_m * length_m, sources.dispersion
    log = log + xlogy(breaks, sources.breaks_per_m * scale_m)
    share = length_m / ball_length_m
    if math.isinf(shape) or sources.breaks_per_m == 0.0:
        weight = np.where(fits, ways * np.exp(log - mean), 0.0)
        return _Segment(weight, weight.sum(axis=1), np.zeros(2), share)
    log = log + gammaln(shape + breaks) - gammaln(shape) - breaks * math.log(shape)
    weight = np.where(fits, ways * np.exp(log - (shape + breaks) * math.log1p(mean / shape)), 0.0)
    rate = weight @ ((shape + breaks) / (shape + mean))
    twice = weight @ np.asarray(gammaincc(shape + breaks, 2.0 * (shape + mean)), dtype=np.float64)
    return _Segment(weight, rate, twice, share)


def _chain(sources: Sources, cuts: Array, scale_m: float) -> Array:
    """Likelihood that a cone reaches from one cut to another, both ends of the ball included."""
    last = cuts.size - 1
    length_m = float(cuts[-1])
    step = np.zeros((last + 1, last + 1))
    if math.isinf(sources.cone_length_m):
        step[0, last] = 1.0
        return step
    cones = Cones(sources.cone_length_m, sources.cone_cv)
    if cones.even and length_m >= cones.mean_m:
        cones = Cones(cones.mean_m, PLACE_SPREAD)
    gaps = np.maximum(cuts[None, :] - cuts[:, None], 0.0)
    longer, density = np.ones_like(gaps), np.zeros_like(gaps)
    if not cones.even:
        from scipy.special import gammaincc
        from scipy.stats import gamma

        scale = cones.mean_m / cones.shape
        longer = gammaincc(cones.shape, gaps / scale)
        density = gamma.pdf(gaps, cones.shape, scale=scale) * scale_m
    inside = slice(1, last)
    step[inside, inside] = np.triu(density[inside, inside], 1)
    step[0, inside] = longer[0, inside] * scale_m / cones.mean_m
    step[inside, last] = longer[inside, last]
    used = float(cones.used_up(1.0, length_m))
    step[0, last] = max(1.0 - (length_m - used) / cones.mean_m, 0.0)
    return step


def _add_step(source: Array, target: Array, weight: Array, *, tie: bool) -> None:
    """Add a stretch with so many breaks, and the tie that ends it, to the table of counts."""
    width = source.shape[1]
    moved = np.zeros_like(source)
    for breaks, one in enumerate(weight):
        moved[:, breaks:] += one * source[:, : width - breaks]
    if tie:
        target[1:] += moved[:-1]
    else:
        target += moved
