"""What decides steam and drying on a line, in plain numbers; what is left out is assumed."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from clew.faults import BadInput, Fault
from clew.languages import figure, say
from clew.line.heat.fibres_heat import BlendHeat, blend_heat
from clew.line.heat.sorption import SATURATION_RATIO
from clew.line.heat.water import ATMOSPHERE_KPA
from clew.strand.diameter import yarn_diameter_mm

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_blend = lru_cache(maxsize=64)(blend_heat)

AirWay = Literal["over", "through"]

THINNEST_LAYERS = 1.0
"""Least lay under air that goes over it, in layers of strand side by side: below it the belt is
bare in places and the lay has no whole face to dry [1]."""
THIN_LAY = say("a lay thinner than one layer of strand, which is not modelled")


@dataclass(frozen=True, slots=True)
class HeatTerms:
    """A yarn on a line with its steamer and dryer.

    Attributes
    ----------
    fibres : tuple of (str, float)
        Key and share of the dry mass [1] of each fibre.
    lanes : int
        Strands side by side on the belt.
    count_tex : float
        Count before steam, at the regain it comes with [tex].
    shrink_frac : float
        Length lost in steam [1].
    regain_in_frac, regain_wanted_frac : float
        Regain as it comes and as it shall be once cooled after the dryer [1].
    feed_m_per_s, belt_m_per_s : float
        Speed of the strand before steam and of the belt [m/s].
    belt_width_m, steamer_m, dryer_m : float
        Width of the belt and lengths of steamer and dryer [m].
    steam_c, dryer_c : float
        Temperature of the steam zone and of the dryer's air [°C].
    longest_dwell_s : float
        Dwell in steam beyond which the yarn suffers [s].
    ball_name, yarn_name, line_name, currency : str
        What it is about; empty where nothing of a mill was named.
    room_c, room_humidity : float
        Temperature [°C] and relative humidity [1] of the room.
    air_kpa : float
        Pressure of the air [kPa].
    supply_gauge_kpa : float or None
        Gauge pressure of the steam before the nozzle [kPa]; none where not stated.
    dryness_frac : float
        Part of that steam's mass that is steam [1].
    steam_losses_kg_per_h : float
        Steam that does not condense on yarn: slots, shell, pipes [kg/h].
    wet_pick_up_frac : float
        Water picked up beside condensate, drips and wet steam, on dry mass [1].
    full_bulk_c : float
        Steam below which the yarn does not bulk fully [°C].
    bulk_tau_s : float
        Time constant of the shrink [s].
    air_way : {"over", "through"}
        Whether the dryer's air goes over the lay or through it.
    air_speed_m_per_s : float
        Its speed over the lay, or before it when through [m/s].
    fresh_air_kg_per_h : float
        Dry air renewed in the dryer [kg/h].
    dryer_fixed_kw : float
        Heat of shell, belt and openings [kW].
    lay_density_kg_per_m3 : float
        Dry yarn in a volume of the lay [kg/m3].
    yarn_density_kg_per_m3 : float
        Dry yarn in its own volume, after steam [kg/m3].
    critical_regain_frac : float or None
        Where the drying rate begins to fall [1]; none for the saturation regain of the blend.
    drying_factor : float
        True drying rate over that of the correlation, from one trial [1].
    cooling_share_frac : float
        Part of the heat the yarn gives up after the dryer that goes into its own water [1].
    fuel_per_kwh : float or None
        Price of the fuel [money/kWh].
    heat_efficiency_frac : float
        Heat delivered over heat in the fuel [1].
    feed_water_c : float
        Temperature of the boiler's feed water [°C].
    fibre_heat_factor : float
        Specific heat of the dry yarn over that of the table [1].
    """

    fibres: tuple[tuple[str, float], ...]
    lanes: int
    count_tex: float
    shrink_frac: float
    regain_in_frac: float
    regain_wanted_frac: float
    feed_m_per_s: float
    belt_m_per_s: float
    belt_width_m: float
    steamer_m: float
    dryer_m: float
    steam_c: float
    dryer_c: float
    longest_dwell_s: float = math.inf
    ball_name: str = ""
    yarn_name: str = ""
    line_name: str = ""
    currency: str = ""
    room_c: float = 22.0
    room_humidity: float = 0.5
    air_kpa: float = ATMOSPHERE_KPA
    supply_gauge_kpa: float | None = None
    dryness_frac: float = 0.97
    steam_losses_kg_per_h: float = 0.0
    wet_pick_up_frac: float = 0.0
    full_bulk_c: float = 98.0
    bulk_tau_s: float = 10.0
    air_way: AirWay = "over"
    air_speed_m_per_s: float = 1.5
    fresh_air_kg_per_h: float = 150.0
    dryer_fixed_kw: float = 0.0
    lay_density_kg_per_m3: float = 30.0
    yarn_density_kg_per_m3: float = 300.0
    critical_regain_frac: float | None = None
    drying_factor: float = 1.0
    cooling_share_frac: float = 0.7
    fuel_per_kwh: float | None = None
    heat_efficiency_frac: float = 0.8
    feed_water_c: float = 60.0
    fibre_heat_factor: float = 1.0

    def __post_init__(self) -> None:
        faults = [_fault(name, getattr(self, name), *limits) for name, limits in _LIMITS.items()]
        found = [one for one in faults if one is not None]
        if self.air_way not in ("over", "through"):
            found.append(Fault(say("no such way of the air"), say("over or through"), key="air_way",
                               value=str(self.air_way)))  # fmt: skip
        try:
            _blend(self.fibres)
        except BadInput as bad:
            found.extend(bad.faults)
        if not found and self.air_way == "over" and self.lay_layers < THINNEST_LAYERS:
            found.append(self._thin_lay())
        if found:
            raise BadInput(found)

    def _thin_lay(self) -> Fault:
        """What is wrong with a lay that does not cover the belt, where air over it dries its face.

        Load and dwell both fall as the belt runs faster, and the regain stays. Once strand lies
        beside strand, a faster belt only bares the belt between them and takes the dwell away.
        """
        now = 60.0 * self.belt_m_per_s
        most = now * self.lay_layers / THINNEST_LAYERS
        scale = 10.0 ** (2 - math.floor(math.log10(most)))
        cut = math.floor(most * scale + 1e-9) / scale
        return Fault(
            THIN_LAY,
            say("at most {limit} at this feed", limit=figure(f"{cut:g} m/min")),
            key="belt_m_per_s",
            value=f"{now:.4g} m/min",
        )

    @property
    def blend(self) -> BlendHeat:
        """What heat and damp do to its fibres."""
        return _blend(self.fibres)

    @property
    def dry_heat_kj_per_kg_k(self) -> float:
        """Specific heat of the dry yarn [kJ/(kg K)]."""
        return self.blend.heat_kj_per_kg_k * self.fibre_heat_factor

    @property
    def yarn_kg_per_h(self) -> float:
        """Yarn as it comes [kg/h]."""
        return self.lanes * self.feed_m_per_s * self.count_tex * 1e-6 * 3600.0

    @property
    def dry_kg_per_h(self) -> float:
        """Its dry mass [kg/h]."""
        return self.yarn_kg_per_h / (1.0 + self.regain_in_frac)

    @property
    def dry_load_kg_per_m2(self) -> float:
        """Dry yarn on a square metre of belt [kg/m2]."""
        return self.dry_kg_per_h / 3600.0 / (self.belt_m_per_s * self.belt_width_m)

    @property
    def strand_mm(self) -> float:
        """Diameter of the strand after steam, of its count and density there [mm]."""
        steamed_tex = self.count_tex / (1.0 - self.shrink_frac)
        return yarn_diameter_mm(steamed_tex, self.yarn_density_kg_per_m3, 1.0)

    @property
    def lay_layers(self) -> float:
        """How many times the strand on a piece of belt would cover it side by side, steamed [1]."""
        strand_m_per_s = self.lanes * self.feed_m_per_s * (1.0 - self.shrink_frac)
        covers_m2_per_s = strand_m_per_s * self.strand_mm / 1000.0
        return covers_m2_per_s / (self.belt_m_per_s * self.belt_width_m)

    @property
    def steam_dwell_s(self) -> float:
        """Time in the steam zone [s]."""
        return self.steamer_m / self.belt_m_per_s

    @property
    def dryer_dwell_s(self) -> float:
        """Time in the dryer [s]."""
        return self.dryer_m / self.belt_m_per_s

    @property
    def most_times_faster(self) -> float:
        """How many times faster it can be taken to run, belt and all, and still be meant [1]."""
        _, feed, _ = _LIMITS["feed_m_per_s"]
        _, belt, _ = _LIMITS["belt_m_per_s"]
        return min(feed / self.feed_m_per_s, belt / self.belt_m_per_s)

    @property
    def critical_frac(self) -> float:
        """Regain where the drying rate begins to fall, stated or that of saturation [1]."""
        if self.critical_regain_frac is not None:
            return self.critical_regain_frac
        return SATURATION_RATIO * self.blend.regain_65_frac


@dataclass(frozen=True, slots=True)
class HeatDoubts:
    """How unsure the inputs are: standard deviations, ``_cv`` as a share of the value.

    Attributes
    ----------
    drying_factor_cv : float
        Of the drying rate; 0.3 before a trial, 0.1 after one [1].
    air_speed_cv, fresh_air_cv : float
        Of the dryer's air [1].
    dryer_sd_c : float
        Of its temperature [°C].
    regain_in_sd_frac : float
        Of the regain as it comes [1].
    wet_pick_up_cv : float
        Of the water picked up beside condensate [1].
    critical_cv : float
        Of the critical regain [1].
    heat_cv : float
        Of the fibres' specific heat [1].

    Notes
    -----
    Source: assumed, until the mill has measured.
    """

    drying_factor_cv: float = 0.3
    air_speed_cv: float = 0.1
    fresh_air_cv: float = 0.15
    dryer_sd_c: float = 2.0
    regain_in_sd_frac: float = 0.01
    wet_pick_up_cv: float = 0.3
    critical_cv: float = 0.2
    heat_cv: float = 0.05

    def __post_init__(self) -> None:
        most = {"dryer_sd_c": 20.0}
        faults = [
            _fault(one.name, getattr(self, one.name), 0.0, most.get(one.name, 1.0), True)
            for one in fields(self)
        ]
        if any(faults):
            raise BadInput([one for one in faults if one is not None])


DOUBT_WORDS = {
    "drying_factor_cv": say("the drying rate itself"),
    "air_speed_cv": say("the speed of the dryer's air"),
    "fresh_air_cv": say("the air renewed"),
    "dryer_sd_c": say("the dryer's temperature"),
    "regain_in_sd_frac": say("the regain as it comes"),
    "wet_pick_up_cv": say("water picked up in the steamer"),
    "critical_cv": say("the critical regain"),
    "heat_cv": say("the fibres' specific heat"),
}
"""What each doubt is about, in words."""


def held_within(name: str, values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Keep drawn values of a term within what can be meant; what would leave it stays at its end.

    Parameters
    ----------
    name : str
        Name of the term, such as ``dryer_c``.
    values : array of float
        Values of it [its unit].

    Returns
    -------
    array of float
        The same within its limits [its unit].
    """
    low, high, _ = _LIMITS[name]
    return values.clip(low, high)


