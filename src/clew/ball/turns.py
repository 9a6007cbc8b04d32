"""Turns <-> length <-> mass: how many turns hold what the band says, which declaration binds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from clew.ball.bounds import Interval, interval_around, short_frac
from clew.ball.doubt import Contribution, doubt_of
from clew.ball.outcome import (
    LengthLaw,
    area_log_sd,
    area_of,
    length_law,
    outcome,
    rest_count_tex,
    wound_tex_of,
)
from clew.ball.tension import tension_for_count
from clew.ball.terms import Promise, Strand, Winding
from clew.ball.wind.build import Build, length_at, turns_at
from clew.ball.wind.growth import grow
from clew.faults import BadInput, Fault
from clew.languages import say

Binding = Literal["mass", "length"]
MOST_TURNS = 200_000
MOST_TENSION_CN_PER_TEX = 1.0
"""Hardest tension proposed: a tenth of the strength of a strong yarn (the tenth READ)."""


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """What one change would do.

    Attributes
    ----------
    key, words : str
        Stable name, and the change in words.
    mass_g, length_m : float
        Change of the mean ball at the same turns [g], [m].
    turns : float
        Change of turns that would put the binding declaration back.
    """

    key: str
    words: str
    mass_g: float
    length_m: float
    turns: float


@dataclass(frozen=True, slots=True)
class Balance:
    """The one change that would bring mass and length on target together.

    Attributes
    ----------
    rest_count_tex : float
        Count at rest at which both targets are met at once [tex].
    count_change_frac : float
        Change of the count as spun that gives it [-].
    count_spun_tex : float
        That count as spun [tex].
    shrink_frac : float or None
        Shortening in steam that gives it [-]; none when it is not between 0 and 0.9.
    tension_cn : float or None
        Winding tension that gives it [cN]; none when stretch cannot do it.
    tension_words : str
        Why tension can or cannot.
    """

    rest_count_tex: float
    count_change_frac: float
    count_spun_tex: float
    shrink_frac: float | None
    tension_cn: float | None
    tension_words: str


@dataclass(frozen=True, slots=True)
class TurnsAnswer:
    """The setting of a winder and what to expect from it.

    Attributes
    ----------
    turns : int
        Whole flyer turns: the fewest whose mean ball is on both targets.
    turns_mass, turns_length : float
        Turns that each target asks for by itself.
    binding : {"mass", "length"}
        Which of the two asks for more.
    mass_g, length_m : float
        Mean ball on the basis of the promise [g], at rest [m].
    as_weighed_g, dry_g, commercial_g : float
        The same ball's mass off the line, bone dry, and at the agreed allowance [g].
    laid_length_m : float
        Length as laid, under tension [m].
    rest_count_tex : float
        Count in the ball at rest [tex].
    over_mass_g, over_length_m : float
        What the mean ball holds above the declarations [g], [m].
    confidence : float
        Confidence of the intervals.
    mass_g_interval, length_m_interval : Interval
        One ball taken at random from the run.
    mean_mass_g_interval, mean_length_m_interval : Interval
        The mean of all balls of the run.
    mass_short_frac, length_short_frac : float
        Chance that the mean of all balls of the run stands under the declaration [-].
    mass_log_sd, length_log_sd : float
        Standard deviation of the natural logarithm of one ball's mass and length [-].
    contributions : tuple of Contribution
        Sources of doubt, largest share of the mass variance first.
    sensitivities : tuple of Sensitivity
        What stated changes would do.
    balance : Balance
        What would bring both declarations on target.
    length_per_turn_mm_first, length_per_turn_mm_last : float
        Length laid in the first and in the last turn [mm].
    area_elasticity, turns_elasticity : float
        Relative change of length for one of packed area, and of turns [-].
    law : LengthLaw
        Length laid at these turns against packed area.
    build : Build
        The ball as wound.
    """

    turns: int
    turns_mass: float
    turns_length: float
    binding: Binding
    mass_g: float
    length_m: float
    as_weighed_g: float
    dry_g: float
    commercial_g: float
    laid_length_m: float
    rest_count_tex: float
    over_mass_g: float
    over_length_m: float
    confidence: float
    mass_g_interval: Interval
    length_m_interval: Interval
    mean_mass_g_interval: Interval
    mean_length_m_interval: Interval
    mass_short_frac: float
    length_short_frac: float
    mass_log_sd: float
    length_log_sd: float
    contributions: tuple[Contribution, ...]
    sensitivities: tuple[Sensitivity, ...]
    balance: Balance
    length_per_turn_mm_first: float
    length_per_turn_mm_last: float
    area_elasticity: float
    turns_elasticity: float
    law: LengthLaw
    build: Build


def laid_length_for(strand: Strand, promise: Promise, winding: Winding) -> tuple[float, float]:
    """Length to lay [m] so that the mean ball holds the target mass, and the target length.

    Notes
    -----
    Source: mass conservation, DERIVED.
    """
    wound_tex = wound_tex_of(strand, winding)
    mass_as_weighed_g = promise.target_mass_g / basis_factor(strand, promise)
    rest_tex = rest_count_tex(strand, winding)
    return 1000.0 * mass_as_weighed_g / wound_tex, promise.target_length_m * rest_tex / wound_tex


def basis_factor(strand: Strand, promise: Promise) -> float:
    """Mass on the promise's basis, in one unit as weighed [-]. Source: DERIVED."""
    if not promise.commercial:
        return 1.0
    return (1.0 + strand.allowance_frac) / (1.0 + strand.regain_out_frac)


