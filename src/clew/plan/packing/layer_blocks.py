"""Packing equal rectangles in a rectangle by cutting it into five blocks, again and again.

Five blocks laid like a pinwheel hold every cut from wall to wall as a special case. Each block is
cut the same way, until a block's bound is reached or nothing better is found.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.plan.packing.layer_points import most_boxes, normal_points, raster_points, reduced

LARGEST_SEARCH = 4_000_000
"""Placings of the five blocks looked through at most; then the best so far stands, unproven."""

Spot = tuple[int, int, bool]
"""Left and lower edge of a box, and whether it lies turned."""
_Grid = tuple[bool, int, int]
_Cuts = tuple[int, int, int, int]


class BlockSearch:
    """The best packings of one box in rectangles, remembered.

    Parameters
    ----------
    a, b : int
        Sides of the box.
    """

    def __init__(self, a: int, b: int) -> None:
        self.a, self.b = a, b
        self._best: dict[tuple[int, int], tuple[int, _Grid | _Cuts]] = {}
        self._looked = 0

    def number(self, length: int, width: int) -> int:
        """Count the boxes of the best packing found in a rectangle."""
        return self._solve(reduced(length, self.a, self.b), reduced(width, self.a, self.b))

    def spots(self, length: int, width: int, left: int = 0, low: int = 0) -> list[Spot]:
        """List where the boxes of that packing lie, from a corner."""
        length, width = reduced(length, self.a, self.b), reduced(width, self.a, self.b)
        self._solve(length, width)
        _, how = self._best[length, width]
        if len(how) == 3:
            turned, columns, rows = how
            wide, deep = (self.b, self.a) if turned else (self.a, self.b)
            return [
                (left + column * wide, low + row * deep, turned)
                for column in range(columns)
                for row in range(rows)
            ]
        return [
            spot
            for x, y, far_x, far_y in _blocks(length, width, how)
            for spot in self.spots(far_x - x, far_y - y, left + x, low + y)
        ]

    def _solve(self, length: int, width: int) -> int:
        known = self._best.get((length, width))
        if known is not None:
            return known[0]
        a, b = self.a, self.b
        straight, turned = (length // a, width // b), (length // b, width // a)
        grids: list[_Grid] = [(False, *straight), (True, *turned)]
        grid = max(grids, key=lambda one: one[1] * one[2])
        best: tuple[int, _Grid | _Cuts] = (grid[1] * grid[2], grid)
        bound = most_boxes(length, width, a, b)
        self._best[length, width] = best  # a block as large as the whole is no cut
        if best[0] < bound:
            best = self._cut_through(length, width, bound, best)
        if best[0] < bound:
            best = self._cut_in_five(length, width, bound, best)
        self._best[length, width] = best
        return best[0]

    def _cut_through(
        self, length: int, width: int, bound: int, best: tuple[int, _Grid | _Cuts]
    ) -> tuple[int, _Grid | _Cuts]:
        for x in normal_points(length // 2, self.a, self.b)[1:]:
            if most_boxes(x, width, self.a, self.b) == 0:
                continue
            number = self.number(x, width) + self.number(length - x, width)
            if number > best[0]:
                best = (number, (x, x, 0, 0))
            if number >= bound:
                return best
        for y in normal_points(width // 2, self.a, self.b)[1:]:
            if most_boxes(length, y, self.a, self.b) == 0:
                continue
            number = self.number(length, y) + self.number(length, width - y)
            if number > best[0]:
                best = (number, (length, length, y, y))
            if number >= bound:
                return best
        return best

    def _cut_in_five(
        self, length: int, width: int, bound: int, best: tuple[int, _Grid | _Cuts]
    ) -> tuple[int, _Grid | _Cuts]:
        xs = raster_points(length, self.a, self.b)[1:-1]
        ys = raster_points(width, self.a, self.b)[1:-1]
        for x1 in (x for x in xs if 2 * x <= length):  # the mirror image does the other half
            for x2 in (x for x in xs if x > x1):
                if not ys or self._looked > LARGEST_SEARCH:
                    return best
                self._looked += len(ys) ** 2
                hopes = self._hopes(length, width, x1, x2, np.array(ys))
                places = np.argwhere(hopes > best[0])
                for low, high in sorted(places.tolist(), key=lambda at: -int(hopes[at[0], at[1]])):
                    if hopes[low, high] <= best[0]:
                        break
                    cuts = (x1, x2, ys[low], ys[high])
                    number = self._count(length, width, cuts, best[0])
                    if number > best[0]:
                        best = (number, cuts)
                        self._best[length, width] = best
                    if number >= bound:
                        return best
        return best

    def _hopes(
        self, length: int, width: int, x1: int, x2: int, ys: NDArray[np.int64]
    ) -> NDArray[np.int64]:
        """Bound what five blocks hold together, for every pair of heights of the cuts."""

        def most(across: int, heights: NDArray[np.int64]) -> NDArray[np.int64]:
            return np.array([most_boxes(across, int(one), self.a, self.b) for one in heights])

        left, low = most(x1, width - ys), most(x2, ys)
        top, right = most(length - x1, width - ys), most(length - x2, ys)
        gaps = ys[None, :] - ys[:, None]
        kinds, where = np.unique(np.maximum(gaps, 0), return_inverse=True)
        middle = most(x2 - x1, kinds)[where.reshape(gaps.shape)]
        hopes = (left + low)[:, None] + (top + right)[None, :] + middle
        return np.where(gaps > 0, hopes, 0)

    def _count(self, length: int, width: int, cuts: _Cuts, beat: int) -> int:
        """Count what five blocks hold, and stop where they can no longer beat what is known."""
        sides = [(fx - x, fy - y) for x, y, fx, fy in _blocks(length, width, cuts)]
        hopes = [most_boxes(*side, self.a, self.b) for side in sides]
        total = sum(hopes)
        for side, hope in zip(sides, hopes, strict=True):
            if hope:
                total += self.number(*side) - hope
            if total <= beat:
                return total
        return total


def _blocks(length: int, width: int, cuts: _Cuts) -> list[tuple[int, int, int, int]]:
    """Corners of the five blocks: left, top, middle, low and right."""
    x1, x2, y1, y2 = cuts
    return [
        (0, y1, x1, width),
        (x1, y2, length, width),
        (x1, y1, x2, y2),
        (0, 0, x2, y1),
        (x2, 0, length, y2),
    ]
