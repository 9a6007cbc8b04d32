"""The chance that a lot passes, exactly, where its balls are independent and normal.

Where balls share cones and winders there is no closed form: `clew.checks.target.inspected` draws.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from clew.checks.packages.plan import Plan, Stage
from clew.faults import BadInput, Fault

_Weights = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Passing:
    """The chance to pass one plan.

    Attributes
    ----------
    average, individual : float
        Chance to meet the average, and the individual requirement (far short balls with it) [-].
    low, high : float
        Bounds of the chance to meet both, whatever their dependence (Frechet) [-].
    """

    average: float
    individual: float
    low: float
    high: float


def _check(plan: Plan, mean: float, sd: float, lot_size: int | None) -> None:
    if not (math.isfinite(mean) and math.isfinite(sd) and sd >= 0.0):
        raise BadInput(
            Fault("not a mean and a spread", "numbers, the spread 0 or more", value=f"{mean}, {sd}")
        )
    if lot_size is not None and lot_size < plan.n_most:
        raise BadInput(
            Fault(
                "a lot smaller than the sample",
                expected=f"{plan.n_most} balls or more",
                value=str(lot_size),
            )
        )


def average_pass(plan: Plan, mean: float, sd: float, lot_size: int | None = None) -> float:
    """Chance that the sample's average passes.

    Parameters
    ----------
    plan : Plan
        What is asked.
    mean, sd : float
        True mean and standard deviation of the lot's balls [g or m].
    lot_size : int or None
        Balls in the lot when mean and sd are those of the lot itself, drawn from without putting
        back; None for the process it comes from.

    Returns
    -------
    float
        Probability [-].

    Raises
    ------
    BadInput
        When a number is not usable or the lot is smaller than the sample.

    Notes
    -----
    xbar + k s >= F: with v = 1 - n/N (1 for a process), Z = (xbar - mean)/(sd sqrt(v/n)) and
    chi = s/sd it reads (Z + delta)/chi >= -k sqrt(n/v), delta = (mean - F)/(sd sqrt(v/n)): a
    noncentral t with n - 1 degrees. Source: Johnson, Kotz and Balakrishnan, MEMORY. For a finite
    lot the spread of s is taken as that of a process, which is a little wide.
    """
    from scipy.special import nctdtr, ndtr

    _check(plan, mean, sd, lot_size)
    n = plan.average_n
    if n == 0:
        return 1.0
    left = 1.0 if lot_size is None else 1.0 - n / lot_size
    if sd == 0.0 or left <= 0.0:
        return 1.0 if mean + plan.factor * sd >= plan.floor else 0.0
    shift = (mean - plan.floor) / (sd * math.sqrt(left / n))
    if plan.factor == 0.0 or n == 1:
        return float(ndtr(shift))
    against = plan.factor * math.sqrt(n / left)
    # P(T'(delta) >= -a) = P(T'(-delta) <= a); the mirrored form keeps the small tail exact
    found = float(nctdtr(n - 1, -shift, against))
    return min(max(found, 0.0), 1.0) if math.isfinite(found) else float(shift > -against)


def individual_pass(plan: Plan, mean: float, sd: float, lot_size: int | None = None) -> float:
    """Chance that short and far short balls are few enough, single and double plans alike.

    Parameters
    ----------
    plan : Plan
        What is asked.
    mean, sd : float
        True mean and standard deviation of the lot's balls [g or m].
    lot_size : int or None
        Balls in the lot when it holds exactly its share of short balls; None for a process.

    Returns
    -------
    float
        Probability [-].

    Raises
    ------
    BadInput
        When a number is not usable or the lot is smaller than the sample.

    Notes
    -----
    Binomial; hypergeometric for a lot, between the whole numbers of short balls on either side of
    its share by straight lines. Source: Hald, Statistical Theory of Sampling Inspection, MEMORY.
    """
    from scipy.special import ndtr

    _check(plan, mean, sd, lot_size)

    def below(limit: float) -> float:
        if sd == 0.0:
            return 1.0 if mean < limit else 0.0
        return float(ndtr((limit - mean) / sd))

    far = below(plan.declared - plan.far_deficiency)
    stages = plan.stages if math.isfinite(plan.deficiency) else ()
    if not stages:
        n = plan.stages[0].drawn if plan.stages else plan.average_n
        stages, short = (Stage(n, n, n + 1),), far
    else:
        short = max(below(plan.declared - plan.deficiency), far)
    if lot_size is None:
        return _accepted(stages, lambda n, d, _seen: _binomial(n, d, short - far, far))
    found = 0.0
    for shorts, weight in _whole_numbers(short * lot_size):
        for fars, other in _whole_numbers(far * lot_size):
            light = int(max(shorts - fars, 0.0))
            found += weight * other * _accepted_from(stages, lot_size, light, int(fars))
    return min(found, 1.0)


def _accepted(
    stages: tuple[Stage, ...], chance: Callable[[int, int, tuple[int, int]], float]
) -> float:
    """Add up the ways a plan accepts; chance(n, d, (drawn, found)) draws no far short ball."""
    first = stages[0]
    found = sum(chance(first.drawn, d, (0, 0)) for d in range(min(first.accept, first.drawn) + 1))
    if len(stages) == 1:
        return min(found, 1.0)
    last = stages[-1]
    more = last.drawn - first.drawn
    for d in range(first.accept + 1, min(first.reject - 1, first.drawn) + 1):
        rest = min(last.accept - d, more)
        then = sum(chance(more, e, (first.drawn, d)) for e in range(rest + 1))
        found += chance(first.drawn, d, (0, 0)) * then
    return min(found, 1.0)


def _binomial(n: int, d: int, light: float, far: float) -> float:
    """Chance of d light balls, none of them far short, and n - d good ones."""
    from scipy.special import xlog1py, xlogy

    log = _log_choose(n, d) + xlogy(d, light) + xlog1py(n - d, -(light + far))
    return float(np.exp(log))


@lru_cache(maxsize=8192)
def _accepted_from(stages: tuple[Stage, ...], lot: int, light: int, far: int) -> float:
    """Accept a lot of so many balls: lots of neighbouring means hold the same whole numbers."""
    return _accepted(stages, _from_lot(lot, light, far))


def _from_lot(lot: int, light: int, far: int) -> Callable[[int, int, tuple[int, int]], float]:
    def chance(n: int, d: int, seen: tuple[int, int]) -> float:
        left, lights = lot - seen[0], light - seen[1]
        good = left - lights - far
        if not (0 <= d <= lights and 0 <= n - d <= good):
            return 0.0
        return math.exp(_log_choose(lights, d) + _log_choose(good, n - d) - _log_choose(left, n))

    return chance


def _log_choose(n: int, k: int) -> float:
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)


def _whole_numbers(share: float) -> _Weights:
    low = math.floor(share)
    return (
        [(float(low), 1.0 - (share - low)), (low + 1.0, share - low)]
        if share > low
        else [(float(low), 1.0)]
    )


def passing(plan: Plan, mean: float, sd: float, lot_size: int | None = None) -> Passing:
    """Chance to pass a plan, with bounds for both requirements together.

    Parameters
    ----------
    plan : Plan
        What is asked.
    mean, sd : float
        True mean and standard deviation of the lot's balls [g or m].
    lot_size : int or None
        As for `average_pass` and `individual_pass`.

    Returns
    -------
    Passing
        Each by itself, and the bounds of both.

    Raises
    ------
    BadInput
        When a number is not usable or the lot is smaller than the sample.
    """
    average = average_pass(plan, mean, sd, lot_size)
    individual = individual_pass(plan, mean, sd, lot_size)
    return Passing(
        average,
        individual,
        min(max(average + individual - 1.0, 0.0), average, individual),
        min(average, individual),
    )
