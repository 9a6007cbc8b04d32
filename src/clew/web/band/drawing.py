"""A control chart drawn straight into the page: a lead steps through winders, so none may be late.

Dashes are limits, dots the target, triangles signals; each says so in words too.
"""

from __future__ import annotations

import html
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from clew.languages import figure, spoken

Pair = tuple[float, float]
_Scale = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Size:
    """Sheet, margins and type of a drawing, in its own units."""

    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    text: float
    dot: float
    ticks: int


SMALL = Size(300, 150, 56, 6, 10, 24, 15, 2.1, 3)
DENSE = 100
"""More places than this are too many for dashes and steps to be told apart."""
_WORD = 4.5
"""Room of a word over a signal, in heights of its letters."""

LARGE = Size(440, 300, 66, 8, 34, 52, 17, 3.2, 5)


@dataclass(frozen=True, slots=True)
class Marks:
    """What is drawn on a control chart; places count from 1.

    Attributes
    ----------
    threads : sequence of sequence of (float, float)
        Points in their order, joined.
    limits, centres : sequence of sequence of (float, float)
        Limits and centre by place, drawn as steps.
    signals : sequence of (float, float, str)
        Points that signal, with the word over them.
    labels : sequence of (float, str, str)
        Height of a line, its words, and where they stand: "over" or "under" its right end.
    x_ticks : sequence of (float, str)
        Places that are named under the chart.
    """

    threads: Sequence[Sequence[Pair]]
    limits: Sequence[Sequence[Pair]]
    centres: Sequence[Sequence[Pair]]
    signals: Sequence[tuple[float, float, str]]
    labels: Sequence[tuple[float, str, str]]
    x_ticks: Sequence[tuple[float, str]]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A control chart but for its target, which moves while all else stays.

    Attributes
    ----------
    under, over : str
        What lies under the target's line and over it.
    labels : sequence of (float, str, str)
        Words of limits, as `Marks.labels`.
    begins : tuple of float
        Heights at which limits begin, on the sheet.
    size : Size
        Sheet and type.
    y_domain : (float, float)
        Ends of the upright axis.
    """

    under: str
    over: str
    labels: Sequence[tuple[float, str, str]]
    begins: tuple[float, ...]
    size: Size
    y_domain: Pair

    def aimed(self, target: float | None, word: str = "") -> Markup:
        """Draw the target's line at its height, with its word over its left; none without one."""
        if target is None:
            return Markup(f"{self.under}{self.over}{self._labels(None)}</svg>")
        size, y = self.size, _upward(self.size, self.y_domain)(target)
        line = f'<path class="target" d="M{size.left:g} {y:g}H{_right(size):g}"/>'
        label = ""
        if word:
            covered = any(0.0 < y - one < 1.3 * size.text for one in self.begins)
            at = y + size.text if covered else y - 5
            label = (
                f'<text class="label start" x="{size.left + 4:g}" y="{at:g}">'
                f"{html.escape(word)}</text>"
            )
        return Markup(f"{self.under}{line}{self.over}{self._labels(y)}{label}</svg>")

    def _labels(self, target_y: float | None) -> str:
        """Words of the limits at their right ends, on the side where the target's line is not."""
        size, parts = self.size, []
        for value, said, where in self.labels:
            y = _upward(size, self.y_domain)(value)
            off = math.inf if target_y is None else target_y - y
            under = where == "under"
            if 0.0 <= (off if under else -off) < 1.3 * size.text:
                under = not under
            drop = size.text if under else -5
            parts.append(
                f'<text class="label" x="{_right(size) - 2:g}" y="{y + drop:g}">'
                f"{html.escape(said)}</text>"
            )
        return "".join(parts)


def _upward(size: Size, y_domain: Pair) -> _Scale:
    """Heights on the sheet."""
    inner_h = size.height - size.top - size.bottom
    low, high = y_domain

    def y(value: float) -> float:
        return round(size.top + inner_h * (high - value) / (high - low), 2)

    return y


def _right(size: Size) -> float:
    return round(size.width - size.right, 2)


def nice_ticks(low: float, high: float, most: int) -> list[float]:
    """Choose round numbers between two ends.

    Parameters
    ----------
    low, high : float
        The ends [unit of the axis].
    most : int
        About how many.

    Returns
    -------
    list of float
        Multiples of 1, 2 or 5 times a power of ten.
    """
    raw = (high - low) / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * one for one in (1, 2, 5, 10) if power * one >= raw * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [step * k for k in range(first, math.floor(high / step + 1e-9) + 1)]


