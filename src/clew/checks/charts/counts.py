"""Charts of counts: faults in a case, knots in a hundred metres, by how much was looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.charts.chart import Chart, Panel, constant
from clew.checks.charts.rules import check_rules, run_signals
from clew.faults import BadInput, Fault

Numbers = NDArray[np.float64]

CHANCE = 0.05
"""Counts that differ as much as this by chance alone are said to differ by more than chance."""


@dataclass(frozen=True, slots=True)
class Dispersion:
    """Do counts differ by more than chance?

    Attributes
    ----------
    statistic : float
        Sum of (count - expected)²/expected; for equal units (n - 1) s²/mean.
    degrees : int
        Its degrees of freedom.
    p_more : float
        Chance of as much or more when only chance is at work.
    between_sd : float
        Standard deviation of the rate from group to group beyond chance, per unit.
    """

    statistic: float
    degrees: int
    p_more: float
    between_sd: float

    @property
    def index(self) -> float:
        """Statistic over its degrees: 1 by chance alone."""
        return self.statistic / self.degrees if self.degrees else float("nan")

    @property
    def more_than_chance(self) -> bool:
        """Whether counts differ by more than chance."""
        return self.p_more < CHANCE


@dataclass(frozen=True, slots=True)
class CountChart:
    """A chart of counts with what was found about chance.

    Attributes
    ----------
    chart : Chart
        Limits from chance alone (Poisson).
    dispersion : Dispersion
        The test.
    wider : Panel
        The same points with limits that hold the spread beyond chance too.
    """

    chart: Chart
    dispersion: Dispersion
    wider: Panel


def count_chart(
    found: Numbers,
    units: Numbers | None = None,
    *,
    width: float = 3.0,
    rules: Sequence[str] = ("beyond-3",),
) -> CountChart:
    """Chart counts (c) or counts per unit (u).

    Parameters
    ----------
    found : array of float, shape (groups,)
        Faults found in each group, whole numbers.
    units : array of float, shape (groups,), or None
        How much was looked at in each, in any unit; None for one unit each (a c chart).
    width : float
        Half width of the limits, in standard deviations [1].
    rules : sequence of str
        Run rules; about right where a group holds ten faults or more.

    Returns
    -------
    CountChart
        The chart, the test against chance, and limits that hold the spread beyond it.

    Raises
    ------
    BadInput
        For no group, a count that is not a whole number from 0, a unit or a width that is not
        above 0.

    Notes
    -----
    Source: limits ū ± 3 √(ū/n) (NIST/SEMATECH e-Handbook 6.3.3.1, MEMORY); dispersion test of
    G. B. Wetherill and D. W. Brown, Statistical Process Control, 1991 (READ second hand); the
    spread beyond chance by moments, τ² = (D - df)/(Σw - Σw²/Σw) with w = n/ū (R. DerSimonian and
    N. Laird, 1986, MEMORY), which for equal units is s² less ū.
    """
    _check(found, units, width)
    rules = check_rules(rules)
    size = np.ones(found.size) if units is None else units.astype(float)
    rate = float(found.sum() / size.sum())
    points, center = found / size, np.full(found.size, rate)
    chance = np.sqrt(rate / size)
    test = _dispersion(found, size, rate)
    panels = []
    for sd in (chance, np.sqrt(chance**2 + test.between_sd**2)):
        low, high = np.maximum(0.0, center - width * sd), center + width * sd
        calls = run_signals(points, center, sd, (low, high), rules)
        panels.append(
            Panel("faults" if units is None else "rate", points, center, high, low, calls)
        )
    plain, wider = panels
    cautions = []
    if test.more_than_chance:
        cautions.append(
            f"Groups differ by more than chance (index {test.index:.2f}, p {test.p_more:.2g}): "
            "limits from chance alone call too often; the wider ones hold that spread, and the "
            "groups that signal make part of it."
        )
    if rate * float(np.median(size)) < 9.0:
        cautions.append("Few faults a group: the lower limit is 0 and cannot call.")
    chart = Chart(
        kind="c" if units is None else "u",
        sizes=size,
        panel=plain,
        second=None,
        center=rate,
        sd=float(np.sqrt(rate)),
        sd_words="chance alone",
        sd_points=chance,
        ucl=constant(plain.ucl),
        lcl=constant(plain.lcl),
        widths=(
            ("chance alone", width * float(np.median(chance))),
            ("with the spread beyond it", float(np.median(wider.ucl - center))),
        ),
        rules=rules,
        cautions=tuple(cautions),
    )
    return CountChart(chart, test, wider)


def _dispersion(found: Numbers, size: Numbers, rate: float) -> Dispersion:
    degrees = found.size - 1
    if rate == 0.0 or not degrees:
        return Dispersion(0.0, degrees, 1.0, 0.0)
    from scipy.special import gammaincc

    expected = rate * size
    statistic = float(((found - expected) ** 2 / expected).sum())
    weights = size / rate
    total = float(weights.sum())
    room = total - float((weights**2).sum()) / total
    between = max(0.0, (statistic - degrees) / room)
    return Dispersion(
        statistic,
        degrees,
        float(gammaincc(degrees / 2.0, statistic / 2.0)),
        float(np.sqrt(between)),
    )


def _check(found: Numbers, units: Numbers | None, width: float) -> None:
    if not (np.isfinite(width) and width > 0.0):
        raise BadInput(Fault("no such width", "above 0", key="width", value=f"{width:g}"))
    if not found.size:
        raise BadInput(Fault("no counts to chart", expected="a row for each group"))
    if not (np.isfinite(found).all() and (found >= 0).all() and (found == np.floor(found)).all()):
        raise BadInput(Fault("a count that is no count", "whole numbers from 0", key="found"))
    if units is not None and not (np.isfinite(units).all() and (units > 0).all()):
        raise BadInput(Fault("a unit that is not above 0", "numbers above 0", key="units"))
