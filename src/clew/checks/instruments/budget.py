"""The uncertainty budget of a measurement, by the law of propagation of uncertainty (GUM)."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.instruments.distributions import Law
from clew.faults import BadInput, Fault

Array = NDArray[np.float64]
Model = Callable[..., Array | float]
"""A measurement model: takes the inputs by their keys, numbers or arrays, and gives the value."""

Correlations = Mapping[tuple[str, str], float]
"""Correlation coefficients [1] by pairs of keys; pairs left out are independent."""

_STEP = 0.1
"""Step of a derivative, in standard uncertainties: small for the curve, large against rounding."""


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a measurement.

    Attributes
    ----------
    key, words : str
        Name in the model, and what it is.
    unit : str
        Its unit.
    law : Law
        What is known of it.
    """

    key: str
    words: str
    unit: str
    law: Law


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a budget.

    Attributes
    ----------
    key, words, unit, shape : str
        Name, meaning, unit and law of the input.
    value, u : float
        Best value and standard uncertainty [the input's unit].
    df : float
        Degrees of freedom [1]; inf where the uncertainty is taken as known.
    sensitivity : float
        Change of the result per change of the input [result's unit per input's unit].
    contribution : float
        Sensitivity times standard uncertainty, with its sign [result's unit].
    share : float
        Its square over the sum of squares [1]; correlation is not shared out.
    """

    key: str
    words: str
    unit: str
    shape: str
    value: float
    u: float
    df: float
    sensitivity: float
    contribution: float
    share: float


@dataclass(frozen=True, slots=True)
class Budget:
    """A result with its uncertainty.

    Attributes
    ----------
    value, u : float
        Best value and combined standard uncertainty [result's unit].
    df : float or None
        Effective degrees of freedom [1], inf where all are known; None where inputs are correlated
        and some rest on few readings, for then the Welch-Satterthwaite formula does not hold.
    k : float
        Coverage factor [1].
    expanded : float
        Expanded uncertainty k u [result's unit].
    confidence : float
        Level of the expanded uncertainty [1].
    rows : tuple of Row
        Inputs, largest contribution first.
    from_correlation : float
        What correlation adds to the variance, or takes off, over the variance [1].
    second_order_u : float or None
        Combined standard uncertainty with the terms of second order [result's unit]; None where it
        was not asked for, or inputs are correlated.
    """

    value: float
    u: float
    df: float | None
    k: float
    expanded: float
    confidence: float
    rows: tuple[Row, ...]
    from_correlation: float
    second_order_u: float | None = None


def correlation_matrix(inputs: Sequence[Input], correlations: Correlations | None) -> Array:
    """Lay out correlations as a matrix and see that such inputs can exist.

    Parameters
    ----------
    inputs : sequence of Input
        The inputs, in order.
    correlations : mapping, optional
        Coefficients by pairs of keys.

    Returns
    -------
    array of float, shape (n, n)
        The matrix [1].

    Raises
    ------
    BadInput
        For an unknown key, a coefficient beyond 1, or coefficients that contradict each other.
    """
    place = {one.key: i for i, one in enumerate(inputs)}
    matrix = np.eye(len(place))
    for (first, second), r in (correlations or {}).items():
        if first not in place or second not in place or first == second:
            raise BadInput(
                Fault(
                    "a correlation of no two inputs",
                    "two of " + ", ".join(place),
                    key=f"{first}, {second}",
                )
            )
        if not -1.0 <= r <= 1.0:
            raise BadInput(
                Fault("a correlation beyond 1", "−1 to 1", key=f"{first}, {second}", value=f"{r:g}")
            )
        matrix[place[first], place[second]] = matrix[place[second], place[first]] = r
    if place and float(np.linalg.eigvalsh(matrix)[0]) < -1e-9:
        raise BadInput(Fault("correlations that contradict each other", "a possible set of them"))
    return matrix


def sensitivities(model: Model, inputs: Sequence[Input]) -> Array:
    """Find how much the result moves with each input.

    Parameters
    ----------
    model : callable
        The measurement.
    inputs : sequence of Input
        Its inputs.

    Returns
    -------
    array of float, shape (n,)
        Partial derivatives at the best values [result's unit per input's unit]; 0 for an input
        without doubt.

    Notes
    -----
    Central differences of fourth order over a tenth of a standard uncertainty; exact for models up
    to the fourth power. Source: JCGM 100:2008, 5.1.3 and 5.1.4 (MEMORY).
    """
    best = {one.key: one.law.value for one in inputs}
    found = np.zeros(len(inputs))
    for i, one in enumerate(inputs):
        h = _STEP * one.law.standard_uncertainty
        if h == 0.0:
            continue
        near, far = (
            float(model(**best | {one.key: one.law.value + k * h}))
            - float(model(**best | {one.key: one.law.value - k * h}))
            for k in (1, 2)
        )
        found[i] = (8.0 * near - far) / (12.0 * h)
    return found


def make_budget(
    model: Model,
    inputs: Sequence[Input],
    *,
    correlations: Correlations | None = None,
    given: Mapping[str, float] | None = None,
    confidence: float = 0.95,
    second_order: bool = False,
) -> Budget:
    """Work out the uncertainty budget of a measurement.

    Parameters
    ----------
    model : callable
        The measurement; takes the inputs by key.
    inputs : sequence of Input
        Its inputs.
    correlations : mapping, optional
        Correlation coefficients by pairs of keys.
    given : mapping of str to float, optional
        Sensitivities known by other means, instead of differences [result per input].
    confidence : float
        Level of the expanded uncertainty [1], between 0 and 1.
    second_order : bool
        Also take the terms of second order, for models that bend within the doubt.

    Returns
    -------
    Budget
        The result, its uncertainty, what it is made of.

    Raises
    ------
    BadInput
        For no inputs, two of one key, a value that cannot be worked out, impossible correlations.

    Notes
    -----
    u^2 = sum_ij c_i c_j r_ij u_i u_j; nu = u^4 / sum (c_i u_i)^4/nu_i, cut down to a whole number
    before the t look-up. Source: JCGM 100:2008, 5.2.2, G.4.1 and G.4.2 (MEMORY; H.1 READ).
    """
    _check(inputs, confidence)
    best = {one.key: one.law.value for one in inputs}
    value = float(model(**best))
    c = sensitivities(model, inputs)
    for i, one in enumerate(inputs):
        if given and one.key in given:
            c[i] = given[one.key]
    if not (math.isfinite(value) and np.isfinite(c).all()):
        raise BadInput(Fault("a result that cannot be worked out", "inputs the model can take"))
    u = np.array([one.law.standard_uncertainty for one in inputs])
    matrix = correlation_matrix(inputs, correlations)
    parts = c * u
    squares = float(parts @ parts)
    variance = max(float(parts @ matrix @ parts), 0.0)
    correlated = bool((matrix != np.eye(len(inputs))).any())
    df = _effective_df(parts, [one.law.df for one in inputs], variance, correlated)
    k = coverage_factor(confidence, df)
    rows = [
        Row(
            one.key, one.words, one.unit, one.law.shape, one.law.value, float(u[i]), one.law.df,
            float(c[i]), float(parts[i]), float(parts[i] ** 2 / squares) if squares else 0.0,
        )
        for i, one in enumerate(inputs)
    ]  # fmt: skip
    combined = math.sqrt(variance)
    second = (
        math.sqrt(max(variance + _second_order(model, inputs), 0.0))
        if second_order and not correlated
        else None
    )
    return Budget(
        value=value,
        u=combined,
        df=df,
        k=k,
        expanded=k * combined,
        confidence=confidence,
        rows=tuple(sorted(rows, key=lambda row: -abs(row.contribution))),
        from_correlation=(variance - squares) / variance if variance else 0.0,
        second_order_u=second,
    )


def _check(inputs: Sequence[Input], confidence: float) -> None:
    keys = [one.key for one in inputs]
    if not keys:
        raise BadInput(Fault("a budget without inputs", "one or more"))
    if len(set(keys)) < len(keys):
        raise BadInput(Fault("two inputs of one name", "each name once", value=", ".join(keys)))
    if not 0.0 < confidence < 1.0:
        raise BadInput(
            Fault(
                "a confidence outside 0 to 100 %", "such as 95 %", value=f"{100 * confidence:g} %"
            )
        )


def _effective_df(
    parts: Array, dfs: Sequence[float], variance: float, correlated: bool
) -> float | None:
    if correlated and any(math.isfinite(df) for df in dfs):
        return None
    total = math.fsum(float(p) ** 4 / df for p, df in zip(parts, dfs, strict=True))
    return variance**2 / total if total > 0.0 else math.inf


def coverage_factor(confidence: float, df: float | None) -> float:
    """Give the coverage factor of a level.

    Parameters
    ----------
    confidence : float
        Level [1].
    df : float or None
        Effective degrees of freedom [1], cut down to a whole number, at least 1; None or inf takes
        the normal law.

    Returns
    -------
    float
        k [1].
    """
    from scipy.special import ndtri, stdtrit

    tail = 0.5 * (1.0 + confidence)
    if df is None or math.isinf(df):
        return float(ndtri(tail))
    return float(stdtrit(max(math.floor(df + 1e-9), 1), tail))


def _second_order(model: Model, inputs: Sequence[Input]) -> float:
    """Sum the second-order terms: (f_ij^2/2 + f_i f_ijj) u_i^2 u_j^2 over all i and j.

    Derivatives are central differences over a tenth of a standard uncertainty. Source: JCGM
    100:2008, 5.1.2, note (MEMORY), which takes the inputs as normal.
    """
    best = {one.key: one.law.value for one in inputs}
    doubted = [(one.key, _STEP * one.law.standard_uncertainty) for one in inputs]
    doubted = [(key, h) for key, h in doubted if h > 0.0]

    def at(moves: dict[str, float]) -> float:
        return float(model(**best | {key: best[key] + by for key, by in moves.items()}))

    middle = at({})
    total = 0.0
    for a, ha in doubted:
        up, down = at({a: ha}), at({a: -ha})
        bend = (up - 2.0 * middle + down) / _STEP**2
        third = (at({a: 2 * ha}) - 2.0 * up + 2.0 * down - at({a: -2 * ha})) / (2.0 * _STEP**3)
        slope = (up - down) / (2.0 * _STEP) - third * _STEP**2 / 6.0
        total += 0.5 * bend**2 + slope * third
        for b, hb in doubted:
            if b == a:
                continue
            both = [at({a: ha, b: step}) for step in (hb, -hb)]
            other = [at({a: -ha, b: step}) for step in (hb, -hb)]
            mixed = (both[0] - both[1] - other[0] + other[1]) / (4.0 * _STEP**2)
            bends = (sum(both) - 2.0 * up) - (sum(other) - 2.0 * down)
            total += 0.5 * mixed**2 + slope * bends / (2.0 * _STEP**3)
    return total
