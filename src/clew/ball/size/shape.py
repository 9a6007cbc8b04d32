"""How large a ball is: on the mandrel, off it, relaxed at rest, and pressed.

Without measured constants every size is a range over the stated constants. With constants fitted
from measured balls it has a central value and an interval.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.ball.size.constants import (
    NAMES,
    FittedConstants,
    ShapeConstants,
    ShapeValues,
    to_scale,
    values_from_scale,
)
from clew.ball.size.pressing import Press, press_ball
from clew.ball.size.release import wind_on_mandrel, withdraw
from clew.ball.size.stress import Pack, RadialModulus
from clew.faults import BadInput, Fault
from clew.languages import say

SHAPE_LAPS = 100
"""Computed laps of a ball's wall: its sizes are then within a few hundredths of their change."""
TREND_ONLY = say(
    "Trend only: a ball is neither a cylinder in plane stress nor elastic, and "
    "no measured ball stands behind these ranges."
)
"""What must be said where sizes without measured constants are shown."""
LIKE_THOSE_MEASURED = say(
    "For balls like those measured, on the mean; a single ball scatters around it."
)
"""What must be said where sizes with fitted constants are shown."""
_TWO_SIDED_95 = 1.959964
_NUDGE = 1e-3
"""Step of the slopes of the fitted model, on the working scale."""

_OFF_D, _OFF_W, _OFF_B, _REST_D, _REST_W, _REST_B, _SLACK, _FLAT_T, _FLAT_B, _FLAT_L, _FLAT_H = (
    range(11)
)
_SIZES = 11


@dataclass(frozen=True, slots=True)
class Range:
    """A size that is not known better than this.

    Attributes
    ----------
    low, high : float
        Ends of the range, or of the 95 % interval where there is a central value.
    central : float or None
        The value known or fitted; None as long as nothing has been measured.
    """

    low: float
    high: float
    central: float | None = None


@dataclass(frozen=True, slots=True)
class RoundSize:
    """Size of a round ball.

    Attributes
    ----------
    diameter_mm : Range
        Outside, across the mandrel's axis [mm].
    width_mm : Range
        Along the mandrel's axis [mm].
    bore_mm : Range
        Diameter of the hollow [mm]; 0 where it closes.
    """

    diameter_mm: Range
    width_mm: Range
    bore_mm: Range


@dataclass(frozen=True, slots=True)
class FlatSize:
    """Size of a pressed ball.

    Attributes
    ----------
    thickness_mm : Range
        Between the plates [mm].
    breadth_mm : Range
        Across, in the plane of the plates [mm].
    length_mm : Range
        Along the former bore [mm].
    hollow_mm : Range
        Height of the hollow that is left [mm].
    """

    thickness_mm: Range
    breadth_mm: Range
    length_mm: Range
    hollow_mm: Range


@dataclass(frozen=True, slots=True)
class BallShape:
    """Size of a ball from the winder to the band.

    Attributes
    ----------
    on_mandrel : RoundSize
        As wound: what was put in.
    off_mandrel : RoundSize
        Just after the mandrel has been withdrawn.
    relaxed : RoundSize
        After its rest.
    pressed : FlatSize or None
        After pressing; None where it is not pressed.
    slack_frac : Range
        Share of the wall without tension, off the mandrel [-].
    measured : bool
        True when the constants were fitted from measured balls.
    """

    on_mandrel: RoundSize
    off_mandrel: RoundSize
    relaxed: RoundSize
    pressed: FlatSize | None
    slack_frac: Range
    measured: bool

    @property
    def caution(self) -> str:
        """What must be said along with these sizes."""
        return LIKE_THOSE_MEASURED if self.measured else TREND_ONLY


