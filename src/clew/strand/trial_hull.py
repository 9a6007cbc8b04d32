"""The region that a set of steaming trials covers: the convex hull of their times and temperatures.

A hull is chosen over a box because trials are often cut short at the hot end: the corner of the box
with the longest time at the highest temperature may never have been steamed at all.
"""

from __future__ import annotations

from collections.abc import Sequence

Point = tuple[float, float]

_SLACK = 1e-9
"""How far outside, as a part of the region's size, still counts as on its edge [1]."""


def _turn(a: Point, b: Point, c: Point) -> float:
    """Twice the signed area of a triangle; positive when it turns left."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _half(points: Sequence[Point]) -> list[Point]:
    chain: list[Point] = []
    for point in points:
        while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= 0.0:
            chain.pop()
        chain.append(point)
    return chain[:-1]


def convex_hull(points: Sequence[Point]) -> tuple[Point, ...]:
    """Find the corners of the convex hull of points in the plane.

    Parameters
    ----------
    points : sequence of (float, float), shape (n, 2)
        The points, in any two units.

    Returns
    -------
    tuple of (float, float)
        Corners counter-clockwise; two when all points lie on a line, one when all are the same.

    Notes
    -----
    Source: the monotone chain method (MEMORY).
    """
    ordered = sorted(set(points))
    if len(ordered) < 2:
        return tuple(ordered)
    return tuple(_half(ordered) + _half(ordered[::-1]))


def inside(point: Point, corners: Sequence[Point]) -> bool:
    """Say whether a point lies in a convex hull or on its edge.

    Parameters
    ----------
    point : (float, float)
        The point, in the units of the corners.
    corners : sequence of (float, float), shape (n, 2)
        Corners counter-clockwise, as from `convex_hull`.

    Returns
    -------
    bool
        True inside and on the edge.
    """
    spans = []
    for axis in (0, 1):
        values = [corner[axis] for corner in corners]
        low, high = min(values), max(values)
        span = high - low
        slack = _SLACK * (span or max(abs(low), 1.0))
        if not low - slack <= point[axis] <= high + slack:
            return False
        spans.append(span or 1.0)
    slack = _SLACK * spans[0] * spans[1]
    return all(
        _turn(first, second, point) >= -slack
        for first, second in zip(corners, [*corners[1:], corners[0]], strict=True)
    )
