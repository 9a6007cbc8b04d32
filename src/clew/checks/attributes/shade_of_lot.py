"""Does a dye lot match its standard, are its cones alike, and may two lots lie in one case?

A lot is its cones, and a cone its readings: readings of one cone are averaged first, because they
repeat the cone and not the lot. A difference equal to the limit passes: the limit is the greatest
difference that is let through.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f as f_law
from scipy.stats import t as t_law

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.strand.given import more_than_zero
from clew.strand.shade import ShadeDifference, ciede2000, shade_difference

Numbers = NDArray[np.float64]
Decision = Literal["pass", "sort", "fail"]

_AT_ONCE = 100_000
"""Pairs of shades compared in one go."""
_NO_SCATTER = 1e-12
"""Variance added so that cones which are all alike can be divided by."""
_STEP = 1e-4
"""CIELAB step of numerical slopes: far below what an instrument reads, far above rounding."""


@dataclass(frozen=True, slots=True)
class ShadeLimits:
    """What the mill lets through; its own figures, no standard sets them.

    Attributes
    ----------
    from_standard : float
        Greatest CIEDE2000 of a lot's mean from the standard [1].
    between_lots : float
        Greatest CIEDE2000 between two lots that may lie in one case or order; and so of a cone
        from the mean of its own lot, which lies in one case with it [1].
    k_lightness, k_chroma, k_hue : float
        Parametric factors of CIEDE2000 [1].
    """

    from_standard: float = 1.0
    between_lots: float = 0.8
    k_lightness: float = 1.0
    k_chroma: float = 1.0
    k_hue: float = 1.0

    def __post_init__(self) -> None:
        more_than_zero(self.from_standard, say("limit from the standard"))
        more_than_zero(self.between_lots, say("limit between lots"))

    def apart(self, first: Numbers, second: Numbers) -> Numbers:
        """CIEDE2000 by the mill's factors.

        Parameters
        ----------
        first, second : array of float, shape (..., 3)
            L*, a*, b* [1].
        """
        return ciede2000(
            first,
            second,
            k_lightness=self.k_lightness,
            k_chroma=self.k_chroma,
            k_hue=self.k_hue,
        )


@dataclass(frozen=True, slots=True)
class ConeShade:
    """One cone of a lot.

    Attributes
    ----------
    cone : str
        Its name.
    readings : int
        Readings averaged.
    from_standard : float
        CIEDE2000 of its mean from the standard [1].
    from_lot : float
        CIEDE2000 of its mean from the lot's mean [1].
    """

    cone: str
    readings: int
    from_standard: float
    from_lot: float


@dataclass(frozen=True, slots=True)
class LotShade:
    """A dye lot against its standard.

    Attributes
    ----------
    lot : str
        Its name.
    mean : tuple of float
        L*, a*, b* of the mean of its cones [1].
    difference : ShadeDifference
        Of that mean from the standard.
    interval : tuple of float or None
        95 % interval of the CIEDE2000 of the lot's mean [1]; None with fewer than two cones.
    cones : tuple of ConeShade
        Its cones, in order of appearance.
    spread : float
        Greatest CIEDE2000 between two of its cones [1].
    repeat_sd : float or None
        Spread of readings within a cone, root of the mean of the three CIELAB variances [1]; None
        where no cone was read twice.
    off : tuple of str
        Cones further from the lot's mean than two lots in one case may be.
    decision : str
        "pass"; "sort" where the lot passes but some of its cones stand out; "fail".
    sure : bool
        The interval lies on one side of the limit. False with fewer than two cones.
    """

    lot: str
    mean: tuple[float, float, float]
    difference: ShadeDifference
    interval: tuple[float, float] | None
    cones: tuple[ConeShade, ...]
    spread: float
    repeat_sd: float | None
    off: tuple[str, ...]
    decision: Decision
    sure: bool


@dataclass(frozen=True, slots=True)
class LotPair:
    """Two dye lots beside each other.

    Attributes
    ----------
    first, second : str
        Their names.
    apart : float
        CIEDE2000 between their means [1].
    may_mix : bool
        It is within the limit between lots.
    """

    first: str
    second: str
    apart: float
    may_mix: bool


@dataclass(frozen=True, slots=True)
class ShadeReading:
    """One reading of one cone.

    Attributes
    ----------
    lot : str
        Dye lot.
    cone : str
        Cone; readings of one cone are averaged.
    lightness, a, b : float
        L*, a*, b* [1].
    """

    lot: str
    cone: str
    lightness: float
    a: float
    b: float


def _by_cone(readings: Sequence[ShadeReading]) -> dict[str, dict[str, list[tuple[float, ...]]]]:
    lots: dict[str, dict[str, list[tuple[float, ...]]]] = {}
    for one in readings:
        lots.setdefault(one.lot, {}).setdefault(one.cone, []).append((one.lightness, one.a, one.b))
    return lots


def _interval(cones: Numbers, standard: Numbers, limits: ShadeLimits) -> tuple[float, float] | None:
    """95 % interval of the difference of the mean of the cones, by the slope of CIEDE2000.

    Along the way to the standard it is Student's. Near the standard chance alone makes a
    difference, in any of three directions: where Hotelling's test cannot tell the lot from the
    standard, the lower end is 0. With too few cones for that test the lower end is taken with the
    scatter of all three directions together.
    """
    count = len(cones)
    if count < 2:
        return None
    mean = cones.mean(axis=0)
    here = float(limits.apart(mean, standard))
    scatter = np.cov(cones, rowvar=False) / count
    sizes, ways = np.linalg.eigh(scatter)
    reach = limits.apart(mean + np.sqrt(np.maximum(sizes, 0.0))[:, None] * ways.T, mean)
    steps = _STEP * np.eye(3)
    slope = (limits.apart(mean + steps, standard) - limits.apart(mean - steps, standard)) / (
        2.0 * _STEP
    )
    error = float(np.sqrt(max(float(slope @ scatter @ slope), 0.0)))
    if here < 10.0 * _STEP:
        # At the standard itself there is no one direction: the widest of three is taken.
        error = float(np.max(reach))
    half = float(t_law.ppf(0.975, count - 1)) * error
    if count > 3:
        away = mean - standard
        squared = float(away @ np.linalg.solve(scatter + _NO_SCATTER * np.eye(3), away))
        most = 3.0 * (count - 1) / (count - 3) * float(f_law.ppf(0.95, 3, count - 3))
        lower = here - half if squared > most else 0.0
    else:
        all_ways = float(np.sqrt((reach**2).sum()))
        lower = here - float(t_law.ppf(1.0 - 0.025 / 3.0, count - 1)) * all_ways
    return max(lower, 0.0), here + half


def _widest(means: Numbers, limits: ShadeLimits) -> float:
    """Greatest difference of two cones; by parts, so that many cones do not fill the memory."""
    block = max(1, _AT_ONCE // len(means))
    return max(
        float(np.max(limits.apart(means[start : start + block, None], means)))
        for start in range(0, len(means), block)
    )


def _repeat_sd(cones: dict[str, list[tuple[float, ...]]]) -> float | None:
    squares, freedom = 0.0, 0
    for readings in cones.values():
        lab = np.array(readings)
        squares += float(((lab - lab.mean(axis=0)) ** 2).sum())
        freedom += len(lab) - 1
    return float(np.sqrt(squares / (3.0 * freedom))) if freedom else None


def judge_shades(
    readings: Sequence[ShadeReading],
    standard: tuple[float, float, float],
    limits: ShadeLimits | None = None,
) -> list[LotShade]:
    """Judge every dye lot against the standard.

    Parameters
    ----------
    readings : sequence of ShadeReading
        All readings.
    standard : tuple of float
        L*, a*, b* of the standard [1].
    limits : ShadeLimits or None
        What is let through; the house's 1.0 and 0.8 when left out.

    Returns
    -------
    list of LotShade
        In the order in which lots appear.

    Raises
    ------
    BadInput
        When there is no reading, or a shade is not three finite numbers.
    """
    if not readings:
        raise BadInput(Fault(say("no readings"), say("a reading of a cone")))
    limits = limits or ShadeLimits()
    goal = np.array(standard, dtype=np.float64)
    found = []
    for lot, cones in _by_cone(readings).items():
        means = np.array([np.mean(rows, axis=0) for rows in cones.values()])
        mean = means.mean(axis=0)
        to_standard = limits.apart(means, goal)
        to_lot = limits.apart(means, mean)
        spread = _widest(means, limits)
        difference = shade_difference(
            mean,
            goal,
            k_lightness=limits.k_lightness,
            k_chroma=limits.k_chroma,
            k_hue=limits.k_hue,
        )
        off = tuple(
            name for name, apart in zip(cones, to_lot, strict=True) if apart > limits.between_lots
        )
        decision: Decision = "pass"
        if difference.de00 > limits.from_standard:
            decision = "fail"
        elif off:
            decision = "sort"
        interval = _interval(means, goal, limits)
        sure = interval is not None and not interval[0] <= limits.from_standard < interval[1]
        found.append(
            LotShade(
                lot,
                (float(mean[0]), float(mean[1]), float(mean[2])),
                difference,
                interval,
                tuple(
                    ConeShade(name, len(cones[name]), float(own), float(lots))
                    for name, own, lots in zip(cones, to_standard, to_lot, strict=True)
                ),
                spread,
                _repeat_sd(cones),
                off,
                decision,
                sure,
            )
        )
    return found


def compare_lots(lots: Sequence[LotShade], limits: ShadeLimits | None = None) -> list[LotPair]:
    """Say of every two lots whether they may be mixed.

    Parameters
    ----------
    lots : sequence of LotShade
        The lots.
    limits : ShadeLimits or None
        What is let through; the house's own when left out.

    Returns
    -------
    list of LotPair
        Every pair once.
    """
    limits = limits or ShadeLimits()
    if len(lots) < 2:
        return []
    first, second = np.triu_indices(len(lots), 1)
    means = np.array([one.mean for one in lots])
    apart = limits.apart(means[first], means[second])
    return [
        LotPair(
            lots[int(one)].lot, lots[int(two)].lot, float(far), bool(far <= limits.between_lots)
        )
        for one, two, far in zip(first, second, apart, strict=True)
    ]
