"""How a ball grows: wound turn by turn, so that it begins every longer one of the same strand.

The surface is kept at every turn; a ball of fewer turns, or the surface on the way, is then read
off and not wound again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.ball.wind.job import Course, Job, Wound, course_of, table_of
from clew.ball.wind.mandrel import Bands, mandrel_bands, steep_run
from clew.ball.wind.setting import (
    MOST_TURNS,
    STANDARD,
    Resolution,
    WindSetting,
    refuse_bad_build,
    tilt_at_turn,
)
from clew.faults import BadInput, Fault
from clew.languages import say

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

MOST_KEPT = 4000
"""Turns at which the surface is kept, the first ones; a longer ball is wound again to see it."""
_NONE = np.zeros(0, dtype=np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Growth:
    """A ball wound, with its surface on the way.

    Attributes
    ----------
    setting : WindSetting
        The winder's setting.
    resolution : Resolution
        How finely the ball was divided.
    area_mm2 : float
        Packed cross-section of the strand [mm^2].
    bands : Bands
        The bare mandrel.
    course : Course
        The turns by themselves, these and further ones.
    tilt_deg : ndarray, shape (n,)
        Tilt in the middle of each turn begun [deg].
    wound : Wound
        What was wound; kept at the start of each turn and at the end, or of the first turns only.
    """

    setting: WindSetting
    resolution: Resolution
    area_mm2: float
    bands: Bands
    course: Course
    tilt_deg: Floats
    wound: Wound

    @property
    def turns(self) -> float:
        """Turns wound, the last perhaps in part."""
        return self.wound.turns

    @property
    def length_m(self) -> float:
        """Length laid [m]."""
        return float(self.wound.turn_mm.sum()) / 1000.0

    @property
    def cumulative_length_m(self) -> Floats:
        """Length before each turn, and at the end [m]."""
        return cumulative_m(self.wound.turn_mm)


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Lengths laid in a ball.

    Attributes
    ----------
    turns : float
        Turns of the flyer, the last one perhaps in part.
    length_m : float
        Length laid [m].
    cumulative_length_m : ndarray, shape (n + 1,)
        Length before each turn, and at the end [m].
    """

    turns: float
    length_m: float
    cumulative_length_m: Floats


def grow(
    setting: WindSetting,
    area_mm2: float,
    *,
    turns: float | None = None,
    length_m: float | None = None,
    resolution: Resolution = STANDARD,
) -> Growth:
    """Wind a ball, keeping its surface on the way; arguments as for `clew.ball.wind.build.build`.

    Parameters
    ----------
    setting : WindSetting
        The winder's setting.
    area_mm2 : float
        Packed cross-section of the strand [mm^2].
    turns, length_m : float, optional
        Turns [-] or length [m] to wind; exactly one of them.
    resolution : Resolution
        How finely the ball is divided.

    Returns
    -------
    Growth
        The ball.

    Raises
    ------
    BadInput
        With every fault of the setting and the arguments at once.

    Notes
    -----
    Source: DERIVED; see `clew.ball.wind.build.build`.
    """
    refuse_bad_build(setting, area_mm2, turns=turns, length_m=length_m, resolution=resolution)
    most = _most_turns(setting, turns, length_m)
    bands = _bands(setting, resolution)
    tilt_deg = tilt_at_turn(setting, np.arange(most, dtype=np.float64) + 0.5)
    job = Job(
        area_mm2=float(area_mm2),
        turns=math.inf if turns is None else float(turns),
        length_mm=math.inf if length_m is None else 1000.0 * length_m,
        keep_at=np.arange(min(most, MOST_KEPT) + 1, dtype=np.int64),
    )
    course = course_of(tilt_deg, setting.wind_ratio, bands.bare.size)
    wound = _wind(bands, job, course)
    if length_m is not None and float(wound.turn_mm.sum()) < 999.999999 * length_m:
        raise BadInput(
            Fault(
                say("more than {most} turns", most=MOST_TURNS),
                say("a shorter length"),
                key="length_m",
            )
        )
    begun = wound.turn_mm.size
    return Growth(setting, resolution, area_mm2, bands, course, tilt_deg[:begun], wound)


