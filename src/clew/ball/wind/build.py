"""A ball wound turn by turn: turns to length, length to turns, the shape and the angle of wind.

A flyer inclined by the tilt lays the strand on a great circle round the ball's centre while the
ball turns slowly on its mandrel. Each turn is measured on the surface as it stands, its packed
volume is put where it was laid, and what lies steeper than the slide rule allows slides downhill.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.ball.wind.angle import angle_on_top
from clew.ball.wind.job import Job, Wound
from clew.ball.wind.mandrel import Bands, mandrel_bands, steep_run
from clew.ball.wind.setting import (
    FINE,
    MOST_TURNS,
    STANDARD,
    Resolution,
    WindSetting,
    refuse_bad_build,
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
    refuse_bad_build(setting, area_mm2, turns=turns, length_m=length_m, resolution=resolution)
    most = _most_turns(setting, turns, length_m)
    bands = _bands(setting, resolution)
    tilt_deg = tilt_at_turn(setting, np.arange(most, dtype=np.float64) + 0.5)
    wound = _run(
        setting, bands, area_mm2=area_mm2, tilt_deg=tilt_deg, turns=turns, length_m=length_m
    )
    length_mm = float(wound.turn_mm.sum())
    if length_m is not None and length_mm < 999.999999 * length_m:
        raise BadInput(
            Fault(
                say("more than {most} turns", most=MOST_TURNS),
                say("a shorter length"),
                key="length_m",
            )
        )
    tilt_deg = tilt_deg[: wound.turn_mm.size]
    yarn = wound.cubed_mm3 - bands.bare
    volume = float(np.dot(bands.coef, yarn))
    latitude = (np.arange(yarn.size, dtype=np.float64) + 0.5) * bands.step_rad
    radius: Floats = np.cbrt(wound.cubed_mm3)
    crossed, angle = angle_on_top(setting, latitude, radius, tilt_deg)
    has_yarn = yarn > 1e-9 * wound.cubed_mm3
    # the outermost bands reach the equator and the pole themselves
    across = np.cos(latitude)
    across[0] = 1.0
    along = bands.sin_mid.copy()
    along[-1] = 1.0
    width = 2.0 * float(np.max(np.where(has_yarn, radius * along, 0.0)))
    slid = wound.slid_mm3 / volume
    return Build(
        turns=wound.turns,
        length_m=length_mm / 1000.0,
        turn_length_mm=wound.turn_mm,
        cumulative_length_m=np.concatenate(([0.0], np.cumsum(wound.turn_mm))) / 1000.0,
        diameter_of_turn_mm=wound.across_mm,
        tilt_of_turn_deg=tilt_deg,
        latitude_deg=np.degrees(np.concatenate((-latitude[::-1], latitude))),
        radius_mm=_both(radius),
        mandrel_radius_mm=_both(np.cbrt(bands.bare)),
        crossed=np.concatenate((crossed[::-1], crossed)),
        angle_of_wind_deg=_both(angle),
        diameter_mm=2.0 * float(np.max(radius * across)),
        width_mm=width,
        volume_mm3=volume,
        packed_volume_error=volume / (length_mm * area_mm2) - 1.0,
        slid_frac=slid,
        area_mm2=area_mm2,
        resolution=resolution,
        warnings=_warnings(setting, tilt_deg, width, slid),
    )


def surfaces_at(setting: WindSetting, build: Build, turns: NDArray[np.int64]) -> Floats:
    """Wind the ball again and keep its surface at the start of the given turns.

    Parameters
    ----------
    setting : WindSetting
        The setting `build` was wound with.
    build : Build
        The wound ball.
    turns : ndarray of int, shape (k,)
        Turns, increasing; one past the end gives the final surface.

    Returns
    -------
    ndarray, shape (k, bands / 2)
        Distance of the surface from the centre [mm], equator to pole.
    """
    bands = _bands(setting, build.resolution)
    wound = _run(
        setting,
        bands,
        area_mm2=build.area_mm2,
        tilt_deg=build.tilt_of_turn_deg,
        turns=build.turns,
        keep_at=turns,
    )
    return np.cbrt(wound.kept_mm3)


def length_at(build: Build, turns: float) -> float:
    """Read the length laid in the first so many turns of a ball.

    Parameters
    ----------
    build : Build
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


def turns_at(build: Build, length_m: float) -> float:
    """Read the turns that lay the first so many metres of a ball.

    Parameters
    ----------
    build : Build
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


def _turn_marks(build: Build) -> Floats:
    marks: Floats = np.minimum(np.arange(build.turn_length_mm.size + 1.0), build.turns)
    return marks


def _both(half: Floats) -> Floats:
    return np.concatenate((half[::-1], half))


def _bands(setting: WindSetting, resolution: Resolution) -> Bands:
    return mandrel_bands(
        setting.mandrel_diameter_mm,
        setting.mandrel_width_mm,
        setting.slip_friction,
        resolution.latitude_bands,
    )


def _run(
    setting: WindSetting,
    bands: Bands,
    *,
    area_mm2: float,
    tilt_deg: Floats,
    turns: float | None = None,
    length_m: float | None = None,
    keep_at: NDArray[np.int64] | None = None,
) -> Wound:
    from clew.ball.wind.kernel import wind_turns

    job = Job(
        tilt_rad=np.radians(tilt_deg),
        inverse_ratio=1.0 / setting.wind_ratio,
        area_mm2=float(area_mm2),
        turns=math.inf if turns is None else float(turns),
        length_mm=math.inf if length_m is None else 1000.0 * length_m,
        keep_at=np.zeros(0, dtype=np.int64) if keep_at is None else keep_at,
    )
    wound: Wound = wind_turns(bands, steep_run(bands), job)
    return wound


def _most_turns(setting: WindSetting, turns: float | None, length_m: float | None) -> int:
    """Bound the turns needed: no turn is shorter than one round the thinnest bare place."""
    if turns is not None:
        return math.ceil(turns)
    assert length_m is not None
    thinnest = min(setting.mandrel_diameter_mm, setting.mandrel_width_mm)
    shortest = math.pi * thinnest * max(1.0 - 1.0 / abs(setting.wind_ratio), 0.01)
    return min(MOST_TURNS, math.ceil(1000.0 * length_m / shortest) + 2)


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
