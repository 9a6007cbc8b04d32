"""In which ball a tie lands, with chances, and which balls must be pulled to have it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from clew.line.tracker.joint import Joint
from clew.line.tracker.lane import FedTie, Lane
from clew.line.tracker.place import InBall, in_ball, landing_m, stretches_to
from clew.line.tracker.terms import TrackTerms
from clew.line.tracker.winding import Stretch

LEAST_CHANCE = 1e-6
"""Balls less likely than that are not named."""
_FURTHEST_M = 1e5
"""How far from where it is expected a tie is looked for [m]: the log contradicts itself beyond."""
_Z_AT_LEAST = 4.8
"""Standard normal deviate beyond which less than that is left."""


@dataclass(frozen=True, slots=True)
class BallChance:
    """A ball a tie may land in.

    Attributes
    ----------
    ball : int
        Its number.
    chance : float
        How likely [-].
    from_m, to_m : float
        Where it begins and ends, in metres wound since the log began [m].
    held_m : float
        Metres in it, without waste [m].
    waste_chance : float
        Part of the chance that the tie went past the ball with waste [-].
    """

    ball: int
    chance: float
    from_m: float
    to_m: float
    held_m: float
    waste_chance: float = 0.0


@dataclass(frozen=True, slots=True)
class Landing:
    """Where a tie lands.

    Attributes
    ----------
    middle_m, low_m, high_m : float
        Metres wound since the log began when it arrives: median and interval [m].
    place : InBall
        Ball and turn at the median.
    balls : tuple of BallChance
        Balls by number.
    pull : tuple of int
        Fewest balls that hold it with the wanted sureness, by number.
    pull_chance : float
        How sure that is [-].
    """

    middle_m: float
    low_m: float
    high_m: float
    place: InBall
    balls: tuple[BallChance, ...]
    pull: tuple[int, ...]
    pull_chance: float

    @property
    def best(self) -> BallChance:
        """The likeliest ball; of two alike the earlier."""
        return max(self.balls, key=lambda one: (one.chance, -one.ball))


def landing_of(
    tie: FedTie, lane: Lane, joint: Joint, terms: TrackTerms, *, sure: float = 0.95
) -> Landing:
    """Work out where a tie lands.

    Parameters
    ----------
    tie : FedTie
        The tie.
    lane : Lane
        Its lane.
    joint : Joint
        What is known of the strand between.
    terms : TrackTerms
        The line.
    sure : float
        Of the interval, and least chance of the balls to pull together [-].

    Returns
    -------
    Landing
        Balls and chances.

    Notes
    -----
    The tie has landed by w when D(a, w) <= 0: P(w) = normal(-mean/sd); a ball's chance is the
    difference over its stretches. A tie that was seen lies where it was seen, give or take.
    Source: DERIVED.
    """

    def score(wound_m: float) -> float:
        if tie.seen_s is None:
            mean, sd = joint.between(lane.number, tie.fed_m, wound_m, tie.sd_m)
        else:
            mean, sd = tie.seen_wound_m - wound_m, tie.seen_sd_m
        if sd == 0.0:
            return math.inf if mean < 0.0 else (0.0 if mean == 0.0 else -math.inf)
        return -mean / sd

    guess = landing_m(tie.fed_m, joint.content_m, joint.raw_per_laid)
    z = normal_quantile(0.5 + 0.5 * sure)
    low, middle, high = (_where(score, at, guess) for at in (-z, 0.0, z))
    least, most = (_where(score, at, guess) for at in (-_Z_AT_LEAST, _Z_AT_LEAST))
    stretches = stretches_to(lane.winding, terms, most)
    balls = _chances(score, stretches, least, most)
    pull: list[int] = []
    total = 0.0
    for one in sorted(balls, key=lambda one: (-one.chance, one.ball)):
        pull.append(one.ball)
        total += one.chance
        if total >= sure:
            break
    place = in_ball(stretches, middle, terms)
    return Landing(middle, low, high, place, balls, tuple(sorted(pull)), min(total, 1.0))


def _chances(
    score: Callable[[float], float], stretches: list[Stretch], least_m: float, most_m: float
) -> tuple[BallChance, ...]:
    likely: dict[int, list[float]] = {}
    last = len(stretches) - 1
    for place, one in enumerate(stretches):
        beside = one.to_m < least_m - 1.0 or one.from_m > most_m + 1.0
        if beside and place not in (0, last):
            continue
        # what lies before the log, or beyond what is listed, belongs to the ball at the end
        before = 0.0 if place == 0 else normal_below(score(one.from_m))
        upto = 1.0 if place == last else normal_below(score(one.to_m))
        chances = likely.setdefault(one.ball, [0.0, 0.0])
        chances[0] += max(upto - before, 0.0)
        chances[1] += max(upto - before, 0.0) if one.waste else 0.0
    found: dict[int, BallChance] = {}
    for ball, (chance, waste) in likely.items():
        of_ball = [one for one in stretches if one.ball == ball]
        found[ball] = BallChance(
            ball, chance, of_ball[0].from_m, of_ball[-1].to_m,
            sum(one.to_m - one.from_m for one in of_ball if not one.waste), waste,
        )  # fmt: skip
    kept = tuple(found[ball] for ball in sorted(found) if found[ball].chance >= LEAST_CHANCE)
    return kept or tuple(found.values())


def _where(score: Callable[[float], float], wanted: float, guess_m: float) -> float:
    """Find the metre at which the score, which rises with it, reaches a value.

    Notes
    -----
    Regula falsi, halving the value at an end that stays (Illinois), and halving the stretch where
    the score is a step. Source: MEMORY.
    """
    step = 16.0
    low, high = guess_m - step, guess_m + step
    at_low, at_high = score(low) - wanted, score(high) - wanted
    while at_low > 0.0 and step < _FURTHEST_M:
        low, step = low - step, 2.0 * step
        at_low = score(low) - wanted
    while at_high < 0.0 and step < _FURTHEST_M:
        high, step = high + step, 2.0 * step
        at_high = score(high) - wanted
    stayed = 0
    for _ in range(100):
        if high - low < 1e-7:
            break
        middle = 0.5 * (low + high)
        if math.isfinite(at_low) and math.isfinite(at_high) and at_high > at_low:
            middle = min(max((low * at_high - high * at_low) / (at_high - at_low), low), high)
        at_middle = score(middle) - wanted
        if abs(at_middle) < 1e-10:
            return middle
        if at_middle < 0.0:
            low, at_low = middle, at_middle
            at_high = 0.5 * at_high if stayed > 0 else at_high
            stayed = 1
        else:
            high, at_high = middle, at_middle
            at_low = 0.5 * at_low if stayed < 0 else at_low
            stayed = -1
    return 0.5 * (low + high)


def normal_below(z: float) -> float:
    """Standard normal distribution function [-]."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def normal_quantile(share: float) -> float:
    """Standard normal deviate that a share lies below [-]."""
    from statistics import NormalDist

    return NormalDist().inv_cdf(share)
