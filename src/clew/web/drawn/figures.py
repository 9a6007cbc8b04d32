"""Numbers as a page prints them, in the reader's system of units.

A page and the card of the same run print a number alike: both use `clew.papers.floor_numbers`.
"""

from __future__ import annotations

from dataclasses import dataclass

from clew.languages import figure, say, told_again
from clew.papers import floor_numbers as floor
from clew.quantities import (
    DENSITY,
    LENGTH,
    MASS,
    PRESSURE,
    UnitSystem,
    convert_count,
    in_unit,
    number,
    show,
)

COUNTS = ("tex", "Nm", "Ne", "NeK", "yd/lb")
"""Count systems that the pages print side by side, by their names in `clew.quantities`."""


def tight(text: str) -> str:
    """Keep a number and its unit on one line; the words between two numbers may still break."""
    return told_again(text, _kept_together)


def _kept_together(part: str) -> str:
    return " to ".join(one.replace(" ", "\u00a0") for one in part.split(" to "))


def _tight(text: str) -> str:
    return figure(text.replace(" ", "\u00a0"))


@dataclass(frozen=True, slots=True)
class Figures:
    """Printing for one reader.

    Attributes
    ----------
    units : {"metric", "yard"}
        System of units.
    """

    units: UnitSystem = "metric"

    @property
    def metric(self) -> bool:
        """Whether the reader reads grams and metres."""
        return self.units == "metric"

    def mass(self, mass_g: float) -> str:
        """Mass of a ball [g]."""
        return tight(floor.mass(mass_g, self.units))

    def masses(self, low_g: float, high_g: float) -> str:
        """Two masses of a ball [g] with another between them."""
        return tight(floor.mass_range(low_g, high_g, self.units))

    def heavy(self, mass_g: float) -> str:
        """Mass of a lot [g], in kilograms or pounds."""
        unit = "kg" if self.metric else "lb"
        return _tight(f"{in_unit(mass_g, MASS, unit):.1f} {unit}")

    def length(self, length_m: float) -> str:
        """Length of a strand [m]."""
        return tight(floor.length(length_m, self.units))

    def lengths(self, low_m: float, high_m: float) -> str:
        """Two lengths [m] with another between them."""
        return tight(floor.length_range(low_m, high_m, self.units))

    def size(self, size_mm: float) -> str:
        """A size measured with a rule [mm]: whole millimetres, inches to 0.1."""
        return _tight(f"{self._rule(size_mm)} {'mm' if self.metric else 'in'}")

    def sizes(self, low_mm: float, high_mm: float) -> str:
        """Two sizes [mm]; one when they print alike."""
        low, high = self._rule(low_mm), self._rule(high_mm)
        return (
            self.size(low_mm)
            if low == high
            else say("{low} to {high}", low=figure(low), high=self.size(high_mm))
        )

    def _rule(self, size_mm: float) -> str:
        return f"{size_mm:.0f}" if self.metric else f"{in_unit(size_mm / 1000.0, LENGTH, 'in'):.1f}"

    def turn_length(self, length_mm: float) -> str:
        """Length of one turn [mm], to a millimetre or to a tenth of an inch."""
        if self.metric:
            return _tight(f"{length_mm:.0f} mm")
        return _tight(f"{in_unit(length_mm / 1000.0, LENGTH, 'in'):.1f} in")

    def speed(self, speed_m_per_s: float) -> str:
        """A speed of yarn or belt [m/s], a minute."""
        return tight(floor.speed(speed_m_per_s, self.units))

    def temperature(self, temperature_c: float) -> str:
        """A set temperature [°C]."""
        return tight(floor.temperature(temperature_c, self.units))

    def tension(self, tension_cn: float) -> str:
        """A winding tension [cN]."""
        return tight(floor.tension(tension_cn, self.units))

    def density(self, density_kg_m3: float) -> str:
        """A density [kg/m3], three figures."""
        return tight(show(density_kg_m3, DENSITY, self.units, digits=3))

    def pressure(self, pressure_kpa: float) -> str:
        """A pressure [kPa], two figures."""
        return tight(show(pressure_kpa, PRESSURE, self.units, digits=2))

    def count(self, count_tex: float, unit: str = "tex") -> str:
        """A count [tex] in a count system: whole tex and yards, otherwise two places."""
        value = convert_count(count_tex, "tex", unit)
        return _tight(f"{value:.{0 if value >= 100 else 1 if unit == 'tex' else 2}f} {unit}")

    @property
    def count_unit(self) -> str:
        """Count system that this reader is answered in."""
        return "tex" if self.metric else "yd/lb"

    def own_count(self, count_tex: float) -> str:
        """A count [tex] in the reader's own system."""
        return self.count(count_tex, self.count_unit)

    def own_counts(self, low_tex: float, high_tex: float) -> str:
        """Two counts [tex] in the reader's own system, the smaller number first."""
        low, high = sorted(
            convert_count(tex, "tex", self.count_unit) for tex in (low_tex, high_tex)
        )
        places = 0 if low >= 100 else 1
        return say(
            "{low} to {high}",
            low=figure(f"{low:.{places}f}"),
            high=_tight(f"{high:.{places}f} {self.count_unit}"),
        )

    def put_up(self, count_tex: float) -> str:
        """Length in a mass as the trade says it: metres in 100 g, yards in 1 oz."""
        length_m = convert_count(count_tex, "tex", "m/kg") / 1000.0
        if self.metric:
            return say("{length:.0f}\u00a0m in 100\u00a0g", length=100.0 * length_m)
        in_ounce_m = length_m * MASS.units["oz"]
        return say("{length:.1f}\u00a0yd in 1\u00a0oz", length=in_unit(in_ounce_m, LENGTH, "yd"))

    def percent(self, share: float, places: int = 1) -> str:
        """A share [-] in per cent."""
        return tight(floor.percent(share, places))

    def mass_change(self, mass_g: float) -> str:
        """A small change of mass [g], one place finer than a mass."""
        unit, places = ("g", 2) if self.metric else ("oz", 3)
        text = f"{in_unit(mass_g, MASS, unit):.{places}f}".replace("-", "−")
        zero = not any(digit in text for digit in "123456789")
        return _tight(f"{text.lstrip('−') if zero else self.change(text)} {unit}")

    def change(self, text: str) -> str:
        """Put a plus before a printed change that has no minus."""
        zero = not any(mark in text for mark in "123456789")
        return text if text.startswith("−") or zero else figure(f"+{text}")

    def number(self, value: float, digits: int = 4) -> str:
        """A number without a unit."""
        return figure(number(value, digits).replace("-", "−"))
