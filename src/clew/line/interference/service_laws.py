"""Laplace transforms of a hand's service time, as the one-hand sum wants them."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
ServiceLaw = Literal["constant", "exponential", "gamma", "lognormal"]

_FARTHEST = 38.0
"""Standard deviations each way: past it the normal density is 0 in double precision."""
_STEP = 0.02


def log_factors(law: ServiceLaw, service_cv: float, at: Array) -> Array:
    """Logarithm of (1 - φ)/φ, φ the Laplace transform of service in units of its mean.

    Parameters
    ----------
    law : {"constant", "exponential", "gamma", "lognormal"}
        How service times spread.
    service_cv : float
        Their spread over their mean; used by gamma and lognormal [1].
    at : array
        Where, above 0: i times the servicing constant.

    Returns
    -------
    array, shape of ``at``
        Logarithms.

    Notes
    -----
    Constant: φ(t) = exp(-t). Gamma with spread c: φ(t) = (1 + c² t)^(-1/c²); c = 1 is exponential,
    c = 0 constant. Lognormal: trapezium sum over the normal variable, 0.02 apart, which for such a
    smooth integrand leaves only rounding; summed in logarithms, because far to the right φ comes
    from very short services alone. Source: definitions, DERIVED.
    """
    if law == "lognormal" and service_cv > 0.0:
        return _lognormal(service_cv, at)
    spread = {"constant": 0.0, "exponential": 1.0}.get(law, service_cv) ** 2
    exponent = np.log1p(spread * at) / spread if spread > 0.0 else at
    return np.asarray(exponent + np.log(-np.expm1(-exponent)))


def _lognormal(service_cv: float, at: Array) -> Array:
    variance = np.log1p(service_cv**2)
    normal = np.arange(-_FARTHEST, _FARTHEST + _STEP / 2.0, _STEP)
    service = np.exp(np.sqrt(variance) * normal - variance / 2.0)
    log_weight = -(normal**2) / 2.0 + np.log(_STEP / np.sqrt(2.0 * np.pi))
    weight = np.exp(log_weight)
    logs = np.empty_like(at)
    for place, where in enumerate(at):
        inside = log_weight - where * service
        top = inside.max()
        log_phi = top + np.log(np.exp(inside - top).sum())
        logs[place] = np.log(-(weight @ np.expm1(-where * service))) - log_phi
    return logs