def _fault(name: str, value: float | None, low: float, high: float, least: bool) -> Fault | None:
    if value is None:
        return None
    inside = low <= value <= high if least else low < value <= high
    if inside:
        return None
    words = (
        say("at least {low:g}, at most {high:g}", low=low, high=high)
        if least
        else say("more than {low:g}, at most {high:g}", low=low, high=high)
    )
    return Fault(say("a value that cannot be meant"), words, key=name, value=f"{value:g}")


_LIMITS: dict[str, tuple[float, float, bool]] = {
    "lanes": (1, 64, True),
    "count_tex": (0, 20_000, False),
    "shrink_frac": (0, 0.9, True),
    "regain_in_frac": (0, 1, True),
    "regain_wanted_frac": (0, 1, True),
    "feed_m_per_s": (1e-6, 100, True),
    "belt_m_per_s": (1e-6, 10, True),
    "belt_width_m": (0, 20, False),
    "steamer_m": (0, 100, False),
    "dryer_m": (0, 200, False),
    "steam_c": (60, 140, True),
    "dryer_c": (20, 180, True),
    "longest_dwell_s": (0, math.inf, False),
    "room_c": (0, 50, True),
    "room_humidity": (0, 1, True),
    "air_kpa": (50, 110, True),
    "supply_gauge_kpa": (0, 2000, True),
    "dryness_frac": (0.3, 1, True),
    "steam_losses_kg_per_h": (0, 10_000, True),
    "wet_pick_up_frac": (0, 3, True),
    "full_bulk_c": (40, 140, True),
    "bulk_tau_s": (0, 3600, False),
    "air_speed_m_per_s": (0, 50, False),
    "fresh_air_kg_per_h": (0, 1e6, False),
    "dryer_fixed_kw": (0, 10_000, True),
    "lay_density_kg_per_m3": (0, 500, False),
    "yarn_density_kg_per_m3": (0, 1600, False),
    "critical_regain_frac": (0.001, 3, True),
    "drying_factor": (0, 100, False),
    "cooling_share_frac": (0, 1, True),
    "fuel_per_kwh": (0, 1e6, True),
    "heat_efficiency_frac": (0.05, 1, True),
    "feed_water_c": (0, 200, True),
    "fibre_heat_factor": (0.1, 10, True),
}
