"""What lines of stations refuse."""

from __future__ import annotations

import math
from collections.abc import Sequence

from clew.faults import Fault


def check_rates(rates_per_hour: Sequence[float]) -> list[Fault]:
    """Faults of rates that are not above 0.

    Parameters
    ----------
    rates_per_hour : sequence of float
        Pieces an hour, station by station [1/h].

    Returns
    -------
    list of Fault
        Empty when all are good.
    """
    return [
        Fault("out of range", "a rate above 0", key=f"station {place}", value=f"{rate:g}")
        for place, rate in enumerate(rates_per_hour, start=1)
        if not (math.isfinite(rate) and rate > 0.0)
    ]


def check_chance(key: str, chance: float) -> list[Fault]:
    """Fault of a chance that is not above 0 and at most 1.

    Parameters
    ----------
    key : str
        Which argument it is.
    chance : float
        The chance [1].

    Returns
    -------
    list of Fault
        Empty when it is good.
    """
    if 0.0 < chance <= 1.0:
        return []
    return [Fault("out of range", "a chance above 0, at most 1", key=key, value=f"{chance:g}")]
