"""What share of balls knots turn to second quality, and how that share spreads."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from clew.knots.answer import ReturnedBall
from clew.knots.answer_pieces import chance_long_enough
from clew.knots.from_mill import KnotTerms, knot_terms
from clew.knots.law import knot_law
from clew.knots.sources import Sources

if TYPE_CHECKING:
    from clew.mill.model import Mill

NODES = 16
"""Break rates at which cones are looked at."""
_WIDTH_95 = 2 * 1.959963984540054


@dataclass(frozen=True, slots=True)
class KnotShare:
    """Balls that knots turn to second quality.

    Attributes
    ----------
    frac : float
        Their share of all balls, wound straight through [1].
    ball_variance : float
        Variance of their number over that of balls wound, balls of one cone being alike [balls].
    rate_sd : float
        Standard deviation of the share, from how much strand the breaks were counted on [1].
    """

    frac: float
    ball_variance: float
    rate_sd: float


def knot_share(mill: Mill, ball_name: str, lot_name: str = "") -> KnotShare:
    """Work out the share of a ball that knots turn to second quality.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name, lot_name : str
        The ball, and the dye lot; empty for the yarn as nominal.

    Returns
    -------
    KnotShare
        The share and its spread.

    Raises
    ------
    BadInput
        When a name is not in the mill, or the dye lot is of another yarn.

    Notes
    -----
    Source: DERIVED. The share is that of `clew.knots.law` with the shortest piece of
    `chance_long_enough`. Of a cone that gives b balls and has a break rate of g times the mean,
    g gamma distributed, a share p(g) is second-quality: the number in b balls has the variance
    b E[p(1 - p)] + b^2 Var[p], here over b.
    """
    # dye lots of like count share the answer, whatever they are called
    return _share(replace(knot_terms(mill, ball_name, lot_name), lot_name=""))


@lru_cache(maxsize=256)
def _share(terms: KnotTerms) -> KnotShare:
    sources = terms.sources
    frac = _second(terms, sources)
    low, high = terms.breaks_band
    ends = [
        _second(terms, replace(sources, breaks_per_m=sources.breaks_per_m * factor))
        for factor in (low, high)
    ]
    rate_sd = (ends[1] - ends[0]) / _WIDTH_95
    alike = frac * (1.0 - frac)
    if sources.breaks_per_m > 0.0 and math.isfinite(sources.dispersion):
        factors, weights = _gamma_nodes(sources.dispersion)
        shares = np.array([
            _second(
                terms,
                replace(sources, breaks_per_m=sources.breaks_per_m * factor, dispersion=math.inf),
            )
            for factor in factors
        ])  # fmt: skip
        on_a_cone = sources.cone_length_m / terms.rule.ball_length_m
        mean = float(weights @ shares)
        between = float(weights @ (shares - mean) ** 2)
        alike = float(weights @ (shares * (1.0 - shares))) + max(on_a_cone, 1.0) * between
    return KnotShare(frac, alike, max(rate_sd, 0.0))


def _gamma_nodes(shape: float) -> tuple[np.ndarray, np.ndarray]:
    """Nodes and weights of a gamma distribution of mean 1, by Gauss and Laguerre."""
    from scipy.special import roots_genlaguerre

    nodes, weights = roots_genlaguerre(NODES, shape - 1.0)
    return nodes / shape, weights / weights.sum()


def _second(terms: KnotTerms, sources: Sources) -> float:
    rule = terms.rule
    allowed = ReturnedBall(sources, rule, 0, join_counts=terms.join_counts).joins_allowed
    if allowed is None:
        return 0.0
    pmf = knot_law(sources, rule.ball_length_m).pmf[: allowed + 1]
    whole = chance_long_enough(np.arange(pmf.size, dtype=np.float64), rule, rule.min_piece_m)
    return min(max(1.0 - float(pmf @ whole), 0.0), 1.0)
