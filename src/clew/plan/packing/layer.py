"""How many equal boxes lie in one layer: the most there can be, and whether that is proven."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from clew.faults import BadInput, Fault
from clew.plan.packing.layer_blocks import BlockSearch, Spot
from clew.plan.packing.layer_exact import search_layer
from clew.plan.packing.layer_points import most_boxes

UNIT_MM = 0.01
"""Sides are counted in hundredths of a millimetre: boxes rounded up, the room rounded down."""
EFFORT = 8.0
"""Where the bound is not reached, how long the exact search may take [deterministic s]."""
MOST_IN_SEARCH = 120
"""Boxes in a layer above which only rows and simple cuts are tried."""
_SLACK = 1e-6


@dataclass(frozen=True, slots=True)
class Placed:
    """A rectangle where it lies, seen from above.

    Attributes
    ----------
    x_mm, y_mm : float
        Its corner, from the layer's [mm].
    length_mm, width_mm : float
        Its sides along x and y as it lies [mm].
    turned : bool
        Whether its long side lies along y.
    """

    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float
    turned: bool


@dataclass(frozen=True, slots=True)
class Layer:
    """Equal boxes laid in a rectangle.

    Attributes
    ----------
    length_mm, width_mm : float
        The rectangle [mm].
    placed : tuple of Placed
        Where the boxes lie; as many as the layer holds.
    bound : int
        No layer can hold more.
    """

    length_mm: float
    width_mm: float
    placed: tuple[Placed, ...]
    bound: int

    @property
    def number(self) -> int:
        """Boxes in the layer."""
        return len(self.placed)

    @property
    def proven(self) -> bool:
        """Whether no layer of these boxes can hold more."""
        return self.number >= self.bound

    @property
    def used_frac(self) -> float:
        """Share of the area that is covered [-]."""
        area = sum(one.length_mm * one.width_mm for one in self.placed)
        return area / (self.length_mm * self.width_mm)

    def mirrored(self) -> Layer:
        """The same layer turned by half a turn: laid on the first, its joints are crossed."""
        placed = tuple(
            Placed(
                self.length_mm - one.x_mm - one.length_mm,
                self.width_mm - one.y_mm - one.width_mm,
                one.length_mm,
                one.width_mm,
                one.turned,
            )
            for one in self.placed
        )
        return Layer(self.length_mm, self.width_mm, placed, self.bound)


def best_layer(
    length_mm: float, width_mm: float, box_mm: tuple[float, float], *, effort: float = EFFORT
) -> Layer:
    """Lay as many equal boxes in a rectangle as there is room for, sides along its sides.

    First five blocks, cut again and again; where they do not reach the bound, an exact search
    within a limit that is the same on every machine. `Layer.proven` says whether it is the most.

    Parameters
    ----------
    length_mm, width_mm : float
        The rectangle [mm].
    box_mm : tuple of float
        Length and width of the box [mm]; it may be turned by a quarter, nothing may stand over.
    effort : float
        Limit of the exact search [deterministic s]; 0 leaves it out.

    Returns
    -------
    Layer
        Where each box lies.

    Raises
    ------
    BadInput
        When a side is not above 0.

    Source: R. Morabito and S. Morales 1998 and E. G. Birgin, R. D. Lobato and R. Morabito 2010,
    recursive five-block partitioning (MEMORY of the method); the bound is `most_boxes`.
    """
    sides = {"length_mm": length_mm, "width_mm": width_mm, "box length": box_mm[0]}
    sides["box width"] = box_mm[1]
    faults = [
        Fault("not a size", "above 0 mm", key=key, value=f"{side:g}")
        for key, side in sides.items()
        if not (math.isfinite(side) and side >= UNIT_MM)
    ]
    if faults:
        raise BadInput(faults)
    length, width, a, b, common = _counted(length_mm, width_mm, box_mm)
    spots, bound = _lay(length, width, a, b, effort)
    unit = common * UNIT_MM
    a, b = a * common, b * common
    return Layer(
        length_mm,
        width_mm,
        tuple(
            Placed(
                x * unit,
                y * unit,
                *((b * UNIT_MM, a * UNIT_MM) if turned else (a * UNIT_MM, b * UNIT_MM)),
                turned=turned,
            )
            for x, y, turned in spots
        ),
        bound,
    )


def layer_bound(length_mm: float, width_mm: float, box_mm: tuple[float, float]) -> int:
    """Bound how many equal boxes lie in a rectangle, without laying them; as for `best_layer`."""
    return most_boxes(*_counted(length_mm, width_mm, box_mm)[:4])


def _counted(
    length_mm: float, width_mm: float, box_mm: tuple[float, float]
) -> tuple[int, int, int, int, int]:
    """Sides in the largest unit that measures the box in whole numbers, and that unit."""
    a, b = sorted((math.ceil(side / UNIT_MM - _SLACK) for side in box_mm), reverse=True)
    length, width = (math.floor(side / UNIT_MM + _SLACK) for side in (length_mm, width_mm))
    common = math.gcd(a, b)
    return length // common, width // common, a // common, b // common, common


@lru_cache(maxsize=4096)
def _lay(length: int, width: int, a: int, b: int, effort: float) -> tuple[tuple[Spot, ...], int]:
    bound = most_boxes(length, width, a, b)
    if bound == 0:
        return (), 0
    if bound > MOST_IN_SEARCH:
        return _rows(length, width, a, b), bound
    search = BlockSearch(a, b)
    spots = search.spots(length, width)
    if len(spots) < bound and effort > 0.0:
        found, bound = search_layer(
            length, width, a, b, known=len(spots), bound=bound, effort=effort
        )
        spots = found or spots
    return tuple(spots), bound


def _rows(length: int, width: int, a: int, b: int) -> tuple[Spot, ...]:
    """Lay rows along one wall, some with straight boxes, some with turned ones: the best mix."""
    best: tuple[int, tuple[int, int, int, int]] = (-1, (0, 0, 0, 0))
    for straight in range(width // b + 1):
        turned = (width - straight * b) // a
        kinds = (straight, length // a, turned, length // b)
        best = max(best, (kinds[0] * kinds[1] + kinds[2] * kinds[3], kinds))
    straight, in_row, turned, in_turned = best[1]
    spots = [(at * a, row * b, False) for row in range(straight) for at in range(in_row)]
    low = straight * b
    spots += [(at * b, low + row * a, True) for row in range(turned) for at in range(in_turned)]
    return tuple(spots)
