"""The strand's way over the ball in space, for drawing, and the outline of the ball in section."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from clew.ball.wind.build import Build, WindSetting, surfaces_at, tilt_at_turn
from clew.faults import BadInput, Fault
from clew.languages import say

Floats = NDArray[np.float64]

MOST_POINTS = 2_000_000
"""Most points of a path."""


def strand_path(
    setting: WindSetting, build: Build, *, last_turns: int = 150, points_per_turn: int = 60
) -> Floats:
    """Trace the last turns of a ball on the surface as it stood when they were laid.

    Parameters
    ----------
    setting : WindSetting
        The setting the ball was wound with.
    build : Build
        The wound ball.
    last_turns : int
        Turns to trace, at most those of the ball.
    points_per_turn : int
        Points in each turn.

    Returns
    -------
    ndarray, shape (n, 3)
        Points from the ball's centre [mm], the mandrel's axis along z, turning with the ball; the
        last point is the end of the strand.

    Raises
    ------
    BadInput
        For fewer than one turn, fewer than eight points a turn, or too many points.

    Notes
    -----
    With t the flyer's angle the direction is Rz(-t/r) (cos b cos t, sin t, -sin b cos t), times
    R(latitude) read between the surfaces before and after the turn. Yarn that slid afterwards is
    drawn where it was laid. Source: DERIVED.
    """
    if last_turns < 1 or points_per_turn < 8 or last_turns * points_per_turn > MOST_POINTS:
        raise BadInput(
            Fault(
                say("out of range"),
                say(
                    "at least 1 turn of 8 points, at most {most_points} points",
                    most_points=MOST_POINTS,
                ),
                key="last_turns, points_per_turn",
                value=f"{last_turns}, {points_per_turn}",
            )
        )
    start = max(build.turns - last_turns, 0.0)
    count = math.ceil((build.turns - start) * points_per_turn) + 1
    turn: Floats = np.linspace(start, build.turns, count)
    begun = build.turn_length_mm.size
    first = math.floor(start)
    surfaces = surfaces_at(build, np.arange(first, begun + 1, dtype=np.int64))
    # a turn wound in part ends on the last surface
    marks = np.minimum(np.arange(first, begun + 1, dtype=np.float64), build.turns)
    angle = 2.0 * math.pi * turn
    tilt = np.radians(tilt_at_turn(setting, turn))
    height = -np.sin(tilt) * np.cos(angle)
    radius = _read(surfaces, np.interp(turn, marks, np.arange(marks.size)), np.arcsin(height))
    back = angle / setting.wind_ratio
    across, along = np.cos(tilt) * np.cos(angle), np.sin(angle)
    return np.column_stack(
        (
            radius * (across * np.cos(back) + along * np.sin(back)),
            radius * (along * np.cos(back) - across * np.sin(back)),
            radius * height,
        )
    )


def surface_outline(build: Build) -> tuple[Floats, Floats]:
    """Draw the outline of a ball cut along the mandrel's axis.

    Parameters
    ----------
    build : Build
        The wound ball.

    Returns
    -------
    x, z : ndarray, shape (2 bands + 1,)
        Closed outline [mm], x square to the axis and z along it, from the south pole up one side
        and down the other. Where nothing covers it, it follows the bare mandrel.
    """
    latitude = np.radians(build.latitude_deg)
    x = build.radius_mm * np.cos(latitude)
    z = build.radius_mm * np.sin(latitude)
    return (
        np.concatenate((x, -x[::-1], x[:1])),
        np.concatenate((z, z[::-1], z[:1])),
    )


def _read(surfaces: Floats, moment: Floats, latitude: Floats) -> Floats:
    """Read radii [mm] at moments counted in surfaces and at latitudes [rad], straight between."""
    bands = surfaces.shape[1]
    place = np.abs(latitude) / (0.5 * math.pi) * bands - 0.5
    place = np.clip(place, 0.0, bands - 1.0)
    low = np.minimum(place.astype(np.int64), bands - 2)
    east = place - low
    early = np.minimum(moment.astype(np.int64), surfaces.shape[0] - 2)
    late = moment - early
    before = surfaces[early, low] * (1.0 - east) + surfaces[early, low + 1] * east
    after = surfaces[early + 1, low] * (1.0 - east) + surfaces[early + 1, low + 1] * east
    return np.asarray(before * (1.0 - late) + after * late, dtype=np.float64)
