"""How `clew knots cones` shows cones, in either system of units."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from clew.quantities import LENGTH, MASS, PER_LENGTH, UnitSystem, in_unit, show

if TYPE_CHECKING:
    from clew.knots.cone_size import ConeHabit
    from clew.knots.cone_size_best import BestCones

LEAST_SHOWN = 5e-5
"""Money is printed to four places."""
HABIT_WORDS = {
    "wind_on": "wind on",
    "start_anew": "start anew",
    "drop_short": "drop short",
}


class ConesShown:
    """How cones are shown: before steam, with their mass where the count is known."""

    def __init__(self, kept: float, tex: float, currency: str, units: UnitSystem) -> None:
        self.kept, self.tex, self.currency, self.units = kept, tex, currency, units
        metric = units == "metric"
        self.unit, self.long = ("m", "km") if metric else ("yd", "1000 yd")

    def length(self, length_m: float, places: int = 1) -> str:
        """A length, without its unit."""
        return f"{in_unit(length_m, LENGTH, self.unit):.{places}f}"

    def per_length(self, per_km: float) -> float:
        """Money a km, turned to the length it is shown for."""
        kind = PER_LENGTH
        return in_unit(per_km, kind, kind.metric if self.units == "metric" else kind.yard)

    def money(self, value: float) -> str:
        """Money with its currency, where one is named."""
        return f"{value:.4f} {self.currency}".rstrip()

    def mass_g(self, one: ConeHabit) -> float:
        """Mass of a cone: length before steam times count."""
        return one.cones.mean_m / self.kept * self.tex / 1000.0

    def cone(self, one: ConeHabit) -> str:
        """A cone's length before steam, and its mass."""
        length = f"{self.length(one.cones.mean_m / self.kept)} {self.unit}"
        if math.isnan(self.tex):
            return length
        return f"{length} ({show(self.mass_g(one), MASS, self.units)})"

    def cone_head(self, name: str) -> list[str]:
        """Heads of a cone's columns: its length, and its mass where the count is known."""
        mass = f"{name}, g" if self.units == "metric" else "oz"
        return [f"{name}, {self.unit}", *([] if math.isnan(self.tex) else [mass])]

    def money_head(self, name: str) -> str:
        """Head of a column of money; in yards a line above the table says for which length."""
        return f"{name}/km" if self.units == "metric" else name

    def cone_cells(self, one: ConeHabit) -> list[str]:
        """A cone in those columns."""
        length = self.length(one.cones.mean_m / self.kept)
        if math.isnan(self.tex):
            return [length]
        if self.units == "metric":
            return [length, f"{self.mass_g(one):.0f}"]
        return [length, f"{in_unit(self.mass_g(one), MASS, 'oz'):.1f}"]

    def drop(self, one: ConeHabit) -> str:
        """What is dropped of a cone."""
        if one.drop_up_to_m == 0.0:
            return "none"
        return "all" if one.drop_up_to_m >= one.ball_length_m else self.length(one.drop_up_to_m)

    def more(self, per_km: float) -> str:
        """Money more or less; what rounds to nothing has no sign."""
        money = self.per_length(per_km)
        return f"{money:+.4f}" if abs(money) >= LEAST_SHOWN else "0.0000"

    def row(self, name: str, one: ConeHabit) -> list[str]:
        """One habit, as a row."""
        return [
            name,
            *self.cone_cells(one),
            self.drop(one),
            f"{one.balls_per_cone:.3f}",
            f"{100.0 * one.tied_share:.3f}",
            self.length(one.leftover_m, 2),
            f"{self.per_length(one.money_per_km):.4f}",
        ]

    def sweep_row(self, today: dict[str, ConeHabit], best: BestCones) -> list[str]:
        """The best cones at one spread, as a row."""
        from_now = today["wind_on"].money_per_km
        return [
            f"{100.0 * best.start_anew.cones.cv:g}",
            *self.cone_cells(best.start_anew),
            self.more(best.start_anew.money_per_km - from_now),
            *self.cone_cells(best.drop_short),
            self.drop(best.drop_short),
            self.more(best.drop_short.money_per_km - from_now),
        ]

    def plain(self, one: ConeHabit) -> dict[str, Any]:
        """One habit, for programs."""
        return {
            "cone_before_steam_m": one.cones.mean_m / self.kept,
            "cone_after_steam_m": one.cones.mean_m,
            "cone_mass_g": None if math.isnan(self.tex) else self.mass_g(one),
            "drop_up_to_m": one.drop_up_to_m,
            "balls_per_cone": one.balls_per_cone,
            "tied_share": one.tied_share,
            "leftover_m_per_cone": one.leftover_m,
            "money_per_km": one.money_per_km,
        }

    def plain_best(self, best: BestCones) -> dict[str, Any]:
        """The best cones of each habit, for programs."""
        return {name: self.plain(getattr(best, name)) for name in HABIT_WORDS}
