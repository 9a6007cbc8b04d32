"""What one gram of spread is worth: how far the target falls when a level varies less."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clew.checks.packages.plan import Plan
from clew.checks.target.chances import LotMake, chance_blocks
from clew.checks.target.inspected import Condition, MeanBall, asked_of, least_of_block
from clew.checks.target.spread import LEVELS, Floats, LevelName, Spread
from clew.checks.target.target import check_risk, declared_scale, no_target
from clew.faults import BadInput

_STEP = 0.2
"""Step of the slope, as a share of a level's spread [-]: below it, drawing shows through."""

_Tried = tuple[Spread, Condition]
_Step = tuple[LevelName, float, float]


@dataclass(frozen=True, slots=True)
class LevelWorth:
    """What the spread of one level costs.

    Attributes
    ----------
    level : str
        "lot", "cone", "winder" or "within".
    sd_g : float
        Its standard deviation in mass [g].
    slope : float
        Target [g] for one gram of its standard deviation [g], at the present spread.
    step_g : float
        The finite step tried: one gram less, or half of it where it has less than two.
    step_gain_g : float
        How far the target falls for that step [g].
    all_gain_g : float
        How far it falls when the level varies no more at all [g].
    """

    level: LevelName
    sd_g: float
    slope: float
    step_g: float
    step_gain_g: float
    all_gain_g: float


def gram_worth(
    plans: Sequence[Plan],
    ball: MeanBall,
    spread: Spread,
    lot: LotMake,
    condition: Condition,
    *,
    risk: float,
    inspections: int | None = None,
    seed: int,
    at_least_declared: bool = True,
) -> tuple[LevelWorth, ...]:
    """Work out what each level's spread costs in target, the dearest first.

    Parameters
    ----------
    plans, ball, spread, lot, condition
        As for `clew.checks.target.target.least_target`.
    risk : float
        Largest share of lots that may fail [-].
    inspections : int or None
        How many to draw for each spread tried; 120 failing ones, at most 40 000, when left out.
    seed : int
        Seed; all spreads meet the same chances, so that differences are not noise.
    at_least_declared : bool
        As for `least_target`.

    Returns
    -------
    tuple of LevelWorth
        One for each level that varies in mass.

    Raises
    ------
    BadInput
        When the inputs are not usable.

    Notes
    -----
    Differences of targets on common random numbers; the slope is that of a spread a fifth smaller.
    A gain can be below nought: where a rule takes off a multiple of the sample's own spread, balls
    that differ more by themselves are judged more mildly. Source: DERIVED.
    """
    check_risk(risk)
    least = declared_scale(plans, ball, condition) if at_least_declared else 0.0
    steps, tried = _less_spread(ball, spread, condition)
    scales = _scales(plans, ball, tried, lot, risk=risk, inspections=inspections, seed=seed)
    return _worths(steps, ball.mass_g * np.maximum(scales, least))


def _less_spread(
    ball: MeanBall, spread: Spread, condition: Condition
) -> tuple[list[_Step], list[_Tried]]:
    """The levels that vary, and what is tried of each: a fifth less, a step less, nothing."""
    tried: list[_Tried] = [(spread, condition)]
    steps: list[_Step] = []
    for name in LEVELS:
        sd_g = spread.level(name).mass.value_frac * ball.mass_g
        if sd_g <= 0.0:
            continue
        step_g = 1.0 if sd_g >= 2.0 else 0.5 * sd_g
        steps.append((name, sd_g, step_g))
        tried += [
            (spread.with_level(name, spread.level(name).times(factor)), condition)
            for factor in (1.0 - _STEP, 1.0 - step_g / sd_g, 0.0)
        ]
    return steps, tried


def _worths(steps: Sequence[_Step], targets: Floats) -> tuple[LevelWorth, ...]:
    gains = float(targets[0]) - targets[1:].reshape(len(steps), 3)
    found = [
        LevelWorth(
            level=name,
            sd_g=sd_g,
            slope=float(gain[0]) / (_STEP * sd_g),
            step_g=step_g,
            step_gain_g=float(gain[1]),
            all_gain_g=float(gain[2]),
        )
        for (name, sd_g, step_g), gain in zip(steps, gains, strict=True)
    ]
    return tuple(sorted(found, key=lambda worth: -worth.all_gain_g))


@dataclass(frozen=True, slots=True)
class DoubtCost:
    """How much of a target is there because something is not known.

    Attributes
    ----------
    spread_g : float
        For the doubt of the standard deviations [g].
    condition_g : float
        For the doubts of mean, tare, scale and reel, and the regain that inspections find [g].
    """

    spread_g: float
    condition_g: float


def _known(spread: Spread, condition: Condition) -> list[_Tried]:
    """The same as if the spreads, or all else, were known for certain; nothing where they are."""
    certain = Condition(condition.regain_weighed_frac, condition.regain_seen_frac)
    if spread.certain == spread and certain == condition:
        return []
    return [(spread.certain, condition), (spread, certain)]


def _doubt(targets: Floats) -> DoubtCost:
    now, spread_known, all_else_known = targets.tolist()
    return DoubtCost(now - spread_known, now - all_else_known)


def worth_and_doubt(
    plans: Sequence[Plan],
    ball: MeanBall,
    spread: Spread,
    lot: LotMake,
    condition: Condition,
    *,
    risk: float,
    seed: int,
) -> tuple[tuple[LevelWorth, ...], DoubtCost]:
    """Work out `gram_worth`, and what the target would fall by if its inputs were certain.

    Parameters
    ----------
    plans, ball, spread, lot, condition
        As for `clew.checks.target.target.least_target`.
    risk : float
        Largest share of lots that may fail [-].
    seed : int
        Seed.

    Returns
    -------
    tuple of LevelWorth, DoubtCost
        The first the same as from `gram_worth`; of the second each by itself. All meet the same
        chances, drawn once.

    Raises
    ------
    BadInput
        When the inputs are not usable.
    """
    check_risk(risk)
    steps, tried = _less_spread(ball, spread, condition)
    known = _known(spread, condition)
    scales = _scales(plans, ball, [*tried, *known], lot, risk=risk, inspections=None, seed=seed)
    targets = ball.mass_g * np.maximum(scales, declared_scale(plans, ball, condition))
    doubt = _doubt(targets[[0, -2, -1]]) if known else DoubtCost(0.0, 0.0)
    return _worths(steps, targets[: len(tried)]), doubt


def _scales(
    plans: Sequence[Plan],
    ball: MeanBall,
    tried: Sequence[_Tried],
    lot: LotMake,
    *,
    risk: float,
    inspections: int | None,
    seed: int,
) -> Floats:
    """Size of the mean ball that keeps the risk, for each thing tried, on the same chances."""
    number = inspections or int(min(max(120.0 / risk, 4000.0), 40_000.0))
    _, drawn = asked_of(plans, lot)
    whole = np.empty((len(tried), number))
    start = 0
    length = any(plan.quantity == "length" for plan in plans)
    for block in chance_blocks(
        lot, tried[0][0], drawn, inspections=number, seed=seed, with_length=length
    ):
        for place, (spread, condition) in enumerate(tried):
            sizes = least_of_block(plans, ball, spread, condition, block)
            whole[place, start : start + block.rows] = sizes.max(axis=1)
        start += block.rows
    found = np.quantile(whole, 1.0 - risk, axis=1, method="higher")
    if not np.isfinite(found).all():
        raise BadInput(no_target())
    return np.asarray(found, dtype=np.float64)
