"""The law of knots per ball: the chance of 0, 1, 2, ... joins in a ball of a given length."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.mixture import on_cones
from clew.knots.renewal import Cones, stationary_ties
from clew.knots.sources import Sources
from clew.languages import say

Array = NDArray[np.float64]

MOST_MEAN = 200.0
MOST_BALLS_ON = 1000
_FORGOTTEN = 1e-15


@dataclass(frozen=True, slots=True)
class KnotLaw:
    """How many joins a ball holds.

    Attributes
    ----------
    sources : Sources
        Where they come from, on the ball's basis.
    ball_length_m : float
        Length of the ball [m].
    ball_number : int or None
        Which ball since a cone's start; None for a ball that starts anywhere.
    pmf : array, shape (n,)
        Chances of 0, 1, 2, ... joins.
    """

    sources: Sources
    ball_length_m: float
    ball_number: int | None
    pmf: Array

    @property
    def mean(self) -> float:
        """Mean joins per ball, from the chances."""
        return float(self.pmf @ np.arange(self.pmf.size))

    @property
    def variance(self) -> float:
        """Variance of joins per ball."""
        return float(self.pmf @ (np.arange(self.pmf.size) - self.mean) ** 2)

    @property
    def mean_pieces(self) -> float:
        """Mean pieces per ball: one more than its joins."""
        return self.mean + 1.0

    @property
    def mean_by_source(self) -> dict[str, float]:
        """Mean joins per ball, by source.

        For a ball that starts anywhere each is an intensity times the length; for one at a given
        place after a cone's start the cone ties are what the others leave of the mean.
        """
        means = {
            name: rate * self.ball_length_m for name, rate in self.sources.intensities_per_m.items()
        }
        if self.ball_number is not None:
            others = sum(mean for name, mean in means.items() if name != "cone_ties")
            means["cone_ties"] = max(self.mean - others, 0.0)
        return means

    def more_than(self, joins: int) -> float:
        """Chance of more than so many joins, summed from the far end so that small ones hold."""
        return min(float(self.pmf[:joins:-1].sum() if joins >= 0 else 1.0), 1.0)


def knot_law(sources: Sources, ball_length_m: float, *, ball_number: int | None = None) -> KnotLaw:
    """Work out the exact law of joins in a ball.

    Parameters
    ----------
    sources : Sources
        Where joins come from, per metre after steam.
    ball_length_m : float
        Length of the ball, after steam [m].
    ball_number : int or None
        None: the ball starts anywhere on the strand (stationary phase). A number from 1: the ball
        is the first, second, ... after a cone's start, and the tie at that start is not in it.

    Returns
    -------
    KnotLaw
        Chances of each number of joins, with moments and tails.

    Raises
    ------
    BadInput
        When the length or the ball number cannot be used, or the mean is beyond 200 joins.

    Notes
    -----
    Cone lengths are gamma distributed and independent, break rates are gamma from cone to cone and
    independent of cone length, ties of colours stand one run apart with the ball anywhere among
    them, everything else is Poisson. Exact to rounding for a ball that starts
    anywhere, where all cones have one rate, or no spread, or none is shorter than the ball; also at
    a known place without spread. Else cone lengths stand on a lattice of up to 1024 cells a ball,
    which keeps the mean and moves a chance by some 1e-5 at most (lattices of twice as many cells,
    COMPUTED). Source: DERIVED.
    """
    _check(sources, ball_length_m, ball_number)
    cones = Cones(sources.cone_length_m, sources.cone_cv)
    even = math.isinf(sources.dispersion) or sources.breaks_per_m == 0.0
    if even and ball_number is None:
        pmf = stationary_ties(cones, ball_length_m)
    else:
        breaks = 0.0 if even else sources.breaks_per_m
        pmf = on_cones(cones, ball_length_m, breaks, sources.dispersion, ball_number)
    pmf = np.convolve(pmf, _scattered(sources.scattered_per_m * ball_length_m))
    if sources.colour_ties_per_m > 0.0:
        runs = Cones(1.0 / sources.colour_ties_per_m, 0.0)
        pmf = np.convolve(pmf, stationary_ties(runs, ball_length_m))
    tail = np.cumsum(pmf[::-1])[::-1]
    kept = max(int(np.count_nonzero(tail > _FORGOTTEN)), 1)
    pmf = pmf[:kept].copy()
    pmf.setflags(write=False)
    return KnotLaw(sources, ball_length_m, ball_number, pmf)


def _scattered(mean: float) -> Array:
    """Poisson chances as far out as they matter."""
    if mean == 0.0:
        return np.ones(1)
    from scipy.special import gammaln

    numbers = np.arange(math.ceil(mean + 9.0 * math.sqrt(mean) + 25.0))
    return np.asarray(np.exp(numbers * math.log(mean) - mean - gammaln(numbers + 1.0)))


def _check(sources: Sources, ball_length_m: float, ball_number: int | None) -> None:
    if not (0.0 < ball_length_m < math.inf):
        raise BadInput(
            Fault(
                say("not a length"),
                expected=say("a length above 0 m"),
                key="ball_length_m",
                value=f"{ball_length_m:g}",
            )
        )
    if ball_number is not None and not 1 <= ball_number <= MOST_BALLS_ON:
        raise BadInput(
            Fault(
                say("out of range"),
                expected=say("a number from 1 to {most}", most=MOST_BALLS_ON),
                key="ball_number",
                value=str(ball_number),
            )
        )
    mean = ball_length_m * sum(sources.intensities_per_m.values())
    if mean > MOST_MEAN:
        raise BadInput(
            Fault(
                say("too many joins in one ball"),
                expected=say(
                    "a mean of at most {most:g}: check the units of rates and lengths",
                    most=MOST_MEAN,
                ),
                key="ball_length_m",
                value=say("a mean of {mean:g}", mean=mean),
            )
        )
