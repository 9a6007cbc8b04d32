"""A case and a pallet drawn: a layer from above, the stack from the side, at one scale each."""

from __future__ import annotations

from markupsafe import Markup

from clew.plan.packing.drawing import Drawing
from clew.web.drawn.drawing import svg

_EDGE = 0.02
"""Room round a drawing, as a share of its longer side."""


def pack_drawing(drawing: Drawing) -> Markup:
    """Draw one picture of a packing.

    Parameters
    ----------
    drawing : Drawing
        Rectangles in millimetres, y upwards.

    Returns
    -------
    Markup
        The drawing; boxes that lie turned by a quarter have a stroke across, so that colour alone
        says nothing.
    """
    wide, high = drawing.width_mm, drawing.height_mm
    edge = _EDGE * max(wide, high)
    parts = [f'<rect class="room" width="{wide:.1f}" height="{high:.1f}"/>']
    for one in drawing.rects:
        top = high - one.y_mm - one.height_mm
        classes = one.kind + (" turned" if one.turned else "")
        parts.append(
            f'<rect class="{classes}" x="{one.x_mm:.1f}" y="{top:.1f}" '
            f'width="{one.width_mm:.1f}" height="{one.height_mm:.1f}"/>'
        )
        if one.turned:
            parts.append(
                f'<path class="across" d="M{one.x_mm:.1f} {top:.1f}'
                f'l{one.width_mm:.1f} {one.height_mm:.1f}"/>'
            )
    box = (-edge, -edge, wide + 2.0 * edge, high + 2.0 * edge)
    return svg(f"pack-{drawing.key}", drawing.words, box, parts, "pack-drawing")
