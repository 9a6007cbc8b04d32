"""Faults that only the whole file shows: balls twice, two units in a column, net and gross."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.weighings import Column, Weighings
from clew.faults import Fault
from clew.quantities import POUND_G, YARD_M

Rows = NDArray[np.int64]
OZ_G = POUND_G / 16.0

AGREE_G = 0.1
"""Net and gross less tare may differ by so much [g], or by `AGREE_FRAC` of gross if more."""
AGREE_FRAC = 0.001
HIGH_REGAIN = 0.5
"""Regain from which an import asks whether percent were meant [1]."""
_MANY = 8
_CLUMP_TIMES = 3.0
_LEAST_IN_CLUMP = 3


@dataclass(frozen=True, slots=True)
class WholeFault:
    """A fault and the rows it spoils.

    Attributes
    ----------
    fault : Fault
        Without its file; with the line where it stands in one.
    rows : array of int64
        Rows that cannot be used for it.
    """

    fault: Fault
    rows: Rows


def whole_faults(
    table: Weighings, with_unit: dict[str, Sequence[int]], *, time_to_the_second: bool
) -> list[WholeFault]:
    """Find what is wrong with a table as a whole.

    Parameters
    ----------
    table : Weighings
        The table, with its lines.
    with_unit : dict of str to sequence of int
        Rows whose cell said its unit, by column: these are not doubted.
    time_to_the_second : bool
        Whether times tell seconds; to the minute, one winder may well doff two balls alike.

    Returns
    -------
    list of WholeFault
        None where all is well.
    """
    faults = _balls_twice(table)
    if time_to_the_second:
        faults += _rows_twice(table)
    for name in ("mass_g", "gross_g"):
        if name in table.numbers:
            faults += _two_units(table, name, with_unit.get(name, ()))
    return faults + _gross_against_net(table)


def _line(table: Weighings, row: int) -> int:
    assert table.lines is not None
    return int(table.lines[row])


def _balls_twice(table: Weighings) -> list[WholeFault]:
    factor = table.factors.get("ball")
    if factor is None:
        return []
    rows = np.flatnonzero(factor.codes >= 0)
    # Every name stands somewhere, so that as many rows as names is each name once.
    if len(rows) == len(factor.names):
        return []
    order = rows[np.argsort(factor.codes[rows], kind="stable")]
    same = np.flatnonzero(np.diff(factor.codes[order]) == 0)
    first = np.searchsorted(factor.codes[order], factor.codes[order])
    found = []
    for place in same + 1:
        row, before = int(order[place]), int(order[first[place]])
        name = factor.names[int(factor.codes[row])]
        words = (
            f"each once, such as 4-017 where winders count their own; it stands in line "
            f"{_line(table, before)} already"
        )
        fault = Fault(
            "a ball twice", words, line=_line(table, row), key="ball", value=repr(name[:40])
        )
        found.append(WholeFault(fault, np.array([row])))
    return found


def _rows_twice(table: Weighings) -> list[WholeFault]:
    """Find rows of one winder at one time with one mass, unless their balls have names."""
    time_s = table.numbers.get("time_s")
    mass = table.numbers.get("mass_g", table.numbers.get("gross_g"))
    winder = table.factors.get("winder", table.factors.get("lane"))
    if time_s is None or mass is None or winder is None:
        return []
    rows = np.flatnonzero(~np.isnan(time_s) & ~np.isnan(mass) & (winder.codes >= 0))
    ball = table.factors.get("ball")
    if ball is not None:
        rows = rows[ball.codes[rows] < 0]
    if len(rows) < 2 or np.all(np.diff(time_s[rows]) > 0.0):
        return []
    order = rows[np.lexsort((mass[rows], winder.codes[rows], time_s[rows]))]
    same = (
        (np.diff(time_s[order]) == 0.0)
        & (np.diff(winder.codes[order]) == 0)
        & (np.diff(mass[order]) == 0.0)
    )
    found = []
    first = 0
    for place in np.flatnonzero(same):
        if place == 0 or not same[place - 1]:
            first = int(place)
        row, before = int(order[place + 1]), int(order[first])
        words = (
            f"each once; line {_line(table, before)} has the same time, winder and mass; if they "
            "are two balls, name them in a column ball"
        )
        fault = Fault("a row twice", words, line=_line(table, row))
        found.append(WholeFault(fault, np.array([row])))
    return found


def _two_units(table: Weighings, name: str, with_unit: Sequence[int]) -> list[WholeFault]:
    """Find values that lie in two clumps as far apart as two units are."""
    values = table.numbers[name]
    asked = ~np.isnan(values)
    asked[np.asarray(with_unit, dtype=np.int64)] = False
    rows = np.flatnonzero(asked)
    if len(rows) < 2 or np.max(values[rows]) < 20.0 * np.min(values[rows]):
        return []
    parted = _clumps(np.sort(values[rows]))
    if parted is None:
        return []
    low, high = parted
    if low[-1] > _CLUMP_TIMES * low[0] or high[-1] > _CLUMP_TIMES * high[0]:
        return []
    times = float(np.median(high) / np.median(low))
    for unit, factor in (("oz", OZ_G), ("kg", 1000.0)):
        if abs(times / factor - 1.0) <= 0.15:
            spoiled = rows[values[rows] <= low[-1]]
            words = f"g in every cell, or the unit in the cell: {low[0]:g} {unit}"
            what = (
                f"two units in one column: {len(low)} of {len(rows)} values are about "
                f"{times:.3g} times smaller than the rest, as if in {unit} "
                f"({_named_lines(table, spoiled)})"
            )
            fault = Fault(what, words, line=_line(table, int(spoiled[0])), key=name)
            return [WholeFault(fault, spoiled)]
    return []


def _clumps(ordered: Column) -> tuple[Column, Column] | None:
    """Part sorted values above 0 at their widest gap."""
    logs = np.log(ordered)
    gaps = np.diff(logs)
    if not len(gaps) or not gaps.max() > 0.0:
        return None
    at = int(np.argmax(gaps)) + 1
    return ordered[:at], ordered[at:]


def _named_lines(table: Weighings, rows: Rows) -> str:
    named = ", ".join(str(_line(table, int(row))) for row in rows[:_MANY])
    more = f" and {len(rows) - _MANY} more" if len(rows) > _MANY else ""
    return f"line{'s' if len(rows) > 1 else ''} {named}{more}"


def yard_hint(table: Weighings) -> str:
    """Say where some lengths look as if written in yards; empty where that is not clear.

    Parameters
    ----------
    table : Weighings
        The table, with its lines.

    Returns
    -------
    str
        One line. A tenth more may also be what a winder did, so that it is a hint and no fault.
    """
    values = table.numbers.get("length_m")
    if values is None:
        return ""
    rows = np.flatnonzero(~np.isnan(values))
    parted = _clumps(np.sort(values[rows]))
    if parted is None or min(map(len, parted)) < _LEAST_IN_CLUMP:
        return ""
    low, high = parted
    gap = float(high[0] / low[-1] - 1.0)
    widest = max(float(one[-1] / one[0] - 1.0) for one in parted)
    times = float(np.median(high) / np.median(low))
    if abs(times * YARD_M - 1.0) > 0.01 or gap < 2.0 * widest:
        return ""
    few = rows[values[rows] >= high[0]]
    return (
        f"{len(few)} of {len(rows)} lengths are {times:.3f} times the rest, which is what yards in "
        f'place of metres do ({_named_lines(table, few)}); if they are yards, write "109 yd".'
    )


def regain_hint(table: Weighings) -> str:
    """Say where a regain is so high that percent may be meant; empty where none is.

    Parameters
    ----------
    table : Weighings
        The table, with its lines.

    Returns
    -------
    str
        One line. Wet from the steamer, yarn may hold so much; on a scale it seldom does.
    """
    values = table.numbers.get("regain_frac")
    if values is None:
        return ""
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero(values >= HIGH_REGAIN)
    if not len(rows):
        return ""
    high = float(values[rows].max())
    regains = "1 regain" if len(rows) == 1 else f"{len(rows)} regains"
    return (
        f"{regains} of {100 * HIGH_REGAIN:g} % and more, up to {100 * high:.4g} % "
        f'({_named_lines(table, rows)}); if percent are meant, write "{high:.4g} %".'
    )


def _gross_against_net(table: Weighings) -> list[WholeFault]:
    gross = table.numbers.get("gross_g")
    if gross is None:
        return []
    nothing = np.full(table.rows, np.nan)
    tare = table.numbers.get("tare_g", nothing)
    net = table.numbers.get("mass_g", nothing)
    with np.errstate(invalid="ignore"):
        rest = gross - tare
        room = np.maximum(AGREE_G, AGREE_FRAC * gross) * (1.0 + 1e-9)
        bare = rest <= 0.0
        apart = ~bare & (np.abs(rest - net) > room)
        above = np.isnan(tare) & (net - gross > room)
    found = []
    for row in np.flatnonzero(bare | apart | above):
        words = f"{gross[row]:g} g gross"
        words += "" if np.isnan(tare[row]) else f", {tare[row]:g} g tare"
        if bare[row]:
            what, expected = "the tare is all there is", "a tare below the gross mass"
        else:
            words += f", {net[row]:g} g net"
            what = "net and gross do not agree"
            expected = f"gross less tare to be net within {AGREE_G:g} g or {100 * AGREE_FRAC:g} %"
        fault = Fault(what, expected, line=_line(table, int(row)), key="gross_g", value=words)
        found.append(WholeFault(fault, np.array([row])))
    return found
