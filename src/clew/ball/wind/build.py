"""A ball wound turn by turn: turns to length, length to turns, the shape and the angle of wind.

A flyer inclined by the tilt lays the strand on a great circle round the ball's centre while the
ball turns slowly on its mandrel. Each turn is measured on the surface as it stands, its packed
volume is put where it was laid, and what lies steeper than the slide rule allows slides downhill.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from clew.ball.wind.angle import angle_on_top
from clew.ball.wind.growth import Growth, Laid, cubed_at, cumulative_m, grow
from clew.ball.wind.setting import (
    FINE,
    MOST_TURNS,
    STANDARD,
    Resolution,
    WindSetting,
    setting_faults,
    tilt_at_turn,
)
from clew.ball.wind.winding_angles import slip_on_sphere
from clew.faults import BadInput, Fault
from clew.languages import figure, say

__all__ = [
    "FINE",
    "MOST_TURNS",
    "STANDARD",
    "Build",
    "Resolution",
    "WindSetting",
    "ball_of",
    "build",
    "length_at",
    "setting_faults",
    "surfaces_at",
    "tilt_at_turn",
    "turns_at",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Build:
    """A wound ball.

    Attributes
    ----------
    turns : float
        Turns of the flyer, the last one perhaps in part.
    length_m : float
        Length laid [m].
    turn_length_mm : ndarray, shape (n,)
        Length laid in each turn begun [mm]; the last is what was laid of it.
    cumulative_length_m : ndarray, shape (n + 1,)
        Length before each turn, and at the end [m].
    diameter_of_turn_mm : ndarray, shape (n,)
        Largest diameter in the middle of each turn, mandrel included [mm].
    tilt_of_turn_deg : ndarray, shape (n,)
        Tilt in the middle of each turn [deg].
    latitude_deg : ndarray, shape (bands,)
        Middle of each latitude band, south to north [deg].
    radius_mm, mandrel_radius_mm : ndarray, shape (bands,)
        Distance of the surface, and of the bare mandrel, from the ball's centre [mm].
    crossed : ndarray of bool, shape (bands,)
        Whether any turn was laid across the latitude.
    angle_of_wind_deg : ndarray, shape (bands,)
        Mean direction of the strands on top at the latitude, as an angle from the circumference on
        the final surface [deg]: those of the last tilt schedule where it repeats, else the last
        forty. Zero where `crossed` is false: nothing was laid there.
    diameter_mm : float
        Largest diameter square to the axis [mm].
    width_mm : float
        Extent of the yarn along the axis [mm].
    volume_mm3 : float
        Packed volume of the yarn, from the surface [mm^3].
    packed_volume_error : float
        Relative difference of that volume from length times area [-].
    slid_frac : float
        Share of the yarn that slid out of the band in which it was laid [-].
    area_mm2 : float
        Packed cross-section of the strand [mm^2].
    resolution : Resolution
        How finely the ball was divided.
    warnings : tuple of str
        What the reader should know, in words.
    growth : Growth
        The winding it was read off, perhaps further than this ball.
    """

    turns: float
    length_m: float
    turn_length_mm: Floats
    cumulative_length_m: Floats
    diameter_of_turn_mm: Floats
    tilt_of_turn_deg: Floats
    latitude_deg: Floats
    radius_mm: Floats
    mandrel_radius_mm: Floats
    crossed: NDArray[np.bool_]
    angle_of_wind_deg: Floats
    diameter_mm: float
    width_mm: float
    volume_mm3: float
    packed_volume_error: float
    slid_frac: float
    area_mm2: float
    resolution: Resolution
    warnings: tuple[str, ...]
    growth: Growth = field(repr=False)


def build(
    setting: WindSetting,
    area_mm2: float,
    *,
    turns: float | None = None,
    length_m: float | None = None,
    resolution: Resolution = STANDARD,
) -> Build:
    """Wind a ball of so many turns, or of so many metres.

    Parameters
    ----------
    setting : WindSetting
        The winder's setting.
    area_mm2 : float
        Packed cross-section of one strand [mm^2]: count [tex] over pack density [kg/m^3]
        (500 tex at 300 kg/m^3 take 1.667 mm^2).
    turns, length_m : float, optional
        Turns [-] or length [m] to wind; exactly one of them.
    resolution : Resolution
        How finely the ball is divided.

    Returns
    -------
    Build
        The ball.

    Raises
    ------
    BadInput
        With every fault of the setting and the arguments at once.

    Notes
    -----
    On the flyer's circle sin(latitude) = sin(b) sin(theta) with tilt b and theta the flyer's angle
    from the equator; per radian of theta the path on R(latitude) has the length
    R sqrt(1 - 2 cos(b)/r + cos^2(lat)/r^2 + (dR/(R d lat))^2 (sin^2 b - sin^2 lat)/cos^2(lat)).
    A turn lays area x length into the bands it crosses: d(R^3) = 3 dV/(2 pi d(sin lat)). Within a
    turn the tilt is that of its middle and the surface that of its middle. The ball is taken as
    round and as equal north and south; a strand over a hollow is taken to lie in it. The slide
    rule is a heuristic. No measured ball stands behind it. Source: DERIVED; checked against the
    closed forms of `clew.ball.wind.closed_forms`.
    """
    return ball_of(grow(setting, area_mm2, turns=turns, length_m=length_m, resolution=resolution))


def ball_of(growth: Growth, turns: int | None = None) -> Build:
    """Read a ball off a winding.

    Parameters
    ----------
    growth : Growth
        The winding.
    turns : int, optional
        Whole turns of the ball, fewer than were wound; all of them when left out.

    Returns
    -------
    Build
        The ball, as `build` gives it.
    """
    setting, bands, wound = growth.setting, growth.bands, growth.wound
    if turns is None:
        begun, turned, cubed, slid_mm3 = (
            wound.turn_mm.size, wound.turns, wound.cubed_mm3, wound.slid_mm3,
        )  # fmt: skip
    elif 1 <= turns <= math.floor(wound.turns) and turns < wound.kept_mm3.shape[0]:
        begun, turned, cubed, slid_mm3 = (
            turns, float(turns), wound.kept_mm3[turns], float(wound.kept_slid_mm3[turns]),
        )  # fmt: skip
    else:
        return build(setting, growth.area_mm2, turns=turns, resolution=growth.resolution)
    turn_mm, tilt_deg = wound.turn_mm[:begun], growth.tilt_deg[:begun]
    length_mm = float(turn_mm.sum())
    yarn = cubed - bands.bare
    volume = float(np.dot(bands.coef, yarn))
    latitude = (np.arange(yarn.size, dtype=np.float64) + 0.5) * bands.step_rad
    radius: Floats = np.cbrt(cubed)
    crossed, angle = angle_on_top(setting, latitude, radius, tilt_deg)
    has_yarn = yarn > 1e-9 * cubed
    # the outermost bands reach the equator and the pole themselves
    across = np.cos(latitude)
    across[0] = 1.0
    along = bands.sin_mid.copy()
    along[-1] = 1.0
    width = 2.0 * float(np.max(np.where(has_yarn, radius * along, 0.0)))
    slid = slid_mm3 / volume
    return Build(
        turns=turned,
        length_m=length_mm / 1000.0,
        turn_length_mm=turn_mm,
        cumulative_length_m=cumulative_m(turn_mm),
        diameter_of_turn_mm=wound.across_mm[:begun],
        tilt_of_turn_deg=tilt_deg,
        latitude_deg=np.degrees(np.concatenate((-latitude[::-1], latitude))),
        radius_mm=_both(radius),
        mandrel_radius_mm=_both(np.cbrt(bands.bare)),
        crossed=np.concatenate((crossed[::-1], crossed)),
        angle_of_wind_deg=_both(angle),
        diameter_mm=2.0 * float(np.max(radius * across)),
        width_mm=width,
        volume_mm3=volume,
        packed_volume_error=volume / (length_mm * growth.area_mm2) - 1.0,
        slid_frac=slid,
        area_mm2=growth.area_mm2,
        resolution=growth.resolution,
        warnings=_warnings(setting, tilt_deg, width, slid),
        growth=growth,
    )


def surfaces_at(build: Build, turns: NDArray[np.int64]) -> Floats:
    """Read the surface of a ball at the start of the given turns.

    Parameters
    ----------
    build : Build
        The wound ball.
    turns : ndarray of int, shape (k,)
        Turns, increasing; one past the end gives the final surface.

    Returns
    -------
    ndarray, shape (k, bands / 2)
        Distance of the surface from the centre [mm], equator to pole.
    """
    return np.cbrt(cubed_at(build.growth, np.minimum(turns, build.turn_length_mm.size)))


def length_at(build: Build | Growth | Laid, turns: float) -> float:
    """Read the length laid in the first so many turns of a ball.

    Parameters
    ----------
    build : Build, Growth or Laid
        The wound ball.
    turns : float
        Turns, from 0 to those of the ball [-].

    Returns
    -------
    float
        Length [m]. Within a turn the strand is taken to run evenly.

    Raises
    ------
    BadInput
        Beyond the ball.
    """
    if not 0.0 <= turns <= build.turns:
        raise BadInput(
            Fault(
                say("outside the ball"),
                say("0 to {turns:.6g} turns", turns=build.turns),
                key="turns",
                value=f"{turns}",
            )
        )
    return float(np.interp(turns, _turn_marks(build), build.cumulative_length_m))


def turns_at(build: Build | Growth | Laid, length_m: float) -> float:
    """Read the turns that lay the first so many metres of a ball.

    Parameters
    ----------
    build : Build, Growth or Laid
        The wound ball.
    length_m : float
        Length, from 0 to that of the ball [m].

    Returns
    -------
    float
        Turns, with the fraction of the last [-].

    Raises
    ------
    BadInput
        Beyond the ball.
    """
    if not 0.0 <= length_m <= build.length_m * (1.0 + 1e-12):
        expected = say("0 to {length:.6g} m", length=build.length_m)
        raise BadInput(
            Fault(say("outside the ball"), expected, key="length_m", value=f"{length_m}")
        )
    return float(np.interp(length_m, build.cumulative_length_m, _turn_marks(build)))


def _turn_marks(build: Build | Growth | Laid) -> Floats:
    marks: Floats = np.minimum(np.arange(float(build.cumulative_length_m.size)), build.turns)
    return marks


def _both(half: Floats) -> Floats:
    return np.concatenate((half[::-1], half))


def _warnings(
    setting: WindSetting, tilt_deg: Floats, width_mm: float, slid_frac: float
) -> tuple[str, ...]:
    found = []
    edge = math.degrees(math.atan2(setting.mandrel_width_mm, setting.mandrel_diameter_mm))
    highest = float(tilt_deg.max())
    if highest > edge:
        found.append(
            say(
                "The tilt reaches {highest:.1f}°; above {edge:.1f}° the strand wraps round "
                "the mandrel's end.",
                highest=highest,
                edge=edge,
            )
        )
    if width_mm > 1.001 * setting.mandrel_width_mm:
        found.append(
            say(
                "The ball is wider ({width}) than the mandrel ({mandrel}): yarn lies over "
                "the mandrel's edges.",
                width=figure(f"{width_mm:.0f} mm"),
                mandrel=figure(f"{setting.mandrel_width_mm:.0f} mm"),
            )
        )
    if slid_frac > 0.5:
        found.append(
            say(
                "{slid:.0f} % of the yarn slid from where it was laid: the shape "
                "rests on the slide rule, which is a rule of thumb.",
                slid=100.0 * slid_frac,
            )
        )
    needed = max(
        slip_on_sphere(tilt, setting.wind_ratio) for tilt in {highest, float(tilt_deg.min())}
    )
    if needed > setting.slip_friction:
        found.append(
            say(
                "At wind ratio {wind_ratio:g} the strand bends so sharply sideways that it "
                "needs a friction of {needed:.2f} even on a round ball; {stated:g} is stated.",
                wind_ratio=setting.wind_ratio,
                needed=needed,
                stated=setting.slip_friction,
            )
        )
    return tuple(found)
