"""The path of the strand on the finished ball, for drawing it."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from clew.ball.ball_answer import BallAnswer, strand_width_mm
from clew.ball.wind.build import Build, surfaces_at
from clew.ball.wind.path import strand_path

STAGES, RINGS = 16, 22
"""Moments of the build, and latitudes between equator and pole, at which the surface is given."""
STEPS = 36
"""Points a turn: the strand bends by ten degrees from one to the next."""
MOST_TURNS = 1500
"""Turns that are drawn, the last ones laid; a larger ball hides the others deep inside."""


@dataclass(frozen=True, slots=True)
class DrawnPath:
    """A path ready to be drawn.

    Attributes
    ----------
    points_mm : ndarray, shape (n, 3)
        Points in the ball's frame, axis along z, oldest first [mm].
    steps : int
        Points a turn.
    """

    points_mm: NDArray[np.float64]
    steps: int


def path_of(card: BallAnswer) -> DrawnPath:
    """Take the path of a card's ball."""
    points = strand_path(
        card.terms.winding.setting, card.answer.build, last_turns=MOST_TURNS, points_per_turn=STEPS
    )
    return DrawnPath(points, STEPS)


def plain_path(card: BallAnswer) -> dict[str, Any]:
    """Write the path as a program takes it: whole numbers of a small length, packed.

    Parameters
    ----------
    card : BallAnswer
        The answer.

    Returns
    -------
    dict
        ``points_base64``: little-endian 16-bit integers, x y z after one another, times
        ``mm_per_unit`` [mm]; ``steps_per_turn``; ``turns``; ``strand_width_mm``; the surface at
        some ``stage_turns``, equator to pole, as ``radius_mm`` at ``latitude_deg``, for the ends
        that no strand crosses (``highest_crossed_deg``).
    """
    path, build = path_of(card), card.answer.build
    setting = card.terms.winding.setting
    reach = float(np.abs(path.points_mm).max())
    unit = reach / 32000.0
    packed = np.round(path.points_mm / unit).astype("<i2").tobytes()
    return {
        "turns": card.answer.turns,
        "steps_per_turn": path.steps,
        "mm_per_unit": unit,
        "strand_width_mm": strand_width_mm(build.area_mm2),
        "mandrel_diameter_mm": setting.mandrel_diameter_mm,
        "highest_crossed_deg": highest_crossed_deg(build),
        **_surfaces(build),
        "points_base64": base64.b64encode(packed).decode("ascii"),
    }


def highest_crossed_deg(build: Build) -> float:
    """Highest latitude that a strand crosses [deg]."""
    return float(np.abs(build.latitude_deg[build.crossed]).max())


def _surfaces(build: Build) -> dict[str, Any]:
    begun = build.turn_length_mm.size
    turns = np.unique(np.linspace(0, begun, STAGES).round().astype(np.int64))
    half = surfaces_at(build, turns)
    kept = np.unique(np.linspace(0, half.shape[1] - 1, RINGS).round().astype(int))
    latitude = build.latitude_deg[half.shape[1] :]
    return {
        "stage_turns": turns.tolist(),
        "latitude_deg": latitude[kept].tolist(),
        "radius_mm": half[:, kept].round(2).tolist(),
    }
