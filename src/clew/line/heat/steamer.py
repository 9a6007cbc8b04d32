"""The steamer of a belt: what condenses in it, what it draws, how full the bulk comes."""

from __future__ import annotations

from dataclasses import dataclass

from clew.line.heat.steaming import (
    Condensed,
    SteamDemand,
    bulk_share,
    condensed,
    full_bulk_dwell_s,
    steam_demand,
)
from clew.line.heat.terms import HeatTerms
from clew.line.heat.water import (
    ExpandedSteam,
    absolute_kpa,
    boiling_c,
    expanded_steam,
    saturated_at,
)


@dataclass(frozen=True, slots=True)
class Steamed:
    """Yarn through a steamer.

    Attributes
    ----------
    zone_c : float
        Temperature the yarn reaches: the zone's, at most boiling [°C].
    boiling_c : float
        Where water boils at the pressure of the air [°C].
    superheat_k : float
        How far the steam may stand above that [K].
    expanded : ExpandedSteam or None
        Steam behind the nozzle; none where no supply pressure was stated.
    condensed : Condensed
        What condenses on a kg of dry yarn.
    regain_frac : float
        Regain in the zone, with what is picked up beside condensate [1].
    demand : SteamDemand
        What the steamer draws.
    dwell_s, full_dwell_s : float
        Time in the zone, and what full bulk takes [s].
    bulk_frac : float
        Part of the full shrink taken in that dwell [1].
    boiler_kj_per_kg : float
        Heat the boiler puts into a kg of steam as supplied [kJ/kg].
    heat_kw : float
        Heat of the steam drawn [kW].
    """

    zone_c: float
    boiling_c: float
    superheat_k: float
    expanded: ExpandedSteam | None
    condensed: Condensed
    regain_frac: float
    demand: SteamDemand
    dwell_s: float
    full_dwell_s: float
    bulk_frac: float
    boiler_kj_per_kg: float
    heat_kw: float


def steamed(terms: HeatTerms) -> Steamed:
    """Take yarn through the steamer of a line.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.

    Returns
    -------
    Steamed
        Condensate, demand, bulk.

    Raises
    ------
    BadInput
        When the steam is not hotter than the room.

    Notes
    -----
    Validity: an open steamer at the pressure of the air, in which yarn gets no hotter than boiling.
    Superheat is the hotter of the zone as stated and the supply expanded through its nozzle.
    Without a stated supply the heat of the steam is that of steam at the pressure of the air.
    """
    blend = terms.blend
    boils = boiling_c(terms.air_kpa)
    zone = min(terms.steam_c, boils)
    found = condensed(
        terms.dry_heat_kj_per_kg_k,
        terms.regain_in_frac,
        terms.room_c,
        zone,
        regain_65_frac=blend.regain_65_frac,
    )
    expanded, supply_c = None, boils
    if terms.supply_gauge_kpa is not None:
        supply = absolute_kpa(terms.supply_gauge_kpa, terms.air_kpa)
        expanded = expanded_steam(supply, terms.air_kpa, terms.dryness_frac)
        supply_c = expanded.supply_temperature_c
    demand = steam_demand(
        terms.dry_kg_per_h,
        found.condensate_kg_per_kg,
        dryness_frac=terms.dryness_frac,
        losses_kg_per_h=terms.steam_losses_kg_per_h,
    )
    supplied = saturated_at(supply_c)
    per_kg = (
        supplied.liquid_kj_per_kg
        + terms.dryness_frac * supplied.latent_kj_per_kg
        - saturated_at(terms.feed_water_c).liquid_kj_per_kg
    )
    behind = 0.0 if expanded is None else expanded.superheat_k
    return Steamed(
        zone_c=zone,
        boiling_c=boils,
        superheat_k=max(0.0, terms.steam_c - boils, behind),
        expanded=expanded,
        condensed=found,
        regain_frac=found.regain_frac + terms.wet_pick_up_frac,
        demand=demand,
        dwell_s=terms.steam_dwell_s,
        full_dwell_s=full_bulk_dwell_s(terms.bulk_tau_s),
        bulk_frac=bulk_share(terms.steam_dwell_s, terms.bulk_tau_s),
        boiler_kj_per_kg=per_kg,
        heat_kw=demand.total_kg_per_h * per_kg / 3600.0,
    )
