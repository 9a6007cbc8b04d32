"""Hands for a ball: what the table of crews calls cheapest, against the hands there are."""

from __future__ import annotations

from functools import lru_cache

from clew.line.improve.crew import CrewTable, crew_table, most_hands_for
from clew.line.improve.money import ShiftPrices
from clew.line.layout import Layout
from clew.plan.shift.terms import CrewAdvice

LEAST_REPLICATIONS = 2


def crew_advice(
    layout: Layout, prices: ShiftPrices | None, *, replications: int, seed: int
) -> CrewAdvice:
    """Weigh the hands of a line against the crew that makes a ball cheapest.

    Parameters
    ----------
    layout : Layout
        The line with the hands there are.
    prices : ShiftPrices or None
        What a shift pays and is paid; None where the ball has no price.
    replications, seed : int
        Shifts drawn of each crew, and from what.

    Returns
    -------
    CrewAdvice
        Asked for again with the same terms, it is not simulated again.
    """
    table = _table(layout, prices, max(replications, LEAST_REPLICATIONS), seed)
    rows = {row.hands: row for row in table.rows}
    now = rows[layout.hands]
    best = now if table.cheapest is None else rows[table.cheapest.hands]
    return CrewAdvice(
        hands=layout.hands,
        cheapest=None if table.cheapest is None else table.cheapest.hands,
        or_else=() if table.cheapest is None else table.cheapest.or_else,
        first_balls=now.first_balls.mean,
        cheapest_first_balls=best.first_balls.mean,
        cost=None if now.cost_per_ball is None else now.cost_per_ball.mean,
        cheapest_cost=None if best.cost_per_ball is None else best.cost_per_ball.mean,
    )


@lru_cache(maxsize=64)
def _table(layout: Layout, prices: ShiftPrices | None, replications: int, seed: int) -> CrewTable:
    most = most_hands_for(layout)
    return crew_table(layout, prices, most_hands=most, replications=replications, seed=seed)
