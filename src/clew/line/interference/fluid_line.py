"""Two machines that break down, with a strand between them that flows (continuous buffer)."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.line.interference.line_checks import check_rates
from clew.line.interference.stopped import check_time


@dataclass(frozen=True, slots=True)
class FluidLine:
    """Two unreliable machines and their buffer, in the long run.

    Attributes
    ----------
    speed_m_per_s : float
        Metres that leave a second [m/s].
    level_mean_m : float
        Metres on the buffer [m].
    empty_frac : float
        Share of time the buffer is empty [1].
    full_frac : float
        Share of time the buffer is full [1].
    """

    speed_m_per_s: float
    level_mean_m: float
    empty_frac: float
    full_frac: float


def fluid_line(
    *,
    speed_m_per_s: float,
    first_run_s: float,
    first_repair_s: float,
    second_run_s: float,
    second_repair_s: float,
    buffer_m: float,
) -> FluidLine:
    """Two machines of one speed that stop at random, a strand buffer between them.

    Parameters
    ----------
    speed_m_per_s : float
        Speed of either while it runs [m/s].
    first_run_s, second_run_s : float
        Mean time to a stop, counted while the machine runs [s].
    first_repair_s, second_repair_s : float
        Mean stop [s].
    buffer_m : float
        What the buffer holds, 0 or more [m].

    Returns
    -------
    FluidLine
        What leaves, and how full the buffer is.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    Runs and stops are exponential. A machine that is starved or blocked does not stop by itself.
    Inside the buffer the densities go as exp(l x); the empty and the full buffer have chances of
    their own. Without buffer the speed is μ / (1 + p1/r1 + p2/r2), with an endless one that of the
    worse machine. Source: model of Zimmern and Buzacott, in Gershwin, Manufacturing Systems
    Engineering (1994) ch. 3, MEMORY; equations DERIVED, held by a fine-grid chain.
    """
    times = {
        "first_run_s": first_run_s,
        "first_repair_s": first_repair_s,
        "second_run_s": second_run_s,
        "second_repair_s": second_repair_s,
    }
    _check(speed_m_per_s, times, buffer_m)
    p1, r1, p2, r2 = (1.0 / time for time in times.values())
    mu = speed_m_per_s
    slope = (p1 + p2 + r1 + r2) * (r1 * p2 - p1 * r2) / (mu * (p1 + p2) * (r1 + r2))
    reach = slope * buffer_m
    # Everything is divided by the larger of the two ends, so that no exponential overflows.
    at_empty, at_full = math.exp(-max(reach, 0.0)), math.exp(min(reach, 0.0))
    inside, moment = _integrals(slope, buffer_m, at_empty, at_full)
    ratio = (r1 + r2) / (p1 + p2)
    empty_both, empty_down = mu / p2 * at_empty, (p1 + p2) * mu / (r1 * p2) * at_empty
    full_both, full_down = mu / p1 * at_full, (p1 + p2) * mu / (r2 * p1) * at_full
    density = 2.0 + ratio + 1.0 / ratio
    total = density * inside + empty_both + empty_down + full_both + full_down
    return FluidLine(
        speed_m_per_s=mu * ((ratio + 1.0) * inside + empty_both + full_both) / total,
        level_mean_m=(density * moment + buffer_m * (full_both + full_down)) / total,
        empty_frac=(empty_both + empty_down) / total,
        full_frac=(full_both + full_down) / total,
    )


def _integrals(slope: float, length: float, at_0: float, at_end: float) -> tuple[float, float]:
    """Integrals of exp(slope x) and x exp(slope x) over the buffer, in the given scale."""
    reach = slope * length
    if abs(reach) < 1e-4:
        # The closed form would subtract nearly equal numbers; two terms of the series are exact.
        middle = math.exp(reach / 2.0) * at_0
        return (
            middle * length * (1.0 + reach**2 / 24.0),
            middle * length**2 * (0.5 + reach / 12.0),
        )
    inside = (at_end - at_0) / slope
    return inside, (length * at_end - inside) / slope


def _check(speed: float, times: dict[str, float], buffer_m: float) -> None:
    faults = [fault for key, time in times.items() for fault in check_time(key, time)]
    if check_rates((speed,)):
        fault = Fault("out of range", "a speed above 0", key="speed_m_per_s", value=f"{speed:g}")
        faults.append(fault)
    if not (math.isfinite(buffer_m) and buffer_m >= 0.0):
        faults.append(
            Fault("out of range", "a length of 0 m or more", key="buffer_m", value=f"{buffer_m:g}")
        )
    if faults:
        raise BadInput(faults)
