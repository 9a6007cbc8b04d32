"""Masses and lengths of Band in the reader's units: a mean finer than a single ball."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from clew.quantities import LENGTH, MASS, in_unit, number
from clew.web.figures import Figures, tight
from clew.web.knots_money import whole_sum

_PLACES = {"g": 2, "oz": 3, "m": 1, "yd": 1}
_ROOM = re.compile(r"(?<![\w.])(?<!\w-)(\d+(?:\.\d+)?) (g|kg|m)\b(?! in\b)")
_TO = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) to ([+−-]?)(\d+(?:\.\d+)?) (g|m)\b")
_YARD = {"g": (MASS, "oz"), "kg": (MASS, "lb"), "m": (LENGTH, "yd")}
_METRIC = {"g": 1.0, "kg": 1000.0, "m": 1.0}
_LEAST_DIGITS = 2
_HELD = re.compile(r"(?<=\d) (?=%|(?:g|oz|kg|lb|m|yd|GBP|EUR|USD|counts?|turns?)\b)")
_SUM = re.compile(r"(\d+\.\d\d) (GBP|EUR|USD)\b")


@dataclass(frozen=True, slots=True)
class Measure:
    """Printing of what is charted.

    Attributes
    ----------
    value : str
        "mass" or "length".
    figures : Figures
        The reader's printing.
    """

    value: str
    figures: Figures

    @property
    def unit(self) -> str:
        """The reader's unit."""
        if self.value == "mass":
            return "g" if self.figures.metric else "oz"
        return "m" if self.figures.metric else "yd"

    def plain(self, inside: float) -> float:
        """A value [g or m] as a number in the reader's unit."""
        return in_unit(inside, MASS if self.value == "mass" else LENGTH, self.unit)

    def bare(self, inside: float) -> str:
        """A value [g or m] without its unit."""
        if math.isnan(inside):
            return "–"
        text = f"{self.plain(inside):.{_PLACES[self.unit]}f}"
        return (text.lstrip("-") if not text.strip("-0.") else text).replace("-", "−")

    def text(self, inside: float) -> str:
        """A value [g or m] with its unit."""
        return tight(f"{self.bare(inside)} {self.unit}")

    def change(self, inside: float) -> str:
        """A signed difference [g or m] with its unit."""
        return tight(f"{self.figures.change(self.bare(inside))} {self.unit}")

    def between(self, low: float, high: float | None) -> str:
        """Two values [g or m]; no end where the second is none."""
        if high is None:
            return tight(f"from {self.bare(low)} {self.unit}")
        return tight(f"{self.bare(low)} to {self.bare(high)} {self.unit}")


def in_readers_units(words: str, figures: Figures) -> str:
    """Write a room's grams, kilograms and metres in the reader's units, each on one line.

    Parameters
    ----------
    words : str
        What a room says.
    figures : Figures
        The reader's printing.

    Returns
    -------
    str
        The same; a number keeps as many figures as it had, two at least.
    """
    if not figures.metric:
        words = _TO.sub(r"\1 \4 to \2\3 \4", words)
        words = _ROOM.sub(_as_yard, words)
    words = _SUM.sub(lambda one: whole_sum(float(one[1]), one[2]), words)
    words = _HELD.sub("\u00a0", words)
    return re.sub(r"(?<![\w])-(?=\d)", "−", words)


def _as_yard(found: re.Match[str]) -> str:
    text, unit = found[1], found[2]
    kind, yard = _YARD[unit]
    digits = max(len(text.replace(".", "").lstrip("0")), _LEAST_DIGITS)
    return f"{number(in_unit(float(text) * _METRIC[unit], kind, yard), digits)} {yard}"
