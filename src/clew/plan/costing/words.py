"""The cost of a ball in words."""

from __future__ import annotations

from clew.plan.costing.ball_cost import BallCost
from clew.plan.costing.emissions import BallEmissions
from clew.quantities import MASS
from clew.quantities.show import UnitSystem, in_unit, number

YARN = ("yarn", "giveaway", "whole_turn")
NOT_COUNTED = (
    "Not counted: what the ends of a run leave on cones, belt and mandrels, heat and power while a "
    "change stands, packing of second-quality balls, freight beyond the gate, what becomes of the "
    "yarn of first balls once reeled, and whether the balls sell."
)
_SMALLEST_LOSS = 1e-9


def cost_words(cost: BallCost) -> tuple[str, ...]:
    """Say what a ball costs, what it is mostly, how sure that is and what is left.

    Parameters
    ----------
    cost : BallCost
        The cost.

    Returns
    -------
    tuple of str
        Lines, the answer first.
    """
    money, total = cost.figures.currency, cost.total
    yarn = ""
    if total > 0.0:
        yarn = f"; yarn is {100.0 * cost.money_of(*YARN) / total:.0f} % of it"
    first = cost.figures.first_balls
    reeled = f", {first:g} first balls of a run of {cost.run_balls} left aside" if first else ""
    lines = [
        f"A ball of {cost.figures.ball_name} costs {total:.2f} {money}, between {cost.low:.2f} and "
        f"{cost.high:.2f}{yarn}.",
        f"That is {cost.per_kg:.2f} {money} for a declared kg. Of the yarn off the cones, "
        f"{100.0 * cost.yield_frac:.1f} % leaves in first-quality balls{reeled}.",
        f"What makes it unsure is mostly {cost.dominates.words}.",
    ]
    if cost.margin is not None:
        price = cost.figures.price
        left = f"{cost.margin:.2f} {money} is left" if cost.margin >= 0.0 else _short(cost)
        lines.append(f"At a price of {price:.2f} {money}, {left}.")
    lines += _second_words(cost)
    return tuple(lines)


def _short(cost: BallCost) -> str:
    return f"it loses {-(cost.margin or 0.0):.2f} {cost.figures.currency}"


def _second_words(cost: BallCost) -> list[str]:
    if cost.second_balls <= _SMALLEST_LOSS:
        return []
    second = number(100.0 * cost.second_balls, 2)
    said = f"For 100 first-quality balls there are {second} of second quality"
    if cost.foregone is None:
        return [f"{said}, taken to fetch nothing."]
    money = cost.figures.currency
    fetch = cost.figures.second_fetches
    without = f"; without that a ball would cost {cost.spent:.2f}" if fetch else ""
    lines = [f"{said}, each fetching {fetch:.2f} {money}{without}."]
    if second_pays(cost):
        lines.append(
            f"One fetches more than one costs, so the cost falls as more are spoilt. That is no "
            f"gain: as first quality they would have brought {cost.foregone:.3f} {money} a ball "
            "more."
        )
    return lines


def second_pays(cost: BallCost) -> bool:
    """Whether a second-quality ball fetches more than one costs, so that spoiling looks cheap."""
    figures = cost.figures
    return figures.second_fetches > figures.cost_of_strand + figures.band


def emission_words(left: BallEmissions, units: UnitSystem = "metric") -> tuple[str, ...]:
    """Say what 1000 first-quality balls leave behind.

    Parameters
    ----------
    left : BallEmissions
        What one ball leaves.
    units : {"metric", "yard"}
        Whether masses are told in kilograms or in pounds.

    Returns
    -------
    tuple of str
        Lines.
    """

    def heavy(of_one_kg: float) -> str:
        unit = "kg" if units == "metric" else "lb"
        return f"{number(in_unit(1e6 * of_one_kg, MASS, unit), 3)} {unit}"

    lines = [
        f"1000 balls leave {heavy(left.landfill_kg)} of yarn to landfill, and take "
        f"{number(1000.0 * left.heat_kwh, 3)} kWh of fuel and "
        f"{number(1000.0 * left.power_kwh, 3)} kWh of power."
    ]
    if left.known_kg is None:
        lines.append("No carbon dioxide is shown: the mill file states no factors.")
        return tuple(lines)
    named = {"heat": left.heat_kg, "power": left.power_kg, "waste": left.waste_kg}
    counted = ", ".join(key for key, kg in named.items() if kg is not None)
    lines.append(
        f"By the mill's own factors, for {counted}: {heavy(left.known_kg)} of "
        f"carbon dioxide ({left.source or 'no source stated'})."
    )
    return tuple(lines)
