"""What a first-quality ball costs by the time it leaves: the one sum of it that there is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from clew.mill.model import Mill
from clew.plan.costing.doubt import CostDoubt, doubts_of, joined
from clew.plan.costing.figures import BallFigures, ball_figures
from clew.plan.costing.stages import Stage, stages_of
from clew.plan.costing.taken import pack_parts, taken_change, taken_run_balls
from clew.plan.sequence.timed_run import Change, MoneyPart


@dataclass(frozen=True, slots=True)
class BallCost:
    """The cost of a first-quality ball.

    Attributes
    ----------
    figures : BallFigures
        What it rests on.
    run_balls : int
        First-quality balls of the run over which a change is spread.
    change : Change or None
        The change before each run; none where it is not counted.
    pack : tuple of MoneyPart
        Packing.
    stages : tuple of Stage
        From cone to pallet, each with its yield and its parts.
    doubts : tuple of CostDoubt
        What the cost would be at the ends of each doubt, the widest first.
    low, high : float
        Between these it lies 95 times of 100 [money].
    seed, replications : int
        Chance behind it.
    """

    figures: BallFigures
    run_balls: int
    change: Change | None
    pack: tuple[MoneyPart, ...]
    stages: tuple[Stage, ...]
    doubts: tuple[CostDoubt, ...]
    low: float
    high: float
    seed: int
    replications: int

    @property
    def notes(self) -> tuple[str, ...]:
        """What was assumed, and what could not be counted."""
        return self.figures.notes

    @property
    def parts(self) -> tuple[MoneyPart, ...]:
        """Every part, stage by stage; their sum is the cost."""
        return tuple(part for stage in self.stages for part in stage.parts)

    @property
    def total(self) -> float:
        """What a first-quality ball costs [money]."""
        return sum(part.money for part in self.parts)

    @property
    def per_kg(self) -> float:
        """The same for a declared kilogram [money/kg]."""
        return self.total / (self.figures.declared_g / 1000.0)

    @property
    def yield_frac(self) -> float:
        """Yarn in first-quality balls, share of the yarn taken from cones [1]."""
        found = 1.0
        for stage in self.stages:
            found *= stage.yield_frac
        return found

    @property
    def margin(self) -> float | None:
        """What is left of the price; none where no price is stated [money]."""
        return None if self.figures.price is None else self.figures.price - self.total

    @property
    def second_balls(self) -> float:
        """Second-quality balls for one of first quality, those of changes with them [1]."""
        mixed = 0.0 if self.change is None else self.change.second_balls / self.run_balls
        return self.figures.second_per_first + mixed

    @property
    def spent(self) -> float:
        """What is spent on a first-quality ball, before what second-quality ones fetch [money]."""
        return self.total + self.second_balls * self.figures.second_fetches

    @property
    def foregone(self) -> float | None:
        """What those would have fetched more as first quality; none without a price [money]."""
        if self.figures.price is None:
            return None
        return self.second_balls * (self.figures.price - self.figures.second_fetches)

    @property
    def dominates(self) -> CostDoubt:
        """The widest doubt."""
        return self.doubts[0]

    def money_of(self, *keys: str) -> float:
        """Sum of the parts of these keys [money]."""
        return sum(part.money for part in self.parts if part.key in keys)


def ball_cost(
    mill: Mill,
    ball_name: str,
    lot_name: str = "",
    line_name: str = "",
    *,
    run_balls: int | None = None,
    change: Change | None = None,
    seed: int = 1,
    replications: int = 100,
) -> BallCost:
    """Work out what a first-quality ball costs by the time it leaves.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name, lot_name, line_name : str
        The ball, its dye lot (empty for the yarn as nominal), the line (empty for the only one).
    run_balls : int, optional
        First-quality balls of a run; left out, the median of the mill's orders for the ball, or
        what the cones at hand give.
    change : Change, optional
        The change before the run; left out, the mean change between colours of the ball's yarn.
    seed, replications : int
        Seed of chance, and simulated shifts.

    Returns
    -------
    BallCost
        The cost, part by part and stage by stage, with its interval. Asked for again with the same
        terms, it is not worked out again.

    Raises
    ------
    BadInput
        When a name is not in the mill file, no shift can be walked, no ball is first-quality, or
        the run has no balls.

    Notes
    -----
    A wound ball turns out first-quality with the line's share times that of the knots; each loss is
    charged at what was spent on it so far, and what second-quality balls fetch is taken off by
    itself, so that the parts add up to all money spent, less what is fetched, over the
    first-quality balls. Source: DERIVED.
    """
    line = mill.find_line(line_name).name
    return _ball_cost(mill, ball_name, lot_name, line, run_balls, change, seed, replications)


@lru_cache(maxsize=256)
def _ball_cost(
    mill: Mill,
    ball_name: str,
    lot_name: str,
    line_name: str,
    run_balls: int | None,
    change: Change | None,
    seed: int,
    replications: int,
) -> BallCost:
    figures = ball_figures(
        mill, ball_name, lot_name, line_name, seed=seed, replications=replications
    )
    balls, notes = taken_run_balls(mill, figures, run_balls)
    if change is None:
        change, more = taken_change(mill, figures)
        notes += more
    return cost_of(
        replace(figures, notes=(*figures.notes, *notes)),
        balls,
        change,
        pack_parts(mill, figures.ball_name),
        seed=seed,
        replications=replications,
    )


def cost_of(
    figures: BallFigures,
    run_balls: int,
    change: Change | None,
    pack: tuple[MoneyPart, ...],
    *,
    seed: int,
    replications: int,
) -> BallCost:
    """Add a ball's cost up from its figures.

    Parameters
    ----------
    figures : BallFigures
        What it rests on.
    run_balls : int
        First-quality balls of a run.
    change : Change or None
        The change before it.
    pack : tuple of MoneyPart
        Packing, for a first-quality ball.
    seed, replications : int
        Chance behind the figures, to be shown.

    Returns
    -------
    BallCost
        The cost.
    """
    stages = stages_of(figures, run_balls, change, pack)
    total = sum(part.money for stage in stages for part in stage.parts)
    doubts = doubts_of(figures, run_balls, change, pack)
    low, high = joined(total, doubts)
    return BallCost(
        figures=figures,
        run_balls=run_balls,
        change=change,
        pack=pack,
        stages=stages,
        doubts=doubts,
        low=low,
        high=high,
        seed=seed,
        replications=replications,
    )
