"""What a cone tie costs the ball it falls into: how often it makes it second-quality."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.law import knot_law
from clew.knots.pieces import no_piece_under
from clew.knots.sources import Sources


@dataclass(frozen=True, slots=True)
class TieLoss:
    """A ball without and with one cone tie.

    Attributes
    ----------
    first_frac : float
        Chance that a ball without a cone tie is first-quality [1].
    first_tied_frac : float
        The same with one cone tie inside [1].
    ball_price : float
        What a ball without a cone tie brings in the mean [money/ball].
    tie_loss : float
        What one with a tie brings less [money/ball].
    """

    first_frac: float
    first_tied_frac: float
    ball_price: float
    tie_loss: float


def tie_loss(
    sources: Sources, rule: FirstRule, prices: CutPrices, *, join_counts: float = 1.0
) -> TieLoss:
    """Work out what a cone tie takes off a ball, given the other joins.

    Parameters
    ----------
    sources : Sources
        Where joins come from, after steam; the cone ties among them are left out.
    rule : FirstRule
        When a ball is first-quality.
    prices : CutPrices
        What balls of either grade bring.
    join_counts : float
        What a join counts towards the limit [1]: 1 for a knot, less for a splice; one that counts 0
        is not seen by any rule, so a tie takes nothing.

    Returns
    -------
    TieLoss
        Chances and money.

    Raises
    ------
    BadInput
        When the length of the ball cannot be used.

    Notes
    -----
    A tie makes a ball second-quality that was first: its joins reach the limit, or it leaves a
    piece under the least. A join that takes w along the strand touches a ball of L from L + w
    places, so joins are counted in a window of L + w, and a piece of m needs m + w of it. Pieces as
    for joins that fall uniformly (`clew.knots.pieces`); breaks are taken at their mean over cones
    with the dispersion kept. A ball already second-quality loses nothing. Source: DERIVED.
    """
    window_m = rule.ball_length_m + rule.join_length_m
    others = knot_law(replace(sources, cone_length_m=math.inf), window_m).pmf
    if join_counts == 0.0:
        return TieLoss(1.0, 1.0, prices.first, 0.0)
    most = math.floor(rule.limit / join_counts + 1e-9)
    first = _first_frac(others, rule, most)
    first_tied = _first_frac(np.concatenate(([0.0], others)), rule, most)
    step = prices.first - prices.second
    return TieLoss(
        first, first_tied, prices.second + first * step, max(first - first_tied, 0.0) * step
    )


def _first_frac(pmf: NDArray[np.float64], rule: FirstRule, most: int) -> float:
    """Share of balls with at most so many joins and no piece too short."""
    if rule.min_piece_m > rule.ball_length_m:
        return 0.0
    some = pmf[: most + 1]
    if rule.min_piece_m == 0.0:
        return float(some.sum())
    long_enough = no_piece_under(
        np.arange(some.size, dtype=np.float64),
        rule.ball_length_m + rule.join_length_m,
        rule.min_piece_m + rule.join_length_m,
    )
    return float(some @ long_enough)
