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
    """

    joins: int
    length_km: float
    per_100_km: float
    least_joins: int
    most_joins: int
    low_per_100_km: float
    high_per_100_km: float
    signal: str


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


def usual_joins(mean: float, *, risk: float = USUAL_RISK) -> tuple[int, int]:
    """Find the fewest and most joins that are still usual around a mean.

    Parameters
    ----------
    mean : float
        Joins expected [1].
    risk : float
        Chance allowed beyond either limit [1].

    Returns
    -------
    (int, int)
        Fewer than the first, or more than the second, comes up with at most the risk.

    Notes
    -----
    Exact Poisson limits. Three standard deviations about the mean warn too often above and never
    below when a mean is small. DERIVED.
    """
    from scipy.stats import poisson

    check_share(risk, "risk")
    if mean == 0.0:
        return 0, 0
    most = int(poisson.isf(risk, mean))
    # The quantile is the first count with more than the risk at or below it: all below are rare.
    least = int(poisson.ppf(risk, mean))
    return (least if poisson.cdf(least, mean) > risk else least + 1), most


def joins_chart(
    joins: Sequence[int],
    length_km: Sequence[float],
    *,
    centre_per_100_km: float | None = None,
    risk: float = USUAL_RISK,
) -> JoinsChart:
    """Chart joins per 100 km with limits that are exact for each length.

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

    Returns
    -------
    JoinsChart
        Points with their limits and signals.

    Raises
    ------
    BadInput
        No stretches, unlike numbers of joins and lengths, joins or lengths that cannot be.

    Notes
    -----
    Where cones differ among themselves, points fall outside more often than the risk says.
    """
    if len(joins) != len(length_km) or not joins:
        value = f"{len(joins)} and {len(length_km)}"
        raise BadInput(Fault("not one length for each count", "as many, at least 1", value=value))
    faults = [
        Fault("no joins on a length", "0 or more joins, above 0 km", key=f"point {place}")
        for place, (count, length) in enumerate(zip(joins, length_km, strict=True), 1)
        if count < 0 or not (math.isfinite(length) and length > 0.0)
    ]
    centre = centre_per_100_km
    if centre is not None and not (math.isfinite(centre) and centre >= 0.0):
        faults.append(Fault("no centre line", "0 or more", key="centre", value=f"{centre:g}"))
    if faults:
        raise BadInput(faults)
    if centre is None:
        centre = 100.0 * float(np.sum(joins)) / math.fsum(length_km)
    points = []
    # Many cones are of one length: their limits are worked out once.
    limits = {km: usual_joins(centre / 100.0 * km, risk=risk) for km in set(length_km)}
    for count, length in zip(joins, length_km, strict=True):
        least, most = limits[length]
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
            )
        )
    return JoinsChart(centre, risk, tuple(points))
