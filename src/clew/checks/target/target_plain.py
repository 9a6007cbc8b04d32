"""The least lawful target as plain values, for programs."""

from __future__ import annotations

from collections.abc import Sequence

from clew.checks.packages.plan import Plan
from clew.checks.target.characteristic import Characteristic
from clew.checks.target.gram_worth import LevelWorth
from clew.checks.target.target import FailureRate, TargetAnswer


def plain_rate(rate: FailureRate) -> dict[str, float]:
    """Share of failing lots with its doubt."""
    return {"frac": rate.frac, "se": rate.se, "upper_95_frac": rate.upper}


def plain_target(answer: TargetAnswer, *, with_length: bool) -> dict[str, object]:
    """Target and needs as plain values.

    Parameters
    ----------
    answer : TargetAnswer
        The answer.
    with_length : bool
        Whether the length of the ball is known.

    Returns
    -------
    dict
        Keys stay; units stand in them.
    """
    return {
        "target_mass_g": answer.mass_g,
        "target_length_m": answer.length_m if with_length else None,
        "by_declaration": answer.by_declaration,
        "risk_frac": answer.risk,
        "fails": plain_rate(answer.failure),
        "for_drawing_g": answer.drawing_g,
        "inspections": int(answer.drawn.least.shape[0]),
        "seed": answer.drawn.seed,
        "binds": "declaration" if answer.by_declaration else answer.binding.asked.words,
        "needs": [
            {
                "rule": need.asked.plan.rule,
                "quantity": need.asked.plan.quantity,
                "requirement": need.asked.requirement,
                "mass_g": need.mass_g,
                "length_m": need.length_m if with_length else None,
                "fails": plain_rate(need.failure),
                "last_to_be_met_frac": need.share_frac,
            }
            for need in answer.needs
        ],
    }


def plain_plans(plans: Sequence[Plan]) -> list[dict[str, object]]:
    """What each rule set asks, as plain values; None where it asks nothing."""

    def limit(value: float) -> float | None:
        return value if value != float("inf") else None

    return [
        {
            "rule": plan.rule,
            "quantity": plan.quantity,
            "declared": plan.declared,
            "floor": plan.floor,
            "factor": plan.factor,
            "average_n": plan.average_n,
            "stages": [[one.drawn, one.accept, one.reject] for one in plan.stages],
            "deficiency": limit(plan.deficiency),
            "far_deficiency": limit(plan.far_deficiency),
            "individual_open": plan.individual_open,
            "confirmed": plan.confirmed,
            "marks": list(plan.marks),
            "notes": list(plan.notes),
        }
        for plan in plans
    ]


def plain_worth(worth: Sequence[LevelWorth]) -> list[dict[str, object]]:
    """What each level's spread costs, as plain values."""
    return [
        {
            "level": one.level,
            "sd_g": one.sd_g,
            "target_g_per_g": one.slope,
            "step_g": one.step_g,
            "step_gain_g": one.step_gain_g,
            "all_gain_g": one.all_gain_g,
        }
        for one in worth
    ]


def plain_characteristic(curve: Characteristic) -> list[dict[str, float]]:
    """Chance to pass over the mean ball, as plain values."""
    return [
        {"mass_g": float(mass), "passes_frac": float(passes), "se": float(se)}
        for mass, passes, se in zip(curve.mass_g, curve.passes, curve.se, strict=True)
    ]
