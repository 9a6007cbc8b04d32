"""Where the edges of equal rectangles can lie, and how many of them a rectangle holds at most."""

from __future__ import annotations

from functools import lru_cache

Points = tuple[int, ...]


@lru_cache(maxsize=4096)
def normal_points(length: int, a: int, b: int) -> Points:
    """List where an edge can lie: whole numbers of ``a`` and ``b`` from the wall, to ``length``.

    Every packing can be pushed to the left and down until each box touches a wall or a box, so no
    other places are needed.

    Parameters
    ----------
    length, a, b : int
        A side of the rectangle and the sides of the boxes, in one unit of length.

    Returns
    -------
    tuple of int
        The places from 0, rising.

    Source: J. C. Herz 1972 and N. Christofides and C. Whitlock 1977, normal patterns (MEMORY).
    """
    found = {
        whole_a + whole_b
        for whole_a in range(0, length + 1, a)
        for whole_b in range(0, length - whole_a + 1, b)
    }
    return tuple(sorted(found))


@lru_cache(maxsize=4096)
def raster_points(length: int, a: int, b: int) -> Points:
    """List the places worth a cut: normal points, each rounded as seen from the far wall.

    Source: J. Terno, R. Lindemann and G. Scheithauer 1987, raster points (MEMORY).
    """
    return tuple(sorted({reduced(length - point, a, b) for point in normal_points(length, a, b)}))


@lru_cache(maxsize=65536)
def reduced(length: int, a: int, b: int) -> int:
    """Shorten a side to the largest sum of whole boxes in it: nothing more can be used."""
    return max(whole_a + (length - whole_a) // b * b for whole_a in range(0, length + 1, a))


def bar_waste(length: int, width: int, bar: int) -> int:
    """Least area left bare by bars of ``bar`` by 1 in a rectangle of whole sides.

    Source: F. W. Barnes 1979, Packing the maximum number of m × n tiles in a large p × q rectangle
    (MEMORY of the formula; the tests fill small rectangles by brute force).
    """
    rest, other = length % bar, width % bar
    return min(rest * other, (bar - rest) * (bar - other))


@lru_cache(maxsize=65536)
def most_boxes(length: int, width: int, a: int, b: int) -> int:
    """Bound the number of ``a`` by ``b`` boxes, turned or not, in a rectangle.

    The area of the rectangle shortened to whole sums of sides, less what bars as long as the one
    side of a box, or the other, must leave bare: a box is made of such bars.

    Parameters
    ----------
    length, width, a, b : int
        Sides in one unit of length.

    Returns
    -------
    int
        No packing holds more.

    Source: F. W. Barnes 1979 (MEMORY); shortening DERIVED from normal patterns.
    """
    if min(length, width) < min(a, b) or max(length, width) < max(a, b):
        return 0
    length, width = reduced(length, a, b), reduced(width, a, b)
    waste = max(bar_waste(length, width, a), bar_waste(length, width, b))
    if length < a or width < a:  # turned boxes have no room: only rows of one kind
        return max(length // a * (width // b), length // b * (width // a))
    return (length * width - waste) // (a * b)
