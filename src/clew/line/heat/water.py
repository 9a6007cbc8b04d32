"""Water and steam as a mill speaks of them: °C, kPa, gauge or absolute, wet or superheated.

Pressures are absolute unless the name says ``gauge``: taking one for the other is the commonest
slip with steam, and at 100 kPa it moves the boiling point by 20 K.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, lru_cache

from clew.faults import BadInput, Fault
from clew.languages import figure, say
from clew.line.heat import if97

ATMOSPHERE_KPA = 101.325
"""Standard atmosphere [kPa], exact by convention; water boils there at 99.974 °C, not at 100."""
ZERO_C_K = 273.15
_COLDEST_C, _HOTTEST_C = 0.0, 350.0
SERIES_TO_C, _TERMS = 200.0, 18
_LOWEST_KPA, _HIGHEST_KPA = 0.61121, 16530.0
_HOTTEST_STEAM_C = 800.0


@dataclass(frozen=True, slots=True)
class Saturated:
    """Water and steam beside each other.

    Attributes
    ----------
    temperature_c : float
        Temperature [°C].
    pressure_kpa : float
        Absolute pressure [kPa].
    liquid_kj_per_kg, steam_kj_per_kg, latent_kj_per_kg : float
        Enthalpy of the water and of the steam, and their difference [kJ/kg].
    steam_m3_per_kg : float
        Volume of the steam [m3/kg].
    """

    temperature_c: float
    pressure_kpa: float
    liquid_kj_per_kg: float
    steam_kj_per_kg: float
    latent_kj_per_kg: float
    steam_m3_per_kg: float


@dataclass(frozen=True, slots=True)
class ExpandedSteam:
    """Steam behind a nozzle or valve, at the enthalpy it had before.

    Attributes
    ----------
    supply_temperature_c : float
        Temperature before the nozzle [°C].
    boiling_c : float
        Where water boils behind it [°C].
    temperature_c : float
        Temperature of the steam behind it [°C].
    superheat_k : float
        How far that lies above boiling; 0 for wet steam [K].
    dryness_frac : float
        Part of its mass that is steam; 1 when superheated [1].
    """

    supply_temperature_c: float
    boiling_c: float
    temperature_c: float
    superheat_k: float
    dryness_frac: float


def _within(value: float, low: float, high: float, key: str, unit: str) -> float:
    if not low <= value <= high:
        raise BadInput(
            Fault(
                say("a state of water that is not covered"),
                say("{low:g} to {high}", low=low, high=figure(f"{high:g} {unit}")),
                key=key,
                value=f"{value:g} {unit}",
            )
        )
    return float(value)


def vapour_pressure_kpa(temperature_c: float) -> float:
    """Find the absolute pressure at which water boils at a temperature.

    Parameters
    ----------
    temperature_c : float
        Temperature, 0 to 350 [°C].

    Returns
    -------
    float
        Absolute pressure [kPa].

    Raises
    ------
    BadInput
        When the temperature is outside the range.

    Notes
    -----
    Source: IAPWS R7-97(2012), region 4; see `clew.line.heat.if97`.
    """
    _within(temperature_c, _COLDEST_C, _HOTTEST_C, "temperature", "°C")
    return 1000.0 * if97.saturation_pressure_mpa(temperature_c + ZERO_C_K)


def boiling_c(pressure_kpa: float) -> float:
    """Find the temperature at which water boils at an absolute pressure.

    Parameters
    ----------
    pressure_kpa : float
        Absolute pressure, 0.61121 to 16 530 [kPa].

    Returns
    -------
    float
        Temperature [°C].

    Raises
    ------
    BadInput
        When the pressure is outside the range.

    Notes
    -----
    Source: IAPWS R7-97(2012), region 4; see `clew.line.heat.if97`.
    """
    _within(pressure_kpa, _LOWEST_KPA, _HIGHEST_KPA, "pressure", "kPa")
    return if97.saturation_temperature_k(pressure_kpa / 1000.0) - ZERO_C_K


@lru_cache(maxsize=256)
def saturated_at(temperature_c: float) -> Saturated:
    """Find water and steam beside each other at a temperature.

    Parameters
    ----------
    temperature_c : float
        Temperature, 0 to 350 [°C].

    Returns
    -------
    Saturated
        Pressure, enthalpies, volume of the steam.

    Raises
    ------
    BadInput
        When the temperature is outside the range.

    Notes
    -----
    Source: IAPWS R7-97(2012), regions 1, 2 and 4. IAPWS-95 gives 2256.4 kJ/kg at 100 °C where this
    gives 2256.5; both are right.
    """
    pressure = vapour_pressure_kpa(temperature_c)
    kelvin, mpa = temperature_c + ZERO_C_K, pressure / 1000.0
    water, steam = if97.liquid(kelvin, mpa), if97.steam(kelvin, mpa)
    return Saturated(
        temperature_c=temperature_c,
        pressure_kpa=pressure,
        liquid_kj_per_kg=water.enthalpy_kj_per_kg,
        steam_kj_per_kg=steam.enthalpy_kj_per_kg,
        latent_kj_per_kg=steam.enthalpy_kj_per_kg - water.enthalpy_kj_per_kg,
        steam_m3_per_kg=steam.volume_m3_per_kg,
    )


def latent_kj_per_kg(temperature_c: float) -> float:
    """Find the heat that turns water to steam at a temperature [kJ/kg]; see `saturated_at`.

    Parameters
    ----------
    temperature_c : float
        Temperature, 0 to 350 [°C].

    Returns
    -------
    float
        Heat of evaporation [kJ/kg].

    Raises
    ------
    BadInput
        When the temperature is outside the range.

    Notes
    -----
    The dryer's balance asks this thousands of times, so it is read off a Chebyshev series through
    `saturated_at`, within 1e-6 kJ/kg of it, up to 200 °C, which no dryer passes;
    above, from there itself. Source: IAPWS R7-97(2012), as `saturated_at`; the series DERIVED.
    """
    _within(temperature_c, _COLDEST_C, _HOTTEST_C, "temperature", "°C")
    if temperature_c > SERIES_TO_C:
        return saturated_at(temperature_c).latent_kj_per_kg
    series = latent_series()
    x = 2.0 * (temperature_c - _COLDEST_C) / (SERIES_TO_C - _COLDEST_C) - 1.0
    twice = 2.0 * x
    one = two = 0.0
    for coefficient in series[:0:-1]:  # Clenshaw's rule
        one, two = coefficient + twice * one - two, one
    return series[0] + x * one - two


@cache
def latent_series() -> tuple[float, ...]:
    """Give the coefficients of Chebyshev's series for the heat of evaporation [kJ/kg].

    Returns
    -------
    tuple of float
        For 0 °C to `SERIES_TO_C`, the constant first.

    Notes
    -----
    Source: DERIVED, through `saturated_at`.
    """
    angles = [math.pi * (place + 0.5) / _TERMS for place in range(_TERMS)]
    half = 0.5 * (SERIES_TO_C - _COLDEST_C)
    found = [
        saturated_at(_COLDEST_C + half * (1.0 + math.cos(angle))).latent_kj_per_kg
        for angle in angles
    ]
    return tuple(
        (1.0 if term == 0 else 2.0) / _TERMS
        * sum(value * math.cos(term * angle) for value, angle in zip(found, angles, strict=True))
        for term in range(_TERMS)
    )  # fmt: skip


def absolute_kpa(gauge_kpa: float, air_kpa: float = ATMOSPHERE_KPA) -> float:
    """Turn a gauge reading into absolute pressure.

    Parameters
    ----------
    gauge_kpa : float
        Reading of a pressure gauge, over the air round it [kPa].
    air_kpa : float
        Pressure of that air [kPa].

    Returns
    -------
    float
        Absolute pressure [kPa].

    Raises
    ------
    BadInput
        When a pressure is not finite, the gauge reads below 0 or there is no air.
    """
    _within(gauge_kpa, 0.0, _HIGHEST_KPA, "gauge pressure", "kPa")
    _within(air_kpa, 30.0, 120.0, "air pressure", "kPa")
    return gauge_kpa + air_kpa


@lru_cache(maxsize=256)
@lru_cache(maxsize=64)
def expanded_steam(
    supply_kpa: float, behind_kpa: float = ATMOSPHERE_KPA, dryness_frac: float = 1.0
) -> ExpandedSteam:
    """Let saturated steam expand through a nozzle, without work and without loss of heat.

    Parameters
    ----------
    supply_kpa : float
        Absolute pressure before the nozzle [kPa].
    behind_kpa : float
        Absolute pressure behind it [kPa].
    dryness_frac : float
        Part of the mass before it that is steam, above 0 to 1 [1].

    Returns
    -------
    ExpandedSteam
        Temperature, superheat and dryness behind the nozzle.

    Raises
    ------
    BadInput
        When a pressure is out of range, the supply is not above what is behind it, or the dryness
        is not a part of 1.

    Notes
    -----
    Validity: constant enthalpy; pipe losses between nozzle and yarn take some superheat away, so
    the figure is the most there can be. Source: energy balance (DERIVED) on IAPWS R7-97(2012).
    """
    faults = []
    if not behind_kpa <= supply_kpa:
        faults.append(
            Fault(
                say("a supply below the pressure behind the nozzle"),
                say("at least {pressure:g} kPa absolute", pressure=behind_kpa),
                key="steam supply",
                value=f"{supply_kpa:g} kPa",
            )
        )
    if not 0.0 < dryness_frac <= 1.0:
        faults.append(
            Fault(
                say("not a part of 1"),
                say("more than 0 to 1"),
                key="dryness",
                value=f"{dryness_frac:g}",
            )
        )
    if faults:
        raise BadInput(faults)
    before, after = saturated_at(boiling_c(supply_kpa)), saturated_at(boiling_c(behind_kpa))
    enthalpy = before.liquid_kj_per_kg + dryness_frac * before.latent_kj_per_kg
    boils = after.temperature_c
    if enthalpy <= after.steam_kj_per_kg:
        share = (enthalpy - after.liquid_kj_per_kg) / after.latent_kj_per_kg
        return ExpandedSteam(before.temperature_c, boils, boils, 0.0, share)
    hot = _steam_temperature_c(enthalpy, behind_kpa, boils)
    return ExpandedSteam(before.temperature_c, boils, hot, hot - boils, 1.0)


def _steam_temperature_c(enthalpy: float, pressure_kpa: float, low_c: float) -> float:
    """Temperature of superheated steam of an enthalpy, which rises with it: halving."""
    high_c = _HOTTEST_STEAM_C
    for _ in range(60):
        middle = 0.5 * (low_c + high_c)
        state = if97.steam(middle + ZERO_C_K, pressure_kpa / 1000.0)
        if state.enthalpy_kj_per_kg < enthalpy:
            low_c = middle
        else:
            high_c = middle
    return 0.5 * (low_c + high_c)


def steam_cost_per_kg(
    supply_kpa: float, feed_water_c: float, efficiency_frac: float, fuel_per_kwh: float
) -> float:
    """Find what a kilogram of dry saturated steam costs in fuel.

    Parameters
    ----------
    supply_kpa : float
        Absolute pressure of the steam [kPa].
    feed_water_c : float
        Temperature of the water the boiler is fed with [°C].
    efficiency_frac : float
        Heat in the steam over heat in the fuel, above 0 to 1 [1].
    fuel_per_kwh : float
        Price of the fuel [money/kWh].

    Returns
    -------
    float
        Fuel money for a kilogram [money/kg].

    Raises
    ------
    BadInput
        When the state, the efficiency or the price cannot be meant.

    Notes
    -----
    Validity: fuel only, without water, treatment and the boiler itself. Source: energy balance
    (DERIVED).
    """
    steam = saturated_at(boiling_c(supply_kpa)).steam_kj_per_kg
    _within(efficiency_frac, 0.05, 1.0, "heat efficiency", "")
    _within(fuel_per_kwh, 0.0, 1e9, "fuel price", "money/kWh")
    gained = steam - saturated_at(feed_water_c).liquid_kj_per_kg
    return gained / efficiency_frac / 3600.0 * fuel_per_kwh
