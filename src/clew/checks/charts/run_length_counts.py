"""How long a CUSUM of counts (knots, wrong bands) runs before it calls."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np

from clew.checks.charts.run_length_chain import Array, Chain, RunLength, check_between, not_never
from clew.faults import BadInput, Fault

MOST_STATES = 2000
MOST_MEAN = 200.0


def poisson_cusum_run_length(
    mean: float, k: float, h: float, *, head_start: float = 0.0, lower: bool = False
) -> RunLength:
    """Average run length of a CUSUM of Poisson counts.

    Parameters
    ----------
    mean : float
        Mean count of a plotted point as it truly is, above 0 to 1000 [1].
    k : float
        Reference value: between the good and the bad mean, to two decimals [1].
    h : float
        The sum calls when it reaches h [1].
    head_start : float
        Where the sum starts, 0 to below h [1].
    lower : bool
        Watch for fewer: the sum takes k less the count.

    Returns
    -------
    RunLength
        Exact: the sum stands on a grid as fine as k asks.

    Raises
    ------
    BadInput
        When a value is out of range or the grid has more than 2000 places.

    Notes
    -----
    Source: J. M. Lucas, Technometrics 27 (1985) 129-144; the call at S >= h READ, held by printed
    values.
    """
    chain = poisson_cusum_chain(mean, k, h, head_start=head_start, lower=lower)
    return RunLength(not_never(chain.arl()))


def poisson_cusum_chain(
    mean: float, k: float, h: float, *, head_start: float = 0.0, lower: bool = False
) -> Chain:
    """The same as a chain.

    Parameters
    ----------
    mean, k, h, head_start : float
        As in `poisson_cusum_run_length` [1].
    lower : bool
        Watch for fewer.

    Returns
    -------
    Chain
        State i is a sum of i grid steps.

    Raises
    ------
    BadInput
        As `poisson_cusum_run_length`.
    """
    # a shift may lift it above the largest mean that may be asked for
    check_between("mean", mean, 1e-6, 5.0 * MOST_MEAN, "a mean count")
    check_between("k", k, 0.0, 2.0 * MOST_MEAN, "a reference value")
    check_between("h", h, 1e-3, 1e4, "a decision value")
    check_between("head_start", head_start, 0.0, math.nextafter(h, 0.0), "a start below h")
    step = Fraction(round(100.0 * k), 100)
    if abs(float(step) - k) > 1e-9:
        raise BadInput(Fault("too fine", "at most two decimals", key="k", value=f"{k:g}"))
    parts = step.denominator
    states = math.ceil(h * parts - 1e-9)
    if states > MOST_STATES:
        raise BadInput(
            Fault(
                "too fine a grid",
                f"h times {parts} at most {MOST_STATES}; a rounder k, or a smaller h",
                key="h",
                value=f"{h:g}",
            )
        )
    k_steps = step.numerator
    begin = min(round(head_start * parts), states - 1)
    origin = np.concatenate([np.arange(states), [begin]])
    rows = (_down if lower else _up)(mean, origin, states, k_steps, parts)
    return Chain(rows[:-1], rows[-1])


def _counts(mean: float, most: int) -> Array:
    """Poisson chances of 0 to `most`."""
    from scipy.special import gammaln

    number = np.arange(most + 1)
    return np.asarray(np.exp(number * math.log(mean) - mean - gammaln(number + 1.0)))


def _up(mean: float, origin: Array, states: int, k_steps: int, parts: int) -> Array:
    """Chance of each sum after one count; at nought, every count that does not lift it."""
    chance = _counts(mean, (states + k_steps) // parts + 1)
    rows = np.zeros((origin.size, states))
    for count, one in enumerate(chance):
        target = np.maximum(origin + count * parts - k_steps, 0.0).astype(int)
        quiet = target < states
        np.add.at(rows, (np.nonzero(quiet)[0], target[quiet]), one)
    return rows


def _down(mean: float, origin: Array, states: int, k_steps: int, parts: int) -> Array:
    chance = _counts(mean, (states + k_steps) // parts + 1)
    rows = np.zeros((origin.size, states))
    for count, one in enumerate(chance):
        target = np.maximum(origin + k_steps - count * parts, 0.0).astype(int)
        quiet = target < states
        np.add.at(rows, (np.nonzero(quiet)[0], target[quiet]), one)
    rows[:, 0] += 1.0 - chance.sum()  # greater counts all bring the sum to nought
    return rows