def set_turns(
    strand: Strand,
    promise: Promise,
    winding: Winding,
    *,
    turns: int | None = None,
    confidence: float = 0.95,
) -> TurnsAnswer:
    """Find the turns for a ball, with everything a lead wants to know about them.

    Parameters
    ----------
    strand : Strand
        The strand off the dryer.
    promise : Promise
        Declarations and targets.
    winding : Winding
        How the ball is wound.
    turns : int, optional
        Answer for these turns in place of the fewest that meet both targets.
    confidence : float
        Confidence of the intervals [-], between 0.5 and 0.9999.

    Returns
    -------
    TurnsAnswer
        Turns, mean ball, intervals, what dominates them, and what changes would do.

    Raises
    ------
    BadInput
        When the ball would need more turns than any winder makes, or fewer than 1 were given.
    """
    if not 0.5 <= confidence <= 0.9999:
        raise BadInput(
            Fault(
                say("a confidence out of reach"),
                say("50 % to 99.99 %"),
                key="confidence",
                value=f"{confidence:g}",
            )
        )
    area = area_of(strand, winding)
    laid_mass, laid_length = laid_length_for(strand, promise, winding)
    wound = grow(winding.setting, area, length_m=1.02 * max(laid_mass, laid_length))
    turns_mass, turns_length = turns_at(wound, laid_mass), turns_at(wound, laid_length)
    chosen = math.ceil(max(turns_mass, turns_length) - 1e-9) if turns is None else turns
    if not 1 <= chosen <= MOST_TURNS:
        raise BadInput(
            Fault(
                say("turns out of reach"),
                say("1 to {most}", most=MOST_TURNS),
                key="turns",
                value=str(chosen),
            )
        )
    law = length_law(winding, area, chosen, log_sd=area_log_sd(strand, winding), growth=wound)
    ball = outcome(law, strand, promise, winding)
    doubt = doubt_of(law, strand, promise, winding)
    binding: Binding = "mass" if turns_mass >= turns_length else "length"
    mass, length = float(ball.mass_g), float(ball.length_m)
    return TurnsAnswer(
        turns=chosen,
        turns_mass=turns_mass,
        turns_length=turns_length,
        binding=binding,
        mass_g=mass,
        length_m=length,
        as_weighed_g=float(ball.as_weighed_g),
        dry_g=float(ball.dry_g),
        commercial_g=float(ball.dry_g) * (1.0 + strand.allowance_frac),
        laid_length_m=length_at(law.build, float(chosen)),
        rest_count_tex=rest_count_tex(strand, winding),
        over_mass_g=mass - promise.declared_mass_g,
        over_length_m=length - promise.declared_length_m,
        confidence=confidence,
        mass_g_interval=interval_around(mass, doubt.mass_log_sd, confidence),
        length_m_interval=interval_around(length, doubt.length_log_sd, confidence),
        mean_mass_g_interval=interval_around(mass, doubt.mean_mass_log_sd, confidence),
        mean_length_m_interval=interval_around(length, doubt.mean_length_log_sd, confidence),
        mass_short_frac=short_frac(mass, promise.declared_mass_g, doubt.mean_mass_log_sd),
        length_short_frac=short_frac(length, promise.declared_length_m, doubt.mean_length_log_sd),
        mass_log_sd=doubt.mass_log_sd,
        length_log_sd=doubt.length_log_sd,
        contributions=doubt.contributions,
        sensitivities=_sensitivities(law, strand, promise, winding, binding, chosen),
        balance=balance(strand, promise, winding),
        length_per_turn_mm_first=float(law.build.turn_length_mm[0]),
        length_per_turn_mm_last=float(law.build.turn_length_mm[-1]),
        area_elasticity=law.area_elasticity,
        turns_elasticity=law.turns_elasticity,
        law=law,
        build=law.build,
    )


