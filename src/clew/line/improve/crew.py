"""Crews of every size on the same shifts: what a ball costs, what a shift leaves over."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from clew.faults import BadInput, Fault
from clew.line.improve.closed import ClosedCrew, closed_crew
from clew.line.improve.money import ShiftPrices, checked_prices, watch_money
from clew.line.improve.paired import Progress, SideBySide, Tried, side_by_side
from clew.line.improve.ranking import together, told
from clew.line.layout import Layout, checked_layout
from clew.line.simulate.answer import Estimate

MOST_HANDS = 16
"""Most hands that a layout has."""


@dataclass(frozen=True, slots=True)
class CrewRow:
    """One size of crew.

    Attributes
    ----------
    hands : int
        Hands in it.
    balls, first_balls, second_balls : Estimate
        Full balls of a shift, of them first-quality and second-quality [1].
    busy_frac, wait_frac : Estimate
        Shares of the hands' time in which they serve or walk, and of the winders' in which a full
        ball waits [1].
    cost_per_ball, money : Estimate or None
        Cost of a first-quality ball [money/ball], and what a shift leaves over [money]; None
        without prices.
    more_first_balls, more_cost_per_ball, more_money : Estimate or None
        What its last hand adds, against the same shifts without him; None for the first hand.
    """

    hands: int
    balls: Estimate
    first_balls: Estimate
    second_balls: Estimate
    busy_frac: Estimate
    wait_frac: Estimate
    cost_per_ball: Estimate | None
    money: Estimate | None
    more_first_balls: Estimate | None
    more_cost_per_ball: Estimate | None
    more_money: Estimate | None


@dataclass(frozen=True, slots=True)
class BestCrew:
    """The best size of crew, and those that cannot be told from it.

    Attributes
    ----------
    hands : int
        Hands in the one with the best mean.
    or_else : tuple of int
        Sizes whose difference from it, in the same shifts, may be nothing.
    """

    hands: int
    or_else: tuple[int, ...]

    @property
    def sure(self) -> bool:
        """Whether no other size may be as good."""
        return not self.or_else


@dataclass(frozen=True, slots=True)
class CrewTable:
    """Crews from one hand on.

    Attributes
    ----------
    layout : Layout
        The line, with the hands it has now.
    prices : ShiftPrices or None
        What a shift pays and is paid.
    rows : tuple of CrewRow
        For 1, 2, ... hands.
    cheapest, richest : BestCrew or None
        Least cost of a first-quality ball, and most money left over; None without prices.
    closed : ClosedCrew or None
        What the formula of random stops calls the cheapest of all; None without prices.
    replications, seed : int
        Shifts drawn, and from what.
    """

    layout: Layout
    prices: ShiftPrices | None
    rows: tuple[CrewRow, ...]
    cheapest: BestCrew | None
    richest: BestCrew | None
    closed: ClosedCrew | None
    replications: int
    seed: int


def most_hands_for(layout: Layout) -> int:
    """How far a table of crews goes unless told: a hand a lane, and one more than there are."""
    return min(MOST_HANDS, max(layout.lanes, layout.hands + 1))


def crew_table(
    layout: Layout,
    prices: ShiftPrices | None = None,
    *,
    most_hands: int | None = None,
    replications: int = 200,
    seed: int = 1,
    cores: int | None = None,
    progress: Progress | None = None,
) -> CrewTable:
    """Try every size of crew on the same shifts.

    Parameters
    ----------
    layout : Layout
        The line; its own hands are not looked at.
    prices : ShiftPrices or None
        What a shift pays and is paid; None for balls only.
    most_hands : int or None
        Where to stop, 1 to 16; None for `most_hands_for`.
    replications, seed : int
        How many shifts, 2 or more, and what chance depends on.
    cores : int or None
        Threads to run on; None for all cores. The answer is the same on any number.
    progress : callable or None
        Told the shifts done, of all crews together, and their number.

    Returns
    -------
    CrewTable
        Crews and, with prices, the best of them.

    Raises
    ------
    BadInput
        When the layout, a price, the seed or a number cannot be.

    Notes
    -----
    Intervals of rows hold 95 times in 100 each. Whether another size may be as good as the best is
    judged by differences in the same shifts, widened so that all hold together (Bonferroni).
    """
    checked_layout(layout)
    if prices is not None:
        checked_prices(prices)
    last = most_hands_for(layout) if most_hands is None else most_hands
    if not 1 <= last <= MOST_HANDS:
        raise BadInput(
            Fault(f"{last} hands at most", f"1 to {MOST_HANDS}", key="most_hands", value=str(last))
        )
    watch = watch_money(prices)
    found = side_by_side(
        [Tried(replace(layout, hands=hands), watch) for hands in range(1, last + 1)],
        replications=replications,
        seed=seed,
        cores=cores,
        progress=progress,
    )
    rows = tuple(_row(found, place, prices is not None) for place in range(last))
    cheapest = richest = closed = None
    if prices is not None:
        cheapest = _best(
            [-row.cost_per_ball.mean for row in rows if row.cost_per_ball is not None],
            lambda line, best, sure: found.ratio_difference(
                line, best, "cost", "first_balls", sure
            ),
        )
        richest = _best(
            [row.money.mean for row in rows if row.money is not None],
            lambda line, best, sure: found.difference(line, best, "contribution", sure),
        )
        closed = closed_crew(layout, prices)
    return CrewTable(layout, prices, rows, cheapest, richest, closed, replications, seed)


def _row(found: SideBySide, place: int, priced: bool) -> CrewRow:
    before = place - 1
    later = place > 0
    return CrewRow(
        hands=place + 1,
        balls=found.estimate(place, "balls"),
        first_balls=found.estimate(place, "first_balls"),
        second_balls=found.estimate(place, "second_balls"),
        busy_frac=found.estimate(place, "busy"),
        wait_frac=found.estimate(place, "waits"),
        cost_per_ball=found.ratio(place, "cost", "first_balls") if priced else None,
        money=found.estimate(place, "contribution") if priced else None,
        more_first_balls=found.difference(place, before, "first_balls") if later else None,
        more_cost_per_ball=found.ratio_difference(place, before, "cost", "first_balls")
        if priced and later
        else None,
        more_money=found.difference(place, before, "contribution") if priced and later else None,
    )


def _best(goodness: list[float], apart: Callable[[int, int, float], Estimate]) -> BestCrew | None:
    """The size of most goodness; None where no size makes a first-quality ball."""
    known = [place for place, one in enumerate(goodness) if not math.isnan(one)]
    if not known:
        return None
    best = max(known, key=lambda place: goodness[place])
    sure = together(len(known) - 1)
    return BestCrew(
        best + 1,
        tuple(place + 1 for place in known if place != best and not told(apart(place, best, sure))),
    )
