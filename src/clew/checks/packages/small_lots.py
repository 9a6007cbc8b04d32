"""The factor of a mean test by its formula: Student's t, and the correction for a finite lot."""

from __future__ import annotations

import math


def sample_factor(n: int, *, p_frac: float = 0.995, lot_size: int | None = None) -> float:
    """Work out a sample correction factor.

    Parameters
    ----------
    n : int
        Balls drawn, two or more.
    p_frac : float
        One-sided level of t: 0.995 for R 87 and the European rules, 0.975 for Category A [1].
    lot_size : int, optional
        Balls in the lot; without it the lot is taken as without end.

    Returns
    -------
    float
        t(p, n-1)/sqrt(n) * sqrt(1 - n/N) [-].

    Notes
    -----
    Source: DERIVED; it gives every figure of New Zealand's Schedule 7A (with N the upper end of a
    row) and of the reference test's factors, see the published tests.
    """
    from scipy.stats import t

    finite = 1.0 if lot_size is None else math.sqrt(max(0.0, 1.0 - n / lot_size))
    return float(t.ppf(p_frac, n - 1)) / math.sqrt(n) * finite
