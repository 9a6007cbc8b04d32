"""The cost of a ball as plain values, with units in the keys."""

from __future__ import annotations

from typing import Any

from clew.plan.costing.ball_cost import BallCost
from clew.plan.costing.emissions import BallEmissions
from clew.plan.costing.sensitivities import CostStep
from clew.plan.costing.waterfall import waterfall


def plain_cost(cost: BallCost) -> dict[str, Any]:
    """Give the cost of a ball as plain values.

    Parameters
    ----------
    cost : BallCost
        The cost.

    Returns
    -------
    dict
        Money in the mill's currency, for a first-quality ball.
    """
    figures = cost.figures
    return {
        "ball": figures.ball_name,
        "lot": figures.lot_name or None,
        "line": figures.line_name,
        "currency": figures.currency,
        "money_per_ball": cost.total,
        "money_per_ball_low": cost.low,
        "money_per_ball_high": cost.high,
        "money_per_kg": cost.per_kg,
        "price": figures.price,
        "margin": cost.margin,
        "yield_frac": cost.yield_frac,
        "second_balls_per_ball": cost.second_balls,
        "second_fetches": figures.second_fetches,
        "price_foregone": cost.foregone,
        "run_balls": cost.run_balls,
        "change": None
        if cost.change is None
        else {
            "kind": cost.change.kind,
            "stand_s": cost.change.stand_s,
            "waste_kg": cost.change.waste_kg,
            "second_balls": cost.change.second_balls,
        },
        "balls_per_h": figures.balls_per_h,
        "stages": [
            {
                "stage": stage.key,
                "words": stage.words,
                "yield_frac": stage.yield_frac,
                "money_per_ball": stage.money,
                "parts": [
                    {"key": part.key, "words": part.words, "money_per_ball": part.money}
                    for part in stage.parts
                ],
            }
            for stage in cost.stages
        ],
        "doubts": [
            {"key": one.key, "words": one.words, "low": one.low, "high": one.high}
            for one in cost.doubts
        ],
        "waterfall": [
            {
                "stage": step.stage,
                "key": step.key,
                "words": step.words,
                "from": step.start,
                "to": step.end,
            }
            for step in waterfall(cost)
        ],
        "notes": list(cost.notes),
        "seed": cost.seed,
        "replications": cost.replications,
    }


def plain_steps(steps: tuple[CostStep, ...]) -> list[dict[str, Any]]:
    """Give sensitivities as plain values."""
    return [
        {
            "key": one.key,
            "words": one.words,
            "money_per_ball": one.money_per_ball,
            "money_per_year": one.money_per_year,
            "price_foregone_per_ball": one.foregone_per_ball,
        }
        for one in steps
    ]


def plain_emissions(left: BallEmissions) -> dict[str, Any]:
    """Give what a ball leaves behind as plain values."""
    return {
        "landfill_kg_per_ball": left.landfill_kg,
        "heat_kwh_per_ball": left.heat_kwh,
        "power_kwh_per_ball": left.power_kwh,
        "carbon_kg_per_ball": left.known_kg,
        "carbon_by": {
            "heat_kg": left.heat_kg,
            "power_kg": left.power_kg,
            "waste_kg": left.waste_kg,
        },
        "factors": "the mill's own",
        "factors_source": left.source or None,
    }
