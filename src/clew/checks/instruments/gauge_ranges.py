"""The same study by averages and ranges: the form a mill fills in with a pencil."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.checks.charts.constants import d2, d3
from clew.checks.instruments.gauge_readings import GaugeReadings
from clew.faults import BadInput, Fault

_MANY_RANGES = 15
"""With more ranges than this the form takes d2 for d2*. Source: AIAG, MSA 4th ed. (MEMORY)."""


@dataclass(frozen=True, slots=True)
class RangeStudy:
    """What averages and ranges give.

    Attributes
    ----------
    mean_ranges : tuple of float
        Mean range of each hand [g or m].
    mean_range : float
        Their mean [g or m].
    hand_means : tuple of float
        Mean of each hand [g or m].
    hand_difference, part_range : float
        Highest less lowest mean of hands, and of parts [g or m].
    k1, k2, k3 : float
        1/d2* of a range of trials, of hands and of parts [1].
    ev, av, grr, pv, tv : float
        Standard deviations of repeatability, reproducibility, both, parts, everything [g or m].
    av_set_to_zero : bool
        The hands differ by less than repeatability alone explains.
    ndc : int or None
        Kinds of ball told apart; None where GRR is 0.
    """

    mean_ranges: tuple[float, ...]
    mean_range: float
    hand_means: tuple[float, ...]
    hand_difference: float
    part_range: float
    k1: float
    k2: float
    k3: float
    ev: float
    av: float
    grr: float
    pv: float
    tv: float
    av_set_to_zero: bool
    ndc: int | None


def d2_star(samples: int, n: int) -> float:
    """Give the divisor that makes the square of a mean range an unbiased variance.

    Parameters
    ----------
    samples : int
        Ranges the mean is taken over, g.
    n : int
        Readings in each range.

    Returns
    -------
    float
        d2* = sqrt(d2^2 + d3^2/g) [1]; with more and more ranges it comes down to d2.

    Raises
    ------
    BadInput
        For no ranges, or fewer than two readings in one.

    Notes
    -----
    E(mean range)^2 = sigma^2 (d2^2 + d3^2/g), the range's mean and variance. Source: DERIVED; the
    factors K2 .5231 and K3 .3146 of the AIAG form come out of it (MEMORY, checked).
    """
    if samples < 1:
        raise BadInput(Fault("no ranges", "one or more", key="d2*", value=str(samples)))
    return math.sqrt(d2(n) ** 2 + d3(n) ** 2 / samples)


def study_by_ranges(readings: GaugeReadings) -> RangeStudy:
    """Study a scale or reel by averages and ranges.

    Parameters
    ----------
    readings : GaugeReadings
        A crossed study of two or more hands and two or more trials.

    Returns
    -------
    RangeStudy
        Spreads and what they come from.

    Raises
    ------
    BadInput
        For a nested study, one hand, or one trial.

    Notes
    -----
    EV = mean range K1, AV = sqrt((X_diff K2)^2 - EV^2/(pr)), PV = R_p K3. The interaction of part
    and hand is not seen this way. Source: AIAG, Measurement Systems Analysis, 4th ed., report form
    (MEMORY; figures of its example checked).
    """
    if readings.design == "nested" or len(readings.hands) < 2 or readings.trials < 2:
        raise BadInput(
            Fault(
                "averages and ranges need every part read twice or more by two hands or more",
                "such a study, or the analysis of variance",
            )
        )
    values = readings.values
    p, o, r = values.shape
    ranges = values.max(axis=2) - values.min(axis=2)
    by_hand, by_part = values.mean(axis=(0, 2)), values.mean(axis=(1, 2))
    mean_range = float(ranges.mean())
    difference = float(by_hand.max() - by_hand.min())
    part_range = float(by_part.max() - by_part.min())
    k1 = 1.0 / (d2(r) if p * o > _MANY_RANGES else d2_star(p * o, r))
    k2, k3 = 1.0 / d2_star(1, o), 1.0 / d2_star(1, p)
    ev = mean_range * k1
    av_squared = (difference * k2) ** 2 - ev**2 / (p * r)
    av, pv = math.sqrt(max(av_squared, 0.0)), part_range * k3
    grr = math.hypot(ev, av)
    return RangeStudy(
        mean_ranges=tuple(float(one) for one in ranges.mean(axis=0)),
        mean_range=mean_range,
        hand_means=tuple(float(one) for one in by_hand),
        hand_difference=difference,
        part_range=part_range,
        k1=k1,
        k2=k2,
        k3=k3,
        ev=ev,
        av=av,
        grr=grr,
        pv=pv,
        tv=math.hypot(grr, pv),
        av_set_to_zero=av_squared < 0.0,
        ndc=math.floor(1.41 * pv / grr) if grr > 0.0 else None,
    )
