"""Where the seconds go: bars of a whole, cause by cause, each cause with its own pattern."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from clew.languages import figure, say, spoken

WIDE = 400.0
_BAR = 24.0
_ROW = 52.0
_TEXT = 16.4
_NARROWEST = 46.0
"""A part narrower than this carries no number of its own."""
HATCHED = ("waiting_for_doff", "starved", "broken", "changing", "resting", "walking")
"""Parts with a pattern of their own; the others are plain."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: its name, and its parts as shares of the whole, in order."""

    name: str
    shares: Mapping[str, float]


PATTERNS = Markup(
    '<svg class="defs" width="0" height="0" aria-hidden="true" focusable="false"><defs>'
    '<pattern id="p-slant" width="7" height="7" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path class="p-late" d="M0 0V7"/></pattern>'
    '<pattern id="p-steps" width="7" height="7" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(-45)"><path class="p-hand" d="M0 0V7"/></pattern>'
    '<pattern id="p-cross" width="8" height="8" patternUnits="userSpaceOnUse">'
    '<path class="p-line" d="M0 0L8 8M8 0L0 8"/></pattern>'
    '<pattern id="p-dots" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<circle class="p-dot" cx="3.5" cy="3.5" r="1.5"/></pattern>'
    '<pattern id="p-upright" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path class="p-line" d="M3 0V6"/></pattern>'
    '<pattern id="p-level" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path class="p-hand" d="M0 3H6"/></pattern></defs></svg>'
)
"""Patterns of the parts, once on a page; their lines are coloured by the style sheet."""


def bars(key: str, title: str, rows: Sequence[Bar], names: Mapping[str, str]) -> Markup:
    """Draw bars of a whole.

    Parameters
    ----------
    key : str
        Name on the page.
    title : str
        What is drawn.
    rows : sequence of Bar
        The bars, from above; the shares of each add up to 1.
    names : mapping of str to str
        What each part is called.

    Returns
    -------
    Markup
        The drawing.
    """
    parts = []
    for place, row in enumerate(rows):
        top = place * _ROW
        parts.append(
            f'<text class="bar-name" x="0" y="{top + _TEXT:.0f}" font-size="{_TEXT:g}">'
            f"{escape(spoken(row.name))}</text>"
        )
        parts += _parts(row, top + _TEXT + 7.0, names)
    high = len(rows) * _ROW
    return Markup(
        f'<svg class="bars" viewBox="-1 0 {WIDE + 2:g} {high:.0f}" role="img" '
        f'aria-labelledby="{key}-title"><title id="{key}-title">{escape(spoken(title))}</title>'
        f"{''.join(parts)}</svg>"
    )


def _parts(row: Bar, top: float, names: Mapping[str, str]) -> Iterator[str]:
    x = 0.0
    for part, share in row.shares.items():
        wide = WIDE * share
        if wide < 0.2:
            x += wide
            continue
        box = f'x="{x:.1f}" y="{top:.0f}" width="{wide:.1f}" height="{_BAR:g}"'
        said = say("{what} {share}", what=names[part], share=figure(f"{100 * share:.1f} %"))
        yield f'<g class="part-of {part}"><title>{escape(spoken(said))}</title>'
        yield f'<rect class="under" {box}/><rect class="over" {box}/>'
        if wide >= _NARROWEST:
            if part in HATCHED:
                yield (
                    f'<rect class="plate" x="{x + wide / 2 - 22:.1f}" y="{top + 2:.0f}" '
                    f'width="44" height="{_BAR - 4:g}" rx="3"/>'
                )
            yield (
                f'<text x="{x + wide / 2:.1f}" y="{top + _BAR * 0.72:.1f}" '
                f'font-size="{_TEXT * 0.95:g}">{100 * share:.0f} %</text>'
            )
        yield "</g>"
        x += wide


def swatch(part: str) -> Markup:
    """A piece of a part's pattern, for a legend."""
    return Markup(
        '<svg class="bars swatch" viewBox="-1 -1 34 22" width="34" height="22" aria-hidden="true">'
        f'<g class="part-of {escape(part)}"><rect class="under" width="32" height="20"/>'
        '<rect class="over" width="32" height="20"/></g></svg>'
    )
