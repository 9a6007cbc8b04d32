"""A simulated shift as plain values with the unit in every key."""

from __future__ import annotations

import math
from typing import Any

from clew.line.simulate.answer import Estimate, ShiftAnswer
from clew.line.simulate.measures import LEVELS


def plain_shift(answer: ShiftAnswer) -> dict[str, Any]:
    """Give a shift as numbers, strings, lists and dicts, for programs.

    Parameters
    ----------
    answer : ShiftAnswer
        The shift.

    Returns
    -------
    dict
        What JSON can hold; what is not known is None.
    """
    layout = answer.layout
    return {
        "balls_mean": answer.balls.mean,
        "balls_interval": interval(answer.balls),
        "balls_sd": known(answer.balls.sd),
        "balls_9_in_10": list(answer.balls_range),
        "first_balls_mean": answer.measures["first_balls"].mean,
        "first_balls_interval": interval(answer.measures["first_balls"]),
        "second_balls_mean": answer.measures["second_balls"].mean,
        "second_balls_interval": interval(answer.measures["second_balls"]),
        "balls_full_before_another_was_off_mean": answer.measures["balls_together"].mean,
        "part_balls_mean": answer.measures["part_balls"].mean,
        "kg_mean": answer.kg.mean,
        "kg_interval": interval(answer.kg),
        "winder_share": {cause: one.mean for cause, one in answer.winder_share.items()},
        "winder_share_interval": {
            cause: interval(one) for cause, one in answer.winder_share.items()
        },
        "feed_stop_share": answer.feed_stop_frac,
        "feed_stop_share_by_cause": {cause: one.mean for cause, one in answer.feed_share.items()},
        "hand_busy_frac": answer.hand_busy_frac,
        "hand_share": {what: one.mean for what, one in answer.hand_share.items()},
        "walked_km_per_hand": answer.walked_km.mean,
        "calls_per_shift": answer.served,
        "doff_wait_s": {
            "mean": known(answer.waits.mean_s),
            "median": known(answer.waits.median_s),
            "p95": known(answer.waits.p95_s),
            "longest": answer.waits.longest_s,
        },
        "belt_stops_mean": answer.measures["belt_stops"].mean,
        "longest_belt_stop_s": answer.longest_stop_s,
        "cones_mean": answer.measures["cones"].mean,
        "ties_mean": answer.measures["ties"].mean,
        "feed_breaks_mean": answer.measures["feed_breaks"].mean,
        "winder_breaks_mean": answer.measures["wind_breaks"].mean,
        "line_joins_per_ball": known(answer.joins_per_ball),
        "balls_by_line_joins_share": list(answer.ball_joins),
        "waste_m_mean": answer.measures["waste_m"].mean,
        "spoilt_m_mean": answer.measures["spoilt_m"].mean,
        "lanes": [
            {
                "lane": place + 1,
                "balls_mean": lane.balls,
                "kg_mean": lane.balls * layout.ball_kg,
                "laid_m_mean": lane.laid_m,
                "waste_m_mean": lane.waste_m,
                "winder_share": lane.winder_share,
                "feed_stop_share_by_cause": lane.feed_share,
            }
            for place, lane in enumerate(answer.lanes)
        ],
        "buffer_level_frac": {
            "at_share_of_shift": [
                place / (len(answer.level_mean) - 1) for place in range(len(answer.level_mean))
            ],
            "mean": list(answer.level_mean),
            "low_1_in_10": list(answer.level_low),
            "high_1_in_10": list(answer.level_high),
            "to_within": 1.0 / LEVELS,
        },
        "yarn_balance_m": answer.books.missed_m,
        "yarn_balance_frac": answer.books.missed_frac,
        "yarn_books_m": {
            "initial": answer.books.initial_m,
            "fed": answer.books.laid_m,
            "before_steam": answer.books.raw_m,
            "after_steam": answer.books.steamed_m,
            "wound": answer.books.wound_m,
            "waste": answer.books.waste_m,
        },
        "dry_balance_kg": answer.books.dry.missed_kg,
        "dry_books_kg": {
            "initial": answer.books.dry.initial_kg,
            "fed": answer.books.dry.fed_kg,
            "before_steam": answer.books.dry.raw_kg,
            "after_steam": answer.books.dry.steamed_kg,
            "wound": answer.books.dry.wound_kg,
            "waste": answer.books.dry.waste_kg,
            "finish_lost": answer.books.dry.finish_kg,
        },
        "lane_count": layout.lanes,
        "hands": layout.hands,
        "shift_s": layout.shift_s,
        "replications": answer.replications,
        "seed": answer.seed,
    }


def interval(estimate: Estimate) -> list[float] | None:
    """Give the ends of an interval; None when one shift tells nothing of its spread."""
    if math.isnan(estimate.low):
        return None
    return [estimate.low, estimate.high]


def known(value: float) -> float | None:
    """Give a value, or None for what is not known."""
    return None if math.isnan(value) else value
