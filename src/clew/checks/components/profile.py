"""Intervals of variances by the profile of the restricted likelihood, with the bound at nil."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.lowest import lowest
from clew.checks.components.reml import Fit, at_ratios, steps_of
from clew.faults import BadInput, Fault

Floats = NDArray[np.float64]

_FARTHEST = 1e4
"""A variance so many times the estimate, or the ball's own, is told as without end."""

_MOST_RATIO = 1e7
"""Ratio of variances beyond which the criterion loses its digits."""

_CLOSE = 1e-5


@dataclass(frozen=True, slots=True)
class Range:
    """Interval of a variance.

    Attributes
    ----------
    low : float
        Lower end [unit of the value, squared]; 0 where nil is not ruled out.
    high : float or None
        Upper end; none where the balls set no end to it.
    """

    low: float
    high: float | None


def ranges(fit: Fit, *, confidence: float = 0.95) -> tuple[Range, ...]:
    """Find the interval of each source's variance, that of the ball by itself last.

    Parameters
    ----------
    fit : Fit
        The fitted model.
    confidence : float
        Confidence of each interval, above 0 and below 1 [-].

    Returns
    -------
    tuple of Range
        In the order of the sources, then within.

    Raises
    ------
    BadInput
        If the confidence cannot be used.

    Notes
    -----
    A variance belongs to the interval when fixing it costs no more of twice the restricted
    log-likelihood than the chi-squared quantile of one degree, all other variances fitted anew. At
    the bound this is on the wide side. Source: profile likelihood, common practice.
    """
    from scipy.special import chdtri

    if not 0.0 < confidence < 1.0:
        raise BadInput(
            Fault("not a confidence", "above 0 and below 1", "confidence", value=str(confidence))
        )
    most = float(chdtri(1, 1.0 - confidence))
    size = len(fit.ratios)
    found = []
    for place in range(size + 1):
        profile = _Profile(fit, place)
        best = float(fit.variances[place]) if place < size else fit.within
        found.append(_range(profile.cost, best, fit, most, within=place == size))
    return tuple(found)


class _Profile:
    """Cost of fixing one variance, each search starting where the last one ended."""

    def __init__(self, fit: Fit, place: int) -> None:
        self.fit, self.place = fit, place
        self.scale = steps_of(fit.cross.design)
        self.free = fit.cross.design.rows - 1
        self.unit = math.sqrt(self.free / 2.0)
        self.of_source = place < len(fit.ratios)
        self.steps = self.scale.steps(fit.ratios)
        self.log_within = 0.0

    def cost(self, variance: float) -> float:
        """Twice the log-likelihood lost by fixing the variance."""
        others = [f for f in range(len(self.steps)) if f != self.place]
        fixed, fit, scale = self.place, self.fit, self.scale

        def deviance(at: Floats) -> tuple[float, Floats]:
            steps = self.steps.copy()
            steps[others] = at[: len(others)]
            log_within = at[-1] / self.unit if self.of_source else math.log(variance / fit.within)
            within = fit.within * math.exp(log_within)
            ratios = scale.ratios(steps)
            if self.of_source:
                ratios[fixed] = variance / within
            point = at_ratios(fit.cross, ratios)
            slope = point.logs_slope + point.rss_slope / within
            found = self.free * math.log(2.0 * math.pi * within) + point.rss / within + point.logs
            along = slope[others] * scale.slope(ratios)[others]
            if self.of_source:
                own = self.free - point.rss / within - ratios[fixed] * slope[fixed]
                along = np.append(along, own / self.unit)
            return found - fit.deviance, along

        start, low, high = self.steps[others], np.zeros(len(others)), scale.most[others]
        if self.of_source:
            start = np.append(start, self.unit * self.log_within)
            least = math.log(max(variance / fit.within / _MOST_RATIO, 1e-6))
            low = np.append(low, self.unit * least)
            high = np.append(high, 20.0 * self.unit)
        at, _ = lowest(deviance, start, low, high, close=1e-4)
        self.steps[others] = at[: len(others)]
        if self.of_source:
            self.log_within = float(at[-1] / self.unit)
        return deviance(at)[0]


def _range(
    cost: Callable[[float], float], best: float, fit: Fit, most: float, *, within: bool
) -> Range:
    """Walk out from the estimate on a logarithmic scale until fixing costs too much."""
    from scipy.optimize import brentq

    design = fit.cross.design
    unit = fit.within * (0.0 if within else len(fit.ratios) / design.rows) + (
        fit.within if within else 1e-4 * fit.within
    )

    def scaled(variance: float) -> float:
        return math.log1p(variance / unit)

    def beyond(place: float) -> float:
        lost = max(cost(unit * math.expm1(place)), 0.0)
        return math.sqrt(lost) - math.sqrt(most)  # nearly straight in the place

    here = scaled(best)

    def end(direction: float, stop: float) -> float | None:
        reach, inside = 0.25, here
        while True:
            tried = here + direction * reach
            past = direction * tried >= direction * stop
            tried = stop if past else tried
            if beyond(tried) > 0.0:
                if beyond(inside) >= 0.0:  # as near as the search can tell
                    return inside
                first, last = min(inside, tried), max(inside, tried)
                return float(brentq(beyond, first, last, xtol=_CLOSE, rtol=1e-8))
            if past:
                return None
            inside, reach = tried, 2.0 * reach

    low = None
    if here > 0.0:
        low = end(-1.0, scaled(1e-9 * best) if within else 0.0)
    farthest = min(_FARTHEST * max(best, fit.within), 0.5 * _MOST_RATIO * fit.within)
    high = end(1.0, scaled(max(farthest, 2.0 * best)))
    return Range(
        low=0.0 if low is None else unit * math.expm1(low),
        high=None if high is None else unit * math.expm1(high),
    )
