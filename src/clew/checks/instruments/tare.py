"""Tare: core, band and bag, how many of them to weigh, and the doubt they leave in a net mass."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clew.faults import BadInput, Fault

FIRST_TARES = 2
"""Unused tares weighed first. Source: NIST HB 133, 2026 ed., 2.3 (READ)."""

ALL_TARES = 5
"""Unused tares weighed where the first two differ. Source: NIST HB 133, 2026 ed., 2.3 (READ)."""

MOST_TARES = 1_000_000

_EXACT = 1e-9


@dataclass(frozen=True, slots=True)
class UnusedDryTare:
    """What the handbook's rule for unused dry tare makes of some tares.

    Attributes
    ----------
    tare_g : float or None
        The tare to use [g]; None as long as more must be weighed.
    used : int
        How many of the tares it is the mean of.
    more : int
        How many more must be weighed.
    words : str
        The rule's way to it.
    """

    tare_g: float | None
    used: int
    more: int
    words: str


@dataclass(frozen=True, slots=True)
class TareDoubt:
    """Mean and spread of tares, and what they leave in a net mass.

    Attributes
    ----------
    weighed : int
        Tares weighed.
    mean_g, sd_g : float
        Their mean and standard deviation [g]; the standard deviation of one tare is nan.
    mean_doubt_g : float
        Half width of the interval of the mean, which every ball of the lot shares [g]; half a
        division at least.
    ball_doubt_g : float
        Half width of the interval of one ball's net mass from its tare alone [g]; the same.
    confidence : float
        Of both [1].
    limit_g : float
        What the doubt of the mean is held against [g].
    needed : int or None
        Tares to weigh until the doubt of the mean is within that limit, if their spread stays what
        it is; None where more than a million would not do, or half a division is more than it.
    enough : bool
        Whether it is.
    """

    weighed: int
    mean_g: float
    sd_g: float
    mean_doubt_g: float
    ball_doubt_g: float
    confidence: float
    limit_g: float
    needed: int | None
    enough: bool


def unused_dry_tare(tares_g: Sequence[float], division_g: float) -> UnusedDryTare:
    """Follow the handbook's rule for tare that was never used.

    Parameters
    ----------
    tares_g : sequence of float
        Tares in the order they were weighed [g].
    division_g : float
        Division of the scale they were weighed on [g].

    Returns
    -------
    UnusedDryTare
        The tare, or how many more to weigh.

    Raises
    ------
    BadInput
        For no tares, a tare that is no mass, or a division that is not more than 0.

    Notes
    -----
    Two are weighed; no measurable difference: they stand. Else three more, and the mean of five.
    A difference is measurable from one division on: our reading of the words. Source: NIST HB 133,
    2026 edition, 2.3 (READ).
    """
    _check(tares_g)
    if not (math.isfinite(division_g) and division_g > 0.0):
        raise BadInput(Fault("a division", "more than 0", value=f"{division_g:g} g"))
    if len(tares_g) < FIRST_TARES:
        return UnusedDryTare(None, 0, FIRST_TARES - len(tares_g), "Two are weighed first.")
    apart = abs(tares_g[0] - tares_g[1])
    if apart < division_g * (1.0 - _EXACT):
        mean = (tares_g[0] + tares_g[1]) / 2.0
        return UnusedDryTare(
            mean, FIRST_TARES, 0, "The first two do not differ by a division: they stand."
        )
    differ = f"The first two differ by {apart:.4g} g, a division or more"
    if len(tares_g) < ALL_TARES:
        more = ALL_TARES - len(tares_g)
        return UnusedDryTare(None, 0, more, f"{differ}: the mean of five is used.")
    five = math.fsum(tares_g[:ALL_TARES]) / ALL_TARES
    return UnusedDryTare(five, ALL_TARES, 0, f"{differ}: the mean of the first five is used.")


def tare_doubt(
    tares_g: Sequence[float], *, limit_g: float, confidence: float = 0.95, division_g: float = 0.0
) -> TareDoubt:
    """Find how sure the mean tare is, and how many tares would make it sure enough.

    Parameters
    ----------
    tares_g : sequence of float
        Two tares or more [g].
    limit_g : float
        Largest doubt the mean tare may have [g].
    confidence : float
        Of the intervals [1].
    division_g : float
        Division of the scale they were weighed on [g]; 0 where it is fine.

    Returns
    -------
    TareDoubt
        Mean, spread, doubts, how many to weigh.

    Raises
    ------
    BadInput
        For fewer than two tares, one that is no mass, a limit that is not more than 0, or a
        division below 0.

    Notes
    -----
    Doubt of the mean t s/sqrt(n), of one ball t s sqrt(1 + 1/n), n - 1 degrees of freedom. The
    number to weigh is the least n with t(n - 1) s/sqrt(n) within the limit; at the limit is enough.
    Tares that show alike may all be rounded the same way, and more of them do not help: no doubt
    is below half a division. Source: DERIVED (Student's t, rounding).
    """
    _check(tares_g)
    if len(tares_g) < FIRST_TARES:
        raise BadInput(Fault("one tare says nothing of their spread", "two or more"))
    if not (math.isfinite(limit_g) and limit_g > 0.0):
        raise BadInput(Fault("a limit of doubt", "more than 0", value=f"{limit_g:g} g"))
    if not (math.isfinite(division_g) and division_g >= 0.0):
        raise BadInput(Fault("a division", "0 or more", value=f"{division_g:g} g"))
    if not 0.0 < confidence < 1.0:
        raise BadInput(Fault("a confidence outside 0 to 100 %", value=f"{100 * confidence:g} %"))
    tares = np.asarray(tares_g, dtype=np.float64)
    n = tares.size
    sd = float(tares.std(ddof=1)) if float(np.ptp(tares)) > 0.0 else 0.0
    factor = _factor(n, confidence)
    least = division_g / 2.0
    doubt = max(factor * sd / math.sqrt(n), least)
    hopeless = least > limit_g * (1.0 + _EXACT)
    return TareDoubt(
        weighed=n,
        mean_g=float(tares.mean()),
        sd_g=sd,
        mean_doubt_g=doubt,
        ball_doubt_g=max(factor * sd * math.sqrt(1.0 + 1.0 / n), least),
        confidence=confidence,
        limit_g=limit_g,
        needed=None if hopeless else tares_needed(sd, limit_g, confidence),
        enough=doubt <= limit_g * (1.0 + _EXACT),
    )


def tares_needed(sd_g: float, limit_g: float, confidence: float = 0.95) -> int | None:
    """Count the tares to weigh until the doubt of their mean is small enough.

    Parameters
    ----------
    sd_g : float
        Standard deviation of tares [g].
    limit_g : float
        Largest doubt of the mean [g]; more than 0.
    confidence : float
        Of that doubt [1].

    Returns
    -------
    int or None
        At least two; None where more than a million would not do.
    """

    def enough(n: int) -> bool:
        return _factor(n, confidence) * sd_g / math.sqrt(n) <= limit_g * (1.0 + _EXACT)

    if not enough(MOST_TARES):
        return None
    low, high = 1, FIRST_TARES
    while not enough(high):
        low, high = high, min(2 * high, MOST_TARES)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def range_ratio(package_errors_g: Sequence[float], tares_g: Sequence[float]) -> float | None:
    """Give Rc/Rt of the handbook's used dry tare: range of package errors over range of tares.

    Parameters
    ----------
    package_errors_g : sequence of float
        Errors of the packages of the tare sample [g].
    tares_g : sequence of float
        Their tares [g].

    Returns
    -------
    float or None
        The ratio [1]; None where the tares are all alike, so that none more need be opened.

    Raises
    ------
    BadInput
        For fewer than two of either.

    Notes
    -----
    Source: NIST HB 133, 2026 edition, 2.3 (READ).
    """
    if min(len(package_errors_g), len(tares_g)) < 2:
        raise BadInput(Fault("too few for a range", "two packages or more"))
    spread = max(tares_g) - min(tares_g)
    return (max(package_errors_g) - min(package_errors_g)) / spread if spread > 0.0 else None


def tares_to_open(ratio: float | None) -> int:
    """Refuse to say how many tares to open: the table is not in the house.

    Parameters
    ----------
    ratio : float or None
        Rc/Rt [1].

    Returns
    -------
    int
        Never.

    Raises
    ------
    BadInput
        Always: Table 2-3 of the handbook's Appendix A could not be read and is not recalled.
    """
    told = "without end" if ratio is None else f"{ratio:.3g}"
    raise BadInput(
        Fault(
            f"Rc/Rt is {told}; how many used tares that asks for stands in NIST HB 133, Appendix "
            "A, Table 2-3, which we have not read",
            "unused dry tare, or that table in hand",
        )
    )


def _check(tares_g: Sequence[float]) -> None:
    if not len(tares_g):
        raise BadInput(Fault("no tares", "one or more"))
    for place, tare in enumerate(tares_g, 1):
        if not (math.isfinite(tare) and tare >= 0.0):
            raise BadInput(Fault("a tare that is no mass", "0 or more", key=f"tare {place}",
                                 value=f"{tare:g} g"))  # fmt: skip


def _factor(n: int, confidence: float) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(n - 1, 0.5 * (1.0 + confidence)))
