"""A ball's whole turns and what the last of them winds: all that a correction by counts needs.

Winding goes turn by turn, so a ball is the beginning of every longer one of the same strand and
setting: it is wound once, far enough, and other targets are read off it.
"""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache

from clew.ball.outcome import area_of, rest_count_tex, strain_of, wound_tex_of
from clew.ball.tension import relaxed_length_m
from clew.ball.terms import Promise, Strand, Winding
from clew.ball.turns import laid_length_for
from clew.ball.wind.build import Build, WindSetting, build, length_at, turns_at
from clew.faults import BadInput

_STEP = 1.25
"""Balls are wound to powers of it [m]: few are, and none is much longer than it must be."""
_SPARE = 1.02
"""The fewest whole turns lay a little more than the length asked for."""


@dataclass(frozen=True, slots=True)
class LastTurn:
    """The mean ball at its whole turns, and the last of them.

    Attributes
    ----------
    turns : int
        The fewest whole turns whose mean ball is on both targets.
    as_weighed_g : float
        Mean mass at those turns, off the line [g].
    length_m, mass_g : float
        What the last turn winds, at rest [m] and as weighed [g].
    """

    turns: int
    as_weighed_g: float
    length_m: float
    mass_g: float


def last_turn(strand: Strand, promise: Promise, winding: Winding) -> LastTurn:
    """Find the turns for a ball, and what the last of them winds.

    Parameters
    ----------
    strand : Strand
        The strand off the dryer.
    promise : Promise
        Declarations and targets.
    winding : Winding
        How the ball is wound.

    Returns
    -------
    LastTurn
        As `clew.ball.turns.set_turns` and the ball it winds say, without its intervals.

    Raises
    ------
    BadInput
        When the ball would need more turns than any winder makes.

    Notes
    -----
    Length laid in the turn, less the stretch that comes back, and its mass by the count at rest.
    Source: mass conservation, DERIVED.
    """
    laid_m = laid_length_for(strand, promise, winding)
    wound = _wound_past(winding.setting, area_of(strand, winding), _SPARE * max(laid_m))
    turns = math.ceil(max(turns_at(wound, one) for one in laid_m) - 1e-9)
    laid_now_m = length_at(wound, float(turns))
    last_m = relaxed_length_m(
        laid_now_m - length_at(wound, float(turns - 1)),
        strain_of(strand, winding),
        strand.recovery_frac,
    )
    return LastTurn(
        turns=turns,
        as_weighed_g=laid_now_m * wound_tex_of(strand, winding) / 1000.0,
        length_m=last_m,
        mass_g=last_m * rest_count_tex(strand, winding) / 1000.0,
    )


def _wound_past(setting: WindSetting, area_mm2: float, length_m: float) -> Build:
    """Wind so many metres or more; only so many where more are too many turns."""
    with suppress(BadInput):
        return _wound(setting, area_mm2, _STEP ** math.ceil(math.log(length_m, _STEP)))
    return _wound(setting, area_mm2, length_m)


@lru_cache(maxsize=16)
def _wound(setting: WindSetting, area_mm2: float, length_m: float) -> Build:
    return build(setting, area_mm2, length_m=length_m)
