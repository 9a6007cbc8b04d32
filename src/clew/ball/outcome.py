"""From laid turns to the ball a customer unwinds: mass and length at a fixed number of turns.

The winder lays a length that depends on the turns and on how much room a strand takes up; the
strand is stretched while it is laid, most of that comes back, and the mass goes with the count.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.ball.tension import relaxed_count_tex, winding_strain, wound_count_tex
from clew.ball.terms import Promise, Strand, Winding
from clew.ball.wind.build import Build, ball_of, length_at
from clew.ball.wind.growth import Growth, grow, laid_lengths_m

Array = NDArray[np.float64]
Number = float | Array

REACH_LOG = 0.30
"""How far a length law reaches at least, in the logarithm of area: six times 5 %."""
REACH_SDS = 5.0
"""How many standard deviations of the area it reaches, where that is further."""


def packed_area_mm2(count_tex: Number, density_kg_m3: Number) -> Number:
    """Room one strand takes up in the ball's section [mm2]: count [tex] / pack density [kg/m3].

    Source: definition of tex (1 tex = 1e-6 kg/m), DERIVED.
    """
    return count_tex / density_kg_m3


@dataclass(frozen=True, slots=True)
class LengthLaw:
    """Length laid in a fixed number of turns, against the packed area of the strand.

    Attributes
    ----------
    turns : float
        Flyer turns.
    log_area_0 : float
        Natural logarithm of the area [mm2] the law was made at.
    coefficients : ndarray, shape (n,)
        ln length [m] as a polynomial in ln(area) - log_area_0, lowest power first.
    reach : float
        How far it holds in ln(area) either way [-].
    build : Build
        The ball wound at that area.
    """

    turns: float
    log_area_0: float
    coefficients: Array
    reach: float
    build: Build

    def laid_m(self, area_mm2: Number) -> Number:
        """Length laid [m] at an area [mm2]; beyond its reach the law is held at its ends."""
        offset = np.clip(np.log(area_mm2) - self.log_area_0, -self.reach, self.reach)
        return np.exp(np.polynomial.polynomial.polyval(offset, self.coefficients))

    @property
    def area_elasticity(self) -> float:
        """Relative change of length for a relative change of area at fixed turns [-]."""
        return float(self.coefficients[1])

    @property
    def turns_elasticity(self) -> float:
        """Relative change of length for a relative change of turns [-]."""
        step = min(1.0, self.turns)
        gained = length_at(self.build, self.turns) - length_at(self.build, self.turns - step)
        return gained / step * self.turns / length_at(self.build, self.turns)


def area_log_sd(strand: Strand, winding: Winding) -> float:
    """Standard deviation of the logarithm of a strand's packed area, all its sources together."""
    cvs = (spread.cv for spread in (*strand.spreads, strand.moisture))
    return math.hypot(*cvs, winding.pack_density_cv)


