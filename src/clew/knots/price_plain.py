"""The price of a knot limit as plain values, ready for a chart, a page or JSON."""

from __future__ import annotations

import math
from typing import Any

from clew.knots.price import Band, LimitAnswer, LimitRow

COMPLAINTS_ARE = "the mill's own estimate"
MEASURES = (
    "first_share",
    "second_share",
    "waste_frac",
    "yield_frac",
    "cost_per_ball",
    "cost_per_kg",
    "shelf_change",
    "landfill_kg_a_year",
    "complaints_per_10000",
    "partings_per_km",
)


def plain_price(answer: LimitAnswer) -> dict[str, Any]:
    """Turn a price of limits into lists, words and numbers.

    Parameters
    ----------
    answer : LimitAnswer
        From `price_of_limits`.

    Returns
    -------
    dict
        ``rows`` by limit, each measure with ``low``, ``value`` and ``high``; ``piece_rule``, the
        same for the shortest piece alone, null where it does not matter; ``steps``; ``doubt``; and
        what was asked. A limit of null is no limit; a figure of null has no bound, since no ball is
        first-quality; a measure of null is not known.
    """
    question, doubt = answer.question, answer.doubt
    return {
        "habit": question.habit,
        "plan_knows_whole_strand": question.habit == "best",
        "exact": question.habit == "straight",
        "breaks_left_frac": question.breaks_left_frac,
        "breaks_band": list(question.breaks_band),
        "breaks_per_km": 1000.0 * question.sources.breaks_per_m * question.breaks_left_frac,
        "join_counts": question.join_counts,
        "limit_today": question.rule.limit,
        "ball_length_m": question.rule.ball_length_m,
        "ball_mass_g": question.ball_mass_g,
        "made_a_year": question.made_a_year or None,
        "shelf_multiple": question.shelf_multiple,
        "complaints_by_joins_per_10000": list(question.complaints_per_10000) or None,
        "complaints_are": COMPLAINTS_ARE,
        "seed": question.seed,
        "strand_m": None if question.habit == "straight" else question.strand_m,
        "min_piece_m": question.rule.min_piece_m,
        "rows": [_row(row) for row in answer.rows],
        "piece_rule": None if answer.piece_rule is None else _row(answer.piece_rule),
        "steps": [
            {
                "looser": step.looser,
                "stricter": step.stricter,
                "cost_per_ball": _band(step.cost_per_ball),
            }
            for step in answer.steps
        ],
        "doubt": {
            "limit": doubt.limit,
            "breaks_half_per_ball": _finite(doubt.breaks),
            "drawing_half_per_ball": _finite(doubt.drawing),
            "breaks_share": doubt.breaks_share,
        },
    }


def _row(row: LimitRow) -> dict[str, Any]:
    return {"limit": row.limit} | {name: _band(getattr(row, name)) for name in MEASURES}


def _band(band: Band | None) -> dict[str, float | None] | None:
    if band is None:
        return None
    return {
        "low": _finite(band.low),
        "value": _finite(band.value),
        "high": _finite(band.high),
    }


def _finite(number: float) -> float | None:
    return number if math.isfinite(number) else None
