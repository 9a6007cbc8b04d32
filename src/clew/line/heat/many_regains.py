"""Regain after steam and dryer in many cases at once, as doubts in its inputs ask for.

The same balance as in `steamer` and `dryer`, on arrays: a case alone takes as long as a hundred of
them. What cannot be is refused there; here it is asked only of terms that were found to be good.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from clew.line.heat import if97
from clew.line.heat.dryer import ABOVE_BALANCE, NEAR_C, WETTEST_FRAC, balance_regain
from clew.line.heat.drying import REYNOLDS_CHANGE, VISCOSITY_PA_S, cylinder_bed
from clew.line.heat.fibres_heat import WATER_KJ_PER_KG_K
from clew.line.heat.many_crossings import Numbers, all_settled, crossings
from clew.line.heat.moist_air import (
    ENHANCEMENT,
    MOLAR_RATIO,
    MoistAir,
    air_of_relative_humidity,
)
from clew.line.heat.sorption import NODES, SATURATION_RATIO
from clew.line.heat.terms import HeatTerms
from clew.line.heat.water import SERIES_TO_C, ZERO_C_K, boiling_c, latent_kj_per_kg, latent_series

_ASIDE_K = 1e-6
"""How far outside the wet bulbs of all cases the search for each begins [K]."""


@dataclass(frozen=True, slots=True)
class Cases:
    """What differs from case to case, one number each; the rest is that of one line.

    Attributes
    ----------
    drying_factor, air_speed_m_per_s, fresh_air_kg_per_h, dryer_c : array of float
        The dryer: [1], [m/s], [kg/h], [°C].
    regain_in_frac, wet_pick_up_frac, critical_regain_frac, fibre_heat_factor : array of float
        The yarn: [1] each.
    """

    drying_factor: Numbers
    air_speed_m_per_s: Numbers
    fresh_air_kg_per_h: Numbers
    dryer_c: Numbers
    regain_in_frac: Numbers
    wet_pick_up_frac: Numbers
    critical_regain_frac: Numbers
    fibre_heat_factor: Numbers


@dataclass(frozen=True, slots=True)
class ManyLaws:
    """How the lay dries in each case; see `clew.line.heat.drying.DryingLaw`.

    Attributes
    ----------
    constant_per_s, critical_frac, balance_frac : array of float
        Loss of regain at the constant rate [1/s], critical regain and that of balance [1].
    """

    constant_per_s: Numbers
    critical_frac: Numbers
    balance_frac: Numbers

    def regain_after(self, from_frac: Numbers, dwell_s: float | Numbers) -> Numbers:
        """Find the regain after a time in the air of each case.

        Parameters
        ----------
        from_frac : array of float
            Regain before [1].
        dwell_s : float or array of float
            Time in the air; a column gives a row of cases for each time in it [s].

        Returns
        -------
        array of float
            Regain after [1].
        """
        constant = np.maximum(0.0, from_frac - self.critical_frac) / self.constant_per_s
        above = self.critical_frac - self.balance_frac
        falls = np.maximum(0.0, dwell_s - constant) * (self.constant_per_s / above)
        begins = np.minimum(from_frac, self.critical_frac)
        fallen = self.balance_frac + (begins - self.balance_frac) * np.exp(-falls)
        return np.where(dwell_s <= constant, from_frac - self.constant_per_s * dwell_s, fallen)


@dataclass(frozen=True, slots=True)
class ManyRegains:
    """Regains of each case.

    Attributes
    ----------
    law : ManyLaws
        How the lay dries.
    before_frac, after_frac, cooled_frac : array of float
        Regain at the dryer's mouth, at its end and once cooled [1].
    """

    law: ManyLaws
    before_frac: Numbers
    after_frac: Numbers
    cooled_frac: Numbers


def many_regains(terms: HeatTerms, cases: Cases) -> ManyRegains:
    """Find the regain after the dryer in many cases.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line, for what does not differ.
    cases : Cases
        What differs.

    Returns
    -------
    ManyRegains
        As `clew.line.heat.dryer.regains_out` gives for each case by itself.

    Notes
    -----
    Validity: dryers of 20 °C or more and hotter than the room, so that no wet bulb freezes. Source:
    as `clew.line.heat.dryer.dried`.
    """
    room = air_of_relative_humidity(terms.room_c, terms.room_humidity, terms.air_kpa)
    zone_c = min(terms.steam_c, boiling_c(terms.air_kpa))
    heat = terms.blend.heat_kj_per_kg_k * cases.fibre_heat_factor
    steamed = _steamed(terms, cases, heat, zone_c)
    solid = terms.yarn_kg_per_h / (1.0 + cases.regain_in_frac)
    holds_kpa = _vapour_kpa(cases.dryer_c)
    settled_c = None

    def passage(wet_bulb: Numbers) -> tuple[ManyLaws, Numbers, Numbers, Numbers]:
        """Law, water in the air over that of the room, and the regain before and after."""
        nonlocal settled_c
        humidity = _humidity_at_wet_bulb(cases.dryer_c, wet_bulb, terms.air_kpa)
        humidity = np.maximum(room.humidity_kg_per_kg, humidity)
        law = _law(terms, cases, solid, humidity, wet_bulb, holds_kpa)
        # the search moves less and less: where the yarn came down to before is near
        start = np.minimum(wet_bulb, zone_c) if settled_c is None else settled_c
        before, settled_c = _flashed(heat, (steamed, zone_c), cases.dryer_c, wet_bulb, law, start)
        after = law.regain_after(before, terms.dryer_dwell_s)
        return law, humidity - room.humidity_kg_per_kg, before, after

    def gained(wet_bulb: Numbers) -> Numbers:
        _, water, before, after = passage(wet_bulb)
        return cases.fresh_air_kg_per_h * water - solid * (before - after)

    most = np.minimum(
        solid * steamed / cases.fresh_air_kg_per_h,
        np.maximum(0.0, WETTEST_FRAC * _saturated(holds_kpa, terms.air_kpa)
                   - room.humidity_kg_per_kg),
    )  # fmt: skip
    wettest = room.humidity_kg_per_kg + most
    wet_bulb = crossings(gained, *_ends(terms, cases, room.humidity_kg_per_kg, wettest), NEAR_C)
    law, _, before, after = passage(wet_bulb)
    over = (after - law.balance_frac) / (law.critical_frac - law.balance_frac)
    after_c = cases.dryer_c - np.clip(over, 0.0, 1.0) * (cases.dryer_c - wet_bulb)
    flashed = _flash_off(heat, after, after_c, terms.room_c, terms.cooling_share_frac)
    least = np.minimum(after, balance_regain(terms, room))
    return ManyRegains(law, before, after, np.maximum(least, after - flashed))


def _steamed(terms: HeatTerms, cases: Cases, heat: Numbers, zone_c: float) -> Numbers:
    """Regain in the steam zone, with what is picked up there."""
    regain, regain_65 = cases.regain_in_frac, terms.blend.regain_65_frac
    latent = latent_kj_per_kg(zone_c)
    warming = (heat + WATER_KJ_PER_KG_K * regain) * (zone_c - terms.room_c)
    steam = warming / latent
    if regain_65:
        damp = _humidity_at_ratio(regain / regain_65)

        def left(steam: Numbers) -> Numbers:
            damper = _humidity_at_ratio((regain + steam) / regain_65)
            return steam * latent + _bound(damp, damper) * regain_65 - warming

        steam = crossings(left, np.zeros_like(steam), steam, 1e-15)
    return regain + steam + cases.wet_pick_up_frac


def _bound(low: Numbers, high: Numbers) -> Numbers:
    """Heat that binds water from one humidity to another, over the regain at 65 % [kJ/kg]."""
    nodes, weights = np.array(NODES).T
    half = 0.5 * (high - low)
    phi = low + half * (nodes[:, np.newaxis] + 1.0)
    binding = 195.0 * (1.0 - phi) * (1.0 / (0.2 + phi) + 1.0 / (1.05 - phi))
    slope = 0.578 * (0.321 / (0.321 + phi) ** 2 + 1.262 / (1.262 - phi) ** 2)
    whole: Numbers = np.sum(weights[:, np.newaxis] * binding * slope, axis=0)
    return whole * half


def _humidity_at_ratio(ratio: Numbers) -> Numbers:
    ratio = np.minimum(ratio, SATURATION_RATIO)
    part = 0.578 * (0.321 + 1.262) - (1.262 - 0.321) * ratio
    end = 0.321 * 1.262 * ratio
    return np.minimum(1.0, 2.0 * end / (part + np.sqrt(part * part + 4.0 * ratio * end)))


def _ends(
    terms: HeatTerms, cases: Cases, driest: float, wettest: Numbers
) -> tuple[Numbers, Numbers]:
    """Wet bulbs with no water of the yarn in the air, and with all that there can be."""
    pressure = terms.air_kpa
    coolest, hottest = float(cases.dryer_c.min()), float(cases.dryer_c.max())
    dryer_c = np.concatenate((cases.dryer_c, cases.dryer_c))
    humidity = np.concatenate((np.full_like(wettest, driest), wettest))

    # a wet bulb rises with the air's heat and with its water, so those of all cases lie between
    def spread(low: float, high: float) -> tuple[float, float]:
        least, most = MoistAir(coolest, low, pressure), MoistAir(hottest, high, pressure)
        return least.wet_bulb_c - _ASIDE_K, most.wet_bulb_c + _ASIDE_K

    pairs = (spread(driest, driest), spread(float(wettest.min()), float(wettest.max())))
    low, high = np.repeat(np.array(pairs).T, len(wettest), axis=1)
    found = crossings(
        lambda wet: _humidity_at_wet_bulb(dryer_c, wet, pressure) - humidity,
        np.maximum(0.0, low), high, 1e-9,
    )  # fmt: skip
    return found[: len(wettest)], found[len(wettest) :]


def _vapour_kpa(temperature_c: Numbers) -> Numbers:
    """Pressure of vapour over water in air."""
    return ENHANCEMENT * 1000.0 * if97.saturation_pressures_mpa(temperature_c + ZERO_C_K)


def _saturated(vapour_kpa: Numbers, pressure_kpa: float) -> Numbers:
    """Humidity of saturated air; infinite from about boiling on."""
    boils = vapour_kpa >= pressure_kpa
    air_kpa = np.where(boils, 1.0, pressure_kpa - vapour_kpa)
    return np.where(boils, math.inf, MOLAR_RATIO * vapour_kpa / air_kpa)


def _humidity_at_wet_bulb(dry: Numbers, wet: Numbers, pressure_kpa: float) -> Numbers:
    saturated = _saturated(_vapour_kpa(wet), pressure_kpa)
    return ((2501.0 - 2.326 * wet) * saturated - 1.006 * (dry - wet)) / (
        2501.0 + 1.86 * dry - 4.186 * wet
    )


def _latent(temperature_c: Numbers) -> Numbers:
    """Heat of evaporation, by the series of `clew.line.heat.water.latent_kj_per_kg`."""
    x = temperature_c * (2.0 / SERIES_TO_C) - 1.0
    first, *others = _powers()
    sixes = first * x
    for coefficients in others[:-1]:
        sixes += coefficients
        sixes *= x
    sixes += others[-1]
    square = x * x
    sixth = square * square * square
    found: Numbers = (sixes[2] * sixth + sixes[1]) * sixth + sixes[0]
    return found


@cache
def _powers() -> tuple[Numbers, ...]:
    """The same series in powers, six by six, the highest of each first: arrays want few steps."""
    found = np.polynomial.chebyshev.cheb2poly(latent_series())
    powers = np.array(found, dtype=np.float64).reshape(3, 6)
    return tuple(powers[:, [place]] for place in range(5, -1, -1))


def _law(
    terms: HeatTerms,
    cases: Cases,
    solid: Numbers,
    humidity: Numbers,
    wet_bulb: Numbers,
    holds_kpa: Numbers,
) -> ManyLaws:
    """How the lay dries, as `clew.line.heat.dryer.drying_law` has it."""
    load = solid / 3600.0 / (terms.belt_m_per_s * terms.belt_width_m)
    kelvin = cases.dryer_c + ZERO_C_K
    volume = 0.287042 * kelvin * (1.0 + 1.607858 * humidity) / terms.air_kpa
    velocity = cases.air_speed_m_per_s * (1.0 + humidity) / volume * 3600.0
    latent, gap = _latent(wet_bulb), cases.dryer_c - wet_bulb
    if terms.air_way == "over":
        rate = 0.0204 * velocity**0.8 * gap / (1000.0 * latent)
    else:
        _, surface, piece = cylinder_bed(
            terms.lay_density_kg_per_m3, terms.yarn_density_kg_per_m3, terms.strand_mm / 1000.0,
            math.inf,
        )  # fmt: skip
        turbulent = piece * velocity / 3600.0 / VISCOSITY_PA_S > REYNOLDS_CHANGE
        coefficient = np.where(
            turbulent, 0.151 * velocity**0.59 / piece**0.41, 0.214 * velocity**0.49 / piece**0.51
        )
        dry_air = velocity / (3600.0 * (1.0 + humidity))
        warms = dry_air * (1.006 + 1.86 * humidity)
        units = coefficient * surface * load / terms.lay_density_kg_per_m3 / (1000.0 * warms)
        rate = warms * gap * -np.expm1(-units) / latent
    vapour = terms.air_kpa * humidity / (MOLAR_RATIO + humidity)
    phi = np.minimum(1.0, vapour / holds_kpa)
    ratio = 0.578 * phi * (1.0 / (0.321 + phi) + 1.0 / (1.262 - phi))
    balance = ratio * terms.blend.regain_65_frac
    return ManyLaws(
        constant_per_s=cases.drying_factor * rate / load,
        critical_frac=np.maximum(cases.critical_regain_frac, ABOVE_BALANCE * balance),
        balance_frac=balance,
    )


def _flashed(
    heat: Numbers,
    steamed: tuple[Numbers, float],
    dryer_c: Numbers,
    wet_bulb: Numbers,
    law: ManyLaws,
    start_c: Numbers,
) -> tuple[Numbers, Numbers]:
    """Regain and temperature once hot yarn has come down to the temperature it dries at."""
    regain, hot_c = steamed
    per_k = heat + WATER_KJ_PER_KG_K * regain
    slope = (dryer_c - wet_bulb) / (law.critical_frac - law.balance_frac)
    most = np.minimum(hot_c, dryer_c)

    def settles(to_c: Numbers) -> Numbers:
        gone_per_k = per_k / _latent(0.5 * (hot_c + to_c))
        kept = regain - law.balance_frac - gone_per_k * hot_c
        there = (dryer_c - slope * kept) / (1.0 + slope * gone_per_k)
        return np.minimum(most, np.maximum(wet_bulb, there))

    to_c = all_settled(settles, start_c, NEAR_C)
    return regain - _flash_off(heat, regain, hot_c, to_c, 1.0), to_c


def _flash_off(
    heat: Numbers, regain: Numbers, from_c: Numbers | float, to_c: Numbers | float, share: float
) -> Numbers:
    """Water that hot damp yarn boils off as it cools."""
    cools_k = np.maximum(0.0, np.asarray(from_c) - to_c)
    given_up = (heat + WATER_KJ_PER_KG_K * regain) * cools_k
    return np.minimum(regain, share * given_up / _latent(0.5 * (np.asarray(from_c) + to_c)))
