"""In which ball a tie lands, with chances, and which balls must be pulled to have it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from clew.line.tracker.follow import FedTie, Lane
from clew.line.tracker.joint import Joint
from clew.line.tracker.place import InBall, in_ball, landing_m, stretches_to
from clew.line.tracker.terms import TrackTerms
from clew.line.tracker.winding import Stretch

LEAST_CHANCE = 1e-6
"""Balls less likely than that are not named."""
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
    waste_chance : float
        Part of the chance that the tie went past the ball with waste [-].
    """

    ball: int
    chance: float
    from_m: float
    to_m: float
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
    found: dict[int, BallChance] = {}
    last = len(stretches) - 1
    for place, one in enumerate(stretches):
        if one.to_m < least_m or one.from_m > most_m:
            continue
        # what lies before the log, or beyond what is listed, belongs to the ball at the end
        before = 0.0 if place == 0 else normal_below(score(one.from_m))
        upto = 1.0 if place == last else normal_below(score(one.to_m))
        chance = max(upto - before, 0.0)
        old = found.get(one.ball)
        waste = chance if one.waste else 0.0
        found[one.ball] = (
            BallChance(one.ball, chance, one.from_m, one.to_m, waste)
            if old is None
            else BallChance(
                one.ball, old.chance + chance, old.from_m, one.to_m, old.waste_chance + waste
            )
        )
    kept = tuple(found[ball] for ball in sorted(found) if found[ball].chance >= LEAST_CHANCE)
    return kept or tuple(found.values())


def _where(score: Callable[[float], float], wanted: float, guess_m: float) -> float:
    """Find the metre at which the score reaches a value, by halving; the score rises with it."""
    step = 16.0
    low, high = guess_m - step, guess_m + step
    while score(low) > wanted and step < 1e9:
        low, step = low - step, 2.0 * step
    while score(high) < wanted and step < 1e9:
        high, step = high + step, 2.0 * step
    for _ in range(80):
        middle = 0.5 * (low + high)
        if score(middle) < wanted:
            low = middle
        else:
            high = middle
        if high - low < 1e-7:
            break
    return 0.5 * (low + high)


def normal_below(z: float) -> float:
    """Standard normal distribution function [-]."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def normal_quantile(share: float) -> float:
    """Standard normal deviate that a share lies below [-]."""
    from statistics import NormalDist

    return NormalDist().inv_cdf(share)
