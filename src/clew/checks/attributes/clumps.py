"""Balls of one cone share its faults, so ten balls of one cone are not ten samples.

A cone with a bad splice setting, a wrong shade or a stretch of weak yarn makes bad balls in a row.
Its share of bad balls is taken to vary from cone to cone by a beta law whose intraclass correlation
is `intraclass`: 0 where balls are independent, 1 where a cone is wholly good or wholly bad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import betabinom, binom

from clew.faults import BadInput, Fault
from clew.strand.given import whole_number

_LEAST_CORRELATION = 1e-9
"""Below this a beta law is too narrow to be told from one fixed share."""


@dataclass(frozen=True, slots=True)
class Clumping:
    """How far the faults of a sample come in cones.

    Attributes
    ----------
    intraclass : float
        Intraclass correlation of being bad, from 0 [1].
    cones : int
        Cones the sample came from.
    balls_per_cone : float
        Balls a cone, weighted by themselves: what a ball of the sample has for company [1].
    design_effect : float
        How many times more balls the sample needs than an independent one [1].
    worth : float
        Independent balls the sample is worth [1].
    """

    intraclass: float
    cones: int
    balls_per_cone: float
    design_effect: float
    worth: float


def _correlation(value: float) -> float:
    if not 0.0 <= value <= 1.0:
        raise BadInput(Fault("not an intraclass correlation", "from 0 to 1", value=f"{value:g}"))
    return float(value)


def design_effect(balls_per_cone: Sequence[int], intraclass: float) -> Clumping:
    """Say what a sample spread over cones is worth.

    Source: L. Kish, "Survey Sampling" (1965), section 5.4, with the size-weighted mean for cones
    that gave unequal numbers.

    Parameters
    ----------
    balls_per_cone : sequence of int
        Balls drawn from each cone.
    intraclass : float
        Intraclass correlation of being bad [1].

    Returns
    -------
    Clumping
        Design effect and what the sample is worth.

    Raises
    ------
    BadInput
        When no ball was drawn, or the correlation is none.
    """
    counts = [whole_number(count, "balls drawn from a cone") for count in balls_per_cone]
    if not counts:
        raise BadInput(Fault("no balls", "a cone that balls were drawn from"))
    rho = _correlation(intraclass)
    total = sum(counts)
    company = sum(count * count for count in counts) / total
    effect = 1.0 + (company - 1.0) * rho
    return Clumping(rho, len(counts), company, effect, total / effect)


def intraclass_of(bad: Sequence[int], drawn: Sequence[int]) -> float:
    """Estimate the intraclass correlation from bad balls by cone (analysis of variance).

    Source: A. Donner, International Statistical Review 54 (1986), the ANOVA estimator; below 0 it
    is taken as 0.

    Parameters
    ----------
    bad, drawn : sequence of int
        Bad balls and balls looked at, cone by cone.

    Returns
    -------
    float
        From 0 to 1 [1].

    Raises
    ------
    BadInput
        When fewer than two cones were seen, none more than once, or all balls were alike.
    """
    x = np.array([whole_number(one, "bad balls of a cone", low=0) for one in bad], dtype=np.float64)
    m = np.array([whole_number(one, "balls of a cone") for one in drawn], dtype=np.float64)
    if len(x) != len(m) or np.any(x > m):
        raise BadInput(Fault("more bad balls than were drawn", "bad and drawn, cone by cone"))
    cones, total = len(m), float(m.sum())
    if cones < 2 or total <= cones:
        raise BadInput(
            Fault("too little to see what cones share", "two cones, and several balls of one")
        )
    share = float(x.sum()) / total
    if share in (0.0, 1.0):
        raise BadInput(Fault("all balls alike", "good and bad balls among them"))
    between = float((m * (x / m - share) ** 2).sum()) / (cones - 1)
    within = float((x * (1.0 - x / m)).sum()) / (total - cones)
    size = (total - float((m * m).sum()) / total) / (cones - 1)
    rho = (between - within) / (between + (size - 1.0) * within)
    return min(max(rho, 0.0), 1.0)


def clumped_chance(
    cones: int, balls_per_cone: int, accept: int, bad_frac: ArrayLike, intraclass: float
) -> NDArray[np.float64]:
    """Take the chance that a lot is accepted where balls of a cone share its faults.

    Exact: the sum over cones of beta-binomial numbers of bad balls.

    Parameters
    ----------
    cones : int
        Cones the sample comes from.
    balls_per_cone : int
        Balls drawn from each.
    accept : int
        Most bad balls at which the lot is accepted.
    bad_frac : array of float
        Share of bad balls in the lot [1].
    intraclass : float
        Intraclass correlation [1].

    Returns
    -------
    array of float
        In the shape of `bad_frac` [1].

    Raises
    ------
    BadInput
        When a number cannot be meant.
    """
    cones = whole_number(cones, "cones")
    each = whole_number(balls_per_cone, "balls of a cone")
    accept = whole_number(accept, "balls that may be bad", low=0)
    rho = _correlation(intraclass)
    shares = np.asarray(bad_frac, dtype=np.float64)
    if not np.all((shares >= 0.0) & (shares <= 1.0)):
        raise BadInput(Fault("not a share of bad balls", "from 0 to 100 %"))
    found = [_clumped(cones, each, accept, float(share), rho) for share in shares.ravel()]
    return np.array(found, dtype=np.float64).reshape(shares.shape)


def _clumped(cones: int, each: int, accept: int, share: float, rho: float) -> float:
    if share in (0.0, 1.0):
        return float(share == 0.0 or accept >= cones * each)
    if rho < _LEAST_CORRELATION:
        return float(binom.cdf(accept, cones * each, share))
    if rho == 1.0:
        return float(binom.cdf(accept // each, cones, share))
    spread = (1.0 - rho) / rho
    one = betabinom.pmf(np.arange(each + 1), each, share * spread, (1.0 - share) * spread)
    # What passes `accept` bad balls can be forgotten: it only grows.
    total = np.zeros(accept + 1)
    total[0] = 1.0
    for _ in range(cones):
        total = np.convolve(total, one[: accept + 1])[: accept + 1]
    return min(math.fsum(total), 1.0)


def balls_needed(n: int, balls_per_cone: int, intraclass: float) -> int:
    """Say how many balls stand for `n` independent ones, drawn so many from each cone.

    Parameters
    ----------
    n : int
        Balls of a plan that takes them to be independent.
    balls_per_cone : int
        Balls drawn from each cone.
    intraclass : float
        Intraclass correlation [1].

    Returns
    -------
    int
        Balls to draw.

    Raises
    ------
    BadInput
        When a number cannot be meant.
    """
    n = whole_number(n, "balls drawn")
    each = whole_number(balls_per_cone, "balls of a cone")
    return math.ceil(n * (1.0 + (each - 1) * _correlation(intraclass)) - 1e-9)
