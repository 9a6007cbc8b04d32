"""How far apart two shades are: CIEDE2000, and the plain CIELAB differences behind the words.

Shades are rows of L*, a*, b*, measured under D65 by the 10 degree observer unless the mill says
otherwise. CIEDE2000 is symmetric: it does not matter which of the two is the standard.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.strand.given import more_than_zero

Numbers = NDArray[np.float64]

_NEUTRAL_CHROMA = 5.0
"""Below this a shade has hardly a hue of its own: it is redder or bluer along a* and b* alone."""
_LEAST_SAID = 0.1
"""Differences smaller than this are below what a good instrument repeats."""


@dataclass(frozen=True, slots=True)
class ShadeDifference:
    """One shade against a standard, in CIELAB.

    Attributes
    ----------
    de00 : float
        CIEDE2000 difference [1].
    lightness : float
        Lightness less the standard's [1].
    chroma : float
        Chroma less the standard's [1].
    hue : float
        Hue difference, more than 0 counter-clockwise (from red towards yellow) [1].
    words : tuple of str
        What the eye would say, greatest first: "darker", "redder"; empty where nothing shows.
    """

    de00: float
    lightness: float
    chroma: float
    hue: float
    words: tuple[str, ...]


def _lab(shade: ArrayLike) -> Numbers:
    lab = np.asarray(shade, dtype=np.float64)
    if lab.ndim == 0 or lab.shape[-1] != 3:
        raise BadInput(Fault("not a shade", expected="lightness, a and b", value=str(lab.shape)))
    if not np.all(np.isfinite(lab)):
        raise BadInput(Fault("not a shade", expected="finite lightness, a and b"))
    return lab


def ciede2000(
    first: ArrayLike,
    second: ArrayLike,
    *,
    k_lightness: float = 1.0,
    k_chroma: float = 1.0,
    k_hue: float = 1.0,
) -> Numbers:
    """Take the CIEDE2000 difference of shades, element by element.

    Source: ISO/CIE 11664-6 (first CIE 142-2001); G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000
    color-difference formula: implementation notes, supplementary test data, and mathematical
    observations", Color Res. Appl. 30 (2005), for the mean hue and its discontinuities.

    Parameters
    ----------
    first, second : array of float, shape (..., 3)
        L*, a*, b* [1]; the shapes are broadcast.
    k_lightness, k_chroma, k_hue : float
        Parametric factors [1]; 1 in reference conditions, a lightness factor of 2 is usual for
        textiles, where the eye forgives a difference in lightness more.

    Returns
    -------
    array of float, shape (...)
        Differences [1].

    Raises
    ------
    BadInput
        When a shade is not three finite numbers, or a factor not above 0.
    """
    one, two = np.broadcast_arrays(_lab(first), _lab(second))
    for name, factor in (("kL", k_lightness), ("kC", k_chroma), ("kH", k_hue)):
        more_than_zero(factor, name)
    mean_chroma = 0.5 * (np.hypot(one[..., 1], one[..., 2]) + np.hypot(two[..., 1], two[..., 2]))
    seventh = mean_chroma**7
    stretch = 1.5 - 0.5 * np.sqrt(seventh / (seventh + 25.0**7))
    a1, a2 = stretch * one[..., 1], stretch * two[..., 1]
    chroma1, chroma2 = np.hypot(a1, one[..., 2]), np.hypot(a2, two[..., 2])
    hue1 = np.degrees(np.arctan2(one[..., 2], a1)) % 360.0
    hue2 = np.degrees(np.arctan2(two[..., 2], a2)) % 360.0
    grey = chroma1 * chroma2 == 0.0
    turn = hue2 - hue1
    apart = np.abs(turn) > 180.0
    turn = np.where(apart, turn - 360.0 * np.sign(turn), turn)
    turn = np.where(grey, 0.0, turn)
    total = hue1 + hue2
    mean_hue = np.where(apart, np.where(total < 360.0, total + 360.0, total - 360.0), total) / 2.0
    mean_hue = np.where(grey, total, mean_hue)

    d_lightness = two[..., 0] - one[..., 0]
    d_chroma = chroma2 - chroma1
    d_hue = 2.0 * np.sqrt(chroma1 * chroma2) * np.sin(np.radians(turn) / 2.0)

    lightness = 0.5 * (one[..., 0] + two[..., 0])
    chroma = 0.5 * (chroma1 + chroma2)
    t = (
        1.0
        - 0.17 * np.cos(np.radians(mean_hue - 30.0))
        + 0.24 * np.cos(np.radians(2.0 * mean_hue))
        + 0.32 * np.cos(np.radians(3.0 * mean_hue + 6.0))
        - 0.20 * np.cos(np.radians(4.0 * mean_hue - 63.0))
    )
    off_middle = (lightness - 50.0) ** 2
    s_lightness = 1.0 + 0.015 * off_middle / np.sqrt(20.0 + off_middle)
    s_chroma = 1.0 + 0.045 * chroma
    s_hue = 1.0 + 0.015 * chroma * t
    seventh = chroma**7
    rotation = (
        -2.0
        * np.sqrt(seventh / (seventh + 25.0**7))
        * np.sin(np.radians(60.0 * np.exp(-(((mean_hue - 275.0) / 25.0) ** 2))))
    )
    by_lightness = d_lightness / (k_lightness * s_lightness)
    by_chroma = d_chroma / (k_chroma * s_chroma)
    by_hue = d_hue / (k_hue * s_hue)
    squared = by_lightness**2 + by_chroma**2 + by_hue**2 + rotation * by_chroma * by_hue
    # Rounding may bring the square of nothing to just below 0.
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)), dtype=np.float64)


def shade_difference(
    shade: ArrayLike,
    standard: ArrayLike,
    *,
    k_lightness: float = 1.0,
    k_chroma: float = 1.0,
    k_hue: float = 1.0,
) -> ShadeDifference:
    """Compare one shade with its standard, in numbers and in words.

    Parameters
    ----------
    shade, standard : array of float, shape (3,)
        L*, a*, b* [1].
    k_lightness, k_chroma, k_hue : float
        Parametric factors of CIEDE2000 [1].

    Returns
    -------
    ShadeDifference
        CIEDE2000 with the CIELAB differences of lightness, chroma and hue.

    Raises
    ------
    BadInput
        When a shade is not three finite numbers, or a factor not above 0.
    """
    one, two = _lab(shade), _lab(standard)
    if one.shape != (3,) or two.shape != (3,):
        raise BadInput(Fault("not one shade", expected="lightness, a and b"))
    de00 = float(ciede2000(two, one, k_lightness=k_lightness, k_chroma=k_chroma, k_hue=k_hue))
    lightness = float(one[0] - two[0])
    chroma_there = float(np.hypot(two[1], two[2]))
    chroma_here = float(np.hypot(one[1], one[2]))
    chroma = chroma_here - chroma_there
    turned = float(two[1] * one[2] - two[2] * one[1])
    left = (one[1] - two[1]) ** 2 + (one[2] - two[2]) ** 2 - chroma**2
    hue = float(np.copysign(np.sqrt(max(float(left), 0.0)), turned))
    return ShadeDifference(de00, lightness, chroma, hue, _words(one, two, lightness, chroma, hue))


def _words(
    one: Numbers, two: Numbers, lightness: float, chroma: float, hue: float
) -> tuple[str, ...]:
    """Say what the eye would: every part that is at least a third of the greatest."""
    parts = [(abs(lightness), say("lighter") if lightness > 0 else say("darker"))]
    if min(np.hypot(one[1], one[2]), np.hypot(two[1], two[2])) < _NEUTRAL_CHROMA:
        parts += [
            (abs(float(one[axis] - two[axis])), _toward(axis, one[axis] - two[axis]))
            for axis in (1, 2)
        ]
    else:
        parts.append((abs(chroma), say("brighter") if chroma > 0 else say("duller")))
        # A step round the hue circle is named by the axis it runs along most.
        step = np.sign(hue) * np.array([-two[2], two[1]])
        axis = int(np.argmax(np.abs(step))) + 1
        parts.append((abs(hue), _toward(axis, step[axis - 1])))
    greatest = max(size for size, _ in parts)
    said = [part for part in parts if part[0] >= max(greatest / 3.0, _LEAST_SAID)]
    return tuple(word for _, word in sorted(said, key=lambda part: -part[0]))


def _toward(axis: int, step: float) -> str:
    more, less = (say("redder"), say("greener"))
    if axis == 2:
        more, less = (say("yellower"), say("bluer"))
    return more if step > 0 else less
