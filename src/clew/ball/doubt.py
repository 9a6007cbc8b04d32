"""How sure the ball is: every stated spread carried through, and which of them matters.

The analytic answer (first order in each source) is what pages and cards show; the seeded Monte
Carlo draws whole balls through the full model and is there to check it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.ball.outcome import LengthLaw, Outcome, outcome
from clew.ball.terms import Level, Promise, Spread, Strand, Winding
from clew.languages import say

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one source of doubt does to a ball.

    Attributes
    ----------
    key, words : str
        Stable name, and what it is.
    level : {"run", "winder", "cone", "ball"}
        What it differs between.
    mass_log_sd, length_log_sd : float
        Standard deviation it alone gives the logarithm of mass and of length [-].
    mass_share, length_share : float
        Its share of the variance of one ball's mass and length [-].
    """

    key: str
    words: str
    level: Level
    mass_log_sd: float
    length_log_sd: float
    mass_share: float
    length_share: float


@dataclass(frozen=True, slots=True)
class Doubt:
    """Standard deviations of the logarithm of mass and length: of one ball, and of a run's mean."""

    mass_log_sd: float
    length_log_sd: float
    mean_mass_log_sd: float
    mean_length_log_sd: float
    contributions: tuple[Contribution, ...]


def _sources(strand: Strand, winding: Winding) -> tuple[tuple[Spread, str], ...]:
    """Every source with the argument of `outcome` that it shifts."""
    return (
        *((spread, "log_count") for spread in strand.spreads),
        (strand.moisture, "log_moisture"),
        (
            Spread(
                "pack_density", say("how dense the ball packs"), winding.pack_density_cv, "ball"
            ),
            "log_density",
        ),
        (Spread("tension", say("winding tension"), winding.tension_sd_cn, "ball"), "tension_cn"),
        (
            Spread("winder", say("which winder it is"), winding.turn_length_cv, "winder"),
            "log_turn_length",
        ),
    )


def _shifted(
    law: LengthLaw, strand: Strand, promise: Promise, winding: Winding, argument: str, shift: float
) -> Outcome:
    value = max(0.0, winding.tension_cn + shift) if argument == "tension_cn" else shift
    return outcome(law, strand, promise, winding, **{argument: value})


def doubt_of(law: LengthLaw, strand: Strand, promise: Promise, winding: Winding) -> Doubt:
    """Carry every spread through to mass and length, first order about the mean ball.

    Parameters
    ----------
    law : LengthLaw
        Length laid at the winder's turns.
    strand, promise, winding
        What is known, with its spreads.

    Returns
    -------
    Doubt
        Standard deviations and what makes them up, largest share of the mass variance first.

    Notes
    -----
    Central differences over one standard deviation either way; sources are taken as independent.
    Source: law of propagation of uncertainty, JCGM 100:2008 5.1.2 (MEMORY).
    """
    rows: list[tuple[Spread, float, float]] = []
    for spread, argument in _sources(strand, winding):
        if spread.cv <= 0.0:
            continue
        up = _shifted(law, strand, promise, winding, argument, spread.cv)
        down = _shifted(law, strand, promise, winding, argument, -spread.cv)
        mass_log_sd = float(np.log(up.mass_g / down.mass_g)) / 2
        length_log_sd = float(np.log(up.length_m / down.length_m)) / 2
        rows.append((spread, mass_log_sd, length_log_sd))
    mass_var = math.fsum(mass * mass for _, mass, _ in rows)
    length_var = math.fsum(length * length for _, _, length in rows)
    contributions = tuple(
        Contribution(
            spread.key,
            spread.words,
            spread.level,
            abs(mass),
            abs(length),
            mass * mass / mass_var if mass_var else 0.0,
            length * length / length_var if length_var else 0.0,
        )
        for spread, mass, length in sorted(rows, key=lambda row: -abs(row[1]))
    )
    # what differs within the run averages out over as many of its kind as the run has
    number = [winding.run.number_of(spread.level) for spread, _, _ in rows]
    return Doubt(
        mass_log_sd=math.sqrt(mass_var),
        length_log_sd=math.sqrt(length_var),
        mean_mass_log_sd=math.sqrt(
            math.fsum(mass * mass / n for (_, mass, _), n in zip(rows, number, strict=True))
        ),
        mean_length_log_sd=math.sqrt(
            math.fsum(length * length / n for (_, _, length), n in zip(rows, number, strict=True))
        ),
        contributions=contributions,
    )


@dataclass(frozen=True, slots=True)
class DrawnBalls:
    """Balls drawn at random from the model.

    Attributes
    ----------
    mass_g, length_m : ndarray, shape (n,)
        Their masses [g] and lengths [m].
    seed : int
        The seed they were drawn with.
    """

    mass_g: Array
    length_m: Array
    seed: int

    def interval(self, values: Array, confidence: float) -> tuple[float, float]:
        """Quantiles that hold the middle share of some drawn values."""
        low, high = np.quantile(values, [(1 - confidence) / 2, (1 + confidence) / 2])
        return float(low), float(high)


def draw_balls(
    law: LengthLaw, strand: Strand, promise: Promise, winding: Winding, *, balls: int, seed: int
) -> DrawnBalls:
    """Draw balls through the whole model, every source at once.

    Parameters
    ----------
    law, strand, promise, winding
        As for `doubt_of`.
    balls : int
        How many to draw.
    seed : int
        Seed of the random numbers.

    Returns
    -------
    DrawnBalls
        Masses and lengths.

    Notes
    -----
    Source: propagation of distributions, JCGM 101:2008 (MEMORY).
    """
    draw = np.random.default_rng(seed)
    shifts: dict[str, Array] = {}
    for spread, argument in _sources(strand, winding):
        shifts[argument] = shifts.get(argument, np.zeros(balls)) + draw.normal(
            0.0, spread.cv, balls
        )
    shifts["tension_cn"] = np.maximum(0.0, winding.tension_cn + shifts["tension_cn"])
    drawn = outcome(law, strand, promise, winding, **shifts)
    return DrawnBalls(np.asarray(drawn.mass_g), np.asarray(drawn.length_m), seed)
