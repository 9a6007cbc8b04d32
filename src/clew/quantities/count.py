"""The count systems: a yarn's linear density in every named system the trade uses.

A direct system states mass per length (a larger number is a thicker yarn), an indirect one length
per mass (a larger number is a finer yarn). Every factor is derived from the international yard and
pound, so that conversions between systems are exact to the last bit of a float.
"""

from __future__ import annotations

from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import joined, say

YARD_M = 0.9144
"""The international yard [m], exact. Source: ASTM D2260, Table 1 footnote (READ)."""
POUND_G = 453.59237
"""The avoirdupois pound [g], exact. Source: ASTM D2260, Table 1 footnote (READ)."""
GRAIN_G = POUND_G / 7000
"""The grain [g], 1/7000 lb, exact."""


@dataclass(frozen=True)
class CountSystem:
    """A count system.

    Attributes
    ----------
    name : str
        How the system is written after a number.
    title : str
        What it is called in words.
    direct : bool
        Mass per length (true) or length per mass (false).
    factor : float
        Direct: tex per unit, so tex = factor x value. Indirect: tex x value = factor.
    aliases : tuple of str
        Other ways to write it.
    """

    name: str
    title: str
    direct: bool
    factor: float
    aliases: tuple[str, ...] = ()

    def to_tex(self, value: float) -> float:
        """Turn a value in this system into tex [g/km]."""
        return self.factor * value if self.direct else self.factor / value

    def from_tex(self, count_tex: float) -> float:
        """Turn tex [g/km] into a value in this system."""
        return count_tex / self.factor if self.direct else self.factor / count_tex


def _yards_per_pound(hank_yd: float) -> float:
    """Tex times count for a system of hanks of so many yards per pound [tex]."""
    return 1000.0 * POUND_G / (hank_yd * YARD_M)


SYSTEMS: tuple[CountSystem, ...] = (
    CountSystem("tex", "tex, grams in 1000 m", True, 1.0),
    CountSystem("dtex", "decitex, grams in 10 000 m", True, 0.1),
    CountSystem("ktex", "kilotex, grams in 1 m", True, 1000.0),
    CountSystem("mtex", "millitex, milligrams in 1000 m", True, 0.001),
    CountSystem("den", "denier, grams in 9000 m", True, 1.0 / 9.0, ("denier", "td")),
    CountSystem("Nm", "metric count, metres in 1 g", False, 1000.0, ("nm",)),
    CountSystem(
        "Ne",
        "cotton count, hanks of 840 yd in 1 lb",
        False,
        _yards_per_pound(840),
        ("nec", "cotton"),
    ),
    CountSystem(
        "NeK",
        "worsted count, hanks of 560 yd in 1 lb",
        False,
        _yards_per_pound(560),
        ("worsted", "new"),
    ),
    CountSystem(
        "run", "woollen run, hanks of 1600 yd in 1 lb", False, _yards_per_pound(1600), ("runs",)
    ),
    CountSystem(
        "lea", "linen lea, hanks of 300 yd in 1 lb", False, _yards_per_pound(300), ("nel", "linen")
    ),
    CountSystem(
        "cut", "woollen cut, hanks of 300 yd in 1 lb", False, _yards_per_pound(300), ("cuts",)
    ),
    CountSystem(
        "NeS",
        "Yorkshire skein, hanks of 256 yd in 1 lb",
        False,
        _yards_per_pound(256),
        ("skein", "yorkshire"),
    ),
    CountSystem("yd/lb", "yards in 1 lb", False, _yards_per_pound(1)),
    CountSystem("m/kg", "metres in 1 kg", False, 1.0e6),
    CountSystem(
        "gr",
        "grain count, grains in 120 yd",
        True,
        1000.0 * GRAIN_G / (120 * YARD_M),
        ("grain", "grains"),
    ),
    CountSystem(
        "jute",
        "jute, pounds in a spyndle of 14 400 yd",
        True,
        1000.0 * POUND_G / (14400 * YARD_M),
        ("lb/spyndle",),
    ),
)
"""Every system, direct ones in tex per unit. Source: ASTM D2260, Table 1 (READ)."""

_BY_NAME = {system.name: system for system in SYSTEMS}
_BY_FOLDED = {
    word.casefold(): system for system in SYSTEMS for word in (system.name, *system.aliases)
}


def count_system(name: str) -> CountSystem:
    """Find a count system by its name or an alias.

    Parameters
    ----------
    name : str
        The name as written after a number, such as ``tex`` or ``Ne``.

    Returns
    -------
    CountSystem
        The system.

    Raises
    ------
    BadInput
        When there is no such system.
    """
    found = _BY_NAME.get(name.strip()) or _BY_FOLDED.get(name.strip().casefold())
    if found is None:
        raise BadInput(
            Fault(
                say("no such count system"),
                expected=say(
                    "one of {choices}", choices=joined(", ", (one.name for one in SYSTEMS))
                ),
                value=repr(name),
            )
        )
    return found


def convert_count(value: float, unit: str, to_unit: str) -> float:
    """Convert a count from one system to another.

    Parameters
    ----------
    value : float
        The count, more than 0 [the first system].
    unit, to_unit : str
        Names of the systems.

    Returns
    -------
    float
        The count in the second system.

    Raises
    ------
    BadInput
        When a system is unknown or the value is not more than 0.

    Notes
    -----
    Source: ASTM D2260, Table 1 (READ); factors rest on the exact yard and pound.
    """
    source, target = count_system(unit), count_system(to_unit)
    if not 0.0 < value < float("inf"):
        raise BadInput(Fault(say("a count is more than 0"), value=f"{value:g} {source.name}"))
    found = target.from_tex(source.to_tex(value))
    if not 0.0 < found < float("inf"):
        raise BadInput(Fault(say("a count out of reach"), value=f"{value:g} {source.name}"))
    return found
