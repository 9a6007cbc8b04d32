"""A closed line: so many carriers go round, each station a queue (mean value analysis)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.line.interference.stopped import check_number, check_time

MOST_CARRIERS = 100_000
"""Past it the bottleneck alone decides."""


@dataclass(frozen=True, slots=True)
class ClosedLine:
    """A closed line in the long run.

    Attributes
    ----------
    per_hour : float
        Rounds that carriers complete an hour, all together [1/h].
    round_s : float
        Mean time of a round at the stations, the time away left out [s].
    levels_mean : tuple of float
        Carriers at each station [1].
    """

    per_hour: float
    round_s: float
    levels_mean: tuple[float, ...]


def closed_line(carriers: int, *, work_s: Sequence[float], away_s: float = 0.0) -> ClosedLine:
    """Carriers that go round a closed line of single stations.

    Parameters
    ----------
    carriers : int
        How many go round, 1 or more.
    work_s : sequence of float
        Mean work on a carrier a round, station by station [s].
    away_s : float
        Time a carrier spends away from all stations a round [s].

    Returns
    -------
    ClosedLine
        Rounds an hour, and where carriers are.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    A carrier that arrives sees the line as it is with one carrier fewer: R_k(n) = D_k (1 +
    Q_k(n-1)), X = n / (Z + ΣR), Q_k = X R_k. Exponential work in order of arrival, no limit on any
    buffer. Source: Reiser & Lavenberg 1980, MEMORY; example in Lazowska et al., Quantitative System
    Performance, inputs READ.
    """
    faults = [
        *check_number("carriers", carriers, MOST_CARRIERS),
        *check_time("away_s", away_s, zero=True),
        *(fault for k, time in enumerate(work_s, 1) for fault in check_time(f"station {k}", time)),
    ]
    if not work_s:
        faults.append(Fault("no station", "one or more work times", key="work_s"))
    if faults:
        raise BadInput(faults)
    levels = [0.0] * len(work_s)
    per_s = round_s = math.nan
    for number in range(1, carriers + 1):
        times = [work * (1.0 + level) for work, level in zip(work_s, levels, strict=True)]
        round_s = math.fsum(times)
        per_s = number / (away_s + round_s)
        levels = [per_s * time for time in times]
    return ClosedLine(3600.0 * per_s, round_s, tuple(levels))
