"""Masses and lengths of Band in the reader's units: a mean finer than a single ball."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache

from clew.languages import Tongue, figure, say
from clew.quantities import LENGTH, MASS, in_unit, number
from clew.web.drawn.figures import Figures, tight
from clew.web.drawn.reworded import Reworded
from clew.web.knots.money import whole_sum

_PLACES = {"g": 2, "oz": 3, "m": 1, "yd": 1}
_YARD = {"g": (MASS, "oz"), "kg": (MASS, "lb"), "m": (LENGTH, "yd")}
_METRIC = {"g": 1.0, "kg": 1000.0, "m": 1.0}
_LEAST_DIGITS = 2
_HELD = re.compile(r"(?<=\d) (?=%|(?:g|oz|kg|lb|m|yd|GBP|EUR|USD|counts?|turns?)\b)")
_TIMES = re.compile(r"(?<=\d[ \u00a0](?:g|m)) x (?=\d)|(?<=\d[ \u00a0](?:oz|yd)) x (?=\d)")


@dataclass(frozen=True, slots=True)
class _Amounts:
    """How numbers with a unit look in a text with one decimal mark."""

    room: re.Pattern[str]
    to: re.Pattern[str]
    money: re.Pattern[str]


@cache
def _amounts(decimal: str) -> _Amounts:
    mark = re.escape(decimal)
    one = rf"(\d+(?:{mark}\d+)?)"
    begins = r"(?<![\w.])" if decimal == "." else rf"(?<![\w.{mark}])"
    return _Amounts(
        re.compile(rf"{begins}(?<!\w-){one} (g|kg|m)\b(?! in\b)"),
        re.compile(rf"{begins}{one} (to|bis|à|a) ([+−-]?){one} (g|m)\b"),
        re.compile(rf"{begins}(\d+(?:{mark}\d\d)?) (GBP|EUR|USD)\b"),
    )


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
        return figure((text.lstrip("-") if not text.strip("-0.") else text).replace("-", "−"))

    def text(self, inside: float) -> str:
        """A value [g or m] with its unit."""
        return figure(tight(f"{self.bare(inside)} {self.unit}"))

    def change(self, inside: float) -> str:
        """A signed difference [g or m] with its unit."""
        return figure(tight(f"{self.figures.change(self.bare(inside))} {self.unit}"))

    def between(self, low: float, high: float | None) -> str:
        """Two values [g or m]; no end where the second is none."""
        if high is None:
            return say("from\u00a0{low}", low=self.text(low))
        return say("{low} to {high}", low=self.bare(low), high=self.text(high))


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
    return Reworded.of(words, _metric if figures.metric else _yards)


def _metric(words: str, tongue: Tongue | None) -> str:
    def summed(one: re.Match[str]) -> str:
        money = whole_sum(_value(one[1], tongue), one[2])
        return _marked(money.removesuffix(".00") if one[1].isdigit() else money, tongue)

    words = _amounts(_decimal(tongue)).money.sub(summed, words)
    words = _TIMES.sub(" × ", _HELD.sub("\u00a0", words))
    return re.sub(r"(?<![\w])-(?=\d)", "−", words)


def _yards(words: str, tongue: Tongue | None) -> str:
    def converted(one: re.Match[str]) -> str:
        plain = one[1].replace(_decimal(tongue), ".")
        return _marked(_as_yard(plain, one[2]), tongue)

    amounts = _amounts(_decimal(tongue))
    words = amounts.to.sub(r"\1 \5 \2 \3\4 \5", words)
    return _metric(amounts.room.sub(converted, words), tongue)


def _decimal(tongue: Tongue | None) -> str:
    return "." if tongue is None else tongue.decimal


def _value(text: str, tongue: Tongue | None) -> float:
    return float(text.replace(_decimal(tongue), "."))


def _marked(text: str, tongue: Tongue | None) -> str:
    return str(text) if tongue is None else tongue.mark(str(text))


def _as_yard(text: str, unit: str) -> str:
    kind, yard = _YARD[unit]
    digits = max(len(text.replace(".", "").lstrip("0")), _LEAST_DIGITS)
    return f"{number(in_unit(float(text) * _METRIC[unit], kind, yard), digits)} {yard}"
