"""The chances of drawn inspections: standard normal numbers, before any spread is put to them.

They are drawn apart from the spreads, so that two spreads can be tried on the very same chances and
what differs between the answers is the spread and not the luck of the draw.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.packages.plan import Quantity
from clew.checks.target.spread import LEVELS, Floats, Level, LevelName, Spread
from clew.faults import BadInput, Fault

_BLOCK = 1_500_000
"""Balls in one block of inspections: memory does not grow with their number."""
_DRAWINGS = 256
"""Ways to draw the sample's places in the lot that one block uses, each for many inspections."""
_STREAM: dict[LevelName, int] = {"lot": 0, "cone": 1, "winder": 2, "within": 3}


@dataclass(frozen=True, slots=True)
class LotMake:
    """What a lot is made of.

    Attributes
    ----------
    balls : int
        Balls in the lot.
    balls_per_cone : int
        Balls wound from one cone, one after another.
    winders : int
        Winders the cones are shared out to.
    """

    balls: int
    balls_per_cone: int = 1
    winders: int = 1

    def __post_init__(self) -> None:
        for key in ("balls", "balls_per_cone", "winders"):
            value = getattr(self, key)
            if not 1 <= value <= 10_000_000:
                raise BadInput(
                    Fault("not a number of them", "1 to 10 000 000", key=key, value=str(value))
                )


@dataclass(frozen=True, slots=True)
class Unit:
    """Standard normal numbers of one level, laid out ball by ball.

    Attributes
    ----------
    first, second : array of float, shape (rows, 1 or drawn)
        For mass, and the independent part for length; second is empty where it is not needed.
    doubt : array of float, shape (rows, 1)
        For the doubt of the level's standard deviation.
    """

    first: Floats
    second: Floats
    doubt: Floats


@dataclass(frozen=True, slots=True)
class Chances:
    """One block of inspections, as chances.

    Attributes
    ----------
    rows, drawn : int
        Inspections, and balls of each.
    units : dict of str to Unit
        Levels that vary.
    common : array of float, shape (4, rows)
        For what all balls of a sample share: setting, regain, weighing, reeling.
    """

    rows: int
    drawn: int
    units: dict[LevelName, Unit]
    common: Floats

    def parts(self, spread: Spread, quantity: Quantity) -> Floats:
        """What each ball differs by under a spread [-], shape (rows, drawn)."""
        found = np.zeros((self.rows, self.drawn))
        for name, unit in self.units.items():
            level = spread.level(name)
            sd = level.mass if quantity == "mass" else level.length
            if sd.none:
                continue
            normal = unit.first
            if quantity == "length" and level.correlation < 1.0:
                r = level.correlation
                normal = r * unit.first + math.sqrt(1.0 - r * r) * unit.second
            found += sd.drawn(unit.doubt) * normal
        return found


def chance_blocks(
    lot: LotMake,
    spread: Spread,
    drawn: int,
    *,
    inspections: int,
    seed: int,
    with_length: bool = True,
) -> Iterator[Chances]:
    """Draw the chances of inspections, block by block.

    Parameters
    ----------
    lot : LotMake
        The lot.
    spread : Spread
        Which levels vary at all.
    drawn : int
        Balls of one inspection.
    inspections : int
        How many.
    seed : int
        Seed; a level's chances do not depend on which others vary.
    with_length : bool
        Draw what only lengths need too; what masses meet is the same without it.

    Yields
    ------
    Chances
        Blocks that together hold all inspections.
    """
    rows = max(_BLOCK // drawn, 1)
    for number, start in enumerate(range(0, inspections, rows)):
        here = min(rows, inspections - start)
        yield _block(lot, spread, here, drawn, (seed, number), with_length)


def _block(
    lot: LotMake,
    spread: Spread,
    rows: int,
    drawn: int,
    block: tuple[int, int],
    with_length: bool,
) -> Chances:
    cones = winders = None
    if not (_none(spread.cone) and _none(spread.winder)):
        cones, winders = _places(lot, rows, drawn, _stream(block, 20))
    columns = {
        "lot": 1,
        "cone": 0 if cones is None else int(cones.max()) + 1,
        "winder": lot.winders,
        "within": drawn,
    }
    units: dict[LevelName, Unit] = {}
    for name in LEVELS:
        level = spread.level(name)
        if _none(level):
            continue
        place = cones if name == "cone" else winders if name == "winder" else None
        shape = (rows, columns[name])
        first = _laid(_stream(block, _STREAM[name]).standard_normal(shape), place)
        second = np.empty((rows, 0))
        if with_length and not level.length.none and level.correlation < 1.0:
            second = _laid(_stream(block, 8 + _STREAM[name]).standard_normal(shape), place)
        doubt = _stream(block, 4 + _STREAM[name]).standard_normal((rows, 1))
        units[name] = Unit(first, second, doubt)
    return Chances(rows, drawn, units, _stream(block, 30).standard_normal((4, rows)))


def _stream(block: tuple[int, int], number: int) -> np.random.Generator:
    return np.random.default_rng([*block, number])


def _none(level: Level) -> bool:
    return level.mass.none and level.length.none


def _laid(normal: Floats, place: NDArray[np.intp] | None) -> Floats:
    return normal if place is None else np.take_along_axis(normal, place, axis=1)


def _places(
    lot: LotMake, rows: int, drawn: int, rng: np.random.Generator
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Draw places in the lot without putting back; give each ball's cone and winder.

    Cone k holds balls k b to k b + b - 1 and hangs on the lane of winder k modulo winders. A block
    uses a few hundred drawings of places, each for many inspections: cones and winders are alike
    before they are drawn, so only how many balls share one matters.
    """
    drawings = min(_DRAWINGS, rows)
    cones = np.empty((drawings, drawn), dtype=np.intp)
    winders = np.empty((drawings, drawn), dtype=np.intp)
    for number in range(drawings):
        cone = rng.choice(lot.balls, drawn, replace=False) // lot.balls_per_cone
        winders[number] = cone % lot.winders
        cones[number] = np.unique(cone, return_inverse=True)[1]
    which = np.arange(rows) % drawings
    return cones[which], winders[which]
