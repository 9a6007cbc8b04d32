"""The law of knots per ball as plain values, ready for a page or JSON."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from clew.knots.law import KnotLaw
from clew.knots.pieces import mean_shortest_m, within_limit

_LEAST_LIMITS = 5


def plain_law(found: KnotLaw, min_piece_m: float, shrink_frac: float) -> dict[str, Any]:
    """Turn a law of knots into lists and numbers.

    Parameters
    ----------
    found : KnotLaw
        From `clew.knots.law.knot_law`.
    min_piece_m : float
        Shortest piece of a first-quality ball [m].
    shrink_frac : float
        Length lost in steam [1].

    Returns
    -------
    dict
        Chances, moments and tails, with units in the keys; null where a cone has no end or a rate
        no spread.
    """
    sources, length_m = found.sources, found.ball_length_m
    limits = range(max(found.pmf.size, _LEAST_LIMITS + 1))
    shortest = mean_shortest_m(_numbers(found), length_m)
    return {
        "ball_length_m": length_m,
        "ball_number": found.ball_number,
        "shrink_frac": shrink_frac,
        "after_steam": {
            "cone_length_m": None if math.isinf(sources.cone_length_m) else sources.cone_length_m,
            "cone_cv": sources.cone_cv,
            "breaks_per_km": 1000.0 * sources.breaks_per_m,
            "dispersion": None if math.isinf(sources.dispersion) else sources.dispersion,
            "line_breaks_per_km": 1000.0 * sources.line_breaks_per_m,
            "colour_ties_per_km": 1000.0 * sources.colour_ties_per_m,
        },
        "pmf": found.pmf.tolist(),
        "mean": found.mean,
        "variance": found.variance,
        "mean_by_source": found.mean_by_source,
        "mean_pieces": found.mean_pieces,
        "p_more_than": {str(k): found.more_than(k) for k in limits},
        "min_piece_m": min_piece_m,
        "p_within_limit": {
            str(k): within_limit(found.pmf, length_m, k, min_piece_m) for k in limits
        },
        "shortest_piece_mean_m": float(found.pmf @ shortest),
        "p_piece_under_min": 1.0 - within_limit(found.pmf, length_m, limits[-1], min_piece_m),
    }


def _numbers(found: KnotLaw) -> NDArray[np.float64]:
    return np.arange(found.pmf.size, dtype=np.float64)