def length_law(
    winding: Winding,
    area_mm2: float,
    turns: int,
    *,
    log_sd: float = 0.0,
    growth: Growth | None = None,
) -> LengthLaw:
    """Fit the length law from balls wound at areas around the expected one.

    Parameters
    ----------
    winding : Winding
        How the ball is wound.
    area_mm2 : float
        Expected packed area of a strand [mm2].
    turns : int
        Whole flyer turns.
    log_sd : float
        Standard deviation of the logarithm of the area [-]; a wide one takes more balls.
    growth : Growth, optional
        The ball at the expected area, wound so far or further; it is wound where left out.

    Returns
    -------
    LengthLaw
        A polynomial through five computed balls at Chebyshev points, nine where it reaches far.

    Notes
    -----
    Source: DERIVED; tests compare it with balls computed at other areas.
    """
    reach = max(REACH_LOG, REACH_SDS * log_sd)
    number = 5 if reach == REACH_LOG else 9
    points = reach * np.cos(np.pi * np.arange(number) / (number - 1))
    if growth is None or math.floor(growth.turns) < turns:
        growth = grow(winding.setting, area_mm2, turns=turns)
    middle = ball_of(growth, turns)
    others = [float(area_mm2 * np.exp(point)) for point in points if abs(point) >= 1e-12]
    lengths = laid_lengths_m(growth, others, turns)
    lengths.insert(number // 2, middle.length_m)
    coefficients: Array = np.polynomial.polynomial.polyfit(
        points, np.log(lengths), number - 1
    ).astype(float)
    return LengthLaw(float(turns), float(np.log(area_mm2)), coefficients, reach, middle)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a ball holds after it is unwound and at rest; floats or arrays of one shape.

    Attributes
    ----------
    mass_g : float or ndarray
        Mass on the basis of the promise [g].
    length_m : float or ndarray
        Length at rest [m].
    as_weighed_g, dry_g : float or ndarray
        Mass as it comes off the line, and bone dry [g].
    """

    mass_g: Number
    length_m: Number
    as_weighed_g: Number
    dry_g: Number


def outcome(
    law: LengthLaw,
    strand: Strand,
    promise: Promise,
    winding: Winding,
    *,
    log_count: Number = 0.0,
    log_moisture: Number = 0.0,
    log_density: Number = 0.0,
    tension_cn: Number | None = None,
    log_turn_length: Number = 0.0,
) -> Outcome:
    """Mass and length of a ball when things are as expected or shifted from it.

    Parameters
    ----------
    law : LengthLaw
        Length laid at the winder's turns.
    strand, promise, winding
        What is known beforehand.
    log_count, log_moisture, log_density, log_turn_length : float or ndarray
        Shifts of the natural logarithm of dry count, of 1 + regain, of pack density and of the
        winder's length per turn [-].
    tension_cn : float or ndarray, optional
        Winding tension [cN] in place of the expected one.

    Returns
    -------
    Outcome
        Mass [g] and length [m].

    Notes
    -----
    Mass is laid length x count under tension; length at rest is laid length less the stretch that
    comes back. Source: mass conservation, DERIVED.
    """
    tension = winding.tension_cn if tension_cn is None else tension_cn
    count = strand.count_tex * np.exp(np.add(log_count, log_moisture))
    # the formulas of `clew.ball.tension`, on whole arrays of drawn balls
    strain = tension / (count * strand.modulus_cn_per_tex)
    wound_count = count / (1.0 + strain)
    density = winding.pack_density_kg_m3 * np.exp(log_density)
    laid = law.laid_m(packed_area_mm2(wound_count, density)) * np.exp(log_turn_length)
    as_weighed = laid * wound_count / 1000.0
    dry = as_weighed / ((1.0 + strand.regain_out_frac) * np.exp(log_moisture))
    mass = dry * (1.0 + strand.allowance_frac) if promise.commercial else as_weighed
    at_rest = laid * (1.0 + strain * (1.0 - strand.recovery_frac)) / (1.0 + strain)
    return Outcome(mass, at_rest, as_weighed, dry)


def strain_of(strand: Strand, winding: Winding) -> float:
    """Stretch of the strand while it is laid [-], at the expected tension and count."""
    return winding_strain(winding.tension_cn / strand.count_tex, strand.modulus_cn_per_tex)


def wound_tex_of(strand: Strand, winding: Winding) -> float:
    """Count of the strand while it is laid [tex]."""
    return wound_count_tex(strand.count_tex, strain_of(strand, winding))


def area_of(strand: Strand, winding: Winding) -> float:
    """Packed area of one strand in the ball [mm2], as expected."""
    return float(packed_area_mm2(wound_tex_of(strand, winding), winding.pack_density_kg_m3))


def rest_count_tex(strand: Strand, winding: Winding) -> float:
    """Count of the strand in the ball once it is at rest [tex], with the stretch that stays."""
    return relaxed_count_tex(strand.count_tex, strain_of(strand, winding), strand.recovery_frac)
