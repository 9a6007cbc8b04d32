"""A colourway's measured colour as a screen shows it, to draw its yarn with."""

from __future__ import annotations

from clew.mill.lots import Cielab, Colour

_SCREEN_WHITE = (0.95047, 1.0, 1.08883)
"""D65 of the 2 degree observer; the measurement's white is shown as it. Source: MEMORY."""
_TO_LINEAR = (
    (3.2404542, -1.5371385, -0.4985314),
    (-0.9692660, 1.8760108, 0.0415560),
    (0.0556434, -0.2040259, 1.0572252),
)
"""XYZ to linear sRGB. Source: IEC 61966-2-1 (MEMORY)."""


def screen_colour(lab: Cielab, *, lighter: float = 0.0) -> str:
    """Write a colour as a screen takes it.

    Parameters
    ----------
    lab : Cielab
        The colour, D65 and the 10 degree observer.
    lighter : float
        What to add to the lightness, for a strand's lit or shaded side [CIELAB L*].

    Returns
    -------
    str
        Six hexadecimal digits after ``#``; what a screen cannot show is cut off.

    Notes
    -----
    A drawing, not a colour match: the observer differs from the screen's 2 degrees and no
    adaptation is made but to the white point. Source: CIE 15, CIELAB to XYZ (MEMORY).
    """
    lightness = min(max(lab.lightness + lighter, 0.0), 100.0)
    fy = (lightness + 16.0) / 116.0
    f = (fy + lab.a / 500.0, fy, fy - lab.b / 200.0)
    xyz = [white * _inverse(t) for white, t in zip(_SCREEN_WHITE, f, strict=True)]
    linear = [sum(k * v for k, v in zip(row, xyz, strict=True)) for row in _TO_LINEAR]
    return "#" + "".join(f"{round(255 * _gamma(value)):02x}" for value in linear)


def _inverse(t: float) -> float:
    return t**3 if t > 6 / 29 else 3 * (6 / 29) ** 2 * (t - 4 / 29)


def _gamma(value: float) -> float:
    value = min(max(value, 0.0), 1.0)
    return 12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055


def strand_colours(colour: Colour | None) -> tuple[str, str, str]:
    """Choose the colours to draw a strand in: its own, a shade of it, and the gap between strands.

    Parameters
    ----------
    colour : Colour or None
        The colourway; undyed yarn when there is none.

    Returns
    -------
    (str, str, str)
        Strand, shaded strand, gap.
    """
    lab = Cielab(lightness=84.0, a=1.0, b=10.0) if colour is None else colour.lab
    deep = -24.0 if lab.lightness > 35.0 else -13.0
    return (
        screen_colour(lab, lighter=3.0),
        screen_colour(lab, lighter=deep / 2.4),
        screen_colour(lab, lighter=deep),
    )
