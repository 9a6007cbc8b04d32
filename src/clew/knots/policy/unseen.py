"""What a ball in the making is worth where nothing of the strand before it is seen yet."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.knots.cutting import CutPrices, FirstRule

MOST_ENTRIES = 2_000_000
_CELLS = 200


@dataclass(frozen=True, slots=True)
class UnseenWorth:
    """Relative value of winding on blindly, by what the ball holds.

    Attributes
    ----------
    cell_m : float
        Cell of the table [m].
    value_per_m : float
        Best gain without look-ahead, at which strand is priced [money/m].
    winding_on : array of float, shape (cells + 1, limit + 2, piece cells + 1)
        Worth of winding on with so many cells wound, so many joins (the last: spoilt) and so many
        cells since the last join, over a fresh start [money].
    """

    cell_m: float
    value_per_m: float
    winding_on: NDArray[np.float64]


def _table(
    gain: float, join_chance: float, rule: FirstRule, prices: CutPrices, cells: int, piece: int
) -> NDArray[np.float64]:
    """Worth of winding on, backwards from the full ball, at a given gain per cell."""
    spoilt = rule.limit + 1
    drop = prices.waste_per_m * rule.ball_length_m / cells
    winding = np.full((cells + 1, spoilt + 1, piece + 1), float(prices.second))
    winding[cells, :spoilt, piece] = prices.first
    ahead = winding[cells]
    run = np.minimum(np.arange(piece + 1) + 1, piece)
    for wound in range(cells - 1, -1, -1):
        here = winding[wound]
        here[:spoilt] = (1.0 - join_chance) * ahead[:spoilt, run]
        here[:spoilt] += join_chance * ahead[spoilt, 0]
        # A join far enough from the one before leaves the ball whole, if it is within the limit.
        here[: spoilt - 1, piece] += join_chance * (ahead[1:spoilt, 0] - ahead[spoilt, 0])
        here[spoilt] = ahead[spoilt, 0]
        here -= gain
        ahead = np.maximum(here, -prices.parting - drop * wound)
    return winding


def unseen_worth(
    joins_per_m: float, rule: FirstRule, prices: CutPrices, *, most_cells: int = _CELLS
) -> UnseenWorth:
    """Price a ball in the making by the best policy that sees nothing ahead.

    Parameters
    ----------
    joins_per_m : float
        Joins seen, from all sources [1/m], taken as falling anywhere.
    rule : FirstRule
        When a ball is first-quality.
    prices : CutPrices
        What balls bring and cuts cost.
    most_cells : int
        Cells a ball is cut into at most.

    Returns
    -------
    UnseenWorth
        The table and the gain per metre.

    Notes
    -----
    A ball is cut into 200 cells, fewer where the limit and the least piece are large; a join takes
    the cell it falls in. At the gain where a fresh start is worth nothing more, the table solves
    the optimality equation of the model in `exact.py` with nothing on the belt.
    Source: average-reward optimality equation, MEMORY; form DERIVED.
    """
    from scipy.optimize import brentq

    cells = most_cells
    while cells > 20 and _entries(cells, rule) > MOST_ENTRIES:
        cells //= 2
    cell_m = rule.ball_length_m / cells
    piece = math.ceil(rule.min_piece_m / cell_m - 1e-9)
    join_chance = -math.expm1(-joins_per_m * cell_m)

    def fresh(gain: float) -> float:
        return float(_table(gain, join_chance, rule, prices, cells, piece)[0, 0, 0])

    most = prices.first / cells * (1.0 + 1e-9)  # no rounding may hide the root at the end
    gain = float(brentq(fresh, 0.0, most, xtol=1e-13 * most)) if fresh(0.0) > 0 else 0.0
    return UnseenWorth(cell_m, gain / cell_m, _table(gain, join_chance, rule, prices, cells, piece))


def _entries(cells: int, rule: FirstRule) -> int:
    piece = math.ceil(rule.min_piece_m / rule.ball_length_m * cells)
    return (cells + 1) * (rule.limit + 2) * (piece + 1)
