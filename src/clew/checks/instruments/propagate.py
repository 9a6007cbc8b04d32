"""Propagation of whole laws by Monte Carlo, and whether the budget by the GUM may be trusted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.instruments.budget import (
    Budget,
    Correlations,
    Input,
    Model,
    correlation_matrix,
)
from clew.faults import BadInput, Fault

Array = NDArray[np.float64]

MOST_DRAWS = 20_000_000
"""More draws than this are not kept; 160 MB."""

LEAST_ROUNDS = 10
"""Rounds before the adaptive procedure may stop. The guide allows two, which now and then agree by
luck long before they are good; ten is our choice."""


@dataclass(frozen=True, slots=True)
class Propagated:
    """A result as Monte Carlo finds it.

    Attributes
    ----------
    value, u : float
        Mean and standard deviation of the draws [result's unit].
    confidence : float
        Share of the draws that the intervals hold [1].
    symmetric : (float, float)
        Probabilistically symmetric interval: as much below it as above [result's unit].
    shortest : (float, float)
        Shortest interval [result's unit].
    draws : int
        How many draws.
    seed : int
        Seed they were drawn with.
    tolerance : float or None
        Numerical tolerance that was asked for [result's unit]; None for a fixed number of draws.
    stable : bool
        Whether mean, standard deviation and both ends were found within the tolerance; true for a
        fixed number of draws, of which nothing was asked.
    """

    value: float
    u: float
    confidence: float
    symmetric: tuple[float, float]
    shortest: tuple[float, float]
    draws: int
    seed: int
    tolerance: float | None
    stable: bool


@dataclass(frozen=True, slots=True)
class Validation:
    """The budget by the GUM held against Monte Carlo.

    Attributes
    ----------
    low_apart, high_apart : float
        How far the ends of the two intervals lie apart [result's unit].
    tolerance : float
        How far they may [result's unit].
    valid : bool
        Both within it: the budget may be used for such measurements from now on.
    """

    low_apart: float
    high_apart: float
    tolerance: float
    valid: bool


def numerical_tolerance(u: float, digits: int = 2) -> float:
    """Give half a unit in the last digit of a standard uncertainty written with so many digits.

    Parameters
    ----------
    u : float
        Standard uncertainty [result's unit]; more than 0.
    digits : int
        Digits of it that mean something, usually 1 or 2.

    Returns
    -------
    float
        Numerical tolerance [result's unit].

    Raises
    ------
    BadInput
        For no uncertainty or no digits.

    Notes
    -----
    u = c x 10^l with a whole number c of so many digits; the tolerance is 10^l/2. Source: JCGM
    101:2008, 7.9.2 (MEMORY).
    """
    if not (math.isfinite(u) and u > 0.0 and digits >= 1):
        raise BadInput(Fault("no uncertainty to hold digits of", "more than 0", value=f"{u:g}"))
    power = math.floor(math.log10(u)) - digits + 1
    if round(u / 10.0**power) >= 10**digits:
        power += 1
    return 0.5 * 10.0**power


def shortest_interval(drawn_in_order: Array, confidence: float) -> tuple[float, float]:
    """Find the shortest interval that holds a share of the draws.

    Parameters
    ----------
    drawn_in_order : array of float, shape (draws,)
        Draws in rising order [result's unit].
    confidence : float
        The share [1].

    Returns
    -------
    (float, float)
        Its ends [result's unit].

    Notes
    -----
    Source: JCGM 101:2008, 7.7.4 (MEMORY).
    """
    draws = drawn_in_order.size
    holds = min(max(math.floor(confidence * draws + 0.5), 1), draws - 1)
    place = int(np.argmin(drawn_in_order[holds:] - drawn_in_order[: draws - holds]))
    return float(drawn_in_order[place]), float(drawn_in_order[place + holds])


def _symmetric(drawn_in_order: Array, confidence: float) -> tuple[float, float]:
    """Find the symmetric interval, as JCGM 101:2008, 7.7.2 counts its ends (MEMORY)."""
    draws = drawn_in_order.size
    holds = min(math.floor(confidence * draws + 0.5), draws - 1)
    place = max(math.floor((draws - holds) / 2.0 + 0.5) - 1, 0)
    return float(drawn_in_order[place]), float(drawn_in_order[min(place + holds, draws - 1)])


class _Drawing:
    """Draws of a model: joint normal where inputs are correlated, else each from its own law."""

    def __init__(
        self, model: Model, inputs: Sequence[Input], correlations: Correlations | None, seed: int
    ) -> None:
        self.model, self.inputs = model, tuple(inputs)
        self.random = np.random.default_rng(seed)
        matrix = correlation_matrix(inputs, correlations)
        tied = [i for i in range(len(inputs)) if (matrix[i] != np.eye(len(inputs))[i]).any()]
        self.tied = tied
        for i in tied:
            if inputs[i].law.shape != "normal":
                raise BadInput(
                    Fault(
                        "a correlated input that is not normal",
                        "normal laws, or no correlation, for the Monte Carlo",
                        key=inputs[i].key,
                        value=inputs[i].law.shape,
                    )
                )
        part = matrix[np.ix_(tied, tied)]
        values, vectors = np.linalg.eigh(part) if tied else (np.zeros(0), np.zeros((0, 0)))
        self.root = vectors * np.sqrt(np.maximum(values, 0.0))

    def draw(self, draws: int) -> Array:
        drawn: dict[str, Array] = {}
        if self.tied:
            together = self.root @ self.random.standard_normal((len(self.tied), draws))
            for row, i in zip(together, self.tied, strict=True):
                one = self.inputs[i]
                drawn[one.key] = one.law.value + one.law.spread * row
        for one in self.inputs:
            if one.key not in drawn:
                drawn[one.key] = one.law.draw(self.random, draws)
        found = np.broadcast_to(np.asarray(self.model(**drawn), dtype=np.float64), (draws,))
        if not np.isfinite(found).all():
            raise BadInput(
                Fault("draws the model cannot take", "laws that keep within what the model allows")
            )
        return np.array(found)


def propagate(
    model: Model,
    inputs: Sequence[Input],
    *,
    correlations: Correlations | None = None,
    confidence: float = 0.95,
    draws: int = 200_000,
    seed: int,
) -> Propagated:
    """Propagate the laws of the inputs through a model by so many draws.

    Parameters
    ----------
    model : callable
        The measurement; takes arrays by key.
    inputs : sequence of Input
        Its inputs.
    correlations : mapping, optional
        Correlation coefficients by pairs of keys; such inputs must be normal.
    confidence : float
        Share of the draws that the intervals hold [1].
    draws : int
        How many, 1000 to 20 million.
    seed : int
        Seed of the random numbers.

    Returns
    -------
    Propagated
        Mean, standard deviation, both intervals.

    Raises
    ------
    BadInput
        For too few or too many draws, or draws the model cannot take.

    Notes
    -----
    Source: JCGM 101:2008, 7.1 to 7.7 (MEMORY; its examples 9.2 to 9.4 are among the checks).
    """
    if not 1000 <= draws <= MOST_DRAWS:
        raise BadInput(
            Fault("a number of draws", f"1000 to {MOST_DRAWS}", key="draws", value=str(draws))
        )
    drawn = _Drawing(model, inputs, correlations, seed).draw(draws)
    return _summed_up(drawn, confidence, seed, None, stable=True)


def _summed_up(
    drawn: Array, confidence: float, seed: int, tolerance: float | None, *, stable: bool
) -> Propagated:
    drawn.sort()
    return Propagated(
        value=float(drawn.mean()),
        u=float(drawn.std(ddof=1)),
        confidence=confidence,
        symmetric=_symmetric(drawn, confidence),
        shortest=shortest_interval(drawn, confidence),
        draws=drawn.size,
        seed=seed,
        tolerance=tolerance,
        stable=stable,
    )


def propagate_until_stable(
    model: Model,
    inputs: Sequence[Input],
    *,
    correlations: Correlations | None = None,
    confidence: float = 0.95,
    digits: int = 2,
    finer: float = 1.0,
    most_draws: int = 5_000_000,
    seed: int,
) -> Propagated:
    """Draw until mean, standard deviation and ends of the interval no longer move.

    Parameters
    ----------
    model : callable
        The measurement; takes arrays by key.
    inputs : sequence of Input
        Its inputs.
    correlations : mapping, optional
        Correlation coefficients by pairs of keys; such inputs must be normal.
    confidence : float
        Share of the draws that the intervals hold [1].
    digits : int
        Digits of the standard uncertainty that are to be sure.
    finer : float
        Divisor of the numerical tolerance [1]; 5 where a budget is to be validated.
    most_draws : int
        Where to stop at the latest; the answer then says that it is not stable.
    seed : int
        Seed of the random numbers.

    Returns
    -------
    Propagated
        Mean, standard deviation, both intervals.

    Raises
    ------
    BadInput
        For draws the model cannot take.

    Notes
    -----
    Rounds of max(100/(1 - p), 10 000) draws; from the tenth on, after each, twice the standard
    deviation of the mean of the rounds' values must lie within the tolerance for all four. Source:
    JCGM 101:2008, 7.9.4 (MEMORY).
    """
    source = _Drawing(model, inputs, correlations, seed)
    each = max(math.ceil(100.0 / (1.0 - confidence)), 10_000)
    rounds: list[Array] = []
    figures: list[tuple[float, float, float, float]] = []
    total = total_squares = 0.0
    tolerance = 0.0
    stable = False
    while not stable and (len(rounds) + 1) * each <= max(most_draws, LEAST_ROUNDS * each):
        drawn = source.draw(each)
        drawn.sort()
        low, high = _symmetric(drawn, confidence)
        shift = rounds[0].mean() if rounds else drawn.mean()
        total += float((drawn - shift).sum())
        total_squares += float(((drawn - shift) ** 2).sum())
        rounds.append(drawn)
        figures.append((float(drawn.mean()), float(drawn.std(ddof=1)), low, high))
        count = len(rounds) * each
        u = math.sqrt(max(total_squares - total**2 / count, 0.0) / (count - 1))
        if u == 0.0:
            stable = True
            break
        tolerance = numerical_tolerance(u, digits) / finer
        if len(rounds) >= LEAST_ROUNDS:
            moves = np.std(np.array(figures), axis=0, ddof=1) / math.sqrt(len(rounds))
            stable = bool((2.0 * moves < tolerance).all())
    return _summed_up(np.concatenate(rounds), confidence, seed, tolerance, stable=stable)


def validate(budget: Budget, drawn: Propagated, digits: int = 2) -> Validation:
    """Hold a budget by the GUM against Monte Carlo.

    Parameters
    ----------
    budget : Budget
        The budget, at the same confidence.
    drawn : Propagated
        The Monte Carlo, best by `propagate_until_stable` with ``finer`` 5.
    digits : int
        Digits of the standard uncertainty that are to agree.

    Returns
    -------
    Validation
        Whether both ends agree to half a unit of the last digit.

    Raises
    ------
    BadInput
        When the confidences differ.

    Notes
    -----
    d_low = abs(y - U - y_low), d_high = abs(y + U - y_high), both within the tolerance of u(y) as
    the Monte Carlo has it where the budget has none. Source: JCGM 101:2008, 8.1 and 8.2 (MEMORY).
    """
    if budget.confidence != drawn.confidence:
        raise BadInput(Fault("two levels of confidence", "the same for both"))
    low = abs(budget.value - budget.expanded - drawn.symmetric[0])
    high = abs(budget.value + budget.expanded - drawn.symmetric[1])
    u = budget.u or drawn.u
    tolerance = numerical_tolerance(u, digits) if u > 0.0 else 0.0
    return Validation(low, high, tolerance, low <= tolerance and high <= tolerance)