@dataclass(frozen=True, slots=True)
class WoundSize:
    """A ball as wound, for the shape to start from.

    Attributes
    ----------
    diameter_mm : float
        Outside, across the mandrel's axis [mm].
    width_mm : float
        Along the mandrel's axis [mm].
    bore_mm : float
        Diameter of the mandrel [mm].
    winding_stress_kpa : float
        Winding stress [kPa], see `clew.ball.tension.winding_stress_kpa`.

    Raises
    ------
    BadInput
        If a size is not above 0, the bore not below the diameter, or the stress below 0.
    """

    diameter_mm: float
    width_mm: float
    bore_mm: float
    winding_stress_kpa: float

    def __post_init__(self) -> None:
        faults = [
            Fault(say("not a size"), expected=say("above 0 mm"), key=name, value=str(value))
            for name, value in (
                ("diameter_mm", self.diameter_mm),
                ("width_mm", self.width_mm),
                ("bore_mm", self.bore_mm),
            )
            if not (math.isfinite(value) and value > 0.0)
        ]
        if not faults and self.bore_mm >= self.diameter_mm:
            expected = say("below the diameter of {diameter_mm:g} mm", diameter_mm=self.diameter_mm)
            faults.append(
                Fault(say("no wall"), expected=expected, key="bore_mm", value=f"{self.bore_mm:g}")
            )
        stress = self.winding_stress_kpa
        if not (math.isfinite(stress) and stress >= 0.0):
            faults.append(
                Fault(
                    say("not a stress"),
                    expected=say("0 kPa or more"),
                    key="winding_stress_kpa",
                    value=str(stress),
                )
            )
        if faults:
            raise BadInput(faults)


def ball_shape(
    wound_diameter_mm: float,
    wound_width_mm: float,
    bore_mm: float,
    winding_stress_kpa: float,
    constants: ShapeConstants | FittedConstants,
    *,
    press: Press | None = None,
) -> BallShape:
    """Size of a ball on the mandrel, off it, relaxed and pressed.

    Parameters
    ----------
    wound_diameter_mm : float
        Outside of the wound ball [mm].
    wound_width_mm : float
        Its width along the mandrel [mm].
    bore_mm : float
        Diameter of the mandrel [mm].
    winding_stress_kpa : float
        Winding stress [kPa].
    constants : ShapeConstants or FittedConstants
        Stated ranges, or what measured balls told.
    press : Press or None
        The plates, where the ball is pressed.

    Returns
    -------
    BallShape
        Ranges over the stated constants; with fitted constants a central value and the 95 %
        interval of the mean ball.

    Raises
    ------
    BadInput
        If a size or stress is impossible.

    Notes
    -----
    1 The mandrel goes: `release.withdraw` gives bore and outside. 2 At rest the strand
    loses a share of its tension (same balance, softer hoops) and the wall swells outwards by its
    own share. 3 Width changes by a stated share of the relative change of diameter. 4 Plates
    flatten, a share of that stays, packed volume is kept. Ranges are the extremes over all
    combinations of low, middle and high moduli and of both ends of the rest; fitted intervals carry
    the fit's covariance through the slopes. Trend only: a ball is neither a cylinder in plane
    stress nor elastic. Source: DERIVED; constants assumed or measured by the mill.
    """
    wound = WoundSize(wound_diameter_mm, wound_width_mm, bore_mm, winding_stress_kpa)
    if isinstance(constants, FittedConstants):
        ranges = _fitted_ranges(wound, constants, press)
    else:
        ranges = _stated_ranges(wound, constants, press)
    pressed = None
    if press is not None:
        pressed = FlatSize(ranges[_FLAT_T], ranges[_FLAT_B], ranges[_FLAT_L], ranges[_FLAT_H])
    return BallShape(
        on_mandrel=RoundSize(
            Range(wound.diameter_mm, wound.diameter_mm, wound.diameter_mm),
            Range(wound.width_mm, wound.width_mm, wound.width_mm),
            Range(wound.bore_mm, wound.bore_mm, wound.bore_mm),
        ),
        off_mandrel=RoundSize(ranges[_OFF_D], ranges[_OFF_W], ranges[_OFF_B]),
        relaxed=RoundSize(ranges[_REST_D], ranges[_REST_W], ranges[_REST_B]),
        pressed=pressed,
        slack_frac=ranges[_SLACK],
        measured=isinstance(constants, FittedConstants),
    )


def sizes_at(wound: WoundSize, values: ShapeValues, press: Press | None) -> NDArray[np.float64]:
    """Every size of one ball for one value of each constant.

    Parameters
    ----------
    wound : WoundSize
        The ball as wound.
    values : ShapeValues
        The constants.
    press : Press or None
        The plates, where the ball is pressed.

    Returns
    -------
    array of float, shape (11,)
        Diameter, width, bore off the mandrel; the same relaxed [mm]; slack share [-]; thickness,
        breadth, length, hollow pressed [mm], which are 0 without plates.

    Raises
    ------
    BadInput
        If no balance of forces is found.
    """
    cylinder = _cylinder(wound, values, (values.relaxation_frac,))
    rest = np.array([[values.swelling_frac, values.width_share, values.pressing_set_frac]])
    return _finish(wound, cylinder, rest, press)[:, 0]


