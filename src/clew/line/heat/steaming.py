"""Steam on the yarn: what condenses, what the steamer draws, what flashes off, how full the bulk.

Cold damp yarn condenses steam until it is as hot as the steam; leaving it, it boils part of that
off again. So a measured pick-up depends on where the sample was taken, and both places are given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from clew.faults import BadInput, Fault
from clew.languages import figure, say
from clew.line.heat.crossing import crossing
from clew.line.heat.fibres_heat import WATER_KJ_PER_KG_K
from clew.line.heat.sorption import binding_between_kj_per_kg
from clew.line.heat.water import latent_kj_per_kg
from clew.strand.given import fraction, more_than_zero, zero_or_more

SUPERHEAT_WARNING_K = 3.0
"""Superheat above which the answer warns [K]. The threshold is ours; that a few degrees mar
results is READ (Tischbein, Steaming in textile processing)."""
FULL_SHRINK_FRAC = 0.99
"""Part of the shrink that is called full bulk [1]: assumed."""


@dataclass(frozen=True, slots=True)
class Condensed:
    """Steam condensed on yarn that was warmed to the steam's temperature, a kg of dry yarn.

    Attributes
    ----------
    condensate_kg_per_kg : float
        Steam condensed on a kg of dry yarn [kg/kg].
    warming_kj_per_kg : float
        Heat that warmed yarn, its water and the belt [kJ/kg dry].
    sorption_kj_per_kg : float
        Heat set free as the fibre bound water [kJ/kg dry].
    latent_kj_per_kg : float
        Latent heat of the steam [kJ/kg steam].
    regain_frac : float
        Regain in the steam zone [1].
    """

    condensate_kg_per_kg: float
    warming_kj_per_kg: float
    sorption_kj_per_kg: float
    latent_kj_per_kg: float
    regain_frac: float


@lru_cache(maxsize=256)
def condensed(
    heat_kj_per_kg_k: float,
    regain_in_frac: float,
    room_c: float,
    steam_c: float,
    *,
    regain_65_frac: float | None = None,
    belt_kj_per_kg_k: float = 0.0,
) -> Condensed:
    """Find how much steam condenses on yarn.

    Parameters
    ----------
    heat_kj_per_kg_k : float
        Specific heat of the dry yarn [kJ/(kg K)].
    regain_in_frac : float
        Its regain as it comes [1].
    room_c, steam_c : float
        Temperature it comes with and that of the steam zone [°C].
    regain_65_frac : float, optional
        Regain at 65 % relative humidity, for the heat of sorption; left out, none is counted [1].
    belt_kj_per_kg_k : float
        Heat to warm so much belt as carries a kg of dry yarn by a kelvin [kJ/(kg K)].

    Returns
    -------
    Condensed
        Condensate and its heat balance.

    Raises
    ------
    BadInput
        When a value cannot be meant or the steam is not hotter than the yarn.

    Notes
    -----
    m h_fg + Q_sorption(R to R + m) = (c + 4.19 R)(T_steam - T_room) + belt. Validity: the yarn
    reaches the steam's temperature; steam saturated; loss of the steamer itself apart. Source: heat
    balance (DERIVED).
    """
    heat = more_than_zero(heat_kj_per_kg_k, "specific heat", "kJ/(kg K)")
    regain = zero_or_more(regain_in_frac, "regain")
    belt = zero_or_more(belt_kj_per_kg_k, "heat of the belt", "kJ/(kg K)")
    if not room_c < steam_c:
        raise BadInput(
            Fault(
                say("steam that is not hotter than the yarn"),
                say("more than {room}", room=figure(f"{room_c:g} °C")),
                key="steam temperature",
                value=f"{steam_c:g} °C",
            )
        )
    latent = latent_kj_per_kg(steam_c)
    warming = (heat + WATER_KJ_PER_KG_K * regain + belt) * (steam_c - room_c)
    if not regain_65_frac:
        return Condensed(warming / latent, warming, 0.0, latent, regain + warming / latent)

    def left(steam: float) -> float:
        bound = binding_between_kj_per_kg(regain, regain + steam, regain_65_frac)
        return steam * latent + bound - warming

    steam = crossing(left, 0.0, warming / latent, 1e-15)
    bound = binding_between_kj_per_kg(regain, regain + steam, regain_65_frac)
    return Condensed(steam, warming, bound, latent, regain + steam)


@dataclass(frozen=True, slots=True)
class SteamDemand:
    """What a steamer draws.

    Attributes
    ----------
    least_kg_per_h : float
        What must condense on the yarn, dry steam [kg/h].
    wet_kg_per_h : float
        The same from steam of the stated dryness [kg/h].
    losses_kg_per_h : float
        Stated: slots, shell, pipes [kg/h].
    total_kg_per_h : float
        All together [kg/h].
    multiple : float
        That over the least [1].
    """

    least_kg_per_h: float
    wet_kg_per_h: float
    losses_kg_per_h: float
    total_kg_per_h: float
    multiple: float


def steam_demand(
    dry_kg_per_h: float,
    condensate_kg_per_kg: float,
    *,
    dryness_frac: float = 1.0,
    losses_kg_per_h: float = 0.0,
) -> SteamDemand:
    """Find what a steamer draws.

    Parameters
    ----------
    dry_kg_per_h : float
        Yarn, as dry mass [kg/h].
    condensate_kg_per_kg : float
        Steam condensed on a kg of dry yarn [kg/kg].
    dryness_frac : float
        Part of the supply that is steam, above 0 to 1 [1].
    losses_kg_per_h : float
        Steam that leaves by slots, shell and pipes, measured or judged [kg/h].

    Returns
    -------
    SteamDemand
        The parts and the whole.

    Raises
    ------
    BadInput
        When a value cannot be meant.

    Notes
    -----
    Real steamers draw 2 to 5 times the least (MEMORY, judgement): a meter says what yours does.
    Source: mass balance (DERIVED).
    """
    dry = more_than_zero(dry_kg_per_h, "yarn", "kg/h")
    least = dry * more_than_zero(condensate_kg_per_kg, "condensate", "kg/kg")
    if not 0.0 < dryness_frac <= 1.0:
        raise BadInput(
            Fault(
                say("not a part of 1"),
                say("more than 0 to 1"),
                key="dryness",
                value=f"{dryness_frac:g}",
            )
        )
    losses = zero_or_more(losses_kg_per_h, "steam losses", "kg/h")
    wet = least / dryness_frac
    return SteamDemand(least, wet, losses, wet + losses, (wet + losses) / least)


def flash_off_kg_per_kg(
    heat_kj_per_kg_k: float,
    regain_frac: float,
    from_c: float,
    to_c: float,
    *,
    own_heat_frac: float = 1.0,
) -> float:
    """Find how much water hot damp yarn boils off as it cools.

    Parameters
    ----------
    heat_kj_per_kg_k : float
        Specific heat of the dry yarn [kJ/(kg K)].
    regain_frac : float
        Its regain while hot [1].
    from_c, to_c : float
        Temperature before and after; nothing flashes off where it does not fall [°C].
    own_heat_frac : float
        Part of the heat given up that goes into its own water, the rest into air [1].

    Returns
    -------
    float
        Water gone from a kg of dry yarn, at most all there is [kg/kg].

    Raises
    ------
    BadInput
        When a value cannot be meant.

    Notes
    -----
    (c + 4.19 R)(T1 - T2)/h_fg with h_fg at the mean temperature; the heat that binds the water is
    left out. Source: heat balance (DERIVED).
    """
    heat = more_than_zero(heat_kj_per_kg_k, "specific heat", "kJ/(kg K)")
    regain = zero_or_more(regain_frac, "regain")
    if not 0.0 <= own_heat_frac <= 1.0:
        raise BadInput(
            Fault(
                say("not a part of 1"),
                say("0 to 100 %"),
                key="flash share",
                value=f"{own_heat_frac:g}",
            )
        )
    if to_c >= from_c:
        return 0.0
    given_up = (heat + WATER_KJ_PER_KG_K * regain) * (from_c - to_c)
    return min(regain, own_heat_frac * given_up / latent_kj_per_kg(0.5 * (from_c + to_c)))


def bulk_share(dwell_s: float, tau_s: float, lag_s: float = 0.0) -> float:
    """Find what part of its shrink yarn has taken after a dwell in steam.

    Parameters
    ----------
    dwell_s : float
        Time in the steam zone [s].
    tau_s : float
        Time constant of the shrink [s].
    lag_s : float
        Time for the steam to reach the middle of the lay [s].

    Returns
    -------
    float
        Part of the full shrink at that temperature [1].

    Raises
    ------
    BadInput
        When a value cannot be meant.

    Notes
    -----
    1 - exp(-(t - lag)/tau). No published kinetics was found: the default of 10 s elsewhere is a
    guess until two dwell trials are fitted (`clew.strand.shrink_curve.fit_shrink`). Source: assumed
    form.
    """
    dwell = zero_or_more(dwell_s, "dwell", "s")
    tau = more_than_zero(tau_s, "time constant of the bulk", "s")
    lag = zero_or_more(lag_s, "lag", "s")
    return 0.0 if dwell <= lag else -math.expm1(-(dwell - lag) / tau)


def full_bulk_dwell_s(tau_s: float, lag_s: float = 0.0, share: float = FULL_SHRINK_FRAC) -> float:
    """Find the dwell for full bulk, the inverse of `bulk_share`.

    Parameters
    ----------
    tau_s, lag_s : float
        Time constant and lag [s].
    share : float
        Part of the shrink that counts as full, below 1 [1].

    Returns
    -------
    float
        Dwell [s].

    Raises
    ------
    BadInput
        When a value cannot be meant.
    """
    tau = more_than_zero(tau_s, "time constant of the bulk", "s")
    lag = zero_or_more(lag_s, "lag", "s")
    return lag - tau * math.log1p(-fraction(share, "share of the shrink"))
