"""Mean squares of a gauge study, and the variances they are made of.

Every design boils down to independent mean squares and, for each source of spread, a sum and
difference of them; the study's answer and its intervals need no more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.instruments.gauge_readings import GaugeReadings
from clew.faults import BadInput, Fault

Array = NDArray[np.float64]

_DUST = 1e-11
"""Of the largest deviation; far above what binary fractions leave, far below any division."""


@dataclass(frozen=True, slots=True)
class AnovaRow:
    """One line of the analysis of variance.

    Attributes
    ----------
    source : str
        part, hand, part x hand, reading, pooled.
    ss : float
        Sum of squares [g2 or m2].
    df : int
        Degrees of freedom.
    f, p : float or None
        Its mean square over that it is held against, and how often chance alone does as much [1];
        None where there is nothing to hold it against.
    """

    source: str
    ss: float
    df: int
    f: float | None = None
    p: float | None = None

    @property
    def ms(self) -> float:
        """Mean square [g2 or m2]."""
        return self.ss / self.df


@dataclass(frozen=True, slots=True)
class Squares:
    """Mean squares and how the variances come from them.

    Attributes
    ----------
    rows : tuple of AnovaRow
        The analysis of variance, as it is printed.
    used : tuple of AnovaRow
        The independent mean squares that the variances are taken from, pooled where pooled.
    parts_of : mapping of str to tuple of (int, float)
        For each source of spread, places in `used` and what their mean squares are multiplied by.
    interaction_p : float or None
        Chance of the interaction [1]; None where there is none to test.
    pooled : bool
        Whether the interaction was counted as reading.
    notes : tuple of str
        What cannot be parted in this design.
    """

    rows: tuple[AnovaRow, ...]
    used: tuple[AnovaRow, ...]
    parts_of: dict[str, tuple[tuple[int, float], ...]]
    interaction_p: float | None
    pooled: bool
    notes: tuple[str, ...]


def squares_of(readings: GaugeReadings, *, pool_above: float = 0.25) -> Squares:
    """Find the mean squares of a study.

    Parameters
    ----------
    readings : GaugeReadings
        The readings.
    pool_above : float
        The interaction of part and hand is counted as reading where its chance p is above this [1];
        0 always pools, 1 never does.

    Returns
    -------
    Squares
        Mean squares and what the variances are made of.

    Raises
    ------
    BadInput
        When nothing can be told: one part read once by one hand and the like, or all readings
        alike.

    Notes
    -----
    Crossed: EV2 = MSe, interaction (MSpo - MSe)/r, hand (MSo - MSpo)/(pr), part (MSp - MSpo)/(or).
    Pooled: MSpo and MSe both become the pooled mean square. Nested: hand (MSo - MSp(o))/(br), part
    (MSp(o) - MSe)/r. Source: expected mean squares of random effects, as in AIAG, Measurement
    Systems Analysis, 4th ed. (printed example READ).
    """
    values = readings.values - float(readings.values.mean())
    if not values.any() or float(np.ptp(readings.values)) == 0.0:
        raise BadInput(
            Fault(
                "all readings alike: neither parts nor hands can be told apart",
                "parts that differ, read to a finer division",
            )
        )
    if readings.design == "nested":
        found = _nested(values)
    elif len(readings.hands) == 1:
        found = _one_hand(values[:, 0, :])
    else:
        found = _crossed(values, pool_above)
    return found


def _ss(times: int, away: Array, values: Array) -> float:
    """Sum squares; what rounding alone leaves of equal readings is nothing."""
    dust = _DUST * float(np.abs(values).max())
    return times * float((np.where(np.abs(away) <= dust, 0.0, away) ** 2).sum())


def _crossed(values: Array, pool_above: float) -> Squares:
    p, o, r = values.shape
    cell, by_part, by_hand = values.mean(axis=2), values.mean(axis=(1, 2)), values.mean(axis=(0, 2))
    ss_part = _ss(o * r, by_part, values)
    ss_hand = _ss(p * r, by_hand, values)
    ss_both = _ss(r, cell - by_part[:, None] - by_hand[None, :], values)
    ss_error = _ss(1, values - cell[:, :, None], values)
    df_both, df_error = (p - 1) * (o - 1), p * o * (r - 1)
    both = AnovaRow("part × hand", ss_both, df_both)
    error = AnovaRow("reading", ss_error, df_error) if df_error else None
    chance = None if error is None else _chance(both, error)
    pooled = error is None or chance is None or chance > pool_above
    notes: tuple[str, ...] = ()
    if error is None:
        notes = (
            "Each part was read once by each hand: a hand's own way with single parts counts as "
            "reading.",
        )
    against = (
        AnovaRow("pooled", ss_both + ss_error, df_both + df_error)
        if pooled and error is not None
        else both
    )
    part = _held(AnovaRow("part", ss_part, p - 1), against)
    hand = _held(AnovaRow("hand", ss_hand, o - 1), against)
    if error is None:
        return Squares(
            (part, hand, both), (part, hand, both), _pooled_parts(p, o, r), None, True, notes
        )
    rows = (part, hand, _held(both, error), error)
    if pooled:
        return Squares(
            (*rows, against), (part, hand, against), _pooled_parts(p, o, r), chance, True, notes
        )
    parts_of = {
        "reading": ((3, 1.0),),
        "interaction": ((2, 1.0 / r), (3, -1.0 / r)),
        "hand": ((1, 1.0 / (p * r)), (2, -1.0 / (p * r))),
        "part": ((0, 1.0 / (o * r)), (2, -1.0 / (o * r))),
    }
    return Squares(rows, rows, parts_of, chance, False, notes)


def _pooled_parts(p: int, o: int, r: int) -> dict[str, tuple[tuple[int, float], ...]]:
    return {
        "reading": ((2, 1.0),),
        "hand": ((1, 1.0 / (p * r)), (2, -1.0 / (p * r))),
        "part": ((0, 1.0 / (o * r)), (2, -1.0 / (o * r))),
    }


def _one_hand(values: Array) -> Squares:
    p, r = values.shape
    if r < 2:
        raise BadInput(
            Fault(
                "one hand who read each part once: part and reading cannot be told apart",
                "two readings or more of each part",
            )
        )
    by_part = values.mean(axis=1)
    error = AnovaRow("reading", _ss(1, values - by_part[:, None], values), p * (r - 1))
    part = _held(AnovaRow("part", _ss(r, by_part, values), p - 1), error)
    return Squares(
        (part, error),
        (part, error),
        {"reading": ((1, 1.0),), "part": ((0, 1.0 / r), (1, -1.0 / r))},
        None,
        False,
        ("One hand: what differs between hands was not studied.",),
    )


def _nested(values: Array) -> Squares:
    o, b, r = values.shape
    by_ball, by_hand = values.mean(axis=2), values.mean(axis=(1, 2))
    ss_hand = _ss(b * r, by_hand, values)
    ball = AnovaRow("part of a hand", _ss(r, by_ball - by_hand[:, None], values), o * (b - 1))
    hand = _held(AnovaRow("hand", ss_hand, o - 1), ball)
    if r == 1:
        return Squares(
            (hand, ball),
            (hand, ball),
            {"reading": ((1, 1.0),), "hand": ((0, 1.0 / b), (1, -1.0 / b))},
            None,
            False,
            (
                "Each ball was read once: reading and what balls of one cone differ by stand "
                "together; the instrument alone does better than this.",
            ),
        )
    error = AnovaRow("reading", _ss(1, values - by_ball[:, :, None], values), o * b * (r - 1))
    parts_of = {
        "reading": ((2, 1.0),),
        "hand": ((0, 1.0 / (b * r)), (1, -1.0 / (b * r))),
        "part": ((1, 1.0 / r), (2, -1.0 / r)),
    }
    rows = (hand, _held(ball, error), error)
    return Squares(
        rows,
        rows,
        parts_of,
        None,
        False,
        ("Each hand read balls of his own: hand and his balls' mean stand together.",),
    )


def _held(row: AnovaRow, against: AnovaRow) -> AnovaRow:
    if against.ms <= 0.0:
        return row
    return AnovaRow(row.source, row.ss, row.df, row.ms / against.ms, _chance(row, against))


def _chance(row: AnovaRow, against: AnovaRow) -> float | None:
    from scipy.special import fdtrc

    if against.ms <= 0.0:
        return None if row.ms <= 0.0 else 0.0
    found = float(fdtrc(row.df, against.df, row.ms / against.ms))
    return found if math.isfinite(found) else None