def _cylinder(
    wound: WoundSize, values: ShapeValues, relaxations: tuple[float, ...]
) -> NDArray[np.float64]:
    """Outside, bore and slack share off the mandrel, then outside and bore for each relaxation."""
    pack = Pack(
        values.hoop_modulus_kpa, RadialModulus(c0_kpa=values.radial_c0_kpa, c1=values.radial_c1)
    )
    laps = wind_on_mandrel(
        wound.bore_mm, wound.diameter_mm, wound.winding_stress_kpa, pack, laps=SHAPE_LAPS
    )
    free = withdraw(laps)
    row = [free.outer_diameter_mm, free.bore_diameter_mm, free.slack_frac]
    rows = []
    for relaxation in relaxations:
        rested = withdraw(laps, relaxation_frac=relaxation)
        rows.append([*row, rested.outer_diameter_mm, rested.bore_diameter_mm])
    return np.array(rows)


def _finish(
    wound: WoundSize,
    cylinders: NDArray[np.float64],
    rest: NDArray[np.float64],
    press: Press | None,
) -> NDArray[np.float64]:
    """Every size for every cylinder with every row of swelling, width share and set."""
    off_d, off_b, slack, rest_d, rest_b = (column[:, None] for column in cylinders.T)
    swelling, width_share, set_frac = (column[None, :] for column in rest.T)
    swollen = rest_d + swelling * (rest_d - rest_b)
    sizes = np.zeros((_SIZES, cylinders.shape[0], rest.shape[0]))
    sizes[_OFF_D], sizes[_OFF_B], sizes[_SLACK] = off_d, off_b, slack
    sizes[_OFF_W] = wound.width_mm * (1.0 + width_share * (off_d / wound.diameter_mm - 1.0))
    sizes[_REST_D], sizes[_REST_B] = swollen, rest_b
    sizes[_REST_W] = wound.width_mm * (1.0 + width_share * (swollen / wound.diameter_mm - 1.0))
    if press is not None:
        flat = press_ball(swollen, sizes[_REST_W], sizes[_REST_B], set_frac, press)
        sizes[_FLAT_T], sizes[_FLAT_B] = flat.thickness_mm, flat.breadth_mm
        sizes[_FLAT_L], sizes[_FLAT_H] = flat.length_mm, flat.bore_mm
    return sizes.reshape(_SIZES, -1)


def _stated_ranges(wound: WoundSize, constants: ShapeConstants, press: Press | None) -> list[Range]:
    """Lowest and highest of every size over the stated constants."""
    moduli = []
    for name in NAMES[:3]:
        span = constants.span(name)
        moduli.append(sorted({span.low, math.sqrt(span.low * span.high), span.high}))
    relaxation = constants.relaxation_frac
    relaxations = tuple(sorted({relaxation.low, relaxation.high}))
    cylinders = np.vstack(
        [
            _cylinder(wound, ShapeValues(hoop, c0, c1, 0.0, 0.0, 0.0, 0.0), relaxations)
            for hoop, c0, c1 in itertools.product(*moduli)
        ]
    )
    ends = [(constants.span(name).low, constants.span(name).high) for name in NAMES[4:]]
    rest = np.array(list(itertools.product(*ends)))
    sizes = _finish(wound, cylinders, rest, press)
    return [Range(float(row.min()), float(row.max())) for row in sizes]


def _fitted_ranges(
    wound: WoundSize, constants: FittedConstants, press: Press | None
) -> list[Range]:
    """Central value and 95 % interval of every size, from the fit's covariance."""
    at = np.array([to_scale(name, getattr(constants.best, name)) for name in NAMES])
    central = sizes_at(wound, constants.best, press)
    slopes = np.zeros((_SIZES, len(NAMES)))
    for column in np.flatnonzero(np.diag(constants.scaled_covariance) > 0.0):
        moved = at.copy()
        moved[column] += _NUDGE
        slopes[:, column] = (sizes_at(wound, values_from_scale(moved), press) - central) / _NUDGE
    spread = np.sqrt(np.einsum("ij,jk,ik->i", slopes, constants.scaled_covariance, slopes))
    reach = _TWO_SIDED_95 * spread
    highest = np.full(_SIZES, math.inf)
    highest[_SLACK] = 1.0
    return [
        Range(float(max(0.0, mid - half)), float(min(top, mid + half)), float(mid))
        for mid, half, top in zip(central, reach, highest, strict=True)
    ]
