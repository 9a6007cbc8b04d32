"""The plan drawn over time: a row a line, a bar a run, changes hatched, nights grey and narrow.

Time in which no line works is drawn at a fraction of its length, so that runs have the room. Two
forms of one drawing, a wide and a narrow one. The bars carry where they stand, so that a script
can let them be dragged; what a colour says, words and numbers say too.
"""

from __future__ import annotations

import bisect
import itertools
from dataclasses import dataclass

from markupsafe import Markup, escape

from clew.languages import say, spoken, weekday
from clew.mill.lots import Cielab
from clew.plan.sequence.gantt import Bar, GanttPicture
from clew.web.drawn.colour import screen_colour

_LETTER = 0.56
"""Width of a letter, as a share of its height: about that of the page's type."""


@dataclass(frozen=True, slots=True)
class PlanForm:
    """A form of the drawing: its key, width, heights, and where time begins [user units]."""

    key: str
    width: float
    left: float
    row: float
    bar: float
    text: float

    @property
    def span(self) -> float:
        """Width that time has."""
        return self.width - self.left - 8.0


_SQUEEZED = 0.08
"""How long time without a shift is drawn, as a share of its true length."""

WIDE = PlanForm("wide", 1000.0, 84.0, 74.0, 34.0, 15.0)
NARROW = PlanForm("narrow", 420.0, 8.0, 96.0, 40.0, 16.5)


class _Clock:
    """Where a moment of the picture is drawn: rests that all lines share are squeezed."""

    def __init__(self, picture: GanttPicture, form: PlanForm) -> None:
        edges = sorted({0.0, 1.0, *(x for one in picture.rests for x in (one.x0, one.x1))})
        weights = []
        for low, high in itertools.pairwise(edges):
            middle = (low + high) / 2.0
            resting = {one.row for one in picture.rests if one.x0 <= middle <= one.x1}
            all_rest = len(resting) == len(picture.rows)
            weights.append((high - low) * (_SQUEEZED if all_rest else 1.0))
        whole = sum(weights) or 1.0
        places = [0.0, *itertools.accumulate(one / whole for one in weights)]
        self._edges, self._places, self._form = edges, places, form

    def x(self, share: float) -> float:
        """Place in the drawing of a share of the picture's time [user units]."""
        at = min(max(bisect.bisect_right(self._edges, share) - 1, 0), len(self._edges) - 2)
        low, high = self._edges[at], self._edges[at + 1]
        part = (share - low) / (high - low) if high > low else 0.0
        place = self._places[at] + part * (self._places[at + 1] - self._places[at])
        return self._form.left + place * self._form.span


def plan_drawing(picture: GanttPicture, form: PlanForm, key: str = "plan") -> Markup:
    """Draw a plan.

    Parameters
    ----------
    picture : GanttPicture
        The plan over time.
    form : PlanForm
        `WIDE` or `NARROW`.
    key : str
        Begins its names on the page, so that two drawings may stand there.

    Returns
    -------
    Markup
        The drawing; every bar has ``data-run``, ``data-line`` and ``data-place``.
    """
    top = 34.0
    high = top + form.row * len(picture.rows) + 8.0
    clock = _Clock(picture, form)
    name_of = f"{key}-{form.key}"
    parts = [_hatch(name_of)]
    for rest in picture.rests:
        y = _row_y(rest.row, form, top)
        parts.append(
            f'<rect class="rest" x="{clock.x(rest.x0):.1f}" y="{y:.1f}" '
            f'width="{max(clock.x(rest.x1) - clock.x(rest.x0), 0.5):.1f}" height="{form.bar:g}"/>'
        )
    last = -1e9
    first = spoken(weekday(picture.begins))
    long = form.text * _LETTER * len(first)
    days = [clock.x(tick.x) for tick in picture.ticks if tick.day]
    if not days or days[0] > form.left + long + 10.0:
        parts.append(f'<text class="when" x="{form.left:g}" y="{top - 14:g}" '
                     f'font-size="{form.text:g}">{escape(first)}</text>')  # fmt: skip
        last = form.left + long
    for tick in picture.ticks:
        x = clock.x(tick.x)
        if tick.day:
            parts.append(f'<path class="day" d="M{x:.1f} {top - 8:g}V{high:g}"/>')
            label = spoken(tick.label)
            long = form.text * _LETTER * len(label)
            if x > last + 6.0 and x + 4.0 + long < form.width:
                parts.append(f'<text class="when" x="{x + 4:.1f}" y="{top - 14:g}" '
                             f'font-size="{form.text:g}">{escape(label)}</text>')  # fmt: skip
                last = x + 4.0 + long
        else:
            parts.append(f'<path class="shift" d="M{x:.1f} {top - 4:g}V{high:g}"/>')
    for number, name in enumerate(picture.rows):
        y = _row_y(number, form, top)
        at = 0.0 if form.key == "wide" else form.left
        beside = y + form.bar * 0.65 if form.key == "wide" else y - 6.0
        parts.append(
            f'<text class="line-name" x="{at:g}" y="{beside:.1f}" '
            f'font-size="{form.text:g}">{escape(name)}</text>'
        )
    for block in picture.changes:
        y = _row_y(block.row, form, top)
        x = clock.x(block.x0)
        wide = max(clock.x(block.x1) - x, 2.0)
        parts.append(
            f'<g class="change"><title>{escape(spoken(block.words))}</title>'
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{form.bar:g}" '
            f'fill="url(#{name_of}-change)"/></g>'
        )
    waits = spoken(say("waits"))
    for wait in picture.waits:
        middle = _row_y(wait.row, form, top) + form.bar / 2.0
        x, upto = clock.x(wait.x0), clock.x(wait.x1)
        parts.append(
            f'<g class="waits"><title>{escape(spoken(wait.words))}</title>'
            f'<path d="M{x + 2:.1f} {middle:.1f}H{upto - 2:.1f}"/>'
        )
        if upto - x > form.text * _LETTER * len(waits) + 8.0:
            parts.append(
                f'<text x="{(x + upto) / 2:.1f}" y="{middle - 5:.1f}" text-anchor="middle" '
                f'font-size="{form.text:g}">{escape(waits)}</text>'
            )
        parts.append("</g>")
    parts += [_bar(bar, picture, form, top, clock) for bar in picture.bars]
    return Markup(
        f'<svg class="plan-drawing {form.key}" viewBox="0 0 {form.width:g} {high:.0f}" role="img" '
        f'aria-labelledby="{name_of}-title" data-plan data-left="{form.left:g}" '
        f'data-span="{form.span:g}" data-top="{top:g}" data-row="{form.row:g}">'
        f'<title id="{name_of}-title">{escape(spoken(picture.title))}</title>{"".join(parts)}</svg>'
    )


