"""A whole strand drawn at random, cone by cone, with the place and the kind of every join."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.knot_map import KnotMap, whole_nm
from clew.knots.sources import Sources
from clew.languages import say

Array = NDArray[np.float64]

KINDS = ("re-tie", "cone-tie", "line-re-tie", "colour-tie")
"""Breaks re-tied on the cone, ties from cone to cone, breaks on the line, ties of colours."""
MOST_JOINS = 20_000_000


def draw_strand(sources: Sources, length_m: float, *, seed: int) -> KnotMap:
    """Draw one strand.

    Parameters
    ----------
    sources : Sources
        Where joins come from, per metre after steam.
    length_m : float
        Length of the strand [m].
    seed : int
        Seed of the random numbers.

    Returns
    -------
    KnotMap
        Its joins in order, each of one of `KINDS`.

    Raises
    ------
    BadInput
        When the length cannot be one, or the strand would hold more than 20 million joins.

    Notes
    -----
    The strand begins somewhere on a cone (stationary phase): the first cone is met in proportion to
    its length and cut at a uniform place. Each cone has a break rate of its own; runs of one colour
    are equally long. Two joins that fall on the same nanometre
    would be one. Source: the model of `clew.knots.sources`, DERIVED.
    """
    strand_nm = whole_nm(length_m, "strand length", positive=True)
    mean = length_m * sum(sources.intensities_per_m.values())
    if mean > MOST_JOINS:
        raise BadInput(
            Fault(
                say("too many joins on one strand"),
                say("at most {most} joins: a shorter strand", most=MOST_JOINS),
                key="strand length",
                value=f"{length_m:g} m",
            )
        )
    random = np.random.default_rng(seed)
    ends = cone_ends(random, sources, length_m)
    starts = np.concatenate(([0.0], ends))
    lengths = np.diff(starts, append=length_m)
    rates = _rates(random, sources, lengths.size)
    on_cones = random.poisson(rates * lengths)
    places = [
        np.repeat(starts, on_cones)
        + np.repeat(lengths, on_cones) * random.random(int(on_cones.sum())),
        ends,
    ]
    line_breaks = int(random.poisson(sources.line_breaks_per_m * length_m))
    places.append(length_m * random.random(line_breaks))
    if sources.colour_ties_per_m > 0.0:
        run_m = 1.0 / sources.colour_ties_per_m
        places.append(np.arange(run_m * random.random(), length_m, run_m))
    else:
        places.append(np.empty(0))
    kind = np.repeat(np.arange(len(KINDS)), [part.size for part in places])
    whole = np.minimum(np.rint(np.concatenate(places) * 1e9).astype(np.int64), strand_nm)
    whole, first = np.unique(whole, return_index=True)
    return KnotMap(whole, tuple(KINDS[one] for one in kind[first].tolist()), strand_nm)


def cone_ends(random: np.random.Generator, sources: Sources, length_m: float) -> Array:
    """Draw where cones end on a strand that begins somewhere on one.

    Parameters
    ----------
    random : Generator
        Random numbers.
    sources : Sources
        Where joins come from, per metre after steam.
    length_m : float
        Length of the strand [m].

    Returns
    -------
    array, shape (n,)
        Places of the cone ties [m], ascending, all short of the strand's end.
    """
    mean = sources.cone_length_m
    if math.isinf(mean):
        return np.empty(0)
    spread = sources.cone_cv**2
    if spread == 0.0:
        first = mean * (1.0 - random.random())
        return np.arange(first, length_m, mean)
    first = float(random.gamma(1.0 / spread + 1.0, spread * mean)) * (1.0 - random.random())
    ends = np.array([first])
    while ends[-1] < length_m:
        more = max(int((length_m - ends[-1]) / mean * 1.05), 8)
        further = random.gamma(1.0 / spread, spread * mean, more)
        ends = np.concatenate((ends, ends[-1] + np.cumsum(further)))
    return ends[ends < length_m]


def _rates(random: np.random.Generator, sources: Sources, cones: int) -> Array:
    """Break rate of each cone."""
    if math.isinf(sources.dispersion) or sources.breaks_per_m == 0.0:
        return np.full(cones, sources.breaks_per_m)
    shape = sources.dispersion
    return random.gamma(shape, sources.breaks_per_m / shape, cones)
