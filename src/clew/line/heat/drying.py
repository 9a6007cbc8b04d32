"""Drying times at constant and falling rate, and the coefficients that set the rate.

The coefficients were measured on flat layers and beds of granular solids, never on coils of yarn.
One weigh-in and weigh-out on the line is worth more than all of them: `calibrated_factor`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.strand.given import more_than_zero, zero_or_more

OVER_RANGE_KG_PER_M2_H = (2450.0, 29300.0)
"""Mass velocities the flat-layer coefficient was made for [kg/(m2 h)] (MEMORY)."""
REYNOLDS_CHANGE = 350.0
"""Where one coefficient of a bed gives way to the other [1]."""
VISCOSITY_PA_S = 2.15e-5
"""Of the air in a dryer [Pa s]."""


@dataclass(frozen=True, slots=True)
class DryingLaw:
    """How a layer dries: a constant rate down to the critical regain, then in proportion.

    Attributes
    ----------
    constant_per_s : float
        Loss of regain in the constant part [1/s].
    critical_frac : float
        Regain where the rate begins to fall [1].
    balance_frac : float
        Regain at which the yarn is in balance with the air [1].
    """

    constant_per_s: float
    critical_frac: float
    balance_frac: float

    def __post_init__(self) -> None:
        more_than_zero(self.constant_per_s, "drying rate", "1/s")
        zero_or_more(self.balance_frac, "balance regain")
        if not self.balance_frac < self.critical_frac < math.inf:
            raise BadInput(
                Fault(
                    say("a critical regain not above that of balance"),
                    say("more than {balance:.3g} %", balance=100 * self.balance_frac),
                    key="critical regain",
                    value=f"{100 * self.critical_frac:.3g} %",
                )
            )

    @property
    def falling_s(self) -> float:
        """Time constant of the falling part [s]."""
        return (self.critical_frac - self.balance_frac) / self.constant_per_s

    def time_s(self, from_frac: float, to_frac: float) -> tuple[float, float]:
        """Find how long it takes from one regain to another.

        Parameters
        ----------
        from_frac, to_frac : float
            Regain before and after [1].

        Returns
        -------
        tuple of float
            Time at constant and at falling rate [s]; the latter is infinite for a regain that
            the air never gives.

        Raises
        ------
        BadInput
            When a regain cannot be meant or the yarn would have to take up water.

        Notes
        -----
        t_c = (X1 - Xc)/r; t_f = ((Xc - X*)/r) ln[(Xc - X*)/(X2 - X*)]. Source: textbooks of drying
        (READ in several).
        """
        start, end = zero_or_more(from_frac, "regain before"), zero_or_more(to_frac, "regain after")
        if end > start:
            raise BadInput(
                Fault(
                    say("drying that would wet the yarn"),
                    say("at most {start:.4g} %", start=100 * start),
                    key="regain after",
                    value=f"{100 * end:.4g} %",
                )
            )
        constant = max(0.0, start - max(end, self.critical_frac)) / self.constant_per_s
        falls_from = min(start, self.critical_frac)
        if end >= falls_from:
            return constant, 0.0
        if end <= self.balance_frac:
            return constant, math.inf
        ratio = (falls_from - self.balance_frac) / (end - self.balance_frac)
        return constant, self.falling_s * math.log(ratio)

    def regain_after(self, from_frac: float, dwell_s: float) -> float:
        """Find the regain after a time, the inverse of `time_s`; dry yarn goes up to the balance.

        Parameters
        ----------
        from_frac : float
            Regain before [1].
        dwell_s : float
            Time in the air [s].

        Returns
        -------
        float
            Regain after [1].

        Raises
        ------
        BadInput
            When a value cannot be meant.
        """
        start, dwell = zero_or_more(from_frac, "regain before"), zero_or_more(dwell_s, "dwell", "s")
        constant = max(0.0, start - self.critical_frac) / self.constant_per_s
        if dwell <= constant:
            return start - self.constant_per_s * dwell
        begins = min(start, self.critical_frac)
        gone = math.exp(-(dwell - constant) / self.falling_s)
        return self.balance_frac + (begins - self.balance_frac) * gone


def over_layer_w_per_m2_k(mass_velocity_kg_per_m2_h: float) -> float:
    """Find the heat-transfer coefficient of air over a flat layer: h = 0.0204 G^0.8.

    Parameters
    ----------
    mass_velocity_kg_per_m2_h : float
        Mass of air through a square metre across the flow [kg/(m2 h)].

    Returns
    -------
    float
        Coefficient [W/(m2 K)].

    Raises
    ------
    BadInput
        When the velocity is not more than 0.

    Notes
    -----
    Validity: air of 45 to 150 °C along flat wet solids, 2450 to 29 300 kg/(m2 h) (MEMORY). Source:
    Geankoplis, Transport Processes and Unit Operations, 3rd ed., 9.6 (READ in a transcription).
    """
    given = more_than_zero(mass_velocity_kg_per_m2_h, "mass velocity", "kg/(m2 h)")
    return float(0.0204 * given**0.8)


def through_bed_w_per_m2_k(
    mass_velocity_kg_per_m2_h: float, piece_m: float, viscosity_pa_s: float = VISCOSITY_PA_S
) -> float:
    """Find the heat-transfer coefficient of air through a bed of pieces.

    Parameters
    ----------
    mass_velocity_kg_per_m2_h : float
        Mass of air through a square metre of bed [kg/(m2 h)].
    piece_m : float
        Diameter of the sphere with a piece's surface [m].
    viscosity_pa_s : float
        Viscosity of the air [Pa s].

    Returns
    -------
    float
        Coefficient [W/(m2 K)].

    Raises
    ------
    BadInput
        When a value is not more than 0.

    Notes
    -----
    h = 0.151 G^0.59/D^0.41 above a Reynolds number D G/mu of 350, 0.214 G^0.49/D^0.51 below it.
    Source: Geankoplis, 9.10 (the former READ in a transcription; the latter and the limit MEMORY).
    Validity: granular solids; yarn is finer and lies in coils.
    """
    g = more_than_zero(mass_velocity_kg_per_m2_h, "mass velocity", "kg/(m2 h)")
    d = more_than_zero(piece_m, "piece", "m")
    viscosity = more_than_zero(viscosity_pa_s, "viscosity", "Pa s")
    reynolds = d * g / 3600.0 / viscosity
    if reynolds > REYNOLDS_CHANGE:
        return float(0.151 * g**0.59 / d**0.41)
    return float(0.214 * g**0.49 / d**0.51)


def cylinder_bed(
    bed_kg_per_m3: float, solid_kg_per_m3: float, diameter_m: float, length_m: float
) -> tuple[float, float, float]:
    """Find void, surface and piece of a bed of cylinders.

    Parameters
    ----------
    bed_kg_per_m3, solid_kg_per_m3 : float
        Dry density of the bed and of the pieces in it [kg/m3].
    diameter_m, length_m : float
        Size of a piece; infinitely long for a strand [m].

    Returns
    -------
    tuple of float
        Void [1], surface in a volume of bed [m2/m3], diameter of the sphere with a piece's
        surface [m]; for a strand its own diameter.

    Raises
    ------
    BadInput
        When a value is not more than 0 or the bed is denser than its pieces.

    Notes
    -----
    a = 4 (1 - void)(L + D/2)/(D L); D_p = (D L + D^2/2)^0.5. Source: Geankoplis, 9.10 (READ in a
    transcription); for a strand, without ends, DERIVED.
    """
    bed = more_than_zero(bed_kg_per_m3, "density of the bed", "kg/m3")
    solid = more_than_zero(solid_kg_per_m3, "density of the pieces", "kg/m3")
    d = more_than_zero(diameter_m, "diameter", "m")
    if not bed < solid:
        raise BadInput(
            Fault(
                say("a bed denser than what lies in it"),
                say("below {solid:g} kg/m3", solid=solid),
                key="density of the bed",
                value=f"{bed:g} kg/m3",
            )
        )
    void = 1.0 - bed / solid
    if math.isinf(length_m):
        return void, 4.0 * (1.0 - void) / d, d
    length = more_than_zero(length_m, "length", "m")
    surface = 4.0 * (1.0 - void) * (length + 0.5 * d) / (d * length)
    return void, surface, math.sqrt(d * length + 0.5 * d * d)


def over_rate_kg_per_m2_s(
    coefficient_w_per_m2_k: float, air_c: float, wet_bulb_c: float, latent_kj_per_kg: float
) -> float:
    """Find the constant drying rate of a wet surface: h (T - T_w)/h_fg.

    Parameters
    ----------
    coefficient_w_per_m2_k : float
        Heat-transfer coefficient [W/(m2 K)].
    air_c, wet_bulb_c : float
        Temperature of the air and its wet bulb [°C].
    latent_kj_per_kg : float
        Latent heat at the wet bulb [kJ/kg].

    Returns
    -------
    float
        Water from a square metre [kg/(m2 s)].

    Raises
    ------
    BadInput
        When the air is not hotter than its wet bulb or a value is not more than 0.
    """
    h = more_than_zero(coefficient_w_per_m2_k, "heat-transfer coefficient", "W/(m2 K)")
    gap = more_than_zero(air_c - wet_bulb_c, "air over its wet bulb", "K")
    return h * gap / (1000.0 * more_than_zero(latent_kj_per_kg, "latent heat", "kJ/kg"))


def through_rate_kg_per_m2_s(
    mass_velocity_kg_per_m2_s: float,
    humid_heat_kj_per_kg_k: float,
    transfer_units: float,
    gap_k: float,
    latent_kj_per_kg: float,
) -> float:
    """Find the constant drying rate of a bed that air blows through, a square metre of bed.

    Parameters
    ----------
    mass_velocity_kg_per_m2_s : float
        Dry air through a square metre of bed [kg/(m2 s)].
    humid_heat_kj_per_kg_k : float
        Heat to warm the air and its vapour by a kelvin [kJ/(kg K)].
    transfer_units : float
        h a x/(G c_s), how far the air comes to the wet bulb [1].
    gap_k : float
        Air as it comes over its wet bulb [K].
    latent_kj_per_kg : float
        Latent heat at the wet bulb [kJ/kg].

    Returns
    -------
    float
        Water from a square metre of bed [kg/(m2 s)].

    Raises
    ------
    BadInput
        When a value is not more than 0.

    Notes
    -----
    G c_s (T1 - T_w)(1 - exp(-N))/h_fg. Source: Geankoplis, 9.10 (READ in a transcription).
    """
    given = more_than_zero(mass_velocity_kg_per_m2_s, "mass velocity", "kg/(m2 s)")
    heat = more_than_zero(humid_heat_kj_per_kg_k, "humid heat", "kJ/(kg K)")
    units = more_than_zero(transfer_units, "transfer units")
    gap = more_than_zero(gap_k, "air over its wet bulb", "K")
    latent = more_than_zero(latent_kj_per_kg, "latent heat", "kJ/kg")
    return given * heat * gap * -math.expm1(-units) / latent


def falling_time_by_curve_s(
    solid_kg_per_m2: float, regain_frac: Sequence[float], rate_kg_per_m2_s: Sequence[float]
) -> float:
    """Find a drying time from a measured curve of rates, by the trapezium rule on 1/rate.

    Parameters
    ----------
    solid_kg_per_m2 : float
        Dry mass on a square metre [kg/m2].
    regain_frac : sequence of float
        Regains, falling [1].
    rate_kg_per_m2_s : sequence of float
        Rate at each [kg/(m2 s)].

    Returns
    -------
    float
        Time from the first regain to the last [s].

    Raises
    ------
    BadInput
        When there are fewer than two points, not as many of both, regains do not fall or a rate is
        not more than 0.

    Notes
    -----
    t = (L_s/A) sum of dX/R. Source: textbooks of drying (READ in several).
    """
    solid = more_than_zero(solid_kg_per_m2, "dry mass", "kg/m2")
    if len(regain_frac) != len(rate_kg_per_m2_s) or len(regain_frac) < 2:
        raise BadInput(
            Fault(say("not a curve"), say("two points or more, as many rates as regains"))
        )
    rates = [more_than_zero(rate, "drying rate", "kg/(m2 s)") for rate in rate_kg_per_m2_s]
    total = 0.0
    for k in range(len(rates) - 1):
        fall = more_than_zero(regain_frac[k] - regain_frac[k + 1], "fall of regain")
        total += fall * 0.5 * (1.0 / rates[k] + 1.0 / rates[k + 1])
    return solid * total


def calibrated_factor(
    law: DryingLaw, regain_in_frac: float, regain_out_frac: float, dwell_s: float
) -> float:
    """Find by how much a dryer truly dries faster than a law says, from one trial.

    Parameters
    ----------
    law : DryingLaw
        The law as the correlations give it, with a factor of 1.
    regain_in_frac, regain_out_frac : float
        Regain weighed before and after the dryer [1].
    dwell_s : float
        Time in the dryer during the trial [s].

    Returns
    -------
    float
        What to multiply the rate with [1].

    Raises
    ------
    BadInput
        When the yarn did not dry, or came out drier than the air it was in.

    Notes
    -----
    Every time of the law is inverse to its rate, so the factor is the law's time over the dwell.
    Validity: the air of the trial. Source: DERIVED.
    """
    dwell = more_than_zero(dwell_s, "dwell", "s")
    time = sum(law.time_s(regain_in_frac, regain_out_frac))
    if not 0.0 < time < math.inf:
        raise BadInput(
            Fault(
                say("a trial that tells nothing of the rate"),
                say(
                    "a regain after the dryer between {low:.3g} % and {high:.3g} %",
                    low=100 * law.balance_frac,
                    high=100 * regain_in_frac,
                ),
                key="regain after",
                value=f"{100 * regain_out_frac:.4g} %",
            )
        )
    return time / dwell