def control_drawing(
    key: str,
    words: tuple[str, str],
    axes: tuple[str, str],
    marks: Marks,
    y_domain: Pair,
    most: int,
    size: Size,
) -> Drawing:
    """Draw a control chart, all but its target.

    Parameters
    ----------
    key : str
        Name on its page; part of the identifiers inside it.
    words : (str, str)
        Title, and what a reader who cannot see it is told.
    axes : (str, str)
        What lies along and upward; not drawn on a small one.
    marks : Marks
        What is drawn.
    y_domain : (float, float)
        Ends of the upright axis.
    most : int
        Places along.
    size : Size
        Sheet and type.

    Returns
    -------
    Drawing
        What a target is drawn into.
    """
    inner_w = size.width - size.left - size.right

    def x(place: float) -> float:
        return round(size.left + inner_w * (place - 0.5) / max(most, 1), 2)

    y, right, floor = _upward(size, y_domain), _right(size), round(size.height - size.bottom, 2)
    under = [_grid(size, y_domain, y, right)]
    for place, text in marks.x_ticks:
        at = x(place)
        under.append(
            f'<path class="tick" d="M{at:g} {floor:g}v5"/>'
            f'<text class="along" x="{at:g}" y="{floor + 5 + size.text:g}">{html.escape(text)}'
            "</text>"
        )
    limit = "limit dense" if most > DENSE else "limit"
    dot = min(size.dot, max(0.45 * inner_w / max(most, 1), 0.8))
    under += [f'<path class="{limit}" d="{_steps(line, x, y)}"/>' for line in marks.limits if line]
    under += [f'<path class="centre" d="{_steps(line, x, y)}"/>' for line in marks.centres if line]
    parts = []
    for thread in marks.threads:
        if thread:
            way = "L".join(f"{x(at):g} {y(value):g}" for at, value in thread)
            parts.append(f'<path class="thread" d="M{way}"/>')
            dots = "".join(_dot(x(at), y(value), dot) for at, value in thread)
            parts.append(f'<path class="dot" d="{dots}"/>')
    last_word = -math.inf
    for at, value, said in sorted(marks.signals):
        reach = 2.6 * size.dot
        parts.append(
            f'<path class="signal" d="M{x(at):g} {y(value) - 1.2 * reach:g}'
            f'l{reach:g} {2 * reach:g}h{-2 * reach:g}z"/>'
        )
        if said and x(at) - last_word > _WORD * size.text:  # words must not cover one another
            last_word = x(at)
            parts.append(
                f'<text class="called" x="{min(max(x(at), size.left + 34), right - 26):g}" '
                f'y="{max(y(value) - 1.8 * reach, size.text):g}">{html.escape(said)}</text>'
            )
    if size is LARGE:
        parts.append(f'<text class="upward" x="2" y="{size.text:g}">{html.escape(axes[1])}</text>')
        parts.append(
            f'<text class="along-title" x="{size.left + inner_w / 2:g}" '
            f'y="{size.height - 4:g}">{html.escape(axes[0])}</text>'
        )
    small = " small" if size is SMALL else ""
    title, described = (html.escape(one) for one in words)
    head = (  # every text in it is escaped
        f'<svg xmlns="http://www.w3.org/2000/svg" class="control{small}" '
        f'viewBox="0 0 {size.width:g} {size.height:g}" width="{size.width:g}" '
        f'height="{size.height:g}" font-size="{size.text:g}" role="img" '
        f'aria-labelledby="{key}-title {key}-desc"><title id="{key}-title">{title}</title>'
        f'<desc id="{key}-desc">{described}</desc>'
    )
    begins = tuple(y(line[0][1]) for line in marks.limits if line)
    return Drawing(head + "".join(under), "".join(parts), marks.labels, begins, size, y_domain)


def _grid(size: Size, y_domain: Pair, y: _Scale, right: float) -> str:
    ticks = nice_ticks(*y_domain, size.ticks)
    step = ticks[1] - ticks[0] if len(ticks) > 1 else abs(y_domain[1] - y_domain[0])
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    return "".join(
        f'<path class="grid" d="M{size.left:g} {y(one):g}H{right:g}"/>'
        f'<text class="up" x="{size.left - 6:g}" y="{y(one) + 0.35 * size.text:g}">'
        f"{spoken(figure(_number(one, places)))}</text>"
        for one in ticks
    )


def _number(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    return (text.lstrip("-") if not text.strip("-0.") else text).replace("-", "−")


def _dot(x: float, y: float, reach: float) -> str:
    half = f"a{reach:g} {reach:g} 0 1 0"
    return f"M{x - reach:g} {y:g}{half} {2 * reach:g} 0{half} {-2 * reach:g} 0"


def _steps(line: Sequence[Pair], x: _Scale, y: _Scale) -> str:
    """Join values by place as steps; equal neighbours are one stroke, gaps stay open."""
    parts: list[str] = []
    last_place, last_y, end = -math.inf, math.nan, ""
    for place, value in line:
        here = y(value)
        if place != last_place + 1:
            parts.append(f"{end}M{x(place - 0.5):g} {here:g}")
        elif here != last_y:
            parts.append(f"H{x(place - 0.5):g}V{here:g}")
        last_place, last_y, end = place, here, f"H{x(place + 0.5):g}"
    return "".join(parts) + end
