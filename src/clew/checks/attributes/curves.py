"""What a plan does with lots of any quality: chance of acceptance, balls looked at, what goes out.

Every figure is exact: hypergeometric for a lot of known size, binomial for an endless one.
Rejected lots are taken to be looked through whole and their bad balls replaced (the usual meaning
of outgoing quality and of total inspection).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq, minimize_scalar
from scipy.stats import binom, hypergeom

from clew.checks.attributes.plans import AttributePlan, check_fits
from clew.faults import BadInput, Fault

Numbers = NDArray[np.float64]

_GRID = 400
"""Qualities tried before the worst outgoing one is looked for closely."""


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """What a plan does with lots of one quality.

    Attributes
    ----------
    bad_frac : float
        Share of bad balls in the lot [1].
    accepted : float
        Chance that the lot is accepted [1].
    drawn_mean : float
        Balls drawn on average [1].
    curtailed_mean : float
        The same where drawing stops as soon as the lot must be rejected [1].
    outgoing_frac : float
        Share of bad balls that goes out, rejected lots sorted [1].
    inspected_mean : float or None
        Balls looked at a lot on average, sorting included [1]; None for an endless lot.
    """

    bad_frac: float
    accepted: float
    drawn_mean: float
    curtailed_mean: float
    outgoing_frac: float
    inspected_mean: float | None


def bad_balls(bad_frac: ArrayLike, lot_size: int) -> NDArray[np.int64]:
    """Take the number of bad balls of a lot nearest to a share.

    Parameters
    ----------
    bad_frac : array of float
        Share of bad balls [1].
    lot_size : int
        Balls in the lot.
    """
    return np.asarray(np.rint(np.asarray(bad_frac, dtype=np.float64) * lot_size), dtype=np.int64)


def _checked(bad_frac: ArrayLike) -> Numbers:
    share = np.asarray(bad_frac, dtype=np.float64)
    if not np.all((share >= 0.0) & (share <= 1.0)):
        raise BadInput(Fault("not a share of bad balls", "from 0 to 100 %"))
    return share


def _at_most(found: int, n: int, share: Numbers, lot_size: int | None) -> Numbers:
    """Chance of at most so many bad of n."""
    if lot_size is None:
        return np.asarray(binom.cdf(found, n, share), dtype=np.float64)
    return np.asarray(
        hypergeom.cdf(found, lot_size, bad_balls(share, lot_size), n), dtype=np.float64
    )


def _exactly(found: int, n: int, share: Numbers, lot_size: int | None) -> Numbers:
    if lot_size is None:
        return np.asarray(binom.pmf(found, n, share), dtype=np.float64)
    return np.asarray(
        hypergeom.pmf(found, lot_size, bad_balls(share, lot_size), n), dtype=np.float64
    )


def _at_most_then(
    found: int, first: int, first_n: int, n: int, share: Numbers, lot_size: int | None
) -> Numbers:
    """Chance of at most so many bad in a second drawing after `first` bad in the first."""
    if lot_size is None:
        return np.asarray(binom.cdf(found, n, share), dtype=np.float64)
    left = np.maximum(bad_balls(share, lot_size) - first, 0)
    # What cannot have happened (more bad in the first than the lot has) has no weight outside.
    left = np.minimum(left, lot_size - first_n)
    return np.asarray(hypergeom.cdf(found, lot_size - first_n, left, n), dtype=np.float64)


def chances(
    plan: AttributePlan, bad_frac: ArrayLike, lot_size: int | None = None
) -> tuple[Numbers, Numbers, Numbers]:
    """Take the chances of accepting at once, of a second drawing, and of accepting after it.

    Parameters
    ----------
    plan : AttributePlan
        The plan.
    bad_frac : array of float
        Share of bad balls in the lot [1]; with a lot size, the nearest whole number of balls.
    lot_size : int or None
        Balls in the lot; None where it is endless.

    Returns
    -------
    (array, array, array) of float
        In the shape of `bad_frac` [1].

    Raises
    ------
    BadInput
        When a share is none, or the plan draws more than the lot has.
    """
    share = _checked(bad_frac)
    check_fits(plan, lot_size)
    first = plan.stages[0]
    at_once = _at_most(first.accept, first.drawn, share, lot_size)
    later = np.zeros_like(at_once)
    again = np.zeros_like(at_once)
    if plan.second_n:
        for found in range(first.accept + 1, first.reject):
            here = _exactly(found, first.drawn, share, lot_size)
            again = again + here
            later = later + here * _at_most_then(
                plan.stages[1].accept - found,
                found,
                first.drawn,
                plan.second_n,
                share,
                lot_size,
            )
    return at_once, again, later


def chance_accepted(
    plan: AttributePlan, bad_frac: ArrayLike, lot_size: int | None = None
) -> Numbers:
    """Take the operating characteristic: the chance that a lot is accepted.

    Parameters
    ----------
    plan : AttributePlan
        The plan.
    bad_frac : array of float
        Share of bad balls in the lot [1].
    lot_size : int or None
        Balls in the lot; None where it is endless.

    Returns
    -------
    array of float
        In the shape of `bad_frac` [1].

    Raises
    ------
    BadInput
        When a share is none, or the plan draws more than the lot has.
    """
    at_once, _, later = chances(plan, bad_frac, lot_size)
    return np.minimum(at_once + later, 1.0)


def _until(reject: int, n: int, share: Numbers, lot_size: int | None) -> Numbers:
    """Balls drawn, at most n, when drawing stops at the bad ball that makes up `reject`.

    t draws ending in the r-th bad ball are, times t, the draws of one ball more that end in the
    (r + 1)-th: so the mean needs no sum over t.
    """
    still = n * _at_most(reject - 1, n, share, lot_size)
    if lot_size is None:
        wait = np.divide(reject, share, out=np.zeros_like(share), where=share > 0.0)
        return np.asarray(still + wait * binom.sf(reject, n + 1, share))
    bad = bad_balls(share, lot_size)
    wait = reject * (lot_size + 1.0) / (bad + 1.0)
    return np.asarray(still + wait * hypergeom.sf(reject, lot_size + 1, bad + 1, n + 1))


def _curtailed(plan: AttributePlan, share: Numbers, lot_size: int | None) -> Numbers:
    """Balls drawn when drawing stops as soon as the lot must be rejected.

    Of a double plan the first drawing is always finished.
    """
    first = plan.stages[0]
    if not plan.second_n:
        return _until(first.reject, first.drawn, share, lot_size)
    more = np.zeros_like(share)
    for found in range(first.accept + 1, first.reject):
        left, size = share, lot_size
        if lot_size is not None:
            size = lot_size - first.drawn
            bad = np.maximum(bad_balls(share, lot_size) - found, 0)
            left = np.minimum(bad, size) / size
        still = _until(plan.stages[1].reject - found, plan.second_n, left, size)
        more = more + _exactly(found, first.drawn, share, lot_size) * still
    return first.drawn + more


def curve(
    plan: AttributePlan, bad_frac: Sequence[float], lot_size: int | None = None
) -> list[CurvePoint]:
    """Say what a plan does with lots of several qualities.

    Parameters
    ----------
    plan : AttributePlan
        The plan.
    bad_frac : sequence of float
        Shares of bad balls [1].
    lot_size : int or None
        Balls in the lot; None where it is endless.

    Returns
    -------
    list of CurvePoint
        In the order of the shares; each names the share that the lot's whole balls come to.

    Raises
    ------
    BadInput
        When a share is none, or the plan draws more than the lot has.
    """
    share = _checked(bad_frac)
    at_once, again, later = chances(plan, share, lot_size)
    accepted = np.minimum(at_once + later, 1.0)
    drawn = plan.first_n + plan.second_n * again
    stopped = _curtailed(plan, share, lot_size)
    exact = share if lot_size is None else bad_balls(share, lot_size) / lot_size
    outgoing = _outgoing(plan, exact, lot_size)
    looked: list[float | None] = [None] * len(share)
    if lot_size is not None:
        mean = plan.first_n * at_once + plan.most_n * later + lot_size * (1.0 - accepted)
        looked = [float(one) for one in mean]
    return [
        CurvePoint(float(p), float(pa), float(asn), float(cut), float(out), ati)
        for p, pa, asn, cut, out, ati in zip(
            exact, accepted, drawn, stopped, outgoing, looked, strict=True
        )
    ]


def _left_in(accept: int, n: int, bad: NDArray[np.int64], lot_size: int) -> Numbers:
    """Mean bad balls left in a lot that is accepted, 0 for one that is not.

    Of `bad` balls X are found and replaced. A found ball is one that is drawn, and the rest of the
    sample then comes from a lot one smaller: so the mean of X needs no sum over X.
    """
    share = hypergeom.cdf(accept, lot_size, bad, n)
    if accept > 0 and lot_size > 1:
        fewer = np.maximum(bad - 1, 0)
        share = share - n / lot_size * hypergeom.cdf(accept - 1, lot_size - 1, fewer, n - 1)
    return np.asarray(bad * share, dtype=np.float64)


def _outgoing(plan: AttributePlan, share: Numbers, lot_size: int | None) -> Numbers:
    """Share of bad balls that goes out."""
    if lot_size is None:
        return share * chance_accepted(plan, share)
    first = plan.stages[0]
    bad = bad_balls(share, lot_size)
    left = _left_in(first.accept, first.drawn, bad, lot_size)
    if plan.second_n:
        size = lot_size - first.drawn
        for found in range(first.accept + 1, first.reject):
            rest = np.clip(bad - found, 0, size)
            left = left + _exactly(found, first.drawn, share, lot_size) * _left_in(
                plan.stages[1].accept - found, plan.second_n, rest, size
            )
    return left / lot_size


def worst_outgoing(plan: AttributePlan, lot_size: int | None = None) -> tuple[float, float]:
    """Find the average outgoing quality limit: the worst that goes out, whatever comes in.

    Parameters
    ----------
    plan : AttributePlan
        The plan.
    lot_size : int or None
        Balls in the lot; None where it is endless.

    Returns
    -------
    (float, float)
        The limit, and the share of bad balls coming in at which it is reached [1].

    Raises
    ------
    BadInput
        When the plan draws more than the lot has.
    """

    def outgoing(share: ArrayLike) -> Numbers:
        return _outgoing(plan, np.asarray(share, dtype=np.float64), lot_size)

    check_fits(plan, lot_size)
    if lot_size is not None:
        # Whole balls: a coarse look, then closer ones around the best, down to every number.
        low, high = 0, lot_size
        while True:
            step = max(1, (high - low) // _GRID)
            bad = np.arange(low, high + 1, step)
            found = outgoing(bad / lot_size)
            top = int(np.argmax(found))
            if step == 1:
                return float(found[top]), float(bad[top] / lot_size)
            low, high = max(0, int(bad[top]) - step), min(lot_size, int(bad[top]) + step)
    # The peak lies near (accept + 1) / n, so the grid is laid in units of that, not of 1.
    shares = np.minimum(
        np.linspace(0.0, 4.0 * (plan.stages[-1].accept + 1.0) / plan.first_n, _GRID), 1.0
    )
    best = int(np.argmax(outgoing(shares)))
    ends = (shares[max(best - 1, 0)], shares[min(best + 1, _GRID - 1)])
    sought = minimize_scalar(
        lambda share: -float(outgoing(share)),
        bounds=ends,
        method="bounded",
        options={"xatol": 1e-12},
    )
    peak = max(float(sought.x), float(shares[best]), key=lambda share: float(outgoing(share)))
    return float(outgoing(peak)), peak


def share_accepted_at(plan: AttributePlan, chance: float) -> float:
    """Find the share of bad balls at which a plan accepts with a given chance, in endless lots.

    Parameters
    ----------
    plan : AttributePlan
        The plan.
    chance : float
        Chance of acceptance, above 0 and below 1 [1].

    Returns
    -------
    float
        Share of bad balls [1].

    Raises
    ------
    BadInput
        When the chance is none.
    """
    if not 0.0 < chance < 1.0:
        raise BadInput(Fault("not a chance", "above 0 and below 100 %", value=f"{chance:g}"))
    return float(
        brentq(lambda share: float(chance_accepted(plan, share)) - chance, 0.0, 1.0, xtol=1e-14)
    )
