"""How large a mill's ball will be: wound, off the mandrel, at rest and pressed."""

from __future__ import annotations

import numpy as np

from clew.ball.outcome import area_of
from clew.ball.size.constants import FittedConstants, ShapeConstants, Span
from clew.ball.size.fit import MeasuredBall, fit_shape
from clew.ball.size.pressing import Press
from clew.ball.size.shape import BallShape, WoundSize, ball_shape
from clew.ball.tension import hoop_modulus_kpa, winding_stress_kpa
from clew.ball.terms import Strand, Winding
from clew.ball.wind.build import Build
from clew.mill.balls import Ball

MODULUS_REACH = 2.0
"""The ball's hoop modulus is taken from the strand's, half to twice it: assumed."""


def mean_angle_of_wind_deg(build: Build) -> float:
    """Mean angle of wind of the strands on top [°], over the latitudes they cross.

    Parameters
    ----------
    build : Build
        The ball as wound.

    Returns
    -------
    float
        The mean over latitudes, each by its circumference [°].
    """
    around = build.radius_mm * np.cos(np.radians(build.latitude_deg)) * build.crossed
    return float(np.sum(np.abs(build.angle_of_wind_deg) * around) / np.sum(around))


def stated_constants(strand: Strand, winding: Winding, angle_deg: float) -> ShapeConstants:
    """Stated ranges of the constants, the hoop modulus taken from the strand's own.

    Parameters
    ----------
    strand, winding
        What is wound and how.
    angle_deg : float
        Mean angle of wind [°].

    Returns
    -------
    ShapeConstants
        Ranges, all assumed until balls are measured.
    """
    hoop = hoop_modulus_kpa(
        strand.modulus_cn_per_tex, strand.count_tex, area_of(strand, winding), angle_deg
    )
    return ShapeConstants(hoop_modulus_kpa=Span(hoop / MODULUS_REACH, hoop * MODULUS_REACH))


def size_of(ball: Ball, strand: Strand, winding: Winding, build: Build) -> BallShape:
    """Size of a ball; numbers where the mill measured three balls or more, ranges where it did not.

    Parameters
    ----------
    ball : Ball
        The ball as the mill file has it.
    strand, winding
        What is wound and how.
    build : Build
        The ball as wound.

    Returns
    -------
    BallShape
        On the mandrel, off it, at rest, pressed.
    """
    angle = mean_angle_of_wind_deg(build)
    stress = winding_stress_kpa(winding.tension_cn, area_of(strand, winding), angle)
    press = None if ball.press_gap_mm is None else Press(ball.press_gap_mm)
    stated = stated_constants(strand, winding, angle)
    constants: ShapeConstants | FittedConstants = stated
    if ball.measured:
        constants = fit_shape(
            [
                MeasuredBall(
                    WoundSize(
                        one.wound_diameter_mm, one.wound_width_mm, ball.mandrel_diameter_mm, stress
                    ),
                    one.rest_diameter_mm,
                    one.rest_width_mm,
                    one.rest_bore_mm,
                    press if one.pressed_thickness_mm is not None else None,
                    one.pressed_thickness_mm,
                )
                for one in ball.measured
            ],
            stated,
        )
    return ball_shape(
        build.diameter_mm, build.width_mm, ball.mandrel_diameter_mm, stress, constants, press=press
    )
