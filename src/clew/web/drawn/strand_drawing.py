"""A strand laid out like lines of text: every join by its kind, and under it how it may be cut.

Shape and letter say what made a join; word, outline and hatching say what a piece becomes. Colours
are the page's variables.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup, escape

from clew.knots.cutting import CuttingPlan
from clew.knots.knot_map import KnotMap
from clew.languages import figure, joined, say, say_many, spoken
from clew.quantities import LENGTH, in_unit
from clew.web.drawn.drawing import svg
from clew.web.drawn.figures import Figures

BALLS_IN_LINE = 5
MOST_LETTERED = 400
"""Joins beyond which they are drawn as bare ticks: letters would hide one another."""

LETTERS = {"re-tie": "B", "cone-tie": "C", "line-re-tie": "L", "colour-tie": "D"}
KIND_WORDS = {
    "re-tie": say("break re-tied at spinning"),
    "cone-tie": say("tie from cone to cone"),
    "line-re-tie": say("break on the line"),
    "colour-tie": say("tie from colour to colour"),
}
_GRADES = {"first": say("1st"), "second": say("2nd")}
_SHAPES = {
    "re-tie": '<circle class="join" cx="{x:.1f}" cy="{y:.1f}" r="9.5"/>',
    "cone-tie": '<rect class="join" x="{l:.1f}" y="{t:.1f}" width="18" height="18"/>',
    "line-re-tie": '<path class="join" d="M{x:.1f} {tt:.1f}l12.5 21.5h-25z"/>',
    "colour-tie": '<path class="join" d="M{x:.1f} {tt:.1f}l13 13l-13 13l-13 -13z"/>',
}

_WIDTH, _LEFT = 360.0, 62.0
_LANE, _GAP = 22.0, 5.0
_LEVEL, _LEVELS = 27.0, 3
_APART = 26.0


@dataclass(frozen=True, slots=True)
class Lane:
    """One way to cut the strand.

    Attributes
    ----------
    name : str
        A short word before the lane.
    plan : CuttingPlan
        Its balls.
    """

    name: str
    plan: CuttingPlan


@dataclass(frozen=True, slots=True)
class _Line:
    """One line of the layout: where it begins, how long it is, how it is scaled."""

    start_m: float
    end_m: float
    per_m: float

    def at(self, place_m: float) -> float:
        return _LEFT + (place_m - self.start_m) * self.per_m


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of a lane: a ball of either grade, or what is dropped."""

    start_m: float
    end_m: float
    kind: str


def join_mark(kind: str) -> Markup:
    """Draw the mark of one kind of join, for the legend."""
    return Markup(
        '<svg class="mark" viewBox="0 0 28 28" width="28" height="28" aria-hidden="true">'
        f"{_mark(kind, 14.0, 14.0)}</svg>"
    )


def piece_mark(kind: str) -> Markup:
    """Draw a piece of a lane, for the legend."""
    return Markup(
        '<svg class="mark" viewBox="0 0 52 28" width="52" height="28" aria-hidden="true">'
        f"{_box(kind, 2.0, 50.0, 3.0)}</svg>"
    )


HATCH = Markup(
    '<svg width="0" height="0" aria-hidden="true" class="defs"><defs>'
    '<pattern id="second-hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path class="hatch-line" d="M0 0v7"/></pattern></defs></svg>'
)
"""What second-quality is filled with; stands once on the page."""


