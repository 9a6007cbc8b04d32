"""Bags in a case: the most a listed case holds, and the least case round so many bags."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from clew.plan.packing.bag import Bag, three_factors
from clew.plan.packing.ball_block import Box
from clew.plan.packing.layer import Layer, best_layer, layer_bound

AXES = ("length", "width", "height")
_GROW_MM = 400
"""Most that a side of a case is tried longer by."""


@dataclass(frozen=True, slots=True)
class CaseLayer:
    """A layer of bags in a case.

    Attributes
    ----------
    layer : Layer
        The bags in it.
    thickness_mm : float
        How much of the case it takes up along the side it is stacked along [mm].
    """

    layer: Layer
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class CaseFit:
    """Bags in a case.

    Attributes
    ----------
    bag : Bag
        How the balls lie in each bag.
    inner_mm : tuple of float
        Room in the case: length, width, height [mm].
    along : int
        Along which of the three the layers are stacked.
    layers : tuple of CaseLayer
        From the bottom, or from one end.
    bound : int
        No way to lay these bags as boxes holds more, in layers or not.
    """

    bag: Bag
    inner_mm: Box
    along: int
    layers: tuple[CaseLayer, ...]
    bound: int

    @property
    def number(self) -> int:
        """Bags in the case."""
        return sum(one.layer.number for one in self.layers)

    @property
    def used_frac(self) -> float:
        """Share of the room that the bags take up [-]."""
        return self.number * self.bag.volume_mm3 / math.prod(self.inner_mm)


def most_bags(sides_mm: Box, inner_mm: Box) -> int:
    """Bound how many equal boxes a case holds: its volume, each side cut down to whole sums.

    Source: DERIVED; every packing can be pushed to one corner, so that a side is used only as far
    as a sum of sides of the boxes reaches.
    """
    room = math.prod(_used(side, sides_mm) for side in inner_mm)
    return math.floor(room / math.prod(sides_mm) + 1e-9)


def _used(length: float, sides: Box) -> float:
    """Longest sum of whole sides within a length [mm]."""
    small, middle, large = sorted(sides)
    return max(
        (
            third + second + (length - third - second + 1e-9) // small * small
            for third in _multiples(large, length)
            for second in _multiples(middle, length - third)
        ),
        default=0.0,
    )


def _multiples(side: float, room: float) -> list[float]:
    return [side * count for count in range(math.floor(room / side + 1e-9) + 1)]


def fit_bags(bag: Bag, inner_mm: Box, *, beat: int = 0) -> CaseFit:
    """Fill a case with equal bags, laid in layers.

    Layers are stacked along each side of the case in turn; in each layer all bags stand on one
    side, in the best layer there is; layers of all three kinds are mixed as the room allows.

    Parameters
    ----------
    bag : Bag
        The bag.
    inner_mm : tuple of float
        Room in the case: length, width, height [mm].
    beat : int
        A number that is known: what cannot hold more is not looked into.

    Returns
    -------
    CaseFit
        The most found; with no layers where not one bag, or no more than ``beat``, is found to fit.

    Source: DERIVED; layers by `clew.plan.packing.layer.best_layer`.
    """
    best = CaseFit(bag, inner_mm, 2, (), most_bags(bag.sides_mm, inner_mm))
    for along in (2, 1, 0):
        known = max(best.number, beat)
        if known >= best.bound:
            return best
        found = _stacked(bag, inner_mm, along, known)
        if sum(one.layer.number for one in found) > known:
            best = CaseFit(bag, inner_mm, along, found, best.bound)
    return best


def _stacked(bag: Bag, inner: Box, along: int, beat: int) -> tuple[CaseLayer, ...]:
    base = [side for axis, side in enumerate(inner) if axis != along]
    kinds: dict[float, tuple[float, float]] = {}
    for up in (2, 1, 0):
        flat = [side for axis, side in enumerate(bag.sides_mm) if axis != up]
        kinds.setdefault(bag.sides_mm[up], (flat[0], flat[1]))
    hopes = [(thick, layer_bound(base[0], base[1], flat)) for thick, flat in kinds.items()]
    if _fill(inner[along], hopes)[0] <= beat:
        return ()
    layers = [best_layer(base[0], base[1], flat, effort=0.0) for flat in kinds.values()]
    _, counts = _fill(
        inner[along], [(thick, one.number) for thick, one in zip(kinds, layers, strict=True)]
    )
    return tuple(
        CaseLayer(layer, thick)
        for thick, layer, count in zip(kinds, layers, counts, strict=True)
        for _ in range(count)
    )


def _fill(height: float, kinds: list[tuple[float, int]]) -> tuple[int, tuple[int, ...]]:
    """Choose how many layers of each kind fill a height best; the fewest layers of equals."""
    stack: list[tuple[int, float, tuple[int, ...]]] = [(0, height, ())]
    for thick, number in kinds:
        stack = [
            (total + count * number, left - count * thick, (*counts, count))
            for total, left, counts in stack
            for count in range(math.floor(left / thick + 1e-9) + 1 if number else 1)
        ]
    total, _, counts = max(stack, key=lambda one: (one[0], -sum(one[2])))
    return total, counts


def best_fit(bags: tuple[Bag, ...], inner_mm: Box) -> CaseFit:
    """Choose how balls lie in the bag so that most bags fit; the most compact bag of equals.

    Parameters
    ----------
    bags : tuple of Bag
        Ways to lay the balls, preferred first.
    inner_mm : tuple of float
        Room in the case [mm].

    Returns
    -------
    CaseFit
        The best of them, its bound that of all of them.
    """
    best = fit_bags(bags[0], inner_mm)
    for bag in bags[1:]:
        found = fit_bags(bag, inner_mm, beat=best.number)
        best = found if found.number > best.number else best
    return replace(best, bound=max(most_bags(bag.sides_mm, inner_mm) for bag in bags))


def holds(bags: tuple[Bag, ...], inner_mm: Box, wanted: int) -> bool:
    """Say whether so many bags are found to fit, in one way or another."""
    return any(fit_bags(bag, inner_mm, beat=wanted - 1).number >= wanted for bag in bags)


def longer_by(bags: tuple[Bag, ...], inner_mm: Box, wanted: int) -> tuple[tuple[str, int], ...]:
    """Find by how much one side of a case must grow until so many bags fit.

    Parameters
    ----------
    bags : tuple of Bag
        Ways to lay the balls.
    inner_mm : tuple of float
        Room in the case [mm].
    wanted : int
        Bags that are to fit.

    Returns
    -------
    tuple of (str, int)
        Side and whole millimetres, the least first; a side is left out where 400 mm do not do.
    """

    def grown(axis: int, by: int) -> Box:
        sides = [side + (by if at == axis else 0) for at, side in enumerate(inner_mm)]
        return sides[0], sides[1], sides[2]

    found = []
    for axis, name in enumerate(AXES):
        if not holds(bags, grown(axis, _GROW_MM), wanted):
            continue
        low, high = 0, _GROW_MM
        while high - low > 1:
            half = (low + high) // 2
            low, high = (low, half) if holds(bags, grown(axis, half), wanted) else (half, high)
        found.append((name, high))
    return tuple(sorted(found, key=lambda one: one[1]))


@dataclass(frozen=True, slots=True)
class FreeCase:
    """The least case round so many bags.

    Attributes
    ----------
    bag : Bag
        How the balls lie in each.
    counts : tuple of int
        Bags along the case's length, width and height.
    inner_mm, outer_mm : tuple of float
        Length, width, height, inside and outside [mm].
    board_m2 : float
        Area of the board, as a plain slotted case [m2].
    """

    bag: Bag
    counts: tuple[int, int, int]
    inner_mm: Box
    outer_mm: Box
    board_m2: float


def outer_of(inner_mm: Box, board_mm: float) -> Box:
    """Outside of a case: two thicknesses of board on each side [mm]."""
    length, width, height = inner_mm
    return length + 2.0 * board_mm, width + 2.0 * board_mm, height + 2.0 * board_mm


def slotted_board_m2(outer_mm: Box) -> float:
    """Area of board of a plain slotted case [m2]: 2 (L + W) (H + W), with L the longer.

    Source: DERIVED from its blank, four walls with flaps of half a width above and below; the
    glued edge is left out.
    """
    length, width = max(outer_mm[0], outer_mm[1]), min(outer_mm[0], outer_mm[1])
    return 2.0 * (length + width) * (outer_mm[2] + width) / 1e6


def free_case(bags: tuple[Bag, ...], wanted: int, board_mm: float) -> FreeCase:
    """Find the case of least board that holds so many bags in rows, columns and layers.

    Parameters
    ----------
    bags : tuple of Bag
        Ways to lay the balls.
    wanted : int
        Bags in the case.
    board_mm : float
        Thickness of the board [mm].

    Returns
    -------
    FreeCase
        The least, rounded up to whole millimetres.

    Source: DERIVED, every product of three.
    """
    best: FreeCase | None = None
    for bag in bags:
        for counts in three_factors(wanted):
            for up in range(3):
                order = [axis for axis in range(3) if axis != up]
                order.sort(key=lambda axis: -counts[axis] * bag.sides_mm[axis])
                axes = (*order, up)
                room = [math.ceil(counts[axis] * bag.sides_mm[axis] - 1e-6) for axis in axes]
                inner = (float(room[0]), float(room[1]), float(room[2]))
                outer = outer_of(inner, board_mm)
                area = slotted_board_m2(outer)
                if best is None or area < best.board_m2 - 1e-9:
                    along = (counts[axes[0]], counts[axes[1]], counts[axes[2]])
                    best = FreeCase(bag, along, inner, outer, area)
    assert best is not None  # every number is a product of three
    return best
