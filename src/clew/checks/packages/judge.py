"""Judging samples by a plan: one, or many at once as a simulation draws them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.packages.plan import Plan
from clew.faults import BadInput, Fault
from clew.languages import say

Contents = NDArray[np.float64]
Yes = NDArray[np.bool_]

EQUAL_FRAC = 1e-9
"""Of the declaration: contents nearer to a limit than this lie at it. A ball written as 95.5 g
must not be short of 100 g - 4.5 g by the last binary digit; no scale sees so little."""


@dataclass(frozen=True, slots=True)
class Passed:
    """Which samples pass.

    Attributes
    ----------
    average, individual, passed : array of bool, shape (samples,)
        The mean's requirement, the single balls' and both. A requirement that the plan does not
        make is met; where `Plan.confirmed` is false a pass is by a table not checked.
    """

    average: Yes
    individual: Yes
    passed: Yes


def at_least(value: Contents, limit: Contents | float, declared: float) -> Yes:
    """Say where a content reaches a limit, at the limit included.

    Parameters
    ----------
    value : array of float
        Contents [g or m].
    limit : array of float or float
        The limit [g or m].
    declared : float
        Declared content, which sets what counts as equal [g or m].

    Returns
    -------
    array of bool
        True where it is reached.
    """
    reached: Yes = np.asarray(value) >= np.asarray(limit) - EQUAL_FRAC * declared
    return reached


def short_of(plan: Plan, contents: Contents) -> tuple[Yes, Yes]:
    """Say which balls are short, and which far short.

    Parameters
    ----------
    plan : Plan
        The plan.
    contents : array of float
        Net contents [g or m].

    Returns
    -------
    (array of bool, array of bool)
        Below ``declared - deficiency``, and below ``declared - far_deficiency``.
    """
    short = ~at_least(contents, plan.declared - plan.deficiency, plan.declared)
    far = ~at_least(contents, plan.declared - plan.far_deficiency, plan.declared)
    return short, far


def judge_many(plan: Plan, contents: Contents) -> Passed:
    """Judge many samples by one plan.

    Parameters
    ----------
    plan : Plan
        The plan.
    contents : array of float, shape (samples, balls)
        Net contents of each sample's balls in the order drawn [g or m]; as many as the last stage
        asks for. The mean is taken over the first `average_n`, each stage over its first `drawn`.

    Returns
    -------
    Passed
        For each sample.

    Raises
    ------
    BadInput
        When there are too few balls, or contents that are no numbers.

    Notes
    -----
    With the same residuals about a mean that rises, a lot that passed passes: each requirement is
    monotone in every ball shifted alike (tested).
    """
    values = np.asarray(contents, dtype=np.float64)
    if values.ndim != 2 or values.shape[1] < plan.n_most:
        raise BadInput(
            Fault(
                say("too few balls for the plan"),
                say("{n_most} in each sample", n_most=plan.n_most),
                key="contents",
            )
        )
    if not np.isfinite(values).all():
        raise BadInput(Fault(say("a content that is no number"), "numbers", key="contents"))
    average = average_met(plan, values)
    individual = np.ones(len(values), dtype=bool)
    open_still = np.ones(len(values), dtype=bool)
    if plan.stages:
        short, far = short_of(plan, values)
        for stage in plan.stages:
            count = short[:, : stage.drawn].sum(axis=1)
            reject = (count >= stage.reject) | far[:, : stage.drawn].any(axis=1)
            individual &= ~(open_still & reject)
            open_still &= ~reject & (count > stage.accept)
        individual &= ~open_still
    return Passed(average, individual, average & individual)


def average_met(plan: Plan, values: Contents) -> Yes:
    """Say which samples meet the mean's requirement.

    Parameters
    ----------
    plan : Plan
        The plan.
    values : array of float, shape (samples, balls)
        Net contents [g or m].

    Returns
    -------
    array of bool, shape (samples,)
        ``mean >= floor - factor * sd``.
    """
    if plan.average_n == 0:
        return np.ones(len(values), dtype=bool)
    taken = values[:, : plan.average_n]
    mean = taken.mean(axis=1)
    if plan.factor == 0.0 or plan.average_n == 1:
        return at_least(mean, plan.floor, plan.declared)
    sd = taken.std(axis=1, ddof=1)
    return at_least(mean, plan.floor - plan.factor * sd, plan.declared)
