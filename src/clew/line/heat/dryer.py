"""The dryer of a belt: its air, its drying law, the regain it leaves, the heat it takes.

Air and yarn decide each other: the water the yarn gives up dampens the air that dries it. The
answer is where both agree.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.line.heat.crossing import crossing, settled
from clew.line.heat.dryer_balance import DryerHeat, Solid, dryer_heat
from clew.line.heat.drying import (
    DryingLaw,
    cylinder_bed,
    over_layer_w_per_m2_k,
    over_rate_kg_per_m2_s,
    through_bed_w_per_m2_k,
    through_rate_kg_per_m2_s,
)
from clew.line.heat.fibres_heat import WATER_KJ_PER_KG_K
from clew.line.heat.moist_air import (
    MoistAir,
    air_of_relative_humidity,
    humidity_at_wet_bulb,
    saturated_humidity,
)
from clew.line.heat.sorption import binding_between_kj_per_kg, regain_ratio
from clew.line.heat.steaming import flash_off_kg_per_kg
from clew.line.heat.terms import HeatTerms
from clew.line.heat.water import latent_kj_per_kg

WETTEST_FRAC = 1.0 - 1e-5
"""Part of saturation at which the search for the dryer's humidity ends: nothing dries there [1]."""
ABOVE_BALANCE = 1.02
"""Least critical regain over that of balance: in air near saturation nothing of the falling rate
is left [1]. Assumed; it matters only where the dryer fails in any case."""
NEAR_C = 1e-10
"""How near the temperatures are found at which air and yarn agree [K]."""


@dataclass(frozen=True, slots=True)
class Dried:
    """Yarn through a dryer.

    Attributes
    ----------
    air : MoistAir
        Air in the dryer.
    wet_bulb_c : float
        Its wet bulb [°C].
    law : DryingLaw
        How the lay dries in it.
    regain_before_frac : float
        Regain at the dryer's mouth, after what flashed off [1].
    yarn_before_c : float
        Temperature of the yarn there [°C].
    flashed_frac : float
        Water that flashed off between steam and dryer, on dry mass [1].
    regain_after_frac : float
        Regain at the dryer's end [1].
    yarn_after_c : float
        Temperature of the yarn there [°C].
    regain_cooled_frac : float
        Regain once it has cooled to the room [1].
    heat : DryerHeat
        Where the dryer's heat goes.
    mass_velocity_kg_per_m2_h : float
        Air over or through a square metre [kg/(m2 h)].
    coefficient_w_per_m2_k : float
        Heat-transfer coefficient of the correlation [W/(m2 K)].
    """

    air: MoistAir
    wet_bulb_c: float
    law: DryingLaw
    regain_before_frac: float
    yarn_before_c: float
    flashed_frac: float
    regain_after_frac: float
    yarn_after_c: float
    regain_cooled_frac: float
    heat: DryerHeat
    mass_velocity_kg_per_m2_h: float
    coefficient_w_per_m2_k: float


@dataclass(frozen=True, slots=True)
class _Passage:
    wet_bulb_c: float
    law: DryingLaw
    before_frac: float
    before_c: float
    after_frac: float
    velocity: float
    coefficient: float


def dried(terms: HeatTerms, regain_steamed_frac: float, zone_c: float) -> Dried:
    """Take yarn from the steam zone through the dryer.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.
    regain_steamed_frac : float
        Regain in the steam zone, with what was picked up [1].
    zone_c : float
        Temperature of the yarn there [°C].

    Returns
    -------
    Dried
        Air, law, regain, heat.

    Raises
    ------
    BadInput
        When the air of the room or the dryer cannot be.

    Notes
    -----
    Well-mixed air, renewed at a stated rate: W = W_room + water/fresh air. The yarn's surface is at
    T - f (T - T_w), f being its rate over the constant one; hot yarn flashes off down to that.
    Regain in balance with the hot air is taken from the isotherm at 20 °C, which is high for hot
    fibres, so the yarn is if anything drier. Source: heat and mass balance (DERIVED), on the
    correlations of `clew.line.heat.drying`.
    """
    room, air, passage, after_c, cooled = _balanced(terms, regain_steamed_frac, zone_c)
    heat = terms.dry_heat_kj_per_kg_k
    return Dried(
        air=air,
        wet_bulb_c=passage.wet_bulb_c,
        law=passage.law,
        regain_before_frac=passage.before_frac,
        yarn_before_c=passage.before_c,
        flashed_frac=regain_steamed_frac - passage.before_frac,
        regain_after_frac=passage.after_frac,
        yarn_after_c=after_c,
        regain_cooled_frac=cooled,
        heat=dryer_heat(
            terms.dry_kg_per_h,
            Solid(heat, passage.before_frac, passage.before_c),
            Solid(heat, passage.after_frac, after_c),
            room,
            air,
            terms.fresh_air_kg_per_h,
            binding_kj_per_kg=-binding_between_kj_per_kg(
                passage.before_frac, passage.after_frac, terms.blend.regain_65_frac
            ),
            fixed_kw=terms.dryer_fixed_kw,
        ),
        mass_velocity_kg_per_m2_h=passage.velocity,
        coefficient_w_per_m2_k=passage.coefficient,
    )