def laid_lengths_m(growth: Growth, areas_mm2: Sequence[float], turns: int) -> list[float]:
    """Wind strands of other areas for the same turns, and see only how much is laid.

    Parameters
    ----------
    growth : Growth
        The ball at one area, wound so far or further.
    areas_mm2 : sequence of float
        Packed cross-sections [mm^2].
    turns : int
        Flyer turns [-].

    Returns
    -------
    list of float
        Length laid of each [m].

    Raises
    ------
    BadInput
        With every fault of the first area that cannot be wound.
    """
    setting, resolution = growth.setting, growth.resolution
    for area in areas_mm2:
        refuse_bad_build(setting, area, turns=turns, length_m=None, resolution=resolution)
    jobs = (Job(float(area), float(turns), math.inf, _NONE) for area in areas_mm2)
    return [float(_wind(growth.bands, job, growth.course).turn_mm.sum()) / 1000.0 for job in jobs]


def laid_in(growth: Growth, turns: float) -> Laid:
    """Read the lengths of a ball off a longer one; wound where that does not reach so far.

    Parameters
    ----------
    growth : Growth
        A ball of the same strand and setting.
    turns : float
        Turns of the ball, the last perhaps in part [-].

    Returns
    -------
    Laid
        Its lengths, as `clew.ball.wind.build.build` gives them.
    """
    begun = math.ceil(turns)
    if not 1 <= begun <= math.floor(growth.turns):
        growth = grow(growth.setting, growth.area_mm2, turns=turns, resolution=growth.resolution)
        return Laid(growth.turns, growth.length_m, growth.cumulative_length_m)
    turn_mm = growth.wound.turn_mm[:begun].copy()
    turn_mm[-1] *= min(1.0, turns - (begun - 1))
    return Laid(float(turns), float(turn_mm.sum()) / 1000.0, cumulative_m(turn_mm))


def cubed_at(growth: Growth, turns: Whole) -> Floats:
    """Read the surface at the start of the given turns, or at the end for those past it.

    Parameters
    ----------
    growth : Growth
        The ball.
    turns : ndarray of int, shape (k,)
        Turns, increasing.

    Returns
    -------
    ndarray, shape (k, bands)
        Mean of R^3 over each band, equator to pole [mm^3].
    """
    at = np.minimum(turns, growth.wound.turn_mm.size)
    kept = growth.wound.kept_mm3
    if not at.size or at[-1] < kept.shape[0]:
        return kept[at]
    job = Job(growth.area_mm2, growth.turns, math.inf, np.unique(at))
    again = _wind(growth.bands, job, growth.course).kept_mm3
    return again[np.searchsorted(job.keep_at, at)]


def cumulative_m(turn_mm: Floats) -> Floats:
    """Add up the lengths of turns [mm] to the length before each, and at the end [m]."""
    return np.concatenate(([0.0], np.cumsum(turn_mm))) / 1000.0


def _wind(bands: Bands, job: Job, course: Course) -> Wound:
    from clew.ball.wind.kernel import wind_turns

    wound: Wound = wind_turns(bands, steep_run(bands), job, course, table_of(bands))
    return wound


def _bands(setting: WindSetting, resolution: Resolution) -> Bands:
    return mandrel_bands(
        setting.mandrel_diameter_mm,
        setting.mandrel_width_mm,
        setting.slip_friction,
        resolution.latitude_bands,
    )


def _most_turns(setting: WindSetting, turns: float | None, length_m: float | None) -> int:
    """Bound the turns needed: no turn is shorter than one round the thinnest bare place."""
    if turns is not None:
        return math.ceil(turns)
    assert length_m is not None
    thinnest = min(setting.mandrel_diameter_mm, setting.mandrel_width_mm)
    shortest = math.pi * thinnest * max(1.0 - 1.0 / abs(setting.wind_ratio), 0.01)
    return min(MOST_TURNS, math.ceil(1000.0 * length_m / shortest) + 2)