def strand_lines(
    knots: KnotMap, lanes: Sequence[Lane], ball_length_m: float, figures: Figures
) -> tuple[Markup, ...]:
    """Draw the strand, a few balls' worth in each line.

    Parameters
    ----------
    knots : KnotMap
        The strand and its joins.
    lanes : sequence of Lane
        Ways to cut it, drawn one under the other.
    ball_length_m : float
        Length of a ball [m].
    figures : Figures
        The reader's printing.

    Returns
    -------
    tuple of Markup
        One drawing a line; each says in its title what it shows.
    """
    line_m = BALLS_IN_LINE * ball_length_m
    count = max(math.ceil(knots.strand_m / line_m - 1e-9), 1)
    places = knots.positions_m
    lettered = places.size <= MOST_LETTERED
    pieces = [
        (lane.name, list(_pieces(lane.plan, knots.strand_m, ball_length_m))) for lane in lanes
    ]
    lines = [
        _Line(n * line_m, min((n + 1) * line_m, knots.strand_m), (_WIDTH - 4.0 - _LEFT) / line_m)
        for n in range(count)
    ]
    held = [
        [int(at) for at in np.flatnonzero((places >= line.start_m) & (places < line.end_m))]
        for line in lines
    ]
    levels = [
        _levels([line.at(float(places[at])) for at in inside]) if lettered else [0] * len(inside)
        for line, inside in zip(lines, held, strict=True)
    ]
    drawings = []
    for number, (line, inside, level) in enumerate(zip(lines, held, levels, strict=True)):
        joins = [
            (float(places[at]), knots.kinds[at], up) for at, up in zip(inside, level, strict=True)
        ]
        drawings.append(_drawn(number, line, joins, pieces, lettered, figures))
    return tuple(drawings)


def _levels(across: Sequence[float]) -> list[int]:
    """How high each mark stands, so that neighbours do not cover one another."""
    last = [-math.inf] * _LEVELS
    levels = []
    for x in across:
        free = next((up for up in range(_LEVELS) if x - last[up] >= _APART), None)
        up = int(np.argmin(last)) if free is None else free
        last[up] = x
        levels.append(up)
    return levels


def _pieces(plan: CuttingPlan, strand_m: float, ball_m: float) -> Iterator[_Piece]:
    """Balls and what is dropped between and after them, in order."""
    at = 0.0
    for start, first in zip(plan.starts_m.tolist(), plan.is_first.tolist(), strict=True):
        if start > at + 1e-6:
            yield _Piece(at, start, "dropped")
        yield _Piece(start, start + ball_m, "first" if first else "second")
        at = start + ball_m
    if strand_m > at + 1e-6:
        yield _Piece(at, strand_m, "dropped")


def _drawn(
    number: int,
    line: _Line,
    joins: Sequence[tuple[float, str, int]],
    lanes: Sequence[tuple[str, Sequence[_Piece]]],
    lettered: bool,
    figures: Figures,
) -> Markup:
    highest = max((level for _, _, level in joins), default=0)
    strand_y = 30.0 + _LEVEL * highest if lettered and joins else 18.0
    start, end = line.at(line.start_m), line.at(line.end_m)
    begins = spoken(whole_length(line.start_m, figures))
    parts = [
        f'<text class="place" x="0" y="{strand_y + 4:.1f}">{begins}</text>',
        f'<path class="strand" d="M{start:.1f} {strand_y:.1f}H{end:.1f}"/>',
    ]
    if lettered:
        marks = []
        for place, kind, level in joins:
            x, y = line.at(place), strand_y - 17.0 - _LEVEL * level
            parts.append(f'<path class="stalk" d="M{x:.1f} {strand_y + 4:.1f}V{y:.1f}"/>')
            marks.append(_mark(kind, min(max(x, _LEFT - 4.0), _WIDTH - 14.0), y))
        parts += marks
    elif joins:
        ticks = "".join(f"M{line.at(place):.1f} {strand_y - 12:.1f}v16" for place, _, _ in joins)
        parts.append(f'<path class="stalk" d="{ticks}"/>')
    top = strand_y + 12.0
    for name, pieces in lanes:
        parts.append(f'<text class="lane" x="0" y="{top + 16:.1f}">{escape(spoken(name))}</text>')
        for piece in pieces:
            if piece.end_m <= line.start_m or piece.start_m >= line.end_m:
                continue
            left = line.at(max(piece.start_m, line.start_m))
            right = line.at(min(piece.end_m, line.end_m))
            parts.append(_box(piece.kind, left, right, top))
        top += _LANE + _GAP
    title = spoken(_said(line, joins, lanes, figures))
    return svg(f"strand-{number}", title, (0.0, 0.0, _WIDTH, top), parts, "strand-drawing")


