"""Drawings that are no charts: the ball's section and its cover.

They are plain SVG made of the rooms' own numbers; colours are the page's variables.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from markupsafe import Markup, escape
from numpy.typing import NDArray

from clew.ball.wind.build import Build
from clew.ball.wind.coverage import Coverage
from clew.ball.wind.path import surface_outline
from clew.languages import say, spoken

Floats = NDArray[np.float64]

LAYER_STEPS = 5
"""Shades of the cover, from bare to thickest."""


def svg(
    key: str, title: str, box: tuple[float, float, float, float], parts: Iterable[str], cls: str
) -> Markup:
    """Put a drawing together.

    Parameters
    ----------
    key : str
        Name of the drawing on its page.
    title : str
        What is drawn.
    box : (float, float, float, float)
        Left, top, width and height [mm].
    parts : iterable of str
        What it is made of.
    cls : str
        Class, for the style sheet.

    Returns
    -------
    Markup
        The drawing.
    """
    view = " ".join(f"{side:.1f}" for side in box)
    return Markup(
        f'<svg class="{cls}" viewBox="{view}" role="img" aria-labelledby="{key}-title">'
        f'<title id="{key}-title">{escape(spoken(title))}</title>{"".join(parts)}</svg>'
    )  # fmt: skip


def section_drawing(
    build: Build, mandrel_mm: tuple[float, float], words: tuple[str, str], title: str
) -> Markup:
    """Draw the ball cut along its axis, the mandrel in it, with its two sizes.

    Parameters
    ----------
    build : Build
        The ball as wound.
    mandrel_mm : (float, float)
        Diameter and width of the mandrel [mm].
    words : (str, str)
        Diameter and width of the ball, printed.
    title : str
        What is drawn.

    Returns
    -------
    Markup
        The drawing, axis across.
    """
    out, along = surface_outline(build)
    outline = "L".join(f"{z:.1f} {-x:.1f}" for x, z in zip(out, along, strict=True))
    half, wide = build.diameter_mm / 2, build.width_mm / 2
    diameter, width = mandrel_mm
    text = build.diameter_mm * 0.062
    reach = max(wide, width / 2)
    x, y = -reach - 1.6 * text, half + 2.0 * text
    ends = (
        f"M{x:.1f} {-half:.1f}V{half:.1f}"
        + "".join(f"M{x - text / 2:.1f} {end:.1f}h{text:.1f}" for end in (-half, half))
        + f"M{-wide:.1f} {y:.1f}H{wide:.1f}"
        + "".join(f"M{end:.1f} {y - text / 2:.1f}v{text:.1f}" for end in (-wide, wide))
    )
    parts = (
        f'<path class="yarn" d="M{outline}Z"/>',
        f'<rect class="mandrel" x="{-width / 2:.1f}" y="{-diameter / 2:.1f}" '
        f'width="{width:.1f}" height="{diameter:.1f}"/>',
        f'<path class="axis" d="M{-wide * 1.12:.1f} 0H{wide * 1.12:.1f}"/>',
        f'<path class="measure" d="{ends}"/>',
        _label(words[1], "middle", 0.0, y + 1.5 * text, text),
        _label(words[0], "end", x - text * 0.9, text / 3, text),
        _label(say("mandrel"), "middle", 0.0, -text / 2, text),
    )
    left = x - text * (1.5 + 0.62 * len(spoken(words[0])))
    box = (left, -half - text, reach + text - left, 2 * half + 5.2 * text)
    return svg("section", title, box, parts, "section-drawing")


def _label(words: str, anchor: str, x: float, y: float, size: float) -> str:
    at = f'x="{x:.1f}" y="{y:.1f}"'
    return (
        f'<text font-size="{size:.1f}" text-anchor="{anchor}" {at}>{escape(spoken(words))}</text>'
    )


_HATCH = (
    '<defs><pattern id="hatch" width="0.5" height="0.5" patternUnits="userSpaceOnUse">'
    '<path class="hatch" d="M0 .5L.5 0"/></pattern></defs>'
)


def cover_drawing(cover: Coverage, title: str) -> Markup:
    """Draw how many layers lie where, the ball's surface unrolled: round it across, along it up.

    Parameters
    ----------
    cover : Coverage
        The judged cover with its picture.
    title : str
        What is drawn.

    Returns
    -------
    Markup
        The drawing; bare places are crossed out, so that no shade need be told from another.
    """
    reached = np.flatnonzero(cover.picture_layers.max(axis=1) > 0.0)
    layers = (
        cover.picture_layers[reached[0] : reached[-1] + 1] if reached.size else cover.picture_layers
    )
    highest = float(layers.max()) or 1.0
    step = np.ceil(layers / highest * LAYER_STEPS).astype(int).clip(0, LAYER_STEPS)
    rows, columns = step.shape
    runs: dict[int, list[str]] = {shade: [] for shade in range(LAYER_STEPS + 1)}
    for row in range(rows):
        edges = np.flatnonzero(np.diff(step[row])) + 1
        starts, ends = np.concatenate(([0], edges)), np.concatenate((edges, [columns]))
        for start, end in zip(starts, ends, strict=True):
            shade = int(step[row, start])
            runs[shade].append(f"M{start} {rows - 1 - row}h{end - start}v1h{start - end}z")
    parts = [
        f'<path class="layer" fill-opacity="{shade / LAYER_STEPS:.2f}" d="{"".join(runs[shade])}"/>'
        for shade in range(1, LAYER_STEPS + 1)
        if runs[shade]
    ]
    if runs[0]:
        parts.append(_HATCH + f'<path class="bare" d="{"".join(runs[0])}"/>')
    parts.append(f'<rect class="edge" x="0" y="0" width="{columns}" height="{rows}"/>')
    return svg("cover", title, (-0.5, -0.5, columns + 1.0, rows + 1.0), parts, "cover-drawing")
