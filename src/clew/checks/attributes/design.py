"""The smallest plan that keeps two promises: good lots pass, bad lots do not.

The producer's point is a share of bad balls that should pass, and the risk that it does not; the
consumer's a share that should fail, and the risk that it passes. Both are kept exactly, not by a
normal or Poisson nearness. In a lot of known size a good lot has the share rounded down to whole
balls and a bad one rounded up, so that the promise holds for the shares as written.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom, hypergeom

from clew.checks.attributes.plans import AttributePlan, check_lot, double_plan, single_plan
from clew.faults import BadInput, Fault

Whole = NDArray[np.int64]

MOST_SOUGHT = 100_000
"""Balls beyond which no plan is sought: the two shares are then too near to tell apart."""
_MOST_DOUBLE = 30
"""Bad balls a single plan may accept at which a double one is still sought."""
_TOLERANCE = 1e-12


@dataclass(frozen=True, slots=True)
class Points:
    """What a plan must keep.

    Attributes
    ----------
    good_frac : float
        Share of bad balls in a lot that should pass [1].
    producer_risk_frac : float
        Most chance that it is rejected [1].
    bad_frac : float
        Share of bad balls in a lot that should fail [1].
    consumer_risk_frac : float
        Most chance that it is accepted [1].
    lot_size : int or None
        Balls in the lot; None where it is endless.
    """

    good_frac: float
    producer_risk_frac: float
    bad_frac: float
    consumer_risk_frac: float
    lot_size: int | None = None

    def __post_init__(self) -> None:
        faults = [
            Fault("not a risk", "above 0 and below 50 %", key=name, value=f"{100 * risk:g} %")
            for name, risk in (
                ("producer's risk", self.producer_risk_frac),
                ("consumer's risk", self.consumer_risk_frac),
            )
            if not 0.0 < risk < 0.5
        ]
        if not 0.0 <= self.good_frac < self.bad_frac <= 1.0:
            faults.append(
                Fault(
                    "a good lot that is no better than a bad one",
                    expected="less bad in a good lot than in a bad one, from 0 to 100 %",
                    value=f"{100 * self.good_frac:g} % and {100 * self.bad_frac:g} %",
                )
            )
        if faults:
            raise BadInput(faults)
        if self.lot_size is not None:
            check_lot(self.lot_size)

    @property
    def good_exact(self) -> float:
        """Share of bad balls in the good lot, in whole balls [1]."""
        if self.lot_size is None:
            return self.good_frac
        return math.floor(self.good_frac * self.lot_size + 1e-9) / self.lot_size

    @property
    def bad_exact(self) -> float:
        """Share of bad balls in the bad lot, in whole balls [1]."""
        if self.lot_size is None:
            return self.bad_frac
        return math.ceil(self.bad_frac * self.lot_size - 1e-9) / self.lot_size


def _accepts(accept: Whole, n: Whole, share: float, lot_size: int | None) -> NDArray[np.float64]:
    if lot_size is None:
        return np.asarray(binom.cdf(accept, n, share), dtype=np.float64)
    return np.asarray(hypergeom.cdf(accept, lot_size, round(share * lot_size), n), dtype=np.float64)


def _least_n(accept: Whole, points: Points, most: int) -> Whole:
    """Fewest balls, for each number that may be bad, at which the bad lot's risk is kept.

    `most + 1` where there is no such number.
    """
    low = accept.copy()  # drawing as many as may be bad accepts every lot
    high = np.full_like(accept, most + 1)
    while np.any(high - low > 1):
        middle = (low + high) // 2
        kept = (
            _accepts(accept, np.minimum(middle, most), points.bad_exact, points.lot_size)
            <= points.consumer_risk_frac + _TOLERANCE
        )
        high = np.where(kept, middle, high)
        low = np.where(kept, low, middle)
    return high


def design_single(points: Points) -> AttributePlan:
    """Find the plan of one drawing with the fewest balls.

    Parameters
    ----------
    points : Points
        What it must keep.

    Returns
    -------
    AttributePlan
        The plan; of those with as many balls, the one that accepts at fewest bad.

    Raises
    ------
    BadInput
        When no plan up to 100 000 balls keeps both risks.
    """
    return _single(points)


@lru_cache(maxsize=64)
def _single(points: Points) -> AttributePlan:
    most = MOST_SOUGHT if points.lot_size is None else min(points.lot_size, MOST_SOUGHT)
    first, block = 0, 32
    while first < most:
        accept = np.arange(first, min(first + block, most), dtype=np.int64)
        n = _least_n(accept, points, most)
        there = n <= most
        good = _accepts(accept, np.minimum(n, most), points.good_exact, points.lot_size)
        kept = there & (good >= 1.0 - points.producer_risk_frac - _TOLERANCE)
        if np.any(kept):
            at = int(np.argmax(kept))
            return single_plan(int(n[at]), int(accept[at]))
        if not np.any(there):
            break
        first, block = first + block, min(2 * block, 4096)
    raise BadInput(
        Fault(
            "no plan tells such lots apart",
            expected=f"shares further apart, greater risks, or more than {most} balls to draw",
            value=f"{100 * points.good_frac:g} % and {100 * points.bad_frac:g} %",
        )
    )


def design_zero(points: Points) -> AttributePlan:
    """Find the plan that accepts at no bad ball and keeps the consumer's risk.

    The producer's risk is not asked of it: `curve` says what it is.

    Parameters
    ----------
    points : Points
        What it must keep.

    Returns
    -------
    AttributePlan
        The plan.

    Raises
    ------
    BadInput
        When no plan up to 100 000 balls keeps the consumer's risk.
    """
    most = MOST_SOUGHT if points.lot_size is None else min(points.lot_size, MOST_SOUGHT)
    n = int(_least_n(np.array([0], dtype=np.int64), points, most)[0])
    if n > most:
        raise BadInput(
            Fault(
                "no plan keeps the consumer's risk",
                expected=f"a greater share or risk, or more than {most} balls to draw",
                value=f"{100 * points.bad_frac:g} %",
            )
        )
    return single_plan(n, 0)


def design_double(points: Points) -> AttributePlan:
    """Find the plan of two equal drawings that draws fewest balls from good lots on average.

    The first drawing rejects at as many bad balls as both together would.

    Parameters
    ----------
    points : Points
        What it must keep.

    Returns
    -------
    AttributePlan
        The plan.

    Raises
    ------
    BadInput
        When there is none, or the single plan already accepts at more than 30 bad balls.
    """
    single = design_single(points)
    accept = single.stages[0].accept
    if accept > _MOST_DOUBLE:
        raise BadInput(
            Fault(
                "too large a plan for two drawings",
                expected=f"shares further apart: a single plan accepting at {_MOST_DOUBLE} or "
                "fewer bad balls",
                value=f"{single.most_n} balls, {accept} bad",
            )
        )
    best: tuple[float, int, AttributePlan] | None = None
    for both in range(max(accept - 1, 1), accept + 4):
        for first in range(both):
            n = _least_double(first, both, points, 2 * single.most_n)
            if n is None or (best is not None and n >= best[0]):
                continue
            at_once, again, later = _double_chances(
                n, first, both, points.good_exact, points.lot_size
            )
            if at_once + later < 1.0 - points.producer_risk_frac - _TOLERANCE:
                continue
            drawn = n * (1.0 + again)
            if best is None or (drawn, 2 * n) < best[:2]:
                best = (drawn, 2 * n, double_plan(n, first, both + 1, n, both))
    if best is None:
        raise BadInput(
            Fault(
                "no plan of two equal drawings keeps both risks",
                expected="a plan of one drawing, or a larger lot",
            )
        )
    return best[2]


def _double_chances(
    n: int, first: int, both: int, share: float, lot_size: int | None
) -> tuple[float, float, float]:
    """Chances of accepting at once, of drawing again, and of accepting then; n balls each time."""
    between = np.arange(first + 1, both + 1)
    if lot_size is None:
        upto = binom.cdf(np.arange(first, both + 1), n, share)
        then = np.asarray(binom.cdf(both - between, n, share))
    else:
        bad = round(share * lot_size)
        left = np.clip(bad - between, 0, lot_size - n)
        upto = hypergeom.cdf(np.arange(first, both + 1), lot_size, bad, n)
        then = np.asarray(hypergeom.cdf(both - between, lot_size - n, left, n))
    at_once, here = upto[0], np.diff(upto)
    return float(at_once), float(here.sum()), float((here * then).sum())


def _least_double(first: int, both: int, points: Points, most_first: int) -> int | None:
    """Fewest balls in each of two drawings at which the bad lot's risk is kept."""
    most = most_first if points.lot_size is None else min(most_first, points.lot_size // 2)
    low, high = both // 2, most + 1  # so few balls in all accept every lot
    while high - low > 1:
        middle = (low + high) // 2
        at_once, _, later = _double_chances(middle, first, both, points.bad_exact, points.lot_size)
        if at_once + later <= points.consumer_risk_frac + _TOLERANCE:
            high = middle
        else:
            low = middle
    return high if high <= most else None
