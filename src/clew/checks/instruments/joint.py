"""Inputs that were read together, and several results of the same inputs: both are correlated."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from clew.checks.instruments.budget import (
    Correlations,
    Input,
    Model,
    correlation_matrix,
    sensitivities,
)
from clew.checks.instruments.distributions import normal
from clew.faults import BadInput, Fault

Array = NDArray[np.float64]


def joint_readings(
    names: Sequence[tuple[str, str, str]], readings: Sequence[Sequence[float]]
) -> tuple[tuple[Input, ...], dict[tuple[str, str], float]]:
    """Turn readings taken together into inputs with their correlations (type A).

    Parameters
    ----------
    names : sequence of (str, str, str)
        Key, words and unit of each column.
    readings : sequence of sequence of float
        One row for each time all were read [their units].

    Returns
    -------
    tuple of Input
        Means, each with s/sqrt(n).
    dict
        Correlation coefficients of the means.

    Raises
    ------
    BadInput
        For fewer than two rows, or rows of another length than there are names.

    Notes
    -----
    Source: JCGM 100:2008, 5.2.3, equation 17 (MEMORY).
    """
    table = np.asarray(readings, dtype=np.float64)
    if table.ndim != 2 or table.shape[0] < 2 or table.shape[1] != len(names):
        raise BadInput(Fault("readings taken together", f"two rows or more of {len(names)}"))
    n = table.shape[0]
    sd = table.std(axis=0, ddof=1) / math.sqrt(n)
    inputs = tuple(
        Input(key, words, unit, normal(float(mean), float(s), n - 1.0))
        for (key, words, unit), mean, s in zip(names, table.mean(axis=0), sd, strict=True)
    )
    away = table - table.mean(axis=0)
    found: dict[tuple[str, str], float] = {}
    for i in range(len(names)):
        for j in range(i):
            under = math.sqrt(float(away[:, i] @ away[:, i]) * float(away[:, j] @ away[:, j]))
            if under > 0.0:
                r = float(away[:, i] @ away[:, j]) / under
                found[names[j][0], names[i][0]] = min(1.0, max(-1.0, r))
    return inputs, found


def results_covariance(
    models: Sequence[Model], inputs: Sequence[Input], correlations: Correlations | None = None
) -> Array:
    """Find variances and covariances of several results of the same inputs.

    Parameters
    ----------
    models : sequence of callable
        One model a result.
    inputs : sequence of Input
        The inputs they share.
    correlations : mapping, optional
        Correlation coefficients by pairs of keys.

    Returns
    -------
    array of float, shape (results, results)
        The covariance matrix [product of the results' units].

    Notes
    -----
    Source: JCGM 100:2008, H.2.3, equation H.9 (MEMORY).
    """
    parts = np.array([sensitivities(model, inputs) for model in models])
    parts *= np.array([one.law.standard_uncertainty for one in inputs])
    return np.asarray(parts @ correlation_matrix(inputs, correlations) @ parts.T)