def _sensitivities(
    law: LengthLaw, strand: Strand, promise: Promise, winding: Winding, binding: Binding, turns: int
) -> tuple[Sensitivity, ...]:
    """Work out the stated changes, each through the whole model."""
    point = 0.01
    drier = math.log((1 + strand.regain_out_frac + point) / (1 + strand.regain_out_frac))
    more_shrink = math.log((1 - strand.shrink_frac) / (1 - strand.shrink_frac - point))
    middle = outcome(law, strand, promise, winding)
    changes = (
        (
            "bulk",
            say("yarn 1 % bulkier in the ball"),
            outcome(law, strand, promise, winding, log_density=-math.log(1.01)),
        ),
        (
            "count",
            say("count 1 % heavier"),
            outcome(law, strand, promise, winding, log_count=math.log(1.01)),
        ),
        (
            "shrink",
            say("shrink 1 point more"),
            outcome(law, strand, promise, winding, log_count=more_shrink),
        ),
        (
            "tension",
            say("tension 1 cN more"),
            outcome(law, strand, promise, winding, tension_cn=winding.tension_cn + 1.0),
        ),
        (
            "regain",
            say("regain 1 point more"),
            outcome(law, strand, promise, winding, log_moisture=drier),
        ),
        (
            "winder",
            say("winder lays 1 % more a turn"),
            outcome(law, strand, promise, winding, log_turn_length=math.log(1.01)),
        ),
    )
    slope = law.turns_elasticity
    found = []
    for key, words, changed in changes:
        log_mass = float(np.log(changed.mass_g / middle.mass_g))
        log_length = float(np.log(changed.length_m / middle.length_m))
        back = log_mass if binding == "mass" else log_length
        found.append(
            Sensitivity(
                key,
                words,
                float(changed.mass_g - middle.mass_g),
                float(changed.length_m - middle.length_m),
                turns * math.expm1(-back / slope),
            )
        )
    one = slope / turns
    found.append(
        Sensitivity(
            "turn",
            say("one turn more"),
            float(middle.mass_g) * one,
            float(middle.length_m) * one,
            0.0,
        )
    )
    return tuple(found)


def balance(strand: Strand, promise: Promise, winding: Winding) -> Balance:
    """Find the change of count, of shrink or of tension that puts both targets on the same turn.

    Parameters
    ----------
    strand, promise, winding
        As for `set_turns`.

    Returns
    -------
    Balance
        Each change by itself, the others left alone.

    Notes
    -----
    Count at rest x target length = target mass; count goes with 1/(1 - shrink); tension changes the
    count at rest only by the stretch that does not come back. At a set tension a heavier count
    stretches less, so count C off the dryer rests at C^2/(C + k), k = tension (1 - recovery) /
    modulus; the count that rests at W is (W + sqrt(W^2 + 4 W k))/2. Source: DERIVED.
    """
    wanted = (
        1000.0 * promise.target_mass_g / basis_factor(strand, promise) / promise.target_length_m
    )
    left_in_tex = winding.tension_cn * (1.0 - strand.recovery_frac) / strand.modulus_cn_per_tex
    off_dryer = 0.5 * (wanted + math.sqrt(wanted * (wanted + 4.0 * left_in_tex)))
    change = off_dryer / strand.count_tex
    shrink = 1.0 - (1.0 - strand.shrink_frac) / change
    tension = tension_for_count(
        strand.count_tex,
        wanted,
        strand.modulus_cn_per_tex,
        strand.recovery_frac,
        MOST_TENSION_CN_PER_TEX,
    )
    specific = tension.tension_cn_per_tex
    return Balance(
        rest_count_tex=wanted,
        count_change_frac=change - 1.0,
        count_spun_tex=strand.count_spun_tex * change,
        shrink_frac=shrink if 0.0 <= shrink < 0.9 else None,
        tension_cn=None if specific is None else specific * strand.count_tex,
        tension_words=tension.reason,
    )
