"""Where the strands cross the equator, and whether that makes a ribbon.

Whatever the tilt, a strand crosses the equator twice a turn, each crossing (1 - 1/r)/2 of a
revolution from the last. Near a simple ratio r = q/p the crossings come back to the same few
places, and the strands stack up there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

COVER_LIMIT = 0.99
"""Least share of the equator under yarn after four covers. Our rule, no published source."""
UNEVEN_LIMIT = 1.0
"""Most unevenness, against strands thrown at random. Our rule, no published source."""
MOST_PATTERNS = 3.0
"""A ratio counts as simple while its crossings cover the equator at most so many times."""


@dataclass(frozen=True, slots=True)
class Stage:
    """The ball at one moment of its build.

    Attributes
    ----------
    turn : int
        Turns wound.
    equator_mm : float
        Diameter at the equator [mm].
    radius_mm : ndarray, shape (latitudes,)
        Distance of the surface from the centre in equal bands from pole to pole [mm].
    tilt_rad : ndarray, shape (turns,)
        Tilts of at least ten nominal covers on top, newest first [rad].
    """

    turn: int
    equator_mm: float
    radius_mm: Floats
    tilt_rad: Floats


def distinct_crossings(flyer_turns: int, ball_turns: int) -> int:
    """Count the places where a closed pattern crosses the equator.

    Parameters
    ----------
    flyer_turns, ball_turns : int
        The ratio q/p in lowest terms.

    Returns
    -------
    int
        q where q - p is even, for the strands going up and coming down then cross at the same
        places; 2 q where it is odd, for they interleave.

    Notes
    -----
    Each crossing is (q - p)/(2 q) of a revolution from the last. Source: DERIVED.
    """
    return flyer_turns if (flyer_turns - ball_turns) % 2 == 0 else 2 * flyer_turns


def footprint_rev(
    tilt_rad: Floats, wind_ratio: float, yarn_width_mm: float, diameter_mm: float
) -> Floats:
    """Find the share of the equator under one crossing strand.

    Parameters
    ----------
    tilt_rad : ndarray
        Tilt [rad].
    wind_ratio : float
        Flyer turns per ball turn [-].
    yarn_width_mm, diameter_mm : float
        Width of the strand as it lies, diameter of the equator [mm].

    Returns
    -------
    ndarray
        w/(pi D sin(theta)) with the angle of wind theta at the equator, at most 1 [rev].

    Notes
    -----
    tan(theta) = sin(b)/(cos(b) - 1/r). Source: DERIVED; w/sin(theta) is the gain of the trade.
    """
    angle = np.arctan2(np.sin(tilt_rad), np.abs(np.cos(tilt_rad) - 1.0 / wind_ratio))
    least = yarn_width_mm / (math.pi * diameter_mm)
    share: Floats = least / np.maximum(np.sin(angle), least)
    return np.minimum(share, 1.0)


def nominal_turns(stage: Stage, ratio: float, yarn_width_mm: float) -> tuple[int, Floats]:
    """Count the turns of one nominal cover: those whose footprints add up to the circumference.

    Parameters
    ----------
    stage : Stage
        The ball at one moment.
    ratio : float
        Wind ratio [-].
    yarn_width_mm : float
        Width of the strand as it lies [mm].

    Returns
    -------
    turns : int
        Turns of the cover.
    footprint : ndarray, shape (turns,)
        Share of the equator under each strand of the stage [rev].
    """
    footprint = footprint_rev(stage.tilt_rad, ratio, yarn_width_mm, stage.equator_mm)
    turns = int(np.searchsorted(np.cumsum(2.0 * footprint), 1.0)) + 1
    return turns, footprint


def cover_round(width_rev: Floats, step_rev: float) -> tuple[float, float]:
    """Lay strands round a circle at equal steps; return the share covered and the unevenness.

    Parameters
    ----------
    width_rev : ndarray, shape (n,)
        Width of each strand's footprint along the circle [rev].
    step_rev : float
        From one strand's middle to the next [rev].

    Returns
    -------
    tuple of float
        Share of the circle under at least one strand [-], and the coefficient of variation of the
        number of layers along it [-].

    Notes
    -----
    Source: DERIVED.
    """
    from clew.ball.wind.coverage_kernel import walk_round

    width = np.minimum(width_rev, 1.0)
    starts = np.arange(float(width.size)) * step_rev - 0.5 * width
    starts -= np.floor(starts)
    ends = starts + width
    past = ends >= 1.0
    ends[past] -= 1.0
    found: tuple[float, float] = walk_round(np.sort(starts), np.sort(ends), int(past.sum()))
    return found


def along_equator(stage: Stage, ratio: float, yarn_width_mm: float) -> tuple[float, float, float]:
    """Measure how the strands cover the equator.

    Parameters
    ----------
    stage : Stage
        The ball at one moment.
    ratio : float
        Wind ratio [-].
    yarn_width_mm : float
        Width of the strand as it lies [mm].

    Returns
    -------
    first, fourth : float
        Share under yarn after one and after four nominal covers [-].
    unevenness : float
        Variation of the layers after ten, as a multiple of that of strands thrown at random [-];
        the larger of all strands and of those going one way.

    Notes
    -----
    n strands of width f at random give layers of mean n f and variance n f (1 - f).
    Source: DERIVED.
    """
    turns, footprint = nominal_turns(stage, ratio, yarn_width_mm)
    width, half = np.repeat(footprint, 2), 0.5 * (1.0 - 1.0 / ratio)
    first, _ = cover_round(width[: 2 * turns], half)
    fourth, _ = cover_round(width[: 8 * turns], half)
    return first, fourth, _unevenness(footprint[: 10 * turns], ratio)


def _unevenness(ten: Floats, ratio: float) -> float:
    """Variation of the layers of ten covers with these footprints, against chance."""
    chance = math.sqrt(float(np.sum(ten * (1.0 - ten)))) / float(np.sum(ten))
    if chance < 1e-9:
        return 0.0
    step = 1.0 - 1.0 / ratio
    _, both_ways = cover_round(np.repeat(ten, 2), 0.5 * step)
    _, one_way = cover_round(ten, step)
    return max(both_ways * math.sqrt(2.0), one_way) / chance


def _is_even(stage: Stage, ratio: float, yarn_width_mm: float) -> bool:
    """Whether a ratio passes the rule at one moment; what settles it is asked first."""
    turns, footprint = nominal_turns(stage, ratio, yarn_width_mm)
    fourth, _ = cover_round(np.repeat(footprint[: 4 * turns], 2), 0.5 * (1.0 - 1.0 / ratio))
    return passes_rule(fourth, 0.0) and passes_rule(
        fourth, _unevenness(footprint[: 10 * turns], ratio)
    )


def passes_rule(fourth: float, unevenness: float) -> bool:
    """Whether a cover after four nominal covers and an unevenness after ten are even enough."""
    return fourth >= COVER_LIMIT and unevenness <= UNEVEN_LIMIT


def nearest_even_ratio(
    moments: tuple[Stage, ...],
    ratio: float,
    yarn_width_mm: float,
    *,
    reach: float,
    step: float,
) -> float | None:
    """Find the nearest ratio that passes at every stage, with its neighbours a step either side.

    Parameters
    ----------
    moments : tuple of Stage
        The build.
    ratio : float
        Wind ratio to start from [-].
    yarn_width_mm : float
        Width of the strand as it lies [mm].
    reach, step : float
        How far to look, and in what steps [-].

    Returns
    -------
    float or None
        The ratio, or None where none passes.
    """
    known: dict[int, bool] = {}

    def even(steps: int) -> bool:
        if steps not in known:
            other = ratio + steps * step
            # the finished ball first: patterns that open at all are open there
            known[steps] = abs(other) >= 1.0 + step and all(
                _is_even(moment, other, yarn_width_mm) for moment in reversed(moments)
            )
        return known[steps]

    for away in range(1, math.floor(reach / step + 1e-9) + 1):
        for steps in (away, -away):
            if even(steps) and even(steps - 1) and even(steps + 1):
                return round(ratio + steps * step, 9)
    return None


def nearest_simple_ratio(stage: Stage, ratio: float, yarn_width_mm: float) -> tuple[int, int]:
    """Find the simple ratio q/p whose pattern the strands repeat most closely.

    Parameters
    ----------
    stage : Stage
        The ball at one moment.
    ratio : float
        Wind ratio [-].
    yarn_width_mm : float
        Width of the strand as it lies [mm].

    Returns
    -------
    tuple of int
        q and p: of the patterns of up to twelve ball turns that cover the equator at most three
        times, the one that comes back nearest to its beginning, measured in footprints.
    """
    footprint = float(
        np.mean(footprint_rev(stage.tilt_rad, ratio, yarn_width_mm, stage.equator_mm))
    )
    best, best_drift = (max(round(abs(ratio)), 1), 1), math.inf
    for p in range(1, 13):
        q = round(abs(ratio) * p)
        if math.gcd(q, p) > 1 or distinct_crossings(q, p) * footprint > MOST_PATTERNS:
            continue
        drift = abs(q / abs(ratio) - p) / footprint
        if drift < best_drift - 1e-12:
            best, best_drift = (q, p), drift
    return best