def _row_y(row: int, form: PlanForm, top: float) -> float:
    return top + row * form.row + (form.row - form.bar) / 2.0 + (8.0 if form.key == "narrow" else 0)


def _hatch(name_of: str) -> str:
    return (
        f'<defs><pattern id="{name_of}-change" width="6" height="6" '
        'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<rect class="hatch-ground" width="6" height="6"/>'
        '<path class="hatch" d="M0 0V6"/></pattern></defs>'
    )


def _bar(bar: Bar, picture: GanttPicture, form: PlanForm, top: float, clock: _Clock) -> str:
    x = clock.x(bar.x0)
    wide = max(clock.x(bar.x1) - x, 3.0)
    y, middle = _row_y(bar.row, form, top), _row_y(bar.row, form, top) + form.bar / 2.0
    lightness, a, b = bar.lab
    fill = screen_colour(Cielab(lightness=lightness, a=a, b=b))
    dark = lightness < 55.0
    label = _label(bar, wide, form)
    early, late = clock.x(bar.early_x), clock.x(bar.late_x)
    under = y + form.bar + 6.0
    parts = [
        f"<title>{escape(spoken(bar.words))}</title>",
        f'<rect class="run" x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{form.bar:g}" '
        f'rx="4" fill="{fill}"/>',
        f'<path class="doubt" d="M{early:.1f} {under:.1f}H{late:.1f}M{early:.1f} {under - 3:.1f}v6'
        f'M{late:.1f} {under - 3:.1f}v6"/>',
    ]
    if label:
        parts.append(
            f'<text class="{"on-dark" if dark else "on-light"}" x="{x + 5:.1f}" '
            f'y="{middle + form.text * 0.35:.1f}" font-size="{form.text:g}">{escape(label)}</text>'
        )
    if bar.due_x is not None:
        due = clock.x(bar.due_x)
        parts.append(f'<path class="due" d="M{due:.1f} {y - 3:.1f}l-5 -8h10z"/>')
    if bar.late:
        parts.append(
            f'<text class="late-word" x="{min(x + wide, form.width - 36):.1f}" y="{y - 5:.1f}" '
            f'font-size="{form.text:g}" text-anchor="end">{escape(spoken(say("late")))}</text>'
        )
    classes = "bar" + (" late" if bar.late else "") + (" frozen" if bar.frozen else "")
    return (
        f'<g class="{classes}" data-run="{escape(bar.run_name)}" '
        f'data-line="{escape(picture.rows[bar.row])}" data-place="{bar.place}" '
        f'data-x="{x:.1f}" data-wide="{wide:.1f}">{"".join(parts)}</g>'
    )


def _label(bar: Bar, wide: float, form: PlanForm) -> str:
    """The longest of its names that fits on the bar: all, the run alone, nothing."""
    for text in (bar.label, bar.run_name):
        if len(text) * form.text * _LETTER + 8.0 <= wide:
            return text
    return ""
