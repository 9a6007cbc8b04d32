"""The wound ball drawn with its real path, for paper and for a page without script."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from clew.web.drawn.drawing import svg

Floats = NDArray[np.float64]

VIEW_TURN_DEG, VIEW_NOD_DEG = 28.0, 24.0
"""How the drawn ball is held: turned about its axis, and nodded towards the reader."""
DRAWN_TURNS = 260
"""Turns drawn, the last ones laid; those under them are hidden."""


def held(
    points_mm: Floats, turn_deg: float = VIEW_TURN_DEG, nod_deg: float = VIEW_NOD_DEG
) -> Floats:
    """Turn points so that the ball's axis lies across the picture, a little towards the reader.

    Parameters
    ----------
    points_mm : ndarray, shape (n, 3)
        Points in the ball's frame, its axis along z [mm].
    turn_deg, nod_deg : float
        Turn of the ball about its axis; swing of the axis towards the reader [deg].

    Returns
    -------
    ndarray, shape (n, 3)
        To the right, up, and towards the reader [mm].
    """
    spin, nod = math.radians(turn_deg), math.radians(nod_deg)
    x = points_mm[:, 0] * math.cos(spin) - points_mm[:, 1] * math.sin(spin)
    y = points_mm[:, 0] * math.sin(spin) + points_mm[:, 1] * math.cos(spin)
    along = points_mm[:, 2]
    right = along * math.cos(nod) - y * math.sin(nod)
    near = along * math.sin(nod) + y * math.cos(nod)
    return np.column_stack((right, x, near))


def ball_drawing(
    points_mm: Floats, steps: int, strand_mm: float, ends: tuple[Floats, Floats, float],
    colours: tuple[str, str, str], title: str,
) -> Markup:  # fmt: skip
    """Draw the wound ball from its path, the strands on the near side only.

    Parameters
    ----------
    points_mm : ndarray, shape (n, 3)
        The path, oldest first [mm].
    steps : int
        Points a turn.
    strand_mm : float
        Width of the strand [mm].
    ends : (ndarray, ndarray, float)
        Latitudes [deg] and distances from the centre [mm] of the surface beyond the strand's reach,
        towards the pole, and the diameter of the hole left by the mandrel [mm].
    colours : (str, str, str)
        Of the strand, of its shaded side, and of the gap between strands.
    title : str
        What is drawn.

    Returns
    -------
    Markup
        The drawing.
    """
    last = points_mm[-(DRAWN_TURNS * steps + 1) :]
    at = held(last)
    reach = float(np.abs(held(points_mm)[:, :2]).max()) + strand_mm
    strand, shade, gap = colours
    runs: list[str] = []
    for place, start in enumerate(range(0, len(at) - 1, steps)):
        turn = at[start : start + steps + 1]
        d = "".join(_visible_runs(turn))
        if d:
            runs.append(f'<path d="{d}" stroke="{strand if place % 2 else shade}"/>')
    outline = _hull(held(points_mm[-(DRAWN_TURNS * steps + 1) :])[:, :2])
    body = "".join(f"{'M' if i == 0 else 'L'}{x:.1f} {-y:.1f}" for i, (x, y) in enumerate(outline))
    parts = (
        f'<path d="{body}Z" fill="{gap}" stroke="var(--edge)" stroke-width="{strand_mm / 3:.2f}"/>',
        *_near_end(ends, shade, gap),
        f'<g fill="none" stroke-width="{0.86 * strand_mm:.2f}" '
        'stroke-linecap="round" stroke-linejoin="round">',
        *runs,
        "</g>",
    )
    return svg("ball", title, (-reach, -reach, 2 * reach, 2 * reach), parts, "ball-drawing")


def _near_end(ends: tuple[Floats, Floats, float], shade: str, gap: str) -> Iterable[str]:
    """Draw the end face that is seen: yarn that slid there, as rings, and the mandrel's hole."""
    latitude, radius, hole_mm = np.radians(ends[0]), ends[1], ends[2]
    around = np.linspace(0.0, 2.0 * math.pi, 49)
    side = 1.0 if held(np.array([[0.0, 0.0, 1.0]]))[0, 2] > 0.0 else -1.0
    for out, along in zip(radius * np.cos(latitude), side * radius * np.sin(latitude), strict=True):
        bore = 2.0 * out <= 1.04 * hole_mm
        ring = np.column_stack((out * np.cos(around), out * np.sin(around), np.full(49, along)))
        d = "L".join(f"{x:.1f} {-y:.1f}" for x, y, _ in held(ring))
        yield f'<path d="M{d}Z" fill="{gap if bore else shade}" stroke="{gap}" stroke-width="0.6"/>'
        if bore:
            return


def _visible_runs(turn: Floats) -> Iterable[str]:
    """Write the pieces of a turn that face the reader as moves and lines."""
    drawing = False
    for right, up, near in turn:
        if near < 0.0:
            drawing = False
            continue
        yield f"{'L' if drawing else 'M'}{right:.1f} {-up:.1f}"
        drawing = True


def _hull(flat: Floats) -> Floats:
    """Outermost points by direction, enough for a round thing."""
    angle = np.arctan2(flat[:, 1], flat[:, 0])
    sector = ((angle + math.pi) / (2 * math.pi) * 72).astype(int).clip(0, 71)
    distance = np.hypot(flat[:, 0], flat[:, 1])
    found = [
        int(np.flatnonzero(sector == s)[np.argmax(distance[sector == s])])
        for s in range(72)
        if (sector == s).any()
    ]
    return flat[found]