def regains_out(
    terms: HeatTerms, regain_steamed_frac: float, zone_c: float
) -> tuple[DryingLaw, float, float, float]:
    """Find the regain after the dryer without the heat it takes; arguments as for `dried`.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.
    regain_steamed_frac : float
        Regain in the steam zone, with what was picked up [1].
    zone_c : float
        Temperature of the yarn there [°C].

    Returns
    -------
    tuple of DryingLaw, float, float, float
        How the lay dries, and the regain at the dryer's mouth, at its end and once cooled [1].

    Raises
    ------
    BadInput
        When the air of the room or the dryer cannot be.
    """
    _, _, passage, _, cooled = _balanced(terms, regain_steamed_frac, zone_c)
    return passage.law, passage.before_frac, passage.after_frac, cooled


def _balanced(
    terms: HeatTerms, regain_steamed_frac: float, zone_c: float
) -> tuple[MoistAir, MoistAir, _Passage, float, float]:
    """Where air and yarn agree: room, air, passage, the yarn's end temperature, cooled regain."""
    room = air_of_relative_humidity(terms.room_c, terms.room_humidity, terms.air_kpa)
    fresh, solid = terms.fresh_air_kg_per_h, terms.dry_kg_per_h
    holds = saturated_humidity(terms.dryer_c, terms.air_kpa)
    most = solid * regain_steamed_frac
    if math.isfinite(holds):
        most = min(most, fresh * max(0.0, WETTEST_FRAC * holds - room.humidity_kg_per_kg))

    def air_at(wet_bulb_c: float) -> MoistAir:
        humidity = humidity_at_wet_bulb(terms.dryer_c, wet_bulb_c, terms.air_kpa)
        return MoistAir(terms.dryer_c, max(room.humidity_kg_per_kg, humidity), terms.air_kpa)

    def gained(wet_bulb_c: float) -> float:
        air = air_at(wet_bulb_c)
        passage = _passage(terms, air, wet_bulb_c, regain_steamed_frac, zone_c)
        given = solid * (passage.before_frac - passage.after_frac)
        return fresh * (air.humidity_kg_per_kg - room.humidity_kg_per_kg) - given

    # the wet bulb says the humidity at once, the other way round takes a search of its own
    low, high = (
        MoistAir(terms.dryer_c, room.humidity_kg_per_kg + water / fresh, terms.air_kpa).wet_bulb_c
        for water in (0.0, max(most, 0.0))
    )
    wet_bulb = crossing(gained, low, high, NEAR_C)
    air = air_at(wet_bulb)
    passage = _passage(terms, air, wet_bulb, regain_steamed_frac, zone_c)
    after_c = _surface_c(air, wet_bulb, passage.law, passage.after_frac)
    return room, air, passage, after_c, _cooled(terms, room, passage.after_frac, after_c)


def _cooled(terms: HeatTerms, room: MoistAir, regain_frac: float, hot_c: float) -> float:
    """Regain in the room: cooling takes no more than the room's air would take in the end."""
    flashed = flash_off_kg_per_kg(
        terms.dry_heat_kj_per_kg_k,
        regain_frac,
        hot_c,
        terms.room_c,
        own_heat_frac=terms.cooling_share_frac,
    )
    return max(min(regain_frac, balance_regain(terms, room)), regain_frac - flashed)


