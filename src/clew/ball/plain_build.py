"""Build, size and first balls as plain objects for programs: units in keys, arrays thinned."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np

from clew.ball.first.first_run import FirstRun
from clew.ball.size.shape import BallShape, FlatSize, Range, RoundSize
from clew.ball.wind.build import Build
from clew.ball.wind.coverage import Coverage

MOST_ROWS = 60
"""Turns and latitudes are thinned to about so many rows."""


def build_plain(built: Build, cover: Coverage, size: BallShape) -> dict[str, Any]:
    """Make a build plain.

    Parameters
    ----------
    built : Build
        The ball as wound.
    cover : Coverage
        How it is covered.
    size : BallShape
        How large it will be.

    Returns
    -------
    dict
        Keys with units; turns and latitudes thinned.
    """
    rows = np.unique(np.linspace(0, built.turn_length_mm.size - 1, MOST_ROWS).round().astype(int))
    bands = slice(None, None, max(1, built.latitude_deg.size // MOST_ROWS))
    return {
        "turns": built.turns,
        "laid_length_m": built.length_m,
        "diameter_mm": built.diameter_mm,
        "width_mm": built.width_mm,
        "packed_volume_mm3": built.volume_mm3,
        "packed_volume_error": built.packed_volume_error,
        "slid_frac": built.slid_frac,
        "warnings": list(built.warnings),
        "by_turn": [
            {
                "turn": int(row) + 1,
                "turn_length_mm": float(built.turn_length_mm[row]),
                "laid_m": float(built.cumulative_length_m[row + 1]),
                "diameter_mm": float(built.diameter_of_turn_mm[row]),
                "tilt_deg": float(built.tilt_of_turn_deg[row]),
            }
            for row in rows
        ],
        "by_latitude": [
            {
                "latitude_deg": float(latitude),
                "radius_mm": float(radius),
                "angle_of_wind_deg": float(angle) if crossed else None,
            }
            for latitude, radius, angle, crossed in zip(
                built.latitude_deg[bands],
                built.radius_mm[bands],
                built.angle_of_wind_deg[bands],
                built.crossed[bands],
                strict=True,
            )
        ],
        "coverage": {
            "wind_ratio": cover.wind_ratio,
            "simple_ratio": list(cover.simple_ratio),
            "distance": cover.distance,
            "ribbon": cover.ribbon,
            "words": cover.words,
            "nearest_safe_ratio": cover.nearest_safe_ratio,
            "diameters_mm": list(cover.diameters_mm),
            "cover_first_frac": list(cover.cover_first_frac),
            "cover_fourth_frac": list(cover.cover_fourth_frac),
            "thickness_cv": list(cover.thickness_cv),
            "bare_frac": list(cover.bare_frac),
        },
        "size": size_plain(size),
    }


def _range(found: Range) -> dict[str, float | None]:
    return {"low": found.low, "high": found.high, "central": found.central}


def _sizes(found: RoundSize | FlatSize | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {name: _range(getattr(found, name)) for name in found.__dataclass_fields__}


def size_plain(size: BallShape) -> dict[str, Any]:
    """Make a size plain: low, high and, only where balls were measured, a central value."""
    return {
        "measured": size.measured,
        "on_mandrel": _sizes(size.on_mandrel),
        "off_mandrel": _sizes(size.off_mandrel),
        "relaxed": _sizes(size.relaxed),
        "pressed": _sizes(size.pressed),
        "slack_frac": _range(size.slack_frac),
    }


def first_run_plain(run: FirstRun) -> dict[str, Any]:
    """Make what first balls said plain.

    Parameters
    ----------
    run : FirstRun
        The answer.

    Returns
    -------
    dict
        Advice for each winder, each ball's fit, and the belief to continue.
    """
    return {
        "target_mass_g": run.target_mass_g,
        "target_length_m": run.target_length_m,
        "winders": [
            {
                "winder": advice.winder,
                "view": asdict(advice.view),
                "setting": asdict(advice.setting),
                "worth_weighing": asdict(advice.weighing),
            }
            for advice in run.advice
        ],
        "balls": [asdict(check) for check in run.checks],
        "belief": run.belief.to_plain(),
    }