def _mark(kind: str, x: float, y: float) -> str:
    """A join's shape with its letter in it."""
    top = y - (14.0 if kind == "line-re-tie" else 13.0)
    shape = _SHAPES[kind].format(x=x, y=y, l=x - 9.0, t=y - 9.0, tt=top)
    down = 6.5 if kind == "line-re-tie" else 4.6
    return shape + f'<text class="letter" x="{x:.1f}" y="{y + down:.1f}">{LETTERS[kind]}</text>'


def _box(kind: str, left: float, right: float, top: float) -> str:
    """A stretch of a lane: a ball with its grade in it, or a dropped piece crossed out."""
    wide = max(right - left - 2.0, 0.8)
    x, middle = left + 1.0, top + _LANE / 2.0
    if kind == "dropped":
        crosses = "".join(
            f"M{at:.1f} {middle - 4:.1f}l8 8m0 -8l-8 8"
            for at in np.arange(x + 2.0, x + wide - 8.0, 11.0).tolist()
        )
        return (
            f'<path class="dropped" d="M{x:.1f} {middle:.1f}h{wide:.1f}"/>'
            f'<path class="crosses" d="{crosses}"/>'
        )
    hatched = ' fill="url(#second-hatch)"' if kind == "second" else ""
    text = ""
    if wide > 30.0:
        word = escape(spoken(_GRADES[kind]))
        text = f'<text class="grade" x="{x + wide / 2:.1f}" y="{middle + 5:.1f}">{word}</text>'
    return (
        f'<rect class="{kind}" x="{x:.1f}" y="{top:.1f}" width="{wide:.1f}" height="{_LANE:.0f}" '
        f'rx="3"{hatched}/>{text}'
    )


def whole_length(length_m: float, figures: Figures) -> str:
    """Say a length of strand [m] in whole metres or yards; a long one in kilometres."""
    if figures.metric and length_m >= 1e4:
        return figure(f"{length_m / 1000.0:.6g}\u00a0km")
    unit = LENGTH.metric if figures.metric else LENGTH.yard
    if length_m >= 1e5:
        thousands = round(in_unit(length_m, LENGTH, unit) / 1000.0)
        return f"{thousands}\u00a0000\u00a0{unit}"
    return f"{in_unit(length_m, LENGTH, unit):.0f}\u00a0{unit}"


def _said(
    line: _Line,
    joins: Sequence[tuple[float, str, int]],
    lanes: Sequence[tuple[str, Sequence[_Piece]]],
    figures: Figures,
) -> str:
    """Say in words what a line shows."""
    start, end = (whole_length(place, figures) for place in (line.start_m, line.end_m))
    said = [say("Strand from {start} to {end}", start=start, end=end)]
    if len(joins) > BALLS_IN_LINE * 2:
        said.append(say_many("{n} join", "{n} joins", len(joins)))
    elif joins:
        said += [
            say("{kind} at {place}", kind=KIND_WORDS[kind], place=whole_length(place, figures))
            for place, kind, _ in joins
        ]
    else:
        said.append(say("no join"))
    for name, pieces in lanes:
        inside = [one.kind for one in pieces if line.start_m <= one.start_m < line.end_m]
        first, second, dropped = (inside.count(kind) for kind in ("first", "second", "dropped"))
        counts = [
            words
            for count, words in (
                (first, say("{balls} first-quality", balls=first)),
                (second, say("{balls} second-quality", balls=second)),
                (dropped, say("{pieces} dropped", pieces=dropped)),
            )
            if count
        ]
        becomes = joined(", ", counts) if counts else say("none begins here")
        said.append(joined(": ", (name, becomes)))
    return joined("; ", said)
