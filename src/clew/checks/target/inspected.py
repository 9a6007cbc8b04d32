"""Inspections drawn at random: the least mean ball at which each of them passes.

Whatever the turns, one inspection of one lot meets the same cones, winders and chances; only the
mean ball grows. So every requirement of every rule set has, in each inspection, one least size of
the mean ball from which on it is met. These sizes are drawn once; the chance to pass at any target,
and the target for any chance, are then read off them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from clew.checks.packages.plan import Plan, quantity_word
from clew.checks.target.chances import Chances, LotMake, chance_blocks
from clew.checks.target.spread import Floats, Spread
from clew.faults import BadInput, Fault
from clew.languages import joined, say

Requirement = Literal["average", "individual", "far short"]
_REQUIREMENTS = {
    "average": say("average"),
    "individual": say("individual"),
    "far short": say("far short"),
}


@dataclass(frozen=True, slots=True)
class MeanBall:
    """The mean ball that the spreads lie about, before it is made larger or smaller.

    Attributes
    ----------
    mass_g : float
        Net mass [g], at the condition of weighing.
    length_m : float
        Length [m].
    """

    mass_g: float
    length_m: float

    def __post_init__(self) -> None:
        for key, unit in (("mass_g", "g"), ("length_m", "m")):
            value = getattr(self, key)
            if not (math.isfinite(value) and value > 0.0):
                raise BadInput(
                    Fault(
                        say("not a ball"),
                        say("above 0 {unit}", unit=unit),
                        key=key,
                        value=f"{value:g} {unit}",
                    )
                )


@dataclass(frozen=True, slots=True)
class Condition:
    """Under what condition the inspection sees the balls, and how surely.

    Attributes
    ----------
    regain_weighed_frac : float
        Regain at which the mean ball is stated [-].
    regain_seen_frac, regain_seen_sd_frac : float
        Regain at an inspection: its mean, and how inspections differ in it [-].
    mass_doubt_g : float
        Standard doubt of tare and scale together, the same for all balls of a sample [g].
    length_doubt_m : float
        Standard doubt of the reel, the same for all balls of a sample [m].
    setting_doubt_frac : float
        Standard doubt of the mean ball as set, the same for mass and length [-].
    """

    regain_weighed_frac: float = 0.0
    regain_seen_frac: float = 0.0
    regain_seen_sd_frac: float = 0.0
    mass_doubt_g: float = 0.0
    length_doubt_m: float = 0.0
    setting_doubt_frac: float = 0.0

    def __post_init__(self) -> None:
        for key in self.__slots__:
            value = getattr(self, key)
            if not (math.isfinite(value) and value >= 0.0):
                raise BadInput(
                    Fault(say("not usable"), say("0 or more"), key=key, value=f"{value:g}")
                )

    @property
    def mass_factor(self) -> float:
        """Mass at an inspection of mean regain, over mass as weighed [-]."""
        return (1.0 + self.regain_seen_frac) / (1.0 + self.regain_weighed_frac)


@dataclass(frozen=True, slots=True)
class Asked:
    """One requirement of one plan."""

    plan: Plan
    requirement: Requirement

    @property
    def words(self) -> str:
        """Name it: rule set, quantity, requirement."""
        return joined(
            ", ",
            (self.plan.rule, quantity_word(self.plan.quantity), _REQUIREMENTS[self.requirement]),
        )


@dataclass(frozen=True, slots=True)
class Drawn:
    """The least sizes of the mean ball, drawn.

    Attributes
    ----------
    asked : tuple of Asked
        The requirements, one a column.
    least : array of float, shape (inspections, requirements)
        Least size at which each is met, as a multiple of the mean ball [-]; -inf where always.
    seed : int
        Seed of the drawing.
    """

    asked: tuple[Asked, ...]
    least: Floats
    seed: int

    @property
    def whole(self) -> Floats:
        """Least size at which each inspection passes in everything, shape (inspections,) [-]."""
        return np.asarray(self.least.max(axis=1), dtype=np.float64)


def requirements(plans: Sequence[Plan]) -> tuple[Asked, ...]:
    """List what the plans ask, leaving out what they do not."""
    found = []
    for plan in plans:
        if plan.average_n > 0:
            found.append(Asked(plan, "average"))
        if plan.stages and math.isfinite(plan.deficiency):
            found.append(Asked(plan, "individual"))
        if math.isfinite(plan.far_deficiency):
            found.append(Asked(plan, "far short"))
    return tuple(found)


def draw_inspections(
    plans: Sequence[Plan],
    ball: MeanBall,
    spread: Spread,
    lot: LotMake,
    condition: Condition,
    *,
    inspections: int,
    seed: int,
) -> Drawn:
    """Draw lots, sample them, and find from which mean ball on each sample would have passed.

    Parameters
    ----------
    plans : sequence of Plan
        What is asked; several are judged on the same balls.
    ball : MeanBall
        The mean ball at size 1.
    spread : Spread
        How balls differ; where it is in doubt, each inspection draws its own.
    lot : LotMake
        The lot; balls are drawn from it without putting back.
    condition : Condition
        Regain and doubts of the inspection.
    inspections : int
        How many to draw.
    seed : int
        Seed; equal seeds draw equal chances whatever the spread.

    Returns
    -------
    Drawn
        Least sizes, one row an inspection.

    Raises
    ------
    BadInput
        When a plan asks for more balls than the lot has, or there is no plan.
    """
    asked, drawn = asked_of(plans, lot)
    least = np.empty((inspections, len(asked)))
    start = 0
    length = any(plan.quantity == "length" for plan in plans)
    for block in chance_blocks(
        lot, spread, drawn, inspections=inspections, seed=seed, with_length=length
    ):
        least[start : start + block.rows] = least_of_block(plans, ball, spread, condition, block)
        start += block.rows
    return Drawn(asked, least, seed)


def asked_of(plans: Sequence[Plan], lot: LotMake) -> tuple[tuple[Asked, ...], int]:
    """List what the plans ask of a lot, and how many balls an inspection draws at most.

    Raises
    ------
    BadInput
        When there is no plan, it asks nothing, or for more balls than the lot has.
    """
    if not plans:
        raise BadInput(Fault(say("nothing to judge by"), say("one rule set or more"), key="--rule"))
    asked = requirements(plans)
    if not asked:
        raise BadInput(
            Fault(say("nothing is asked of the lot"), say("a rule set that asks something"))
        )
    drawn = max(plan.n_most for plan in plans)
    if drawn > lot.balls:
        raise BadInput(
            Fault(
                say("a lot smaller than the sample"),
                expected=say("{drawn} balls or more", drawn=drawn),
                key="lot size",
                value=str(lot.balls),
            )
        )
    return asked, drawn


def least_of_block(
    plans: Sequence[Plan], ball: MeanBall, spread: Spread, condition: Condition, block: Chances
) -> Floats:
    """Least sizes of the mean ball for one block of chances.

    Parameters
    ----------
    plans, ball, spread, condition
        As for `draw_inspections`.
    block : Chances
        The chances.

    Returns
    -------
    array of float, shape (rows, requirements)
        Least size at which each requirement is met [-].

    Notes
    -----
    Mean with factor k: x >= (F - d)/(M (1 + e_mean + k s_e)). Short balls, c allowed: x >= (a - d)
    /(M (1 + e_(c+1))), e_(i) the i-th smallest part of the sample. d is the common error of the
    sample's weighing. Source: DERIVED.
    """
    factors, errors = _seen(condition, block.common)
    parts = {quantity: block.parts(spread, quantity) for quantity in {p.quantity for p in plans}}
    sizes: list[Floats] = []
    for plan in plans:
        of_mass = plan.quantity == "mass"
        mean = ball.mass_g * condition.mass_factor if of_mass else ball.length_m
        place = 0 if of_mass else 1
        sizes += _least_sizes(plan, parts[plan.quantity], errors[place], mean * factors[place])
    return np.column_stack(sizes)


def _seen(
    condition: Condition, common: Floats
) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Factors and errors that all balls of a sample share: of mass, of length."""
    setting = 1.0 + condition.setting_doubt_frac * common[0]
    moist = 1.0 + condition.regain_seen_sd_frac / (1.0 + condition.regain_seen_frac) * common[1]
    return (
        (np.maximum(setting * moist, 0.01), np.maximum(setting, 0.01)),
        (condition.mass_doubt_g * common[2], condition.length_doubt_m * common[3]),
    )