def _passage(
    terms: HeatTerms, air: MoistAir, wet_bulb: float, steamed_frac: float, zone_c: float
) -> _Passage:
    law, velocity, coefficient = drying_law(terms, air, wet_bulb)
    before, before_c = _flashed(terms, air, wet_bulb, law, (steamed_frac, zone_c))
    after = law.regain_after(before, terms.dryer_dwell_s)
    return _Passage(wet_bulb, law, before, before_c, after, velocity, coefficient)


def drying_law(
    terms: HeatTerms, air: MoistAir, wet_bulb_c: float
) -> tuple[DryingLaw, float, float]:
    """Find how the lay on the belt dries in air.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.
    air : MoistAir
        The air.
    wet_bulb_c : float
        Its wet bulb [°C].

    Returns
    -------
    tuple of DryingLaw, float, float
        The law, the mass velocity [kg/(m2 h)] and the coefficient of the correlation [W/(m2 K)].

    Raises
    ------
    BadInput
        When the air dries nothing, or the critical regain is not above that of balance.

    Notes
    -----
    Over the lay: one face dries. Through it: the strand is a cylinder without ends, its diameter
    that of the count after steam and the density of the yarn.
    """
    velocity = terms.air_speed_m_per_s * air.density_kg_per_m3 * 3600.0
    latent = latent_kj_per_kg(wet_bulb_c)
    if terms.air_way == "over":
        coefficient = over_layer_w_per_m2_k(velocity)
        rate = over_rate_kg_per_m2_s(coefficient, air.temperature_c, wet_bulb_c, latent)
    else:
        strand_m = terms.strand_mm / 1000.0
        _, surface, piece = cylinder_bed(
            terms.lay_density_kg_per_m3, terms.yarn_density_kg_per_m3, strand_m, math.inf
        )
        coefficient = through_bed_w_per_m2_k(velocity, piece)
        depth = terms.dry_load_kg_per_m2 / terms.lay_density_kg_per_m3
        dry_air = velocity / (3600.0 * (1.0 + air.humidity_kg_per_kg))
        heat = air.humid_heat_kj_per_kg_k
        rate = through_rate_kg_per_m2_s(
            dry_air,
            heat,
            coefficient * surface * depth / (1000.0 * dry_air * heat),
            air.temperature_c - wet_bulb_c,
            latent,
        )
    balance = balance_regain(terms, air)
    law = DryingLaw(
        constant_per_s=terms.drying_factor * rate / terms.dry_load_kg_per_m2,
        critical_frac=max(terms.critical_frac, ABOVE_BALANCE * balance),
        balance_frac=balance,
    )
    return law, velocity, coefficient


def balance_regain(terms: HeatTerms, air: MoistAir) -> float:
    """Find the regain at which the yarn neither dries nor takes up water in air [1].

    Source: the isotherm of `clew.line.heat.sorption` at 20 °C.
    """
    return regain_ratio(min(1.0, air.relative_humidity)) * terms.blend.regain_65_frac


def _surface_c(air: MoistAir, wet_bulb_c: float, law: DryingLaw, regain_frac: float) -> float:
    """Temperature of yarn that dries at part of the constant rate: heat in is water out."""
    rate = (regain_frac - law.balance_frac) / (law.critical_frac - law.balance_frac)
    return air.temperature_c - min(1.0, max(0.0, rate)) * (air.temperature_c - wet_bulb_c)


def _flashed(
    terms: HeatTerms,
    air: MoistAir,
    wet_bulb_c: float,
    law: DryingLaw,
    steamed: tuple[float, float],
) -> tuple[float, float]:
    """Regain and temperature once hot yarn has come down to the temperature it dries at."""
    regain, hot_c = steamed
    heat = terms.dry_heat_kj_per_kg_k
    per_k = heat + WATER_KJ_PER_KG_K * regain
    gap = air.temperature_c - wet_bulb_c
    slope = gap / (law.critical_frac - law.balance_frac)
    most = min(hot_c, air.temperature_c)

    def settles(to_c: float) -> float:
        """Where the yarn comes down to, with the latent heat of coming down to another place."""
        gone_per_k = per_k / latent_kj_per_kg(0.5 * (hot_c + to_c))
        kept = regain - law.balance_frac - gone_per_k * hot_c
        there = (air.temperature_c - slope * kept) / (1.0 + slope * gone_per_k)
        return min(most, max(wet_bulb_c, there))

    to_c = settled(settles, min(wet_bulb_c, hot_c), NEAR_C)
    return regain - flash_off_kg_per_kg(heat, regain, hot_c, to_c), to_c
