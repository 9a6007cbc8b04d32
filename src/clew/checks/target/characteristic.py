"""The operating characteristic: the chance to pass over the true mean of the lots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clew.checks.target.inspected import Drawn, MeanBall
from clew.checks.target.spread import Floats


@dataclass(frozen=True, slots=True)
class Characteristic:
    """Chance to pass at each of several mean balls.

    Attributes
    ----------
    mass_g, length_m : array of float, shape (points,)
        The mean ball [g], [m].
    passes, se : array of float, shape (points,)
        Chance to pass everything, and its standard error [-].
    by_requirement : array of float, shape (points, requirements)
        Chance to meet each requirement by itself [-].
    words : tuple of str
        The requirements.
    """

    mass_g: Floats
    length_m: Floats
    passes: Floats
    se: Floats
    by_requirement: Floats
    words: tuple[str, ...]


def characteristic(
    drawn: Drawn, ball: MeanBall, scales: Sequence[float] | Floats
) -> Characteristic:
    """Read the chance to pass off drawn inspections.

    Parameters
    ----------
    drawn : Drawn
        Inspections, from `clew.checks.target.inspected.draw_inspections`.
    ball : MeanBall
        The mean ball at size 1.
    scales : sequence of float
        Sizes of the mean ball [-].

    Returns
    -------
    Characteristic
        One point a size; rising, because all points share their chances.
    """
    at = np.asarray(scales, dtype=np.float64)
    passes = _shares(drawn.whole, at)
    return Characteristic(
        mass_g=ball.mass_g * at,
        length_m=ball.length_m * at,
        passes=passes,
        se=np.sqrt(passes * (1.0 - passes) / drawn.least.shape[0]),
        by_requirement=np.column_stack([_shares(column, at) for column in drawn.least.T]),
        words=tuple(asked.words for asked in drawn.asked),
    )


def _shares(least: Floats, at: Floats) -> Floats:
    ranked = np.sort(least)
    return np.asarray(np.searchsorted(ranked, at, side="right") / least.size, dtype=np.float64)


def scales_about(drawn: Drawn, points: int = 41) -> Floats:
    """Sizes of the mean ball from where one lot in a hundred passes to where all but a few do."""
    low, high = np.quantile(drawn.whole, [0.01, 0.9995])
    return np.linspace(low, high + 0.05 * (high - low), points)
