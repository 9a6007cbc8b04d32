"""Weighed balls put in order and into groups, as a chart takes them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clew.checks.charts.grouping import consecutive
from clew.checks.condition import Condition, net_mass
from clew.checks.weighings import Weighings
from clew.faults import BadInput, Fault
from clew.languages import say, say_many

_DAY_S = 86400.0


@dataclass(frozen=True, slots=True)
class Balls:
    """Measured balls in the order of their time, or of the file.

    Attributes
    ----------
    values : array of float, shape (balls,)
        Mass [g] or length [m].
    groups : array of int64, shape (balls,), or None
        Place of each ball's group in the order of the chart; None where the file names none.
    group_names : tuple of str
        Names of the groups in that order.
    cones, makers : array of int32, shape (balls,), or None
        Place of each ball's cone, and of the winder, lane or lot that charts are asked by; -1
        where it has no name.
    maker_names : tuple of str
        Names of those winders, lanes or lots.
    time_s : array of float, shape (balls,), or None
        Time of day [s], where the file tells clocks.
    condition : str
        What was done to the mass, in a sentence.
    cautions : tuple of str
        What was left out.
    """

    values: NDArray[np.float64]
    groups: NDArray[np.int64] | None
    group_names: tuple[str, ...]
    cones: NDArray[np.int32] | None
    makers: NDArray[np.int32] | None
    maker_names: tuple[str, ...]
    time_s: NDArray[np.float64] | None
    condition: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Grouped:
    """The balls of one chart.

    Attributes
    ----------
    values, cones : arrays, shape (balls,)
        As in `Balls`.
    places : array of int64, shape (balls,)
        Place of each ball's group, every place taken.
    names : tuple of str or None
        Names of the groups; None where they are numbered from 1.
    clocks : tuple of str
        Time of day of each group's first ball; empty where none is told.
    cautions : tuple of str
        What was left out.
    """

    values: NDArray[np.float64]
    places: NDArray[np.int64]
    cones: NDArray[np.int32] | None
    names: tuple[str, ...] | None
    clocks: tuple[str, ...]
    cautions: tuple[str, ...]


def balls_of(
    table: Weighings,
    value: str,
    by: str,
    *,
    use_groups: bool,
    clocks: bool = False,
    stated: Condition | None = None,
) -> Balls:
    """Take the balls of a table in order.

    Parameters
    ----------
    table : Weighings
        Weighed balls.
    value : str
        ``"mass"`` or ``"length"``.
    by : str
        ``"all"``, or the column of names that charts are asked by.
    use_groups : bool
        Whether the column of groups is used, where there is one.
    clocks : bool
        Whether times are times of day.
    stated : Condition or None
        At what condition mass is meant; None for net mass as weighed.

    Returns
    -------
    Balls
        Those that have the value, in order of time where that is known.

    Raises
    ------
    BadInput
        Where nothing can be charted.
    """
    measured = "mass_g" if value == "mass" else "length_m"
    values, condition = _values(table, value, stated)
    keep = np.isfinite(values)
    cautions = _left_out(int((~keep).sum()), value)
    grouping = table.factors.get("group") if use_groups else None
    if grouping is not None and (grouping.codes >= 0).any():
        nameless = keep & (grouping.codes < 0)
        cautions += _left_out(int(nameless.sum()), "group")
        keep &= ~nameless
    else:
        grouping = None
    if not keep.any():
        raise BadInput(
            Fault(
                say("no ball with a mass") if value == "mass" else say("no ball with a length"),
                say("a column {column} with values", column=measured),
            )
        )
    if by != "all" and by not in table.factors:
        raise BadInput(
            Fault(
                say("a column is missing"), say("a column {column}, or --by all", column=by), key=by
            )
        )
    rows = np.flatnonzero(keep)
    time = table.numbers.get("time_s")
    if time is not None and np.isfinite(time).any():
        rows = rows[np.argsort(time[rows], kind="stable")]
    else:
        time = None
    ranks: NDArray[np.int64] | None = None
    names: tuple[str, ...] = ()
    if grouping is not None:
        ranks, names = _ranked(grouping.codes[rows], grouping.names, by_time=time is not None)
    cones, again = _cones(table)
    cautions += again
    if cones is not None and by != "lot":
        cautions += _lots_in_one(table, rows)
    maker = table.factors.get(by)
    return Balls(
        values=values[rows],
        groups=ranks,
        group_names=names,
        cones=None if cones is None else cones[rows],
        makers=None if maker is None else maker.codes[rows],
        maker_names=() if maker is None else maker.names,
        time_s=time[rows] if time is not None and clocks else None,
        condition=condition,
        cautions=cautions,
    )


def _cones(table: Weighings) -> tuple[NDArray[np.int32] | None, tuple[str, ...]]:
    """Cone of each ball; of one name in two dye lots they are two: a cone belongs to one dyeing."""
    cones, lots = table.factors.get("cone"), table.factors.get("lot")
    if cones is None:
        return None, ()
    named = np.flatnonzero(cones.codes >= 0)
    if lots is None or not named.size:
        return cones.codes, ()
    code, lot = cones.codes[named], lots.codes[named]
    last = np.full(len(cones.names), -1, dtype=np.int32)
    last[code] = lot
    if (last[code] == lot).all():
        return cones.codes, ()
    own = cones.codes.copy()
    joined = code.astype(np.int64) * (len(lots.names) + 1) + lot
    own[named] = np.unique(joined, return_inverse=True)[1]
    return own, (
        say("Cone names are used again in another dye lot: each lot's are cones of their own."),
    )


def _lots_in_one(table: Weighings, rows: NDArray[np.intp]) -> tuple[str, ...]:
    """Say that cones of several dye lots differ by their lots too."""
    lots = table.factors.get("lot")
    if lots is None:
        return ()
    codes = lots.codes[rows]
    many = np.unique(codes[codes >= 0]).size
    if many < 2:
        return ()
    return (
        say(
            "{many} dye lots in one chart: where cones are counted, what lots differ by counts as "
            "a difference between cones, and widens the limits.",
            many=many,
        ),
    )


def one_by_one(balls: Balls) -> Balls:
    """Take the balls singly where the file's groups hold several: a chart of individuals."""
    if balls.groups is None or np.bincount(balls.groups).max() < 2:
        return balls
    said = say("The file's groups hold several balls; each ball is a point of its own here.")
    return replace(balls, groups=None, group_names=(), cautions=(*balls.cautions, said))


