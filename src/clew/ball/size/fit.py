"""The constants of a ball's shape from three or more measured balls.

Each stated range counts as 95 % credence of its constant; the balls then speak. What they cannot
tell apart stays as open as it was, and the fit says so.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.ball.size.constants import (
    NAMES,
    FittedConstants,
    ShapeConstants,
    Span,
    from_scale,
    to_scale,
    values_from_scale,
)
from clew.ball.size.pressing import Press
from clew.ball.size.shape import WoundSize, sizes_at
from clew.faults import BadInput, Fault
from clew.languages import say

FEWEST_BALLS = 3
"""Fewest measured balls: with fewer, their scatter cannot be told from the constants."""
_REST_D, _REST_W, _REST_B, _FLAT_T = 3, 4, 5, 7
"""Places of the measured sizes in what `clew.ball.size.shape.sizes_at` gives."""
_TWO_SIDED_95 = 1.959964
_FARTHEST = 4.0
"""Standard deviations from the stated middle beyond which no constant is sought."""
_DIFFERENCE = 1e-4
"""Step of the Jacobian's differences, in stated standard deviations."""
_MOST_CHANGE = 0.5
"""Largest relative change from wound to relaxed that is taken for a measurement [-]."""


@dataclass(frozen=True, slots=True)
class MeasuredBall:
    """A ball measured as wound and after its rest.

    Attributes
    ----------
    wound : WoundSize
        As wound, with the winding stress.
    relaxed_diameter_mm, relaxed_width_mm : float
        After the rest, before pressing [mm].
    relaxed_bore_mm : float or None
        Bore after the rest [mm], where it was measured.
    press : Press or None
        The plates, where it was pressed.
    pressed_thickness_mm : float or None
        Thickness after pressing and springing back [mm], where it was measured.
    """

    wound: WoundSize
    relaxed_diameter_mm: float
    relaxed_width_mm: float
    relaxed_bore_mm: float | None = None
    press: Press | None = None
    pressed_thickness_mm: float | None = None


