"""How evenly a wind ratio covers the whole ball: round the equator, and over all its surface."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from clew.ball.wind.build import Build, WindSetting
from clew.ball.wind.crossings import Stage, nominal_turns
from clew.ball.wind.ribbons import (
    LATITUDES,
    RATIO_RANGE,
    RATIO_STEP,
    STAGES,
    EquatorCover,
    equator_cover,
    middles,
)

Floats = NDArray[np.float64]

LONGITUDES, COARSER = 360, 4
"""Cells in longitude in which layers are counted, and how many make one cell of the picture."""


@dataclass(frozen=True, slots=True)
class Coverage(EquatorCover):
    """How a wind ratio covers a ball.

    Attributes
    ----------
    thickness_cv : tuple of float
        Coefficient of variation of the number of layers after ten nominal covers over latitude and
        longitude, against the mean of each latitude and weighted by the yarn there, per stage [-].
    bare_frac : tuple of float
        Share of the area with no yarn after ten covers, per stage [-]. Both count the latitudes on
        which a layer or more was laid.
    picture_latitude_deg, picture_longitude_deg : ndarray, shape (45,), (90,)
        Middles of the cells of the picture [deg].
    picture_layers : ndarray, shape (45, 90)
        Layers in each cell after ten nominal covers on the finished ball [-].
    """

    thickness_cv: tuple[float, ...]
    bare_frac: tuple[float, ...]
    picture_latitude_deg: Floats
    picture_longitude_deg: Floats
    picture_layers: Floats


def coverage(
    setting: WindSetting,
    build: Build,
    yarn_width_mm: float,
    *,
    ratio_range: float = RATIO_RANGE,
    ratio_step: float = RATIO_STEP,
    stages: int = STAGES,
) -> Coverage:
    """Judge how evenly a wind ratio covers a ball over its whole build.

    Parameters
    ----------
    setting, build, yarn_width_mm, ratio_range, ratio_step, stages
        As for `clew.ball.wind.ribbons.equator_cover`.

    Returns
    -------
    Coverage
        The measures per stage, the answer in words, and the nearest ratio that passes.

    Raises
    ------
    BadInput
        For a width, range, step or number of stages that cannot be used.

    Notes
    -----
    Away from the equator layers are counted cell by cell, from the length of every strand in each.
    Source: DERIVED.
    """
    found, moments = equator_cover(
        setting, build, yarn_width_mm,
        ratio_range=ratio_range, ratio_step=ratio_step, stages=stages,
    )  # fmt: skip
    counts = _layers(moments, setting.wind_ratio, yarn_width_mm)
    surface = [_over_surface(count) for count in counts]
    picture = counts[-1].reshape(LATITUDES, LONGITUDES // COARSER, COARSER).mean(axis=2)
    return Coverage(
        **{one.name: getattr(found, one.name) for one in fields(EquatorCover)},
        thickness_cv=tuple(thickness for thickness, _ in surface),
        bare_frac=tuple(bare for _, bare in surface),
        picture_latitude_deg=middles(LATITUDES, 180.0) - 90.0,
        picture_longitude_deg=middles(picture.shape[1], 360.0) - 180.0,
        picture_layers=picture,
    )


def _layers(moments: tuple[Stage, ...], ratio: float, yarn_width_mm: float) -> list[Floats]:
    from clew.ball.wind.coverage_kernel import chart_strokes, count_layers

    turns = [10 * nominal_turns(moment, ratio, yarn_width_mm)[0] for moment in moments]
    laid = [moment.tilt_rad[:some] for moment, some in zip(moments, turns, strict=True)]
    tilts, places = np.unique(np.concatenate(laid), return_inverse=True)
    strokes = chart_strokes(tilts, LATITUDES, 1.0 / ratio)
    ends = np.cumsum([tilt.size for tilt in laid])[:-1]
    return [
        count_layers(moment.radius_mm, strokes, place, 1.0 / ratio, yarn_width_mm, LONGITUDES)
        for moment, place in zip(moments, np.split(places, ends), strict=True)
    ]


def _over_surface(layers: Floats) -> tuple[float, float]:
    """Unevenness of thickness and bare share, over the latitudes with a layer or more."""
    mean = layers.mean(axis=1)
    counted = mean >= 1.0
    if not counted.any():
        return 0.0, 1.0
    layers, mean = layers[counted], mean[counted]
    area = np.cos(np.radians(middles(LATITUDES, 180.0) - 90.0))[counted]
    squared = layers.var(axis=1) / mean**2
    uneven = float(np.dot(area * mean, squared) / np.dot(area, mean))
    bare = (layers <= 0.0).mean(axis=1)
    return math.sqrt(uneven), float(np.dot(area, bare) / area.sum())
