"""Crews, targets and what to change as plain values, with keys that scripts may rely on."""

from __future__ import annotations

import math
from typing import Any

from clew.line.improve.crew import BestCrew, CrewTable
from clew.line.improve.feed_limits import FeedLimits
from clew.line.improve.one_hand_lanes import OneHand
from clew.line.improve.ranking import Ranking
from clew.line.improve.targets import Target
from clew.line.simulate.answer import Estimate


def plain_estimate(one: Estimate | None) -> dict[str, float | None] | None:
    """Give a mean, its interval and the spread of a shift; None for what is not known."""
    if one is None:
        return None
    return {key: _known(getattr(one, key)) for key in ("mean", "low", "high", "sd")}


def plain_ranking(ranking: Ranking) -> dict[str, Any]:
    """Give a ranking as numbers, strings, lists and dicts.

    Parameters
    ----------
    ranking : Ranking
        From `clew.line.improve.ranking.what_to_change`.

    Returns
    -------
    dict
        What JSON can hold. Balls and money are those of a shift; a variance reduction of null has
        no end, or nothing to be reduced.
    """
    base = ranking.base
    return {
        "ranked_by": "first_balls" if ranking.prices is None else "money",
        "currency": ranking.prices.currency if ranking.prices else None,
        "now": {
            "balls": plain_estimate(base.balls),
            "first_balls": plain_estimate(base.first_balls),
            "second_balls": plain_estimate(base.second_balls),
            "hand_busy_frac": plain_estimate(base.busy_frac),
            "doff_wait_frac": plain_estimate(base.wait_frac),
            "money": plain_estimate(base.money),
            "cost_per_ball": plain_estimate(base.cost_per_ball),
        },
        "changes": [
            {
                "key": one.key,
                "label": one.label,
                "balls": plain_estimate(one.balls),
                "first_balls": plain_estimate(one.first_balls),
                "second_balls": plain_estimate(one.second_balls),
                "money": plain_estimate(one.money),
                "cost_per_ball": plain_estimate(one.cost_per_ball),
                "told_from_nothing": one.told,
                "variance_reduction": _known(one.variance_reduction),
            }
            for one in ranking.worths
        ],
        "left_out": [
            {"key": one.key, "label": one.label, "reason": one.reason} for one in ranking.left_out
        ],
        "confidence_of_one": ranking.confidence,
        "replications": ranking.replications,
        "seed": ranking.seed,
    }


def plain_crew(table: CrewTable) -> dict[str, Any]:
    """Give a table of crews as numbers, strings, lists and dicts.

    Parameters
    ----------
    table : CrewTable
        From `clew.line.improve.crew.crew_table`.

    Returns
    -------
    dict
        What JSON can hold; what a last hand adds is null for the first, money without prices.
    """
    return {
        "hands": table.layout.hands,
        "lanes": table.layout.lanes,
        "currency": table.prices.currency if table.prices else None,
        "crews": [
            {
                "hands": row.hands,
                "balls": plain_estimate(row.balls),
                "first_balls": plain_estimate(row.first_balls),
                "second_balls": plain_estimate(row.second_balls),
                "hand_busy_frac": plain_estimate(row.busy_frac),
                "doff_wait_frac": plain_estimate(row.wait_frac),
                "cost_per_ball": plain_estimate(row.cost_per_ball),
                "money": plain_estimate(row.money),
                "last_hand_adds": {
                    "first_balls": plain_estimate(row.more_first_balls),
                    "cost_per_ball": plain_estimate(row.more_cost_per_ball),
                    "money": plain_estimate(row.more_money),
                },
            }
            for row in table.rows
        ],
        "least_cost_per_ball": _best(table.cheapest, len(table.rows)),
        "most_money": _best(table.richest, len(table.rows)),
        "closed_form": None
        if table.closed is None
        else {
            "hands": table.closed.hands,
            "more_may_be_cheaper": table.closed.open_end,
            "balls_per_hour": list(table.closed.balls_per_hour),
        },
        "replications": table.replications,
        "seed": table.seed,
    }


def plain_one_hand(found: OneHand) -> dict[str, Any]:
    """Give the lanes of one hand as numbers, strings, lists and dicts.

    Parameters
    ----------
    found : OneHand
        From `clew.line.improve.one_hand_lanes.lanes_of_one_hand`.

    Returns
    -------
    dict
        What JSON can hold.
    """
    return {
        "may_lose_frac": found.may_lose_frac,
        "lanes": found.lanes,
        "lanes_surely": found.surely,
        "lanes_perhaps": found.perhaps,
        "lanes_in_step": found.in_step,
        "lanes_at_random": found.at_random,
        "more_may_do": found.open_end,
        "rows": [
            {
                "lanes": row.lanes,
                "balls": plain_estimate(row.balls),
                "lost_frac": plain_estimate(row.lost_frac),
                "hand_busy_frac": plain_estimate(row.busy_frac),
                "doff_wait_frac": plain_estimate(row.wait_frac),
                "lost_at_random_frac": row.random_lost_frac,
            }
            for row in found.rows
        ],
    }


def plain_target(
    target: Target, shrink_frac: float, limits: FeedLimits | None = None
) -> dict[str, Any]:
    """Give a target as numbers, strings, lists and dicts.

    Parameters
    ----------
    target : Target
        From `clew.line.improve.targets`.
    shrink_frac : float
        Length lost in steam: a buffer is stated of strand after it [1].
    limits : FeedLimits or None
        Those of the line; None where nobody asked.

    Returns
    -------
    dict
        What JSON can hold; a feed of strand before steam, a buffer of strand after it.
    """
    feed = target.setting == "feed"
    unit = "m_per_s" if feed else "steamed_m"

    def stated(value: float | None) -> float | None:
        return value if feed or value is None else value * (1.0 - shrink_frac)

    found: dict[str, Any] = {
        "wanted": target.wanted,
        "output": target.output,
        "reached": target.at is not None,
        f"{target.setting}_{unit}": stated(target.at),
        f"{target.setting}_surely_misses_{unit}": stated(target.low),
        f"{target.setting}_surely_reaches_{unit}": stated(target.high),
        "gives": plain_estimate(target.gives),
        "second_balls": plain_estimate(target.second_balls),
        f"{target.setting}_now_{unit}": stated(target.now),
        "now_gives": plain_estimate(target.now_gives),
        f"{target.setting}_of_most_{unit}": stated(target.most_at),
        "most_gives": plain_estimate(target.most_gives),
        "replications": target.replications,
        "seed": target.seed,
    }
    if feed and limits is not None:
        passed = () if target.at is None else limits.passed_at(target.at)
        found["above_limits_of"] = [
            {"station": one.station, "feed_m_per_s": one.feed_m_per_s, "why": one.why}
            for one in passed
        ]
    return found


def _best(best: BestCrew | None, largest: int) -> dict[str, Any] | None:
    if best is None:
        return None
    return {
        "hands": best.hands,
        "not_told_from": list(best.or_else),
        "largest_tried": best.hands == largest,
    }


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
