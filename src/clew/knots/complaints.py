"""How often a ball comes back, by the joins inside it: the mill's own estimate, read with care."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from clew.faults import Fault

Array = NDArray[np.float64]

MOST_PER_10000 = 10_000.0


def complaint_faults(per_10000: Sequence[float]) -> list[Fault]:
    """Say what is wrong with a table of complaints.

    Parameters
    ----------
    per_10000 : sequence of float
        Complaints per 10 000 balls with 0, 1, 2, ... joins [1/10000].

    Returns
    -------
    list of Fault
        One for each value out of range and each that falls; empty when the table can be used.

    Notes
    -----
    A table that falls is refused: more knots never make fewer complaints, so it is a slip of order.
    """
    faults = [
        Fault(
            f"out of range with {joins} joins",
            "complaints from 0 to 10000 per 10 000 balls",
            key="complaints",
            value=f"{value:g}",
        )
        for joins, value in enumerate(per_10000)
        if not 0.0 <= value <= MOST_PER_10000
    ]
    if faults:
        return faults
    return [
        Fault(
            f"fewer complaints with {joins} joins than with {joins - 1}",
            f"at least {per_10000[joins - 1]:g}, the value before it",
            key="complaints",
            value=f"{per_10000[joins]:g}",
        )
        for joins in range(1, len(per_10000))
        if per_10000[joins] < per_10000[joins - 1]
    ]


def complaints_at(
    joins: NDArray[np.int64], per_10000: Sequence[float], join_counts: float
) -> Array:
    """Complaints to be expected from balls with given numbers of joins.

    Parameters
    ----------
    joins : array of int
        Joins in each ball [1].
    per_10000 : sequence of float
        Complaints per 10 000 balls with 0, 1, 2, ... knots [1/10000].
    join_counts : float
        What a join counts: 1 for a knot, less for a splice [1].

    Returns
    -------
    array, shape of ``joins``
        Complaints per 10 000 such balls [1/10000].

    Notes
    -----
    Straight lines between the entries. Past the last entry its value holds, because nobody gave
    another; with balls that hold more joins than the table, the answer is a lower bound. The table
    is the mill's own estimate; no published source ties complaints to knots. Source: assumed.
    """
    counted = np.asarray(joins, dtype=np.float64) * join_counts
    return np.asarray(np.interp(counted, np.arange(len(per_10000)), np.asarray(per_10000)))