def _least_sizes(plan: Plan, parts: Floats, error: Floats, mean: Floats) -> list[Floats]:
    """Least sizes of the mean ball for one plan, in the order of `requirements`."""
    found = []
    if plan.average_n > 0:
        sample = parts[:, : plan.average_n]
        level = 1.0 + sample.mean(axis=1)
        if plan.factor != 0.0 and plan.average_n > 1:
            level = level + plan.factor * sample.std(axis=1, ddof=1)
        found.append(_at_least(plan.floor - error, mean * level))
    individual = bool(plan.stages) and math.isfinite(plan.deficiency)
    far = math.isfinite(plan.far_deficiency)
    if not (individual or far):
        return found
    first_n = plan.stages[0].drawn if plan.stages else plan.average_n
    short = plan.declared - plan.deficiency - error if individual else -np.inf
    gone = plan.declared - plan.far_deficiency - error if far else -np.inf
    first = plan.stages[0] if plan.stages else None
    if not individual or first is None:
        found.append(_at_least(gone, mean * (1.0 + parts[:, :first_n].min(axis=1))))
        return found
    double = len(plan.stages) > 1
    ranks = (first.accept, first.reject - 1) if double else (first.accept,)
    at_first = _ranked(parts[:, : first.drawn], short, mean, ranks)
    far_first = _at_least(gone, mean * (1.0 + parts[:, :first_n].min(axis=1))) if far else None
    if not double:
        found.append(at_first[0])
        if far_first is not None:
            found.append(far_first)
        return found
    last = plan.stages[-1]
    at_last = _ranked(parts[:, : last.drawn], short, mean, (last.accept,))[0]
    second_way = np.maximum(at_first[1], at_last)
    found.append(np.minimum(at_first[0], second_way))
    if far_first is not None:
        far_last = _at_least(gone, mean * (1.0 + parts[:, : last.drawn].min(axis=1)))
        by_second = np.maximum(second_way, far_last) < at_first[0]
        by_first = np.where(second_way < at_first[0], np.maximum(at_first[0], far_first), far_first)
        found.append(np.where(by_second, far_last, by_first))
    return found


def _at_least(limit: Floats | float, mean: Floats) -> Floats:
    """Size at which a content that grows with it reaches a limit; what cannot grow never does."""
    with np.errstate(divide="ignore", invalid="ignore"):
        size = np.where(mean > 0.0, np.asarray(limit) / mean, np.inf)
    return np.asarray(np.where(np.asarray(limit) <= 0.0, -np.inf, size), dtype=np.float64)


def _ranked(
    parts: Floats, limit: Floats | float, mean: Floats, accepts: tuple[int, ...]
) -> list[Floats]:
    """Size from which on at most so many balls lie below the limit, for each number accepted."""
    n = parts.shape[1]
    inside = sorted({accept for accept in accepts if 0 <= accept < n})
    ranked = np.partition(parts, inside, axis=1) if inside else parts
    return [
        _at_least(limit, mean * (1.0 + ranked[:, accept]))
        if 0 <= accept < n
        else np.full(parts.shape[0], -np.inf if accept >= n else np.inf)
        for accept in accepts
    ]
