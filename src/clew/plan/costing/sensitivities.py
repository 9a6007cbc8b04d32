"""What one point, one gram, one break or one change more is worth, by working the cost out anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from clew.faults import BadInput
from clew.languages import say
from clew.mill.model import Mill
from clew.plan.costing.ball_cost import BallCost, ball_cost
from clew.plan.costing.stages import stages_of
from clew.plan.sequence.timed_run import Change, MoneyPart

if TYPE_CHECKING:
    from clew.mill.net_content import Tables

_MOST_SHRINK_FRAC = 0.89
_INSPECTIONS = 10_000

_CHANGE_MORE = {
    "none": say("one change without anything new more a run"),
    "lot": say("one lot change more a run"),
    "colour": say("one colour change more a run"),
    "ball": say("one ball change more a run"),
    "yarn": say("one yarn change more a run"),
}


@dataclass(frozen=True, slots=True)
class CostStep:
    """What one change of an input does to the cost.

    Attributes
    ----------
    key, words : str
        Its stable key, and what is changed by how much.
    money_per_ball : float
        What a first-quality ball costs more; below 0, less [money].
    money_per_year : float or None
        The same on the balls made in a year; none where that is not known [money].
    foregone_per_ball : float or None
        What second-quality balls forgo more of the price beside that; none without a price [money].
    """

    key: str
    words: str
    money_per_ball: float
    money_per_year: float | None
    foregone_per_ball: float | None = None


def cost_steps(
    mill: Mill,
    ball_name: str,
    lot_name: str = "",
    line_name: str = "",
    *,
    run_balls: int | None = None,
    change: Change | None = None,
    seed: int = 1,
    replications: int = 100,
    tables: Tables | None = None,
) -> tuple[CostStep, ...]:
    """Work out what one more of each input costs a ball.

    Parameters
    ----------
    mill, ball_name, lot_name, line_name, run_balls, change, seed, replications
        As for `clew.plan.costing.ball_cost.ball_cost`.
    tables : Tables, optional
        Tables of the net-content rules; without them a gram of spread is left out.

    Returns
    -------
    tuple of CostStep
        Those that can be told, the largest first.

    Raises
    ------
    BadInput
        As for `ball_cost`.

    Notes
    -----
    Each is the difference of two whole costs, the second of a mill with that one thing changed, on
    the same chance. The last turn made whole is left out of both: it jumps by up to a turn, which
    is no property of the change. A gram of spread moves the least lawful target
    (`clew.checks.target.gram_worth`), and is worth what that much more yarn in the ball is.
    Source: DERIVED.
    """

    def asked(there: Mill, changed: Change | None = change) -> BallCost:
        return ball_cost(
            there,
            ball_name,
            lot_name,
            line_name,
            run_balls=run_balls,
            change=changed,
            seed=seed,
            replications=replications,
        )

    now = asked(mill)
    base = _smooth(now)
    made = now.figures.made_a_year

    def step(key: str, words: str, there: BallCost) -> CostStep:
        more = _smooth(there) - base
        foregone = (
            None
            if there.foregone is None or now.foregone is None
            else there.foregone - now.foregone
        )
        return CostStep(key, words, more, more * made if made else None, foregone)

    steps = [step(key, words, asked(changed)) for key, words, changed in _changed(mill, now)]
    steps.append(
        step("pace", say("1 % more pace"), replace(now, figures=now.figures.at_pace(1.01)))
    )
    if now.change is not None:
        twice = asked(mill, doubled(now.change))
        words = _CHANGE_MORE[now.change.kind]
        steps.append(step("change", words, twice))
    target_g = None if tables is None else _spread_target_g(mill, now, seed, tables)
    if target_g is not None:
        there = asked(_heavier(mill, now, target_g))
        words = say("a gram more spread, target {target:+.3g} g", target=target_g)
        steps.append(step("spread", words, there))
    return tuple(sorted(steps, key=lambda one: -abs(one.money_per_ball)))


def _smooth(cost: BallCost) -> float:
    """The cost by its figures, the last turn made whole left out [money]."""
    figures = replace(cost.figures, whole_turn_g=0.0)
    stages = stages_of(figures, cost.run_balls, cost.change, cost.pack)
    return sum(part.money for stage in stages for part in stage.parts)


def _changed(mill: Mill, now: BallCost) -> Iterator[tuple[str, str, Mill]]:
    """The mills in which one thing is changed."""
    dearer = mill.prices.model_copy(update={"yarn_per_kg": 1.1 * mill.prices.yarn_per_kg})
    yield "yarn_price", say("yarn 10 % dearer"), mill.model_copy(update={"prices": dearer})
    yield "giveaway", say("a gram more giveaway"), _heavier(mill, now, 1.0)
    yarn = mill.find_yarn(mill.find_ball(now.figures.ball_name).yarn)
    breaks = yarn.breaks_per_km + 1.0
    yield (
        "breaks",
        say("one break a km more on the cone"),
        _with(mill, "yarn", yarn.name, breaks_per_km=breaks),
    )
    if yarn.shrink_frac + 0.01 <= _MOST_SHRINK_FRAC:
        shrink = yarn.shrink_frac + 0.01
        yield (
            "shrink",
            say("one point of shrink more"),
            _with(mill, "yarn", yarn.name, shrink_frac=shrink),
        )


def _heavier(mill: Mill, now: BallCost, more_g: float) -> Mill:
    """A mill in which the mean ball holds so much more, whichever declaration binds now."""
    figures = now.figures
    target_g = max(figures.declared_g + figures.over_g + more_g, figures.declared_g)
    return _with(mill, "ball", figures.ball_name, target_mass_g=target_g)


def _with(mill: Mill, section: str, name: str, **update: Any) -> Mill:
    entries = tuple(
        one.model_copy(update=update) if one.name == name else one for one in getattr(mill, section)
    )
    return mill.model_copy(update={section: entries})


def doubled(change: Change) -> Change:
    """Two of one change, as one [every figure twice but the colours']."""
    return replace(
        change,
        stand_s=2.0 * change.stand_s,
        clean_s=2.0 * change.clean_s,
        strand_m=2.0 * change.strand_m,
        waste_kg=2.0 * change.waste_kg,
        second_balls=2.0 * change.second_balls,
        parts=tuple(MoneyPart(one.key, one.words, 2.0 * one.money) for one in change.parts),
    )


def _spread_target_g(mill: Mill, now: BallCost, seed: int, tables: Tables) -> float | None:
    """How far the least lawful target moves for a gram of spread from ball to ball [g].

    None where no rule of net content holds the ball, or its balls do not vary.
    """
    from clew.checks.target.ball_now import wound_now
    from clew.checks.target.given import Given
    from clew.checks.target.gram_worth import gram_worth
    from clew.checks.target.question import question_of

    figures = now.figures
    try:
        of_mill = wound_now(mill, figures.ball_name, figures.lot_name, figures.line_name)
        question = question_of(Given(), None, of_mill, tables)
        worths = gram_worth(
            question.plans,
            question.ball,
            question.spread,
            question.lot,
            question.condition,
            risk=question.risk,
            inspections=_INSPECTIONS,
            seed=seed,
        )
    except BadInput:
        return None
    return next((one.slope for one in worths if one.level == "within"), None)
