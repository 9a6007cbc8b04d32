"""Air and heat through a dryer: every kilogram and every kilojoule that goes in comes out."""

from __future__ import annotations

from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.line.heat.fibres_heat import WATER_KJ_PER_KG_K
from clew.line.heat.moist_air import MoistAir, enthalpy_kj_per_kg
from clew.strand.given import more_than_zero, zero_or_more


@dataclass(frozen=True, slots=True)
class Solid:
    """What is dried, at one end of a dryer.

    Attributes
    ----------
    heat_kj_per_kg_k : float
        Specific heat of the dry solid [kJ/(kg K)].
    regain_frac : float
        Water on dry mass [1].
    temperature_c : float
        Temperature [°C].
    """

    heat_kj_per_kg_k: float
    regain_frac: float
    temperature_c: float

    @property
    def enthalpy_kj_per_kg(self) -> float:
        """Enthalpy from dry solid and liquid water at 0 °C [kJ/kg dry solid]."""
        return (self.heat_kj_per_kg_k + WATER_KJ_PER_KG_K * self.regain_frac) * self.temperature_c


def air_needed(
    solid_kg_per_h: float,
    before: Solid,
    after: Solid,
    air: MoistAir,
    leaves_c: float,
    *,
    loss_kj_per_h: float = 0.0,
    loss_kj_per_kg: float = 0.0,
) -> tuple[float, float]:
    """Find how much hot air a dryer without a heater of its own needs, and how damp it leaves.

    Parameters
    ----------
    solid_kg_per_h : float
        Dry solid [kg/h].
    before, after : Solid
        What goes in and what comes out.
    air : MoistAir
        Air as it enters.
    leaves_c : float
        Temperature of the air as it leaves [°C].
    loss_kj_per_h : float
        Heat lost by the shell [kJ/h].
    loss_kj_per_kg : float
        The same on a kg of dry air [kJ/kg].

    Returns
    -------
    tuple of float
        Dry air [kg/h] and its humidity as it leaves [kg/kg].

    Raises
    ------
    BadInput
        When the air cannot give the heat, or leaves with more vapour than it can hold.

    Notes
    -----
    G (h_in - h_out) = S (H_out - H_in) + loss; G (W_out - W_in) = S (X_in - X_out). The water
    balance makes the heat balance linear in G. Source: Geankoplis 9.10 (READ in a transcription).
    """
    solid = more_than_zero(solid_kg_per_h, "dry solid", "kg/h")
    gone = solid * more_than_zero(before.regain_frac - after.regain_frac, "fall of regain")
    dry_part = enthalpy_kj_per_kg(air.temperature_c, air.humidity_kg_per_kg) - enthalpy_kj_per_kg(
        leaves_c, air.humidity_kg_per_kg
    )
    heat = (
        solid * (after.enthalpy_kj_per_kg - before.enthalpy_kj_per_kg)
        + gone * enthalpy_kj_per_kg(leaves_c, 1.0)
        - gone * enthalpy_kj_per_kg(leaves_c, 0.0)
        + zero_or_more(loss_kj_per_h, "loss of heat", "kJ/h")
    )
    given = dry_part - zero_or_more(loss_kj_per_kg, "loss of heat", "kJ/kg")
    if not given > 0.0 or not heat > 0.0:
        raise BadInput(
            Fault(
                say("air that gives no heat"),
                say("air that leaves cooler than it enters"),
                key="air",
            )
        )
    flow = heat / given
    leaving = MoistAir(leaves_c, air.humidity_kg_per_kg + gone / flow, air.pressure_kpa)
    return flow, leaving.humidity_kg_per_kg


@dataclass(frozen=True, slots=True)
class DryerHeat:
    """Where a dryer's heat goes.

    Attributes
    ----------
    evaporated_kg_per_h : float
        Water that leaves the yarn [kg/h].
    water_kw : float
        Heat to turn it into vapour of the exhaust, binding included [kW].
    air_kw : float
        Heat to warm the fresh air and its own vapour [kW].
    yarn_kw : float
        Heat to warm the yarn; negative where it brings heat with it [kW].
    fixed_kw : float
        Stated: shell, belt and openings [kW].
    total_kw : float
        All together: what the heater must give [kW].
    """

    evaporated_kg_per_h: float
    water_kw: float
    air_kw: float
    yarn_kw: float
    fixed_kw: float
    total_kw: float


def dryer_heat(
    solid_kg_per_h: float,
    before: Solid,
    after: Solid,
    room: MoistAir,
    dryer: MoistAir,
    fresh_kg_per_h: float,
    *,
    binding_kj_per_kg: float = 0.0,
    fixed_kw: float = 0.0,
) -> DryerHeat:
    """Find the heat of a dryer that turns its air round and renews part of it.

    Parameters
    ----------
    solid_kg_per_h : float
        Dry yarn [kg/h].
    before, after : Solid
        Yarn as it enters and leaves.
    room, dryer : MoistAir
        Air as it is drawn in, and as it is in the dryer and in the exhaust.
    fresh_kg_per_h : float
        Dry air renewed [kg/h].
    binding_kj_per_kg : float
        Heat to free the water from the fibre, beyond the latent heat [kJ/kg dry yarn].
    fixed_kw : float
        Stated losses that do not go with the yarn [kW].

    Returns
    -------
    DryerHeat
        The parts and the whole.

    Raises
    ------
    BadInput
        When a flow cannot be meant.

    Notes
    -----
    fresh (h_dryer - h_room) + yarn (H_after - H_before) + binding + fixed; the parts sum to that
    whole. Source: heat balance (DERIVED).
    """
    solid = more_than_zero(solid_kg_per_h, "yarn", "kg/h")
    fresh = more_than_zero(fresh_kg_per_h, "fresh air", "kg/h")
    fixed = zero_or_more(fixed_kw, "fixed heat", "kW")
    gone = solid * (before.regain_frac - after.regain_frac)
    own_water = WATER_KJ_PER_KG_K * before.temperature_c
    vapour = enthalpy_kj_per_kg(dryer.temperature_c, 1.0) - enthalpy_kj_per_kg(
        dryer.temperature_c, 0.0
    )
    water = (gone * (vapour - own_water) + solid * binding_kj_per_kg) / 3600.0
    warmed = enthalpy_kj_per_kg(dryer.temperature_c, room.humidity_kg_per_kg)
    air = fresh * (warmed - room.enthalpy_kj_per_kg) / 3600.0
    stays = Solid(after.heat_kj_per_kg_k, after.regain_frac, before.temperature_c)
    yarn = solid * (after.enthalpy_kj_per_kg - stays.enthalpy_kj_per_kg) / 3600.0
    return DryerHeat(gone, water, air, yarn, fixed, water + air + yarn + fixed)
