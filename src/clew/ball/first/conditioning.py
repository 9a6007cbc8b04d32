"""Conditioning a normal distribution: on an observation with noise, and on one without.

The second is where endless observations of the same thing lead: what they can tell is then known
exactly, and what is left is the floor below which they cannot bring anything.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def narrowed(covariance: Floats, rows: Floats, noise: Floats) -> tuple[Floats, Floats]:
    """Condition a normal distribution on a noisy linear observation.

    Parameters
    ----------
    covariance : ndarray, shape (n, n)
        Covariance before [-].
    rows : ndarray, shape (m, n)
        The observation as a linear function of the state.
    noise : ndarray, shape (m, m)
        Covariance of the observation's own error, positive definite.

    Returns
    -------
    covariance : ndarray, shape (n, n)
        Covariance after; no variance in it is larger than before.
    gain : ndarray, shape (n, m)
        What one unit of surprise adds to the mean.

    Notes
    -----
    P − P Hᵀ (H P Hᵀ + R)⁻¹ H P, taken through the Cholesky factor so that the result is
    symmetrical and each variance is the old one less a square. Source: DERIVED (the conditional
    normal distribution); checked against direct conditioning of the joint distribution.
    """
    cross = rows @ covariance
    root = np.linalg.cholesky(cross @ rows.T + noise)
    half = np.linalg.solve(root, cross)
    gain = np.linalg.solve(root.T, half).T
    return covariance - half.T @ half, gain


def settled(covariance: Floats, rows: Floats) -> Floats:
    """Condition a normal distribution on linear functions of it that are known exactly.

    Parameters
    ----------
    covariance : ndarray, shape (n, n)
        Covariance before [-].
    rows : ndarray, shape (m, n)
        The linear functions that become known; some may follow from others.

    Returns
    -------
    ndarray, shape (n, n)
        Covariance after: the limit of `narrowed` as the noise goes to nil.

    Notes
    -----
    P − P Hᵀ (H P Hᵀ)⁺ H P with the pseudo-inverse, since a function that is already known, or that
    follows from others, adds nothing. Source: DERIVED.
    """
    cross = rows @ covariance
    values, vectors = np.linalg.eigh(cross @ rows.T)
    kept = values > 1e-13 * max(float(values[-1]), 0.0)
    half: Floats = (vectors[:, kept] / np.sqrt(values[kept])).T @ cross
    return covariance - half.T @ half
