"""Flows, heat and degrees as Steam and Dry print them, in the reader's system of units."""

from __future__ import annotations

import re

from clew.languages import figure, say
from clew.papers import floor_numbers as floor
from clew.quantities import MASS, TEMPERATURE, UnitSystem, in_unit, number
from clew.web.asked.limits import said_as
from clew.web.drawn.figures import Figures, tight
from clew.web.knots.money import small_sum

KG_A_LB = MASS.units["lb"] / 1000.0
"""Kilograms in a pound."""
_FELT_K = 0.5
_DEGREES = re.compile(r"(\d+(?:\.(\d+))?) °C")
_UNIT = re.compile(r"(?<=\d) (?=(?:°C|°F|K|s|%)(?!\w))")
_STEPS = re.compile(r"(\d+(?:\.(\d+))?) K\b")


def held_together(words: str) -> str:
    """Keep every number of a sentence and its unit on one line."""
    return said_as(words, _held(words), _held)


def _held(part: str) -> str:
    return _UNIT.sub("\u00a0", part)


def degrees_for(words: str, units: UnitSystem) -> str:
    """Write a room's temperatures and steps of temperature inside a sentence in other units.

    Parameters
    ----------
    words : str
        A sentence with ``°C`` or ``K`` behind its numbers.
    units : {"metric", "yard"}
        The reader's system of units.

    Returns
    -------
    str
        The same for a reader of ``°F``, to as many places.
    """
    if units == "metric":
        return words
    return said_as(words, _fahrenheit(words), _fahrenheit)


def _fahrenheit(part: str) -> str:
    part = _DEGREES.sub(
        lambda found: f"{in_unit(float(found[1]), TEMPERATURE, '°F'):.{len(found[2] or '')}f} °F",
        part,
    )
    return _STEPS.sub(lambda found: f"{1.8 * float(found[1]):.{len(found[2] or '')}f} °F", part)


def _tight(text: str) -> str:
    return tight(figure(text))


def degrees(temperature_c: float, figures: Figures) -> str:
    """A temperature that was worked out [°C], three figures."""
    unit = "°C" if figures.metric else "°F"
    return _tight(f"{number(in_unit(temperature_c, TEMPERATURE, unit), 3)} {unit}")


def step(kelvin: float, figures: Figures) -> str:
    """A step of temperature [K], two figures."""
    return _tight(f"{number(kelvin, 2)} K" if figures.metric else f"{number(1.8 * kelvin, 2)} °F")


def superheat(kelvin: float, figures: Figures) -> str:
    """How far steam stands above boiling [K]; half a kelvin is not told from none."""
    return say("none") if kelvin < _FELT_K else step(kelvin, figures)


def heavy(mass_kg: float, figures: Figures) -> str:
    """A mass that flows in an hour [kg], two figures."""
    return _tight(
        f"{number(mass_kg, 2)} kg" if figures.metric else f"{number(mass_kg / KG_A_LB, 2)} lb"
    )


def hourly(flow_kg_per_h: float, figures: Figures) -> str:
    """A flow [kg/h], two figures."""
    return say("{mass} an hour", mass=heavy(flow_kg_per_h, figures))


def on_mass(share_kg_per_kg: float, figures: Figures) -> str:
    """Water on yarn or vapour in air [kg/kg], two figures."""
    if figures.metric:
        return say("{amount} a kg", amount=_tight(f"{number(1000.0 * share_kg_per_kg, 2)} g"))
    return say("{amount} a lb", amount=_tight(f"{number(16.0 * share_kg_per_kg, 2)} oz"))


def power(power_kw: float) -> str:
    """Heat in a time [kW], two figures, alike in both systems."""
    return _tight(f"{number(power_kw, 2)} kW".replace("-", "−"))


def heat_on_mass(heat_kwh_per_kg: float, figures: Figures) -> str:
    """Heat on a mass [kWh/kg], two figures."""
    if figures.metric:
        return say("{amount} a kg", amount=_tight(f"{number(heat_kwh_per_kg, 2)} kWh"))
    return say("{amount} a lb", amount=_tight(f"{number(heat_kwh_per_kg * KG_A_LB, 2)} kWh"))


def money_on_mass(money_per_kg: float, currency: str, figures: Figures) -> str:
    """Money on a mass [money/kg]."""
    if figures.metric:
        return say("{amount} a kg", amount=tight(small_sum(money_per_kg, currency)))
    return say("{amount} a lb", amount=tight(small_sum(money_per_kg * KG_A_LB, currency)))


def regain(frac: float) -> str:
    """A regain [1] in per cent, three figures, as `clew line heat` prints it."""
    return _tight(f"{number(100.0 * frac, 3)} %")


def regains(low_frac: float, high_frac: float) -> str:
    """Two regains [1] with another between them."""
    return say(
        "{low} to {high}",
        low=number(100.0 * low_frac, 3),
        high=_tight(f"{number(100.0 * high_frac, 3)} %"),
    )


def seconds(time_s: float) -> str:
    """A time on the belt [s], whole seconds."""
    return tight(floor.seconds(time_s))


def belt_length(length_m: float, figures: Figures) -> str:
    """A piece of the line [m]."""
    return tight(floor.belt_length(length_m, figures.units))
