"""A lot of so many cones started on a ball's head: balls with a tie, and where ties lie."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.cone_size import (
    balls_on,
    check_cones,
    span_m,
)
from clew.knots.cone_size_even import WHOLE, even_turns
from clew.knots.cone_size_near import gauss_points, wrapped_density
from clew.knots.renewal import Cones

Array = NDArray[np.float64]

MOST_LOT_CONES = 2000
_NO_SHORT_CONE = 1e-13
_LEAST_POINTS = 60
_POINTS_PER_SD = 5.0


@dataclass(frozen=True, slots=True)
class ConeLot:
    """A lot wound straight on from a ball's head.

    Attributes
    ----------
    cones : Cones
        Lengths of the cones, after steam.
    ball_length_m : float
        Length of a ball, after steam [m].
    near_m : float
        How near a ball's end counts as near [m].
    balls : float
        Mean whole balls in the lot.
    tied : float
        Mean of those with a cone tie inside.
    near_end : array, shape (cones - 1,)
        Chance that the first, second, ... tie lies within ``near_m`` of a ball's end.
    """

    cones: Cones
    ball_length_m: float
    near_m: float
    balls: float
    tied: float
    near_end: Array

    @property
    def tied_share(self) -> float:
        """Share of the lot's balls with a tie inside: mean of one over mean of the other."""
        return self.tied / self.balls if self.balls > 0.0 else 0.0

    @property
    def near_share(self) -> float:
        """Mean share of the lot's ties near a ball's end."""
        return float(self.near_end.mean()) if self.near_end.size else 0.0

    @property
    def near_share_anywhere(self) -> float:
        """The same for ties that have forgotten where the lot started."""
        return min(2.0 * self.near_m / self.ball_length_m, 1.0)


def lot_of_cones(cones: Cones, ball_length_m: float, lot_cones: int, near_m: float) -> ConeLot:
    """Wind so many cones straight on, ball 1 starting at cone 1's head.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones, after steam.
    ball_length_m : float
        Length of a ball, after steam [m].
    lot_cones : int
        Cones in the lot, from 1 to 2000.
    near_m : float
        How near a ball's end counts as near [m], at most half a ball.

    Returns
    -------
    ConeLot
        Exact means.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    So many cones tied together are gamma distributed with so many times the shape. A tie exactly on
    a ball's end is in neither ball; with a spread that has no chance. A ball with ties counts at
    its last one, unless the next cone does not finish it; that is integrated on Gauss-Legendre
    points where a cone may be shorter than a ball. Source: DERIVED.
    """
    check_cones(cones, ball_length_m)
    faults = []
    if not 1 <= lot_cones <= MOST_LOT_CONES:
        faults.append(
            Fault("out of range", f"1 to {MOST_LOT_CONES}", key="lot_cones", value=str(lot_cones))
        )
    if not 0.0 <= near_m <= 0.5 * ball_length_m:
        faults.append(
            Fault("out of range", "0 m to half a ball", key="near_m", value=f"{near_m:g}")
        )
    if faults:
        raise BadInput(faults)
    together = Cones(lot_cones * cones.mean_m, cones.cv / math.sqrt(lot_cones))
    ties = range(1, lot_cones)
    near = np.array([_near(cones, ball_length_m, near_m, tie) for tie in ties])
    near.setflags(write=False)
    if cones.cv == 0.0:
        tied = _tied_even(cones.mean_m, ball_length_m, lot_cones)
    else:
        tied = sum(_finished(cones, ball_length_m, tie) for tie in ties)
    balls = float(balls_on(together, ball_length_m))
    return ConeLot(cones, ball_length_m, near_m, balls, float(tied), near)


def _tied_even(cone_m: float, ball_m: float, lot_cones: int) -> float:
    turns = even_turns(cone_m, ball_m, lot_cones)
    rounds, rest = divmod(lot_cones, len(turns))
    return float(rounds * turns[-1].tied + (turns[rest - 1].tied if rest else 0))


def _finished(cones: Cones, ball_m: float, tie: int) -> float:
    """Chance that the ball in which a tie falls is finished by the next cone."""
    from scipy.special import gammainc

    scale = cones.shape / cones.mean_m
    if gammainc(cones.shape, ball_m * scale) < _NO_SHORT_CONE:
        return 1.0
    so_far = Cones(tie * cones.mean_m, cones.cv / math.sqrt(tie))
    points = int(_LEAST_POINTS + _POINTS_PER_SD * ball_m / (cones.cv * cones.mean_m))
    unit, weight = gauss_points(points)
    place = ball_m * unit
    short = gammainc(cones.shape, (ball_m - place) * scale)
    density = wrapped_density(so_far, ball_m, place)
    return 1.0 - float(np.sum(weight * density * short)) * ball_m


def _near(cones: Cones, ball_m: float, near_m: float, tie: int) -> float:
    """Chance that a tie lies within so much of a ball's end, on either side."""
    from scipy.special import gammainc

    if cones.cv == 0.0:
        off = math.remainder(tie * cones.mean_m, ball_m)
        return 1.0 if abs(off) <= near_m + WHOLE * tie * cones.mean_m else 0.0
    so_far = Cones(tie * cones.mean_m, cones.cv / math.sqrt(tie))
    low, high = span_m(so_far)
    ends = np.arange(math.floor(low / ball_m), math.ceil(high / ball_m) + 2) * ball_m
    scale = so_far.shape / so_far.mean_m
    above = gammainc(so_far.shape, (ends + near_m) * scale)
    below = gammainc(so_far.shape, np.maximum(ends - near_m, 0.0) * scale)
    return float((above - below).sum())
