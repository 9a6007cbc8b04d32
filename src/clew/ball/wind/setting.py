"""How a winder is set, how finely its ball is divided, and what is wrong with a setting."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.languages import say

Floats = NDArray[np.float64]

MOST_TURNS = 200_000
"""Longest winding that is computed [turns]."""


@dataclass(frozen=True, slots=True)
class Resolution:
    """How finely the ball is divided.

    Attributes
    ----------
    latitude_bands : int
        Bands of equal height from pole to pole, even. One turn is always one step.
    """

    latitude_bands: int = 180


STANDARD = Resolution(180)
"""Bands of one degree: turns within about 0.02 % of the finest division at usual friction."""
FINE = Resolution(720)
"""Bands of a quarter of a degree, to see what the division does."""


@dataclass(frozen=True, slots=True)
class WindSetting:
    """How a winder is set.

    Attributes
    ----------
    mandrel_diameter_mm, mandrel_width_mm : float
        Diameter and width of the mandrel, a plain cylinder with flat ends [mm].
    wind_ratio : float
        Flyer turns in one ball turn [-]. Positive when flyer and ball turn the same way round, seen
        along the mandrel, so that the ball runs away from the flyer and a turn is a little shorter;
        negative when they turn against each other.
    tilt_turns : tuple of float
        Turns at which the tilt is given, increasing, the first 0.
    tilt_deg : tuple of float
        Tilt at those turns [deg], straight between them: inclination of the flyer's plane from the
        plane square to the mandrel's axis. It is the highest latitude the strand reaches.
    tilt_repeats : bool
        True: the schedule starts again after its last point. False: the last tilt is held.
    slip_friction : float
        Steepest slope |dR/(R d latitude)| on which yarn stays where it was laid [-].
    """

    mandrel_diameter_mm: float
    mandrel_width_mm: float
    wind_ratio: float
    tilt_turns: tuple[float, ...]
    tilt_deg: tuple[float, ...]
    tilt_repeats: bool = False
    slip_friction: float = 0.3


def tilt_at_turn(setting: WindSetting, turn: Floats) -> Floats:
    """Read the tilt schedule.

    Parameters
    ----------
    setting : WindSetting
        The winder's setting.
    turn : ndarray
        Turns since the start, fractions allowed.

    Returns
    -------
    ndarray
        Tilt [deg], same shape.
    """
    where = np.mod(turn, setting.tilt_turns[-1]) if repeats(setting) else turn
    return np.interp(where, setting.tilt_turns, setting.tilt_deg)


def repeats(setting: WindSetting) -> bool:
    """Whether the tilt schedule starts again after its last point."""
    return setting.tilt_repeats and setting.tilt_turns[-1] > 0.0


def setting_faults(setting: WindSetting) -> list[Fault]:
    """List what is wrong with a setting.

    Parameters
    ----------
    setting : WindSetting
        The winder's setting.

    Returns
    -------
    list of Fault
        Empty when the setting can be wound. Sizes 1 to 2000 mm, a wind ratio of at least 1.01
        either way, tilts 0 to 90 degrees, friction 0 to 1.
    """
    faults = _outside("mandrel_diameter_mm", setting.mandrel_diameter_mm, 1.0, 2000.0, " mm")
    faults += _outside("mandrel_width_mm", setting.mandrel_width_mm, 1.0, 2000.0, " mm")
    faults += _outside("slip_friction", setting.slip_friction, 0.0, 1.0, "")
    if not 1.01 <= abs(setting.wind_ratio) <= 1e9:
        value = str(setting.wind_ratio)
        faults.append(
            Fault(
                say("out of range"),
                say("1.01 or more, or -1.01 or less"),
                key="wind_ratio",
                value=value,
            )
        )
    points, tilts = setting.tilt_turns, setting.tilt_deg
    if not points or len(points) != len(tilts):
        faults.append(
            Fault(
                say("schedule does not match"),
                say("as many turns as tilts, at least one"),
                key="tilt_turns, tilt_deg",
                value=f"{len(points)} turns, {len(tilts)} tilts",
            )
        )
    elif points[0] != 0.0 or not all(a < b < math.inf for a, b in itertools.pairwise(points)):
        faults.append(
            Fault(
                say("not in order"),
                say("turns increasing from 0"),
                key="tilt_turns",
                value=str(points),
            )
        )
    for tilt in tilts:
        faults += _outside("tilt_deg", tilt, 0.0, 90.0, " deg")
    return faults


def refuse_bad_build(
    setting: WindSetting,
    area_mm2: float,
    *,
    turns: float | None,
    length_m: float | None,
    resolution: Resolution,
) -> None:
    """Refuse what cannot be wound.

    Parameters
    ----------
    setting : WindSetting
        The winder's setting.
    area_mm2 : float
        Packed cross-section of the strand [mm^2].
    turns, length_m : float or None
        Turns [-] or length [m].
    resolution : Resolution
        How finely the ball is divided.

    Raises
    ------
    BadInput
        With every fault found.
    """
    faults = setting_faults(setting)
    faults += _outside("area_mm2", area_mm2, 1e-3, 1e3, " mm2")
    if (turns is None) == (length_m is None):
        faults.append(
            Fault(say("give turns or length, not both"), say("exactly one"), key="turns, length_m")
        )
    elif turns is not None:
        faults += _outside("turns", turns, 1e-6, MOST_TURNS, " turns")
    else:
        assert length_m is not None
        faults += _outside("length_m", length_m, 1e-6, 1e6, " m")
    bands = resolution.latitude_bands
    if not (8 <= bands <= 4000 and bands % 2 == 0):
        faults.append(
            Fault(
                say("out of range"),
                say("an even number, 8 to 4000"),
                key="latitude_bands",
                value=str(bands),
            )
        )
    if faults:
        raise BadInput(faults)


def _outside(key: str, value: float, low: float, high: float, unit: str) -> list[Fault]:
    if isinstance(value, (int, float)) and low <= value <= high:
        return []
    return [
        Fault(
            say("out of range"),
            say("{low:g} to {high:g} turns", low=low, high=high)
            if unit == " turns"
            else say("{low:g} to {high:g}{unit}", low=low, high=high, unit=unit),
            key=key,
            value=str(value),
        )
    ]
