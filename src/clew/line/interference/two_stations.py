"""Two exponential stations with a buffer between them (birth and death)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clew.faults import BadInput
from clew.line.interference.line_checks import check_rates
from clew.line.interference.stopped import check_number

MOST_BUFFER = 100_000
"""Places past which a buffer may be called endless."""


@dataclass(frozen=True, slots=True)
class TwoStations:
    """A pair of stations in the long run.

    Attributes
    ----------
    per_hour : float
        Pieces that leave an hour [1/h].
    level_mean : float
        Pieces past the first station and not through the second: waiting, being worked on, and
        one held by a blocked first station [1].
    starved_frac : float
        Share of time the second station has nothing [1].
    blocked_frac : float
        Share of time the first station cannot pass its piece on [1].
    """

    per_hour: float
    level_mean: float
    starved_frac: float
    blocked_frac: float


def two_stations(*, first_per_hour: float, second_per_hour: float, buffer: int) -> TwoStations:
    """Two stations with exponential work times and so many places between them.

    Parameters
    ----------
    first_per_hour, second_per_hour : float
        Pieces an hour each would make alone [1/h].
    buffer : int
        Places between them, 0 or more.

    Returns
    -------
    TwoStations
        What leaves, and who waits.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    The first never lacks work, the second is never blocked; a finished piece stays at the first
    station when the buffer is full (blocking after service). Pieces past the first are a birth and
    death chain on 0 ... b + 2; equal rates give (b + 2)/(b + 3) of one station. Source: Hunt 1956,
    MEMORY.
    """
    faults = check_rates((first_per_hour, second_per_hour)) + check_number(
        "buffer", buffer, MOST_BUFFER, 0
    )
    if faults:
        raise BadInput(faults)
    level = np.arange(buffer + 3, dtype=np.float64)
    logs = level * (np.log(first_per_hour) - np.log(second_per_hour))
    chances = np.exp(logs - logs.max())
    chances /= chances.sum()
    return TwoStations(
        per_hour=second_per_hour * float(chances[1:].sum()),
        level_mean=float(chances @ level),
        starved_frac=float(chances[0]),
        blocked_frac=float(chances[-1]),
    )
