"""Control chart of joins per 100 km with exact limits, for lengths that need not be equal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clew.faults import BadInput, Fault
from clew.knots.rates import check_share

USUAL_RISK = 0.00135
"""False alarms on either side [1]: what three standard deviations leave of a normal law."""


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """One stretch of yarn on the chart.

    Attributes
    ----------
    joins : int
        Joins on it.
    length_km : float
        Its length [km].
    per_100_km : float
        Joins per 100 km.
    least_joins, most_joins : int
        Fewest and most joins that are still usual on this length.
    low_per_100_km, high_per_100_km : float
        The same per 100 km: the limits of the chart.
    signal : str
        ``high``, ``low`` or empty.
    shape : float or None
        Gamma shape of the stretch's rate that the limits allow for; None for one rate.
    """

    joins: int
    length_km: float
    per_100_km: float
    least_joins: int
    most_joins: int
    low_per_100_km: float
    high_per_100_km: float
    signal: str
    shape: float | None = None


@dataclass(frozen=True, slots=True)
class JoinsChart:
    """A u-chart of joins.

    Attributes
    ----------
    centre_per_100_km : float
        Centre line [1/100 km].
    risk : float
        False alarms allowed on either side, as a fraction.
    points : tuple of ChartPoint
        In the order given.
    """

    centre_per_100_km: float
    risk: float
    points: tuple[ChartPoint, ...]


def shape_of_stretch(cone_shape: float, cone_km: Sequence[float]) -> float:
    """Find the gamma shape of the mean rate of several cones from the shape of one.

    Parameters
    ----------
    cone_shape : float
        Gamma shape of the rate from cone to cone [1].
    cone_km : sequence of float, shape (n,)
        Lengths of the cones [km].

    Returns
    -------
    float
        Shape of the stretch: n times that of a cone where all are equally long, less otherwise.

    Raises
    ------
    BadInput
        No cones, or a shape or a length that is not above 0.

    Notes
    -----
    Knots on cones of means m are negative binomial each. Their sum is so too where the means are
    equal; otherwise the law with the same mean and variance stands in for it: shape times
    (sum of m) ** 2 / sum of m ** 2. DERIVED.
    """
    sizes = [cone_shape, *cone_km]
    if not cone_km or not all(math.isfinite(size) and size > 0.0 for size in sizes):
        raise BadInput(Fault("no shape of a stretch", "a shape and lengths above 0"))
    return cone_shape * math.fsum(cone_km) ** 2 / math.fsum(km * km for km in cone_km)


def usual_joins(
    mean: float, *, risk: float = USUAL_RISK, shape: float | None = None
) -> tuple[int, int]:
    """Find the fewest and most joins that are still usual around a mean.

    Parameters
    ----------
    mean : float
        Joins expected [1].
    risk : float
        Chance allowed beyond either limit [1].
    shape : float or None
        Gamma shape of the rate on such a stretch [1]; None where it is always the same.

    Returns
    -------
    (int, int)
        Fewer than the first, or more than the second, comes up with at most the risk.

    Notes
    -----
    Exact Poisson limits, or negative binomial ones with a shape. Three standard deviations about
    the mean warn too often above and never below when a mean is small. DERIVED.
    """
    from scipy.stats import nbinom, poisson

    check_share(risk, "risk")
    if mean == 0.0:
        return 0, 0
    law = poisson(mean) if shape is None else nbinom(shape, shape / (shape + mean))
    most = int(law.isf(risk))
    # The quantile is the first count with more than the risk at or below it: all below are rare.
    least = int(law.ppf(risk))
    return (least if law.cdf(least) > risk else least + 1), most


def joins_chart(
    joins: Sequence[int],
    length_km: Sequence[float],
    *,
    centre_per_100_km: float | None = None,
    risk: float = USUAL_RISK,
    shapes: Sequence[float] | None = None,
) -> JoinsChart:
    """Chart joins per 100 km with limits of its own for each length.

    Parameters
    ----------
    joins : sequence of int, shape (n,)
        Joins on each stretch.
    length_km : sequence of float, shape (n,)
        Its length [km].
    centre_per_100_km : float or None
        Centre line [1/100 km]; None for the pooled rate of these stretches.
    risk : float
        Chance of a false alarm on either side of one point [1].
    shapes : sequence of float, shape (n,), or None
        Gamma shape of the rate of each stretch (`shape_of_stretch`) where cones differ; None
        where all yarn breaks at one rate.

    Returns
    -------
    JoinsChart
        Points with their limits and signals.

    Raises
    ------
    BadInput
        No stretches, unlike numbers of joins, lengths and shapes, joins, lengths or shapes that
        cannot be.

    Notes
    -----
    Centre and shapes are taken as known. Where cones differ among themselves and no shapes are
    given, points fall outside many times as often as the risk says. Source: negative binomial
    limits for counts whose rate varies, common practice (MEMORY).
    """
    if len(joins) != len(length_km) or not joins:
        value = f"{len(joins)} and {len(length_km)}"
        raise BadInput(Fault("not one length for each count", "as many, at least 1", value=value))
    faults = [
        Fault("no joins on a length", "0 or more joins, above 0 km", key=f"point {place}")
        for place, (count, length) in enumerate(zip(joins, length_km, strict=True), 1)
        if count < 0 or not (math.isfinite(length) and length > 0.0)
    ]
    if shapes is not None and (
        len(shapes) != len(joins) or not all(math.isfinite(one) and one > 0.0 for one in shapes)
    ):
        faults.append(Fault("no gamma shapes", "one above 0 for each count", key="shapes"))
    centre = centre_per_100_km
    if centre is not None and not (math.isfinite(centre) and centre >= 0.0):
        faults.append(Fault("no centre line", "0 or more", key="centre", value=f"{centre:g}"))
    if faults:
        raise BadInput(faults)
    if centre is None:
        centre = 100.0 * float(np.sum(joins)) / math.fsum(length_km)
    points = []
    each: Sequence[float | None] = [None] * len(joins) if shapes is None else shapes
    stretches = list(zip(length_km, each, strict=True))
    # Many cones are of one length: their limits are worked out once.
    limits = {
        (km, shape): usual_joins(centre / 100.0 * km, risk=risk, shape=shape)
        for km, shape in set(stretches)
    }
    for count, (length, shape) in zip(joins, stretches, strict=True):
        least, most = limits[length, shape]
        points.append(
            ChartPoint(
                joins=count,
                length_km=length,
                per_100_km=100.0 * count / length,
                least_joins=least,
                most_joins=most,
                low_per_100_km=100.0 * least / length,
                high_per_100_km=100.0 * most / length,
                signal="high" if count > most else "low" if count < least else "",
                shape=shape,
            )
        )
    return JoinsChart(centre, risk, tuple(points))