def _values(
    table: Weighings, value: str, stated: Condition | None
) -> tuple[NDArray[np.float64], str]:
    if value == "mass":
        return net_mass(table, stated)
    found = table.numbers.get("length_m")
    if found is None:
        raise BadInput(Fault(say("a column is missing"), say("a column length_m"), key="length_m"))
    return found, say("Length as reeled.")


def _left_out(balls: int, why: str) -> tuple[str, ...]:
    if not balls:
        return ()
    if why == "mass":
        return (
            say_many("{n} ball has no mass: left out.", "{n} balls have no mass: left out.", balls),
        )
    if why == "length":
        return (
            say_many(
                "{n} ball has no length: left out.", "{n} balls have no length: left out.", balls
            ),
        )
    return (say_many("{n} ball in no group: left out.", "{n} balls in no group: left out.", balls),)


def _ranked(
    codes: NDArray[np.int32], names: tuple[str, ...], *, by_time: bool
) -> tuple[NDArray[np.int64], tuple[str, ...]]:
    """Groups in order: of their first ball in time, else of their numbers, else of the file."""
    used, first = np.unique(codes, return_index=True)
    order = np.argsort(first, kind="stable")
    if not by_time and all(names[code].isdecimal() for code in used.tolist()):
        order = np.argsort([int(names[code]) for code in used.tolist()], kind="stable")
    ranks = np.zeros(len(names), dtype=np.int64)
    ranks[used[order]] = np.arange(order.size)
    return ranks[codes], tuple(names[code] for code in used[order].tolist())


def grouped(balls: Balls, group_size: int, *, maker: int | None = None) -> Grouped:
    """Take the balls of one chart and put them into groups."""
    rows = (
        np.arange(balls.values.size)
        if maker is None or balls.makers is None
        else np.flatnonzero(balls.makers == maker)
    )
    names: tuple[str, ...] | None = None
    cautions: tuple[str, ...] = ()
    if balls.groups is not None:
        ranks = balls.groups[rows]
        used = np.bincount(ranks) > 0
        places = (np.cumsum(used) - 1)[ranks]
        names = tuple(balls.group_names[rank] for rank in np.flatnonzero(used).tolist())
        if names == tuple(str(n) for n in range(1, len(names) + 1)):
            names = None
    else:
        places, left = consecutive(rows.size, group_size)
        rows = rows[: places.size]
        if left:
            cautions = (
                say(
                    "Balls at the end that make no whole group of {size} are left out.",
                    size=group_size,
                ),
            )
    clocks: tuple[str, ...] = ()
    if balls.time_s is not None:
        _, first = np.unique(places, return_index=True)
        clocks = tuple(_clock(at) for at in balls.time_s[rows[first]].tolist())
    return Grouped(
        values=balls.values[rows],
        places=places,
        cones=None if balls.cones is None else balls.cones[rows],
        names=names,
        clocks=clocks,
        cautions=cautions,
    )


def _clock(time_s: float) -> str:
    if math.isnan(time_s):
        return ""
    minutes = int(time_s % _DAY_S) // 60
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
