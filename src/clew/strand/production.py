"""How much a winding or put-up station makes in an hour, and how many drums a job needs."""

from __future__ import annotations

import math

from clew.faults import BadInput, Fault
from clew.strand.given import fraction, more_than_zero, whole_number


def _efficiency(efficiency_frac: float) -> float:
    if not 0.0 < efficiency_frac <= 1.0:
        raise BadInput(
            Fault(
                "efficiency is actual over calculated output",
                expected="more than 0, at most 1",
                key="efficiency",
                value=f"{efficiency_frac:g}",
            )
        )
    return efficiency_frac


def output_kg_per_h(
    speed_m_per_s: float,
    count_tex: float,
    *,
    drums: int = 1,
    efficiency_frac: float = 1.0,
    waste_frac: float = 0.0,
) -> float:
    """Find the output of a winder: speed times count times drums times efficiency.

    Parameters
    ----------
    speed_m_per_s : float
        Winding speed [m/s].
    count_tex : float
        Count of the yarn [tex].
    drums : int
        Drums or spindles running [1].
    efficiency_frac : float
        Actual over calculated output, above 0 to 1 [1].
    waste_frac : float
        Part of the yarn that becomes waste [1].

    Returns
    -------
    float
        Output [kg/h].

    Raises
    ------
    BadInput
        When a value is out of range.

    Notes
    -----
    Source: P = 6e-5 v[m/min] tex n eff (1 - waste), winding calculation pages (READ).
    """
    speed = more_than_zero(speed_m_per_s, "speed", "m/s")
    count = more_than_zero(count_tex, "count", "tex")
    kept = 1.0 - fraction(waste_frac, "waste")
    running = whole_number(drums, "drums") * _efficiency(efficiency_frac)
    return 3600.0e-6 * speed * count * running * kept


def hours_needed(mass_kg: float, rate_kg_per_h: float) -> float:
    """Find the time a job takes.

    Parameters
    ----------
    mass_kg : float
        Yarn to wind [kg].
    rate_kg_per_h : float
        Output of the station [kg/h].

    Returns
    -------
    float
        Time [h].

    Raises
    ------
    BadInput
        When a value is not more than 0.
    """
    return more_than_zero(mass_kg, "mass", "kg") / more_than_zero(rate_kg_per_h, "output", "kg/h")


def drums_needed(mass_kg: float, hours: float, drum_kg_per_h: float) -> int:
    """Find how many drums finish a job in time, rounded up.

    Parameters
    ----------
    mass_kg : float
        Yarn to wind [kg].
    hours : float
        Time there is [h].
    drum_kg_per_h : float
        Output of one drum [kg/h].

    Returns
    -------
    int
        Drums [1].

    Raises
    ------
    BadInput
        When a value is not more than 0.

    Notes
    -----
    Part of a drum is a whole drum: 215.05 needs 216; a published key rounds it down to 215 and
    misses the time. Source: winding examples (READ).
    """
    each_kg = more_than_zero(hours, "time", "h") * more_than_zero(drum_kg_per_h, "output", "kg/h")
    # A ratio that is whole but for the last bits must not cost one more drum.
    return max(1, math.ceil(more_than_zero(mass_kg, "mass", "kg") / each_kg * (1.0 - 1e-12)))
