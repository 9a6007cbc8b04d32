"""A detector before the winder: it misses joins and sees joins that are not there."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.knot_map import KnotMap


@dataclass(frozen=True, slots=True)
class Detector:
    """How well joins are seen.

    Attributes
    ----------
    finds_frac : float
        Chance that a join is found [1].
    false_alarms_per_km : float
        Joins seen that are not there, per km of strand after steam [1/km].
    """

    finds_frac: float = 1.0
    false_alarms_per_km: float = 0.0

    def seen_per_m(self, joins_per_m: float) -> float:
        """Say how many joins are seen.

        Parameters
        ----------
        joins_per_m : float
            True joins [1/m].

        Returns
        -------
        float
            Joins seen, true and false [1/m].
        """
        return self.finds_frac * joins_per_m + self.false_alarms_per_km / 1000.0


def check_detector(detector: Detector) -> list[Fault]:
    """List what is wrong with a detector.

    Parameters
    ----------
    detector : Detector
        How well joins are seen.

    Returns
    -------
    list of Fault
        Empty when nothing is.
    """
    found = []
    if not 0.0 <= detector.finds_frac <= 1.0:
        value = f"{detector.finds_frac:g}"
        found.append(Fault("no such chance", "0 to 100 %", key="finds_frac", value=value))
    rate = detector.false_alarms_per_km
    if not (math.isfinite(rate) and 0.0 <= rate <= 1e4):
        found.append(
            Fault(
                "out of range",
                "a rate from 0 to 10000 per km",
                key="false_alarms_per_km",
                value=f"{rate:g}",
            )
        )
    return found


def seen_joins(knots: KnotMap, detector: Detector, *, seed: int) -> NDArray[np.int64]:
    """Draw what a detector sees of a strand.

    Parameters
    ----------
    knots : KnotMap
        The strand and its joins.
    detector : Detector
        How well joins are seen.
    seed : int
        Seed of the random numbers.

    Returns
    -------
    array of int, shape (seen,)
        Where joins are seen to begin [nm], ascending, no two alike.

    Raises
    ------
    BadInput
        When a chance or rate is out of range.

    Notes
    -----
    Each join is missed for itself, whatever made it; false alarms are Poisson along the strand.
    What is seen twice in one place is one join. Source: assumed.
    """
    faults = check_detector(detector)
    if faults:
        raise BadInput(faults)
    random = np.random.default_rng(seed)
    found = knots.positions_nm[random.random(knots.positions_nm.size) < detector.finds_frac]
    alarms = random.poisson(detector.false_alarms_per_km / 1000.0 * knots.strand_m)
    return np.union1d(found, random.integers(0, knots.strand_nm, alarms, dtype=np.int64))
