"""Numbers as the floor reads them: a fixed number of places for each kind, in either system.

A column of figures is read at a glance only when every row has the same places, so trailing
noughts are kept here, where `clew.quantities.show` drops them.
"""

from __future__ import annotations

import math

from clew.languages import figure, say
from clew.quantities import (
    FORCE,
    LENGTH,
    MASS,
    PRESSURE,
    SPEED,
    TEMPERATURE,
    Kind,
    UnitSystem,
    in_unit,
    number,
    show,
)

_PLACES: dict[str, int] = {"g": 1, "oz": 2, "m": 1, "yd": 1, "ft": 1, "mm": 0, "in": 2}
"""Places of each unit."""


def _fixed(value: float, kind: Kind, unit: str, places: int) -> str:
    text = f"{in_unit(value, kind, unit):.{places}f}"
    return text.lstrip("-") if float(text) == 0.0 else text.replace("-", "−")


def _of(value: float, kind: Kind, system: UnitSystem, metric: str, yard: str) -> str:
    unit = metric if system == "metric" else yard
    return figure(f"{_fixed(value, kind, unit, _PLACES[unit])} {unit}")


def _range(low: float, high: float, kind: Kind, unit: str) -> str:
    places = _PLACES[unit]
    return say(
        "{low} to {high}",
        low=figure(_fixed(low, kind, unit, places)),
        high=figure(f"{_fixed(high, kind, unit, places)} {unit}"),
    )


def mass(mass_g: float, system: UnitSystem) -> str:
    """Mass of a ball: grams to 0.1, ounces to 0.01.

    Parameters
    ----------
    mass_g : float
        Mass [g].
    system : {"metric", "yard"}
        System of units.

    Returns
    -------
    str
        For example ``101.3 g``.
    """
    return _of(mass_g, MASS, system, "g", "oz")


def mass_range(low_g: float, high_g: float, system: UnitSystem) -> str:
    """Two masses [g] that hold a third between them: ``94.1 to 108.9 g``."""
    return _range(low_g, high_g, MASS, "g" if system == "metric" else "oz")


def length(length_m: float, system: UnitSystem) -> str:
    """Length of a strand [m]: metres or yards to 0.1."""
    return _of(length_m, LENGTH, system, "m", "yd")


def length_range(low_m: float, high_m: float, system: UnitSystem) -> str:
    """Two lengths [m] that hold a third between them."""
    return _range(low_m, high_m, LENGTH, "m" if system == "metric" else "yd")


def belt_length(length_m: float, system: UnitSystem) -> str:
    """A piece of the line [m]: metres or feet to 0.1."""
    return _of(length_m, LENGTH, system, "m", "ft")


def size_figure(size_mm: float, system: UnitSystem) -> str:
    """A size measured with a rule [mm], without its unit: whole millimetres, inches to 0.01."""
    unit = size_unit(system)
    return figure(_fixed(size_mm / 1000.0, LENGTH, unit, _PLACES[unit]))


def size_unit(system: UnitSystem) -> str:
    """Unit that `size_figure` is in."""
    return "mm" if system == "metric" else "in"


def pitch(pitch_mm: float, system: UnitSystem) -> str:
    """The way from one coil to the next on the belt [mm]: three figures."""
    return show(pitch_mm / 1000.0, LENGTH, digits=3, unit="mm" if system == "metric" else "in")


def lift(mass_g: float, system: UnitSystem) -> str:
    """A load that must not be passed [g]: kilograms or pounds, three figures, never rounded up."""
    unit = "kg" if system == "metric" else "lb"
    load = in_unit(mass_g, MASS, unit)
    places = 1 if load < 100 else 0
    return figure(f"{number(_cut(load, places), 3)} {unit}")


def kilograms(mass_g: float) -> str:
    """Mass of a case or a pallet [g] in kilograms to ten grams, whatever the system of units."""
    return figure(f"{mass_g / 1000.0:.2f} kg")


def temperature(temperature_c: float, system: UnitSystem) -> str:
    """A set temperature [°C]: whole degrees."""
    unit = TEMPERATURE.metric if system == "metric" else TEMPERATURE.yard
    return figure(f"{in_unit(temperature_c, TEMPERATURE, unit):.0f} {unit}")


def speed(speed_m_per_s: float, system: UnitSystem) -> str:
    """A speed of yarn or belt [m/s]: three figures a minute."""
    return show(speed_m_per_s, SPEED, system, digits=3)


def seconds(time_s: float) -> str:
    """A time on the belt [s]: whole seconds."""
    return f"{time_s:.0f} s"


def longest(time_s: float) -> str:
    """A time that must not be passed [s]: whole seconds, never rounded up."""
    return f"{_cut(time_s, 0):.0f} s"


def pressure(pressure_kpa: float, system: UnitSystem) -> str:
    """A gauge pressure [kPa]: three figures."""
    return show(pressure_kpa, PRESSURE, system, digits=3)


def tension(tension_cn: float, system: UnitSystem) -> str:
    """A winding tension [cN]: three figures."""
    return show(tension_cn, FORCE, system, digits=3)


def _cut(value: float, places: int) -> float:
    """Drop what is beyond so many places; a hair below a round figure is that figure."""
    scale = 10.0**places
    return math.floor(value * scale + 1e-6) / scale


def percent(share: float, places: int = 0) -> str:
    """A share [-] in per cent."""
    return figure(f"{100.0 * share:.{places}f} %".replace("-", "−"))


def of_balls(confidence: float) -> str:
    """Say a share of all balls so that it can be pictured: 0.95 is ``95 of 100 balls``."""
    return say("{share:g} of 100 balls", share=100.0 * confidence)
