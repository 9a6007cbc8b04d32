"""The cost of a ball in words."""

from __future__ import annotations

from clew.languages import figure, joined, say
from clew.plan.costing.ball_cost import BallCost
from clew.plan.costing.emissions import BallEmissions
from clew.quantities import MASS
from clew.quantities.show import UnitSystem, in_unit, number

YARN = ("yarn", "giveaway", "whole_turn")
NOT_COUNTED = say(
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
    told = {
        "ball": cost.figures.ball_name, "cost": figure(f"{total:.2f} {money}"), "low": cost.low,
        "high": cost.high,
    }  # fmt: skip
    if total > 0.0:
        head = say(
            "A ball of {ball} costs {cost}, between {low:.2f} and {high:.2f}; yarn is {share:.0f} "
            "% of it.",
            share=100.0 * cost.money_of(*YARN) / total,
            **told,
        )
    else:
        head = say("A ball of {ball} costs {cost}, between {low:.2f} and {high:.2f}.", **told)
    lines = [
        head,
        joined(" ", (
            say("That is {cost} for a declared kg.", cost=figure(f"{cost.per_kg:.2f} {money}")),
            _yield_words(cost),
        )),
        say("What makes it unsure is mostly {doubt}.", doubt=cost.dominates.words),
    ]  # fmt: skip
    if cost.margin is not None:
        price = figure(f"{cost.figures.price:.2f} {money}")
        left = figure(f"{abs(cost.margin):.2f} {money}")
        if cost.margin >= 0.0:
            lines.append(say("At a price of {price}, {left} is left.", price=price, left=left))
        else:
            lines.append(say("At a price of {price}, it loses {loss}.", price=price, loss=left))
    lines += _second_words(cost)
    return tuple(lines)


def _yield_words(cost: BallCost) -> str:
    share, first = 100.0 * cost.yield_frac, cost.figures.first_balls
    if not first:
        return say(
            "Of the yarn off the cones, {share:.1f} % leaves in first-quality balls.", share=share
        )
    return say(
        "Of the yarn off the cones, {share:.1f} % leaves in first-quality balls, {first:g} first "
        "balls of a run of {balls} left aside.",
        share=share,
        first=first,
        balls=cost.run_balls,
    )


def _second_words(cost: BallCost) -> list[str]:
    if cost.second_balls <= _SMALLEST_LOSS:
        return []
    second = number(100.0 * cost.second_balls, 2)
    if cost.foregone is None:
        return [
            say(
                "For 100 first-quality balls there are {second} of second quality, taken to fetch "
                "nothing.",
                second=second,
            )
        ]
    money = cost.figures.currency
    fetch = cost.figures.second_fetches
    told = {"second": second, "fetch": figure(f"{fetch:.2f} {money}")}
    if fetch:
        lines = [
            say(
                "For 100 first-quality balls there are {second} of second quality, each fetching "
                "{fetch}; without that a ball would cost {without:.2f}.",
                without=cost.spent,
                **told,
            )
        ]
    else:
        lines = [
            say(
                "For 100 first-quality balls there are {second} of second quality, each fetching "
                "{fetch}.",
                **told,
            )
        ]
    if second_pays(cost):
        lines.append(
            say(
                "One fetches more than one costs, so the cost falls as more are spoilt. That is no "
                "gain: as first quality they would have brought {money} a ball more.",
                money=figure(f"{cost.foregone:.3f} {money}"),
            )
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
        return figure(f"{number(in_unit(1e6 * of_one_kg, MASS, unit), 3)} {unit}")

    lines = [
        say(
            "1000 balls leave {landfill} of yarn to landfill, and take {fuel} kWh of fuel and "
            "{power} kWh of power.",
            landfill=heavy(left.landfill_kg),
            fuel=number(1000.0 * left.heat_kwh, 3),
            power=number(1000.0 * left.power_kwh, 3),
        )
    ]
    if left.known_kg is None:
        lines.append(say("No carbon dioxide is shown: the mill file states no factors."))
        return tuple(lines)
    named = (
        (say("heat"), left.heat_kg), (say("power"), left.power_kg), (say("waste"), left.waste_kg)
    )  # fmt: skip
    lines.append(
        say(
            "By the mill's own factors, for {counted}: {mass} of carbon dioxide ({source}).",
            counted=joined(", ", (words for words, kg in named if kg is not None)),
            mass=heavy(left.known_kg),
            source=left.source or say("no source stated"),
        )
    )
    return tuple(lines)