def fit_shape(
    balls: Sequence[MeasuredBall],
    stated: ShapeConstants | None = None,
    *,
    reading_mm: float = 1.0,
) -> FittedConstants:
    """Fit the constants of shape to measured balls.

    Parameters
    ----------
    balls : sequence of MeasuredBall
        Three or more.
    stated : ShapeConstants or None
        Stated ranges, each taken as 95 % credence; None for the defaults. A range of no width fixes
        its constant.
    reading_mm : float
        Standard deviation of one measurement, ball-to-ball differences included [mm].

    Returns
    -------
    FittedConstants
        Best values, their covariance, and how much the balls told about each.

    Raises
    ------
    BadInput
        For fewer than three balls or an impossible measurement, with every fault.

    Notes
    -----
    Least squares over measurements and stated ranges together; covariance (J'J)^-1 from the
    Jacobian at the solution. Where the balls scatter more than the stated reading, the reading is
    raised to their scatter and the fit repeated. Trust it for balls like those measured.
    Source: DERIVED (standard least squares).
    """
    from scipy.optimize import least_squares

    _check_balls(balls, reading_mm)
    stated = ShapeConstants() if stated is None else stated
    middle, width = _prior(stated)
    free = np.flatnonzero(width > 0.0)
    if free.size == 0:
        raise BadInput(Fault(say("nothing is left to fit"), expected=say("a range of some width")))
    measured, places = _measurements(balls)

    def place_at(standard: NDArray[np.float64]) -> NDArray[np.float64]:
        scaled = middle.copy()
        scaled[free] += width[free] * standard
        return scaled

    def leftover(standard: NDArray[np.float64]) -> NDArray[np.float64]:
        values = values_from_scale(place_at(standard))
        foretold = [sizes_at(ball.wound, values, ball.press) for ball in balls]
        return np.asarray(measured - np.array([foretold[ball][size] for ball, size in places]))

    def solve(reading: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        def all_rows(standard: NDArray[np.float64]) -> NDArray[np.float64]:
            return np.concatenate([leftover(standard) / reading, standard])

        found = least_squares(
            all_rows,
            np.zeros(free.size),
            bounds=(-_FARTHEST, _FARTHEST),
            diff_step=np.full(free.size, _DIFFERENCE),
        )
        slopes = np.asarray(found.jac)
        return found.x, np.linalg.inv(slopes.T @ slopes)

    best, covariance = solve(reading_mm)
    left = leftover(best)
    spent = float(np.sum(1.0 - np.diag(covariance)))
    spread = math.sqrt(float(left @ left) / max(measured.size - spent, 1.0))
    if spread > reading_mm:
        best, covariance = solve(spread)
        left = leftover(best)
    return _told(place_at(best), width, free, covariance, balls=len(balls), left=left)


def _told(
    at: NDArray[np.float64],
    width: NDArray[np.float64],
    free: NDArray[np.intp],
    covariance: NDArray[np.float64],
    *,
    balls: int,
    left: NDArray[np.float64],
) -> FittedConstants:
    scaled = np.zeros((len(NAMES), len(NAMES)))
    scaled[np.ix_(free, free)] = covariance * np.outer(width[free], width[free])
    deviation = np.sqrt(np.diag(scaled))
    told = dict.fromkeys(NAMES, 0.0)
    for place, column in enumerate(free):
        told[NAMES[column]] = min(1.0, max(0.0, 1.0 - float(covariance[place, place])))
    interval = {
        name: Span(
            from_scale(name, float(at[i] - _TWO_SIDED_95 * deviation[i])),
            from_scale(name, float(at[i] + _TWO_SIDED_95 * deviation[i])),
        )
        for i, name in enumerate(NAMES)
    }
    return FittedConstants(
        best=values_from_scale(at),
        scaled_covariance=scaled,
        told_frac=told,
        interval_95=interval,
        balls=balls,
        scatter_mm=math.sqrt(float(left @ left) / left.size),
    )


def _prior(stated: ShapeConstants) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middle and standard deviation of each constant on the working scale."""
    ends = np.array(
        [
            [to_scale(name, stated.span(name).low), to_scale(name, stated.span(name).high)]
            for name in NAMES
        ]
    )
    return ends.mean(axis=1), (ends[:, 1] - ends[:, 0]) / (2.0 * _TWO_SIDED_95)


def _measurements(
    balls: Sequence[MeasuredBall],
) -> tuple[NDArray[np.float64], list[tuple[int, int]]]:
    """Give every measured size, and for each its ball and its place among the computed sizes."""
    measured, places = [], []
    for number, ball in enumerate(balls):
        for place, size in (
            (_REST_D, ball.relaxed_diameter_mm),
            (_REST_W, ball.relaxed_width_mm),
            (_REST_B, ball.relaxed_bore_mm),
            (_FLAT_T, ball.pressed_thickness_mm),
        ):
            if size is not None:
                measured.append(size)
                places.append((number, place))
    return np.array(measured), places


def _check_balls(balls: Sequence[MeasuredBall], reading_mm: float) -> None:
    faults = []
    if len(balls) < FEWEST_BALLS:
        faults.append(
            Fault(
                say("too few measured balls"),
                expected=say("{fewest_balls} or more", fewest_balls=FEWEST_BALLS),
                key="balls",
                value=str(len(balls)),
            )
        )
    if not (math.isfinite(reading_mm) and reading_mm > 0.0):
        faults.append(
            Fault(
                say("not a reading error"),
                expected=say("above 0 mm"),
                key="reading_mm",
                value=str(reading_mm),
            )
        )
    for number, ball in enumerate(balls, start=1):
        faults += [
            Fault(what, expected=expected, section=f"ball {number}", key=key, value=value)
            for key, value, what, expected in _wrong_with(ball)
        ]
    if faults:
        raise BadInput(faults)


def _wrong_with(ball: MeasuredBall) -> list[tuple[str, str, str, str]]:
    """Key, value, fault and expectation of every impossible measurement of a ball."""
    wrong = []
    for key, size, wound in (
        ("relaxed_diameter_mm", ball.relaxed_diameter_mm, ball.wound.diameter_mm),
        ("relaxed_width_mm", ball.relaxed_width_mm, ball.wound.width_mm),
    ):
        if not (math.isfinite(size) and abs(size / wound - 1.0) <= _MOST_CHANGE and size > 0.0):
            expected = say(
                "within {most_change:.0%} of the wound {wound:g} mm",
                most_change=_MOST_CHANGE,
                wound=wound,
            )
            wrong.append((key, str(size), say("an impossible relaxed size"), expected))
    bore = ball.relaxed_bore_mm
    if bore is not None and not 0.0 <= bore < ball.relaxed_diameter_mm:
        wrong.append(
            (
                "relaxed_bore_mm",
                str(bore),
                say("an impossible bore"),
                say("0 mm to below the diameter"),
            )
        )
    pressed = ball.pressed_thickness_mm
    if pressed is not None:
        key = "pressed_thickness_mm"
        if ball.press is None:
            wrong.append(
                (key, str(pressed), say("pressed, but by no plates"), say("the plate gap"))
            )
        elif not ball.press.plate_gap_mm <= pressed <= ball.relaxed_diameter_mm:
            expected = say(
                "the plate gap of {plate_gap_mm:g} mm to the relaxed {relaxed_diameter_mm:g} mm",
                plate_gap_mm=ball.press.plate_gap_mm,
                relaxed_diameter_mm=ball.relaxed_diameter_mm,
            )
            wrong.append((key, str(pressed), say("an impossible thickness"), expected))
    return wrong
