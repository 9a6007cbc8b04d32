"""The answer to a buyer as plain values for programs: stable keys, units in them."""

from __future__ import annotations

import math
from typing import Any

from clew.knots.answer import BuyerAnswer
from clew.knots.answer_split import JoinSplit
from clew.knots.price import Band


def answer_as_plain(answer: BuyerAnswer) -> dict[str, Any]:
    """Turn an answer into plain values.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.

    Returns
    -------
    dict
        Names of plain numbers, lists and dicts; what is not known, or without bound, is None.
    """
    ball, needed, prevention = answer.ball, answer.cones_needed, answer.prevention
    return {
        "joins": ball.joins,
        "positions_m": sorted(ball.positions_m),
        "ball_length_m": ball.rule.ball_length_m,
        "limit": ball.rule.limit,
        "join_counts": ball.join_counts,
        "min_piece_m": ball.rule.min_piece_m,
        "breaks_band": list(ball.breaks_band),
        "mean_joins": answer.mean_joins,
        "p_exactly": _band(answer.exactly),
        "p_at_least": _band(answer.at_least),
        "exactly_per_10000": _band(answer.exactly, 10_000.0),
        "p_first_quality": _band(answer.first_share),
        "p_exactly_of_first": _band(answer.exactly_of_first),
        "p_at_least_of_first": _band(answer.at_least_of_first),
        "exactly_a_year": _band(answer.exactly_a_year),
        "sold_as_first_a_year": _band(answer.sold_a_year),
        "p_any_a_year": _band(answer.any_a_year),
        "split": _split(answer.split),
        "shortest_piece_m": answer.shortest_m,
        "p_piece_as_short": answer.as_short,
        "p_no_piece_under_min": answer.long_enough,
        "within_limit": answer.within_limit,
        "pieces_long_enough": answer.pieces_long_enough,
        "near_the_piece_rule": answer.near_the_rule,
        "first_quality": answer.first_quality,
        "doubled_breaks_weight": answer.doubled_weight,
        "cones_to_see_doubling": None
        if needed is None
        else {"cones": needed.cones, "power": needed.power, "risk": needed.risk},
        "prevention": None
        if prevention is None
        else {
            "limit": prevention.limit,
            "cost_per_ball": _band(prevention.cost_per_ball),
            "more_than_today_per_ball": _band(prevention.more_per_ball),
            "straight_per_ball": _band(prevention.straight_per_ball),
            "straight_more_than_today_per_ball": _band(prevention.straight_more_per_ball),
        },
    }


def _band(band: Band | None, factor: float = 1.0) -> dict[str, float | None] | None:
    if band is None:
        return None
    ends = {"low": band.low, "value": band.value, "high": band.high}
    return {key: factor * one if math.isfinite(one) else None for key, one in ends.items()}


def _split(split: JoinSplit | None) -> dict[str, Any] | None:
    if split is None:
        return None
    return {
        "expected": split.expected,
        "p_number": {kind: chances.tolist() for kind, chances in split.chances.items()},
        "by_join": list(split.by_join),
        "used_places": split.placed,
        "cone_rate_times_usual": split.rate_times,
        "p_cone_over_twice": split.rate_over_twice,
        "p_any_cone_over_twice": split.usual_over_twice,
        "drawn": split.draws,
        "ties_standard_error": split.standard_error,
    }
