"""Does the wind ratio lay ribbons? Judged round the equator, at several moments of the build.

A footprint takes a smaller share of a larger ball, so a ratio that fills at a small diameter may
leave gaps at a large one. The growth of the ball itself is taken as even all round and cannot show
a ribbon; this count can.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clew.ball.wind.build import Build, WindSetting, surfaces_at, tilt_at_turn
from clew.ball.wind.crossings import (
    COVER_LIMIT,
    Stage,
    along_equator,
    distinct_crossings,
    footprint_rev,
    nearest_even_ratio,
    nearest_simple_ratio,
    passes_rule,
)
from clew.faults import BadInput, Fault
from clew.languages import say

Floats = NDArray[np.float64]

LATITUDES = 45
"""Bands of latitude at whose middles the surface is read."""
STAGES = 7
"""Moments of the build at which a ratio is judged, unless told otherwise."""
RATIO_RANGE, RATIO_STEP = 0.5, 0.005
"""How far either side other wind ratios are tried, and in what steps [-]."""


@dataclass(frozen=True, slots=True)
class EquatorCover:
    """How a wind ratio covers a ball's equator.

    Attributes
    ----------
    wind_ratio : float
        The ratio that was judged [-].
    simple_ratio : tuple of int
        The simple ratio (q, p), flyer turns per ball turns, whose pattern the strands repeat most
        closely.
    distance : float
        Size of the wind ratio less q/p [-].
    distinct_crossings : int
        Places on the equator where strands of that simple ratio cross it.
    closes_to_diameter_mm : float
        Largest equator diameter at which that many footprints still cover the equator [mm].
    stage_turns : tuple of int
        Turns at which the build was judged.
    diameters_mm : tuple of float
        Diameter at the equator there [mm].
    cover_first_frac, cover_fourth_frac : tuple of float
        Share of the equator under yarn after one nominal cover (the turns whose footprints add up
        to the circumference) and after four, per stage [-].
    unevenness : tuple of float
        Variation of the number of layers along the equator after ten nominal covers, per stage, as
        a multiple of what strands thrown at random would give [-]; the larger of two counts, all
        strands and those going one way only, which is how they lie away from the equator.
    ribbon : bool
        Whether the rule fails at any stage.
    words : str
        The answer in words.
    nearest_safe_ratio : float or None
        The wind ratio itself where it passes; else the one nearest to it that does at every stage;
        None where none does within the range searched [-].
    searched_range : float
        How far from the wind ratio others were tried [-].
    """

    wind_ratio: float
    simple_ratio: tuple[int, int]
    distance: float
    distinct_crossings: int
    closes_to_diameter_mm: float
    stage_turns: tuple[int, ...]
    diameters_mm: tuple[float, ...]
    cover_first_frac: tuple[float, ...]
    cover_fourth_frac: tuple[float, ...]
    unevenness: tuple[float, ...]
    ribbon: bool
    words: str
    nearest_safe_ratio: float | None
    searched_range: float


def equator_cover(
    setting: WindSetting,
    build: Build,
    yarn_width_mm: float,
    *,
    ratio_range: float = RATIO_RANGE,
    ratio_step: float = RATIO_STEP,
    stages: int = STAGES,
) -> tuple[EquatorCover, tuple[Stage, ...]]:
    """Judge whether a wind ratio lays ribbons over the build of a ball.

    Parameters
    ----------
    setting : WindSetting
        The winder's setting.
    build : Build
        The ball wound with it.
    yarn_width_mm : float
        Width of the strand as it lies on the ball [mm].
    ratio_range, ratio_step : float
        How far either side other wind ratios are tried, and in what steps [-].
    stages : int
        Moments of the build at which it is judged, equal in turns, the last the finished ball.

    Returns
    -------
    EquatorCover
        The measures per stage, the answer in words, and the nearest ratio that passes.
    tuple of Stage
        The moments it was judged at.

    Raises
    ------
    BadInput
        For a width, range, step or number of stages that cannot be used.

    Notes
    -----
    A ratio passes where, at every stage, at least 99 % of the equator is under yarn after four
    nominal covers and the layers after ten are no more uneven than strands thrown at random, all
    strands together and those going one way. A ratio is proposed only if its neighbours a step
    either side pass too. The limits are our rule; there is no published source. At the equator the
    longitude of a crossing does not depend on the tilt, so the rule holds for any schedule. A
    change of the ratio is taken to leave the diameters as they are. Source of the pattern: DERIVED;
    that a ribbon stands at simple ratios: Koranne, Fundamentals of Yarn Winding (READ, contents).
    """
    _refuse_bad(yarn_width_mm, ratio_range, ratio_step, stages)
    moments = _stages(setting, build, yarn_width_mm, stages)
    ratio = setting.wind_ratio
    equator = [along_equator(moment, ratio, yarn_width_mm) for moment in moments]
    fails = [not passes_rule(fourth, uneven) for _, fourth, uneven in equator]
    nearest: float | None = ratio
    if any(fails):
        nearest = nearest_even_ratio(
            moments, ratio, yarn_width_mm, reach=ratio_range, step=ratio_step
        )
    q, p = nearest_simple_ratio(moments[-1], ratio, yarn_width_mm)
    crossings = distinct_crossings(q, p)
    last = moments[-1]
    footprint = float(np.mean(footprint_rev(last.tilt_rad, ratio, yarn_width_mm, last.equator_mm)))
    found = EquatorCover(
        wind_ratio=ratio,
        simple_ratio=(q, p),
        distance=abs(ratio) - q / p,
        distinct_crossings=crossings,
        closes_to_diameter_mm=crossings * footprint * last.equator_mm,
        stage_turns=tuple(moment.turn for moment in moments),
        diameters_mm=tuple(moment.equator_mm for moment in moments),
        cover_first_frac=tuple(first for first, _, _ in equator),
        cover_fourth_frac=tuple(fourth for _, fourth, _ in equator),
        unevenness=tuple(uneven for _, _, uneven in equator),
        ribbon=any(fails),
        words="",
        nearest_safe_ratio=nearest,
        searched_range=ratio_range,
    )
    return replace(found, words=_words(found, fails)), moments


def middles(cells: int, whole: float) -> Floats:
    """Middles of equal cells of a whole [the unit of the whole]."""
    return (np.arange(cells, dtype=np.float64) + 0.5) * (whole / cells)


def _stages(
    setting: WindSetting, build: Build, yarn_width_mm: float, count: int
) -> tuple[Stage, ...]:
    """Take the surface at equal steps of the build, with the tilts of the strands on top of it."""
    begun = build.turn_length_mm.size
    turns = np.unique(np.ceil(begun * np.arange(1, count + 1) / count).astype(np.int64))
    half = surfaces_at(build, turns)
    latitude = build.latitude_deg[half.shape[1] :]
    found = []
    for turn, radius in zip(turns, half, strict=True):
        equator = 2.0 * float(radius[0])
        nominal = math.ceil(math.pi * equator / (2.0 * yarn_width_mm)) + 1
        # newest first; a window that reaches past the first turn is folded back into the schedule
        back: Floats = np.abs(turn - 0.5 - np.arange(10.0 * nominal))
        cells: Floats = np.abs(middles(LATITUDES, 180.0) - 90.0)
        found.append(
            Stage(
                turn=int(turn),
                equator_mm=equator,
                radius_mm=np.interp(cells, latitude, radius),
                tilt_rad=np.radians(tilt_at_turn(setting, back)),
            )
        )
    return tuple(found)


def _words(found: EquatorCover, fails: list[bool]) -> str:
    q, p = found.simple_ratio
    simple = f"{q}/{p}" if p > 1 else f"{q}"
    away = abs(found.distance)
    small, large = min(found.diameters_mm), max(found.diameters_mm)
    if not found.ribbon:
        if away < 1e-6:
            return say(
                "Wind ratio {wind_ratio:g} covers the ball evenly from {small:.0f} to "
                "{large:.0f} mm diameter, although it is the simple ratio {simple}.",
                wind_ratio=found.wind_ratio,
                small=small,
                large=large,
                simple=simple,
            )
        return say(
            "Wind ratio {wind_ratio:g} covers the ball evenly from {small:.0f} to "
            "{large:.0f} mm diameter; the nearest simple ratio is {simple}, {away:.3g} away.",
            wind_ratio=found.wind_ratio,
            small=small,
            large=large,
            simple=simple,
            away=away,
        )
    worst = max(
        (i for i, fail in enumerate(fails) if fail),
        key=lambda i: (1.0 - found.cover_fourth_frac[i], found.unevenness[i]),
    )
    bare = 1.0 - found.cover_fourth_frac[worst]
    what = (
        say("{bare:.0f} % of the equator is still bare after four covers", bare=100.0 * bare)
        if bare > 1.0 - COVER_LIMIT
        else say(
            "the layers are {unevenness:.2f} times as uneven as by chance",
            unevenness=found.unevenness[worst],
        )
    )
    place = (
        say("is the simple ratio {simple}", simple=simple)
        if away < 1e-6
        else say("is {away:.3g} from the simple ratio {simple}", away=away, simple=simple)
    )
    advice = (
        say(
            "The nearest wind ratio that covers evenly is {nearest_safe_ratio:g}.",
            nearest_safe_ratio=found.nearest_safe_ratio,
        )
        if found.nearest_safe_ratio is not None
        else say(
            "No wind ratio within {searched_range:g} covers evenly over the whole build.",
            searched_range=found.searched_range,
        )
    )
    return say(
        "Ribbons: wind ratio {wind_ratio:g} {place}, whose strands cross the "
        "equator at {distinct_crossings} places. At {diameters_mm:.0f} mm diameter "
        "{what}. {advice}",
        wind_ratio=found.wind_ratio,
        place=place,
        distinct_crossings=found.distinct_crossings,
        diameters_mm=found.diameters_mm[worst],
        what=what,
        advice=advice,
    )


def _refuse_bad(yarn_width_mm: float, reach: float, step: float, stages: int) -> None:
    faults = []
    if not 0.05 <= yarn_width_mm <= 100.0:
        value = str(yarn_width_mm)
        faults.append(
            Fault(say("out of range"), say("0.05 to 100 mm"), key="yarn_width_mm", value=value)
        )
    if not 1e-4 <= step <= reach <= 10.0:
        faults.append(
            Fault(
                say("out of range"),
                say("a step of at least 0.0001, a range from one step to 10"),
                key="ratio_range, ratio_step",
                value=f"{reach}, {step}",
            )
        )
    if not 1 <= stages <= 50:
        faults.append(Fault(say("out of range"), say("1 to 50"), key="stages", value=str(stages)))
    if faults:
        raise BadInput(faults)
