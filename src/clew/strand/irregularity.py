"""The unevenness that no yarn can be without, and how it averages out over length.

A yarn of fibres laid at random has a least coefficient of variation, set by how many fibres stand
in its section; over longer pieces it falls by a law of fibre length alone. Real yarn lies above
both: they are floors, not forecasts.
"""

from __future__ import annotations

import math
from typing import Literal

from clew.faults import BadInput, Fault
from clew.strand.given import more_than_zero, zero_or_more

FibreKind = Literal["man-made", "cotton", "wool"]

_KIND_FACTOR: dict[str, float] = {"man-made": 1.00, "cotton": 1.06, "wool": 1.12}


def fibres_in_section(count_tex: float, fibre_dtex: float) -> float:
    """Find the mean number of fibres in the section of a yarn.

    Parameters
    ----------
    count_tex : float
        Count of the yarn [tex].
    fibre_dtex : float
        Linear density of one fibre [dtex].

    Returns
    -------
    float
        Fibres in the section [1].

    Raises
    ------
    BadInput
        When a value is not more than 0.
    """
    count = more_than_zero(count_tex, "count", "tex")
    return 10.0 * count / more_than_zero(fibre_dtex, "fibre", "dtex")


def limit_irregularity_frac(fibres: float, kind: FibreKind = "man-made") -> float:
    """Find the least possible coefficient of variation of a yarn's mass at a point.

    Parameters
    ----------
    fibres : float
        Mean number of fibres in the section [1].
    kind : {"man-made", "cotton", "wool"}
        Kind of fibre, for how far fibres differ among themselves.

    Returns
    -------
    float
        Limit coefficient of variation [1]: 1.00, 1.06 or 1.12 over sqrt(N).

    Raises
    ------
    BadInput
        When the number is not more than 0 or the kind is unknown.

    Notes
    -----
    Validity: fibres laid at random, spun yarn. Source: Das, IIT Delhi, lecture 32 (READ).
    """
    factor = _KIND_FACTOR.get(kind)
    if factor is None:
        expected = "one of " + ", ".join(_KIND_FACTOR)
        raise BadInput(Fault("no such kind of fibre", expected, key="kind", value=repr(kind)))
    return factor / math.sqrt(more_than_zero(fibres, "fibres"))


def limit_irregularity_from_diameter_frac(fibres: float, diameter_cv_frac: float) -> float:
    """Find the same limit from how far the fibres differ in diameter.

    Parameters
    ----------
    fibres : float
        Mean number of fibres in the section [1].
    diameter_cv_frac : float
        Coefficient of variation of fibre diameter [1].

    Returns
    -------
    float
        Limit coefficient of variation [1]: sqrt(1 + 4 CV_d^2)/sqrt(N), which is 100/sqrt(N)
        sqrt(1 + 0.0004 CV_d^2) with both in percent.

    Raises
    ------
    BadInput
        When the number is not more than 0 or the spread is negative.

    Notes
    -----
    Source: Das, IIT Delhi, lecture 32 (READ); 25 % gives the 112 of wool.
    """
    spread = zero_or_more(diameter_cv_frac, "spread of diameter")
    return math.sqrt(1.0 + 4.0 * spread**2) / math.sqrt(more_than_zero(fibres, "fibres"))


def variance_length_ratio(length_m: float, fibre_length_m: float) -> float:
    """Find by how much the variance between pieces falls with their length, at the least.

    Parameters
    ----------
    length_m : float
        Length of the pieces compared [m]; 0 for points.
    fibre_length_m : float
        Length of the fibres [m], taken as one.

    Returns
    -------
    float
        B(L)/B(0) [1]: 1 - L/(3 l) up to the fibre length, (l/L)(1 - l/(3 L)) beyond.

    Raises
    ------
    BadInput
        When the fibre length is not more than 0 or the length is negative.

    Notes
    -----
    Validity: fibres of one length laid at random. A lower limit: drafting waves keep real yarn
    several times above it over long pieces (2 % at 100 m is quoted where the law says below 0.5 %).
    Source: DERIVED.
    """
    length = zero_or_more(length_m, "length", "m")
    fibre = more_than_zero(fibre_length_m, "fibre length", "m")
    if length <= fibre:
        return 1.0 - length / (3.0 * fibre)
    return fibre / length * (1.0 - fibre / (3.0 * length))


def limit_cv_at_length_frac(point_cv_frac: float, length_m: float, fibre_length_m: float) -> float:
    """Find the least coefficient of variation between pieces of a length.

    Parameters
    ----------
    point_cv_frac : float
        Limit coefficient of variation at a point [1].
    length_m : float
        Length of the pieces [m].
    fibre_length_m : float
        Length of the fibres [m].

    Returns
    -------
    float
        Coefficient of variation between pieces [1].

    Raises
    ------
    BadInput
        When a value is out of range.

    Notes
    -----
    Source: DERIVED, see `variance_length_ratio`.
    """
    ratio = variance_length_ratio(length_m, fibre_length_m)
    return zero_or_more(point_cv_frac, "spread at a point") * math.sqrt(ratio)


def cv_from_mean_deviation_frac(mean_deviation_frac: float) -> float:
    """Turn a mean deviation U into a coefficient of variation, for normal variation.

    Parameters
    ----------
    mean_deviation_frac : float
        Mean absolute deviation over the mean, U [1].

    Returns
    -------
    float
        Coefficient of variation [1]: U sqrt(pi/2).

    Raises
    ------
    BadInput
        When the deviation is negative.

    Notes
    -----
    Validity: normal mass variation. Source: CV = 1.25 U (READ); the exact factor 1.2533 DERIVED.
    """
    return zero_or_more(mean_deviation_frac, "mean deviation") * math.sqrt(math.pi / 2.0)
