"""What a ball leaves behind: yarn to landfill, fuel, power, and by the mill's factors carbon."""

from __future__ import annotations

from dataclasses import dataclass

from clew.mill.plan_rules import Emissions
from clew.plan.costing.ball_cost import BallCost


@dataclass(frozen=True, slots=True)
class BallEmissions:
    """What a first-quality ball leaves behind.

    Attributes
    ----------
    landfill_kg : float
        Yarn as it comes that is wasted: line, joins, changes [kg].
    heat_kwh, power_kwh : float
        Fuel for steam and drying, and power [kWh].
    heat_kg, power_kg, waste_kg : float or None
        Carbon dioxide, or as much as does the same, by the mill's own factors; none where the mill
        states none [kg].
    source : str
        Where the mill has its factors from.
    """

    landfill_kg: float
    heat_kwh: float
    power_kwh: float
    heat_kg: float | None
    power_kg: float | None
    waste_kg: float | None
    source: str

    @property
    def known_kg(self) -> float | None:
        """Sum of what the mill states a factor for; none where it states none [kg]."""
        known = [one for one in (self.heat_kg, self.power_kg, self.waste_kg) if one is not None]
        return sum(known) if known else None


def emissions_of(cost: BallCost, factors: Emissions) -> BallEmissions:
    """Work out what a first-quality ball leaves behind.

    Parameters
    ----------
    cost : BallCost
        Its cost.
    factors : Emissions
        The mill's own factors.

    Returns
    -------
    BallEmissions
        All that was wound for it is charged to the first-quality ball, nothing to second quality.

    Notes
    -----
    W balls are wound for one; waste is what the line wastes on them, the share of their strand that
    joins cost, and the run's share of a change. Fuel and power while the line stands in a change
    are not in it. Source: DERIVED.
    """
    figures = cost.figures
    wound = figures.wound_per_first
    if cost.change is not None:
        wound += cost.change.second_balls / cost.run_balls
    landfill = wound * figures.line_waste_kg
    landfill += figures.wound_per_first * figures.knot_waste_frac * figures.ball_kg
    if cost.change is not None:
        landfill += cost.change.waste_kg / cost.run_balls
    heat = wound * (figures.steam_kwh + figures.dryer_kwh)
    power = wound * figures.power_kwh

    def by(factor: float | None, amount: float) -> float | None:
        return None if factor is None else factor * amount

    return BallEmissions(
        landfill_kg=landfill,
        heat_kwh=heat,
        power_kwh=power,
        heat_kg=by(factors.heat_kg_per_kwh, heat),
        power_kg=by(factors.power_kg_per_kwh, power),
        waste_kg=by(factors.waste_kg_per_kg, landfill),
        source=factors.source,
    )
