"""Lots' charts and tables, in the reader's units."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from clew.checks.packages.verdict import Verdict, mean_and_limit
from clew.checks.packages.worksheet import Worksheet
from clew.languages import figure, joined, say, spoken
from clew.papers.card_content import Table as PaperTable
from clew.papers.certificate_rows import SheetContent
from clew.quantities import LENGTH, MASS, in_unit, number
from clew.web.drawn.chart_svg import Chart, Table, drawn
from clew.web.drawn.figures import Figures
from clew.web.drawn.reworded import reworded
from clew.web.lots.charts import STRIP_WIDTH, chance_spec, strip_spec
from clew.web.lots.said import hundred_words, in_readers_units

_LABEL, _DOT, _MOST_STACK = 24, 8.4, 110.0
"""Height of a label's row, from dot to dot, and the tallest stack of dots [px]."""
_MOST_DOTS = 400
"""Dots of a strip, or a few more; of more balls each dot stands for several."""
_MOST_ROWS = 1000
"""Balls listed on the page; the paper and the address for programs have them all."""
_LETTER = 8.4
"""Width of a letter of a label [px]."""
POINTS = 61
"""Points of a chance that is drawn."""
_IN_FULL = {"mean": say("mean of the sample"), "lowest mean": say("lowest mean that passes")}
_LINES = {
    "mean": say("mean"),
    "lowest mean": say("lowest mean"),
    "declared": say("declared"),
    "short below": say("short below"),
    "far short below": say("far short below"),
}
"""Rules across the strip, and the words on them."""
_CONVERTED = {"g": (MASS, "oz", 4), "m": (LENGTH, "yd", 2)}


_Line = tuple[float, str, str, bool]
"""A rule across the strip: where, its words, its dash, whether it is strong."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One worksheet as the page shows it.

    Attributes
    ----------
    key : str
        Name on the page.
    title, answer : str
        Rule set and quantity, and its answer.
    open : bool
        Whether its figures are shown at once.
    rows, balls : Table
        Every figure, and every ball.
    balls_words : str
        What stands over the balls.
    dots : str
        What a dot of the strip is.
    notes : tuple of str
        Sources, marks, cautions.
    strip, chance : Chart or None
        The sample on a line, and the chance that such a lot passes.
    """

    key: str
    title: str
    answer: str
    open: bool
    rows: Table
    balls: Table
    balls_words: str
    dots: str
    notes: tuple[str, ...]
    strip: Chart | None
    chance: Chart | None


@dataclass(frozen=True, slots=True)
class _Scale:
    """One quantity in the reader's unit."""

    quantity: str
    figures: Figures

    @property
    def unit(self) -> str:
        grams = self.quantity == "mass"
        if self.figures.metric:
            return "g" if grams else "m"
        return "oz" if grams else "yd"

    def of(self, value: float) -> float:
        return in_unit(value, MASS if self.quantity == "mass" else LENGTH, self.unit)

    def words(self, value: float, digits: int = 5) -> str:
        return figure(f"{number(self.of(value), digits)}\u00a0{self.unit}".replace("-", "−"))

    def plain(self, value: float, digits: int = 5) -> str:
        """The same with a plain space, for a drawing."""
        return figure(f"{number(self.of(value), digits)} {self.unit}".replace("-", "−"))


def sheets_shown(
    verdicts: Sequence[Verdict], on_paper: Sequence[SheetContent], figures: Figures
) -> list[Sheet]:
    """Arrange every worksheet: its pictures, its figures, its balls, what it rests on.

    Parameters
    ----------
    verdicts : sequence of Verdict
        The answers of the rule sets.
    on_paper : sequence of SheetContent
        All their sheets as the paper prints them.
    figures : Figures
        The reader's printing.

    Returns
    -------
    list of Sheet
        One for each sheet, in the same order.
    """
    shown = []
    sheets = [
        (place, verdict, sheet)
        for place, verdict in enumerate(verdicts)
        for sheet in verdict.sheets
    ]
    for (place, verdict, sheet), printed in zip(sheets, on_paper, strict=True):
        key = f"{verdict.rule.key}-{sheet.plan.quantity}"
        rows = tuple(
            (row.head, row.text if row.head == "Declared" else in_readers_units(
                row.text, figures))
            for row in printed.rows
        )  # fmt: skip
        each = _balls_a_dot(sheet)
        dots = [say("Each dot a ball") if each == 1 else say("Each dot up to {n} balls", n=each)]
        if math.isfinite(sheet.deficiency_used) and not sheet.plan.individual_open:
            dots.append(say("a triangle is short, a cross far short"))
        balls, left_out = _balls(printed.balls, figures)
        words = say("Balls of the sample by {rule}", rule=printed.title)
        if left_out:
            more = say("short ones first, {n} more are on the paper", n=left_out)
            words = joined("; ", (words, more))
        shown.append(
            Sheet(
                key, printed.title, printed.answer, place == 0, Table(("", ""), rows),
                balls, words, say("{dots}.", dots=joined("; ", dots)),
                tuple(in_readers_units(note, figures) for note in printed.notes),
                strip_chart(sheet, verdict.rule.title, key, figures),
                chance_chart(sheet, verdict.rule.title, key, figures),
            )
        )  # fmt: skip
    return shown


def _balls(table: PaperTable, figures: Figures) -> tuple[Table, int]:
    """Print the balls of a sheet in the reader's units; of very many the short ones and some."""
    given = table.rows
    if len(given) > _MOST_ROWS:  # the last cell says what is wrong with a ball
        given = tuple(sorted(given, key=lambda row: row[-1] == ""))[:_MOST_ROWS]
    left_out = len(table.rows) - len(given)
    if figures.metric:
        return Table(table.columns, given), left_out
    head, columns = [], []
    for name in table.columns:
        what, _, unit = name.rpartition(" ")
        known = _CONVERTED.get(unit) if what else None
        columns.append(known)
        head.append(name if known is None else _with_unit(name, known[1]))
    rows = tuple(
        tuple(
            cell if known is None or not cell else _converted(cell, known)
            for cell, known in zip(row, columns, strict=True)
        )
        for row in given
    )
    return Table(tuple(head), rows), left_out


def _with_unit(name: str, unit: str) -> str:
    """Put another unit at the end of a column's head."""
    return reworded(name, lambda text: f"{text.rpartition(' ')[0]} {unit}")


def _converted(cell: str, known: tuple[Any, str, int]) -> str:
    kind, unit, places = known
    sign = "+" if cell.startswith("+") else ""
    value = in_unit(float(cell.replace("−", "-")), kind, unit)
    return figure(f"{value:{sign}.{places}f}".replace("-", "−"))


def strip_chart(sheet: Worksheet, rule: str, key: str, figures: Figures) -> Chart | None:
    """Draw the balls of a sample on a line against what is declared and what the rule asks."""
    if not sheet.balls:
        return None
    plan, scale = sheet.plan, _Scale(sheet.plan.quantity, figures)
    mass = plan.quantity == "mass"
    lines = [(sheet.mean, "mean", "solid", True)]
    if sheet.limit is not None:
        lines.append((sheet.limit, "lowest mean", "dashed", False))
    lines.append((plan.declared, "declared", "solid", False))
    if math.isfinite(sheet.deficiency_used):
        lines.append((plan.declared - sheet.deficiency_used, "short below", "dotted", False))
    if math.isfinite(sheet.far_used):
        lines.append((plan.declared - sheet.far_used, "far short below", "dotted", False))
    if plan.individual_open:
        lines = [one for one in lines if "short" not in one[1]]
    contents = np.array([ball.content for ball in sheet.balls])
    places = np.array([*contents, *(at for at, *_ in lines)])
    pad = 0.04 * (float(np.ptp(places)) or 0.02 * plan.declared)
    low, high = float(places.min()) - pad, float(places.max()) + pad
    across = (contents - low) / (high - low) * STRIP_WIDTH
    each = _balls_a_dot(sheet)
    kept, stack = _stacked(across, each)
    step = min(_DOT, _MOST_STACK / max(int(stack.max()), 1))
    top = _LABEL * len(lines)
    bottom = round(top + 12 + step * (int(stack.max()) + 1))
    balls = [
        {
            "x": scale.of(ball.content),
            "y": bottom - 8 - step * float(height),
            "what": "far short" if ball.far_short else "short" if ball.short else "good",
        }
        for ball, height in zip((sheet.balls[at] for at in kept), stack, strict=True)
    ]
    rules = _rules(sheet, lines, scale, low, high, bottom)
    spread = () if sheet.sd is None else ((say("standard deviation"), scale.words(sheet.sd, 4)),)
    table = Table(
        ("", say("Mass") if mass else say("Length")),
        (
            *((_IN_FULL.get(words) or _LINES[words], scale.words(at, 6))
              for at, words, _, _ in lines),
            (say("lightest ball") if mass else say("shortest ball"),
             scale.words(float(contents.min()))),
            (say("heaviest ball") if mass else say("longest ball"),
             scale.words(float(contents.max()))),
            *spread,
            (say("balls short, allowed"),
             f"{sheet.short_count}, {'–' if sheet.allowed is None else sheet.allowed}"),
        ),
    )  # fmt: skip
    title = (
        say("{rule}: the mass of each ball of the sample, and the limits", rule=rule)
        if mass
        else say("{rule}: the length of each ball of the sample, and the limits", rule=rule)
    )
    along = say("mass, {unit}", unit=scale.unit) if mass else say("length, {unit}", unit=scale.unit)
    spec = strip_spec(along, scale.of(low), scale.of(high), bottom)
    return drawn(f"strip-{key}", title, spec, {"balls": balls, "rules": rules}, table)


def _shown(sheet: Worksheet, words: str, at: float, scale: _Scale) -> str:
    """Write the figure of a rule; the mean and its limit as the sentences beside them do."""
    if scale.figures.metric and words in ("mean", "lowest mean"):
        mean, limit = mean_and_limit(sheet)
        return figure(f"{mean if words == 'mean' else limit} {scale.unit}")
    return scale.plain(at)


def _rules(
    sheet: Worksheet, lines: Sequence[_Line], scale: _Scale, low: float, high: float, bottom: int
) -> list[dict[str, Any]]:
    """Lay the labels of the rules in rows, so that no rule crosses another's label where it can.

    A label goes to the left of its rule where there is room. Those that go right stand on top, the
    leftmost first; then those that go left, the rightmost first.
    """
    placed = []
    for at, words, dash, strong in lines:
        text = say("{what} {figure}", what=_LINES[words], figure=_shown(sheet, words, at, scale))
        across = (at - low) / (high - low) * STRIP_WIDTH
        left = across > _LETTER * len(spoken(text))
        placed.append((left, -across if left else across, at, text, dash, strong))
    return [
        {
            "at": scale.of(at),
            "words": text,
            "top": _LABEL * (place + 0.5),
            "bottom": bottom,
            "dash": dash,
            "strong": strong,
            "left": left,
        }
        for place, (left, _, at, text, dash, strong) in enumerate(sorted(placed))
    ]


def _balls_a_dot(sheet: Worksheet) -> int:
    return -(-len(sheet.balls) // _MOST_DOTS)


def _stacked(across: Any, each: int) -> tuple[Any, Any]:
    """Stack dots that would touch: the balls that get one, and its height in its stack.

    The lightest ball of a stack stands at its foot, so a short one is never left out for others.
    """
    columns = np.floor(across / _DOT).astype(int)
    heights = np.zeros(len(columns), dtype=int)
    for column in np.unique(columns):
        (members,) = np.nonzero(columns == column)
        heights[members[np.argsort(across[members], kind="stable")]] = np.arange(len(members))
    (kept,) = np.nonzero(heights % each == 0)
    return kept, heights[kept] // each


def chance_chart(sheet: Worksheet, rule: str, key: str, figures: Figures) -> Chart | None:
    """Draw the chance that such a lot passes over its true mean.

    None where it is not a matter of chance: every ball is examined, the sample shows no spread, or
    single balls are not judged.
    """
    from clew.checks.target.passing import Passing, passing

    plan, sd = sheet.plan, sheet.sd
    certain = plan.whole_lot or sheet.n_used >= sheet.lot_size
    if certain or not sd or plan.individual_open or not (plan.average_n or plan.stages):
        return None
    lot = sheet.lot_size if sheet.lot_size > plan.n_most else None

    @cache
    def at(mean: float) -> Passing:
        return passing(plan, mean, sd, lot)

    steep = _ends(at, plan.declared, sd)
    low, high = min(steep[0], sheet.mean - sd / 4), max(steep[1], sheet.mean + sd / 4)
    scale = _Scale(plan.quantity, figures)
    rows = []
    # more points where the line rises, so that a short rise is as smooth as a long one
    for mean in np.union1d(np.linspace(low, high, POINTS), np.linspace(*steep, POINTS)):
        one = at(float(mean))
        middle = min(max(one.average * one.individual, one.low), one.high)
        rows.append({"x": scale.of(float(mean)), "low": 100 * one.low, "high": 100 * one.high,
                     "y": 100 * middle})  # fmt: skip
    own = at(sheet.mean)
    chance = min(max(own.average * own.individual, own.low), own.high)
    of_hundred = hundred_words(chance)
    mark = {
        "x": scale.of(sheet.mean),
        "y": 100 * chance,
        "words": say(
            "◆ this mean, {mean}:\n{of_hundred} pass",
            mean=scale.plain(sheet.mean, 4),
            of_hundred=of_hundred,
        ),
    }
    rules: list[dict[str, Any]] = [{"at": scale.of(plan.declared), "words": say("declared")}]
    table = Table(
        (say("True mean of the lot"), say("Passes, of 100"), say("At least"), say("At most")),
        tuple(
            (scale.words(mean), *(figure(f"{100 * each:.1f}") for each in (
                min(max(one.average * one.individual, one.low), one.high), one.low, one.high)))
            for mean in sorted({*np.linspace(low, high, 9), sheet.mean})
            for one in (at(float(mean)),)
        ),
    )  # fmt: skip
    title = (
        say("{rule}: how many of 100 lots pass, over the true mean mass of their balls", rule=rule)
        if plan.quantity == "mass"
        else say(
            "{rule}: how many of 100 lots pass, over the true mean length of their balls", rule=rule
        )
    )
    spec = chance_spec(
        say("true mean of the lot, {unit}", unit=scale.unit),
        say("lots that pass, %"),
        scale.of(low),
        scale.of(high),
    )
    data: dict[str, list[dict[str, Any]]] = {"rows": rows, "marks": [mark], "rules": rules}
    return drawn(f"chance-{key}", title, spec, data, table)


def _ends(at: Any, declared: float, sd: float) -> tuple[float, float]:
    """Where next to no lot passes, and where next to all do."""
    ends = []
    for share in (0.002, 0.998):
        low, high = declared - 12.0 * sd - 0.1 * declared, declared + 12.0 * sd
        for _ in range(30):
            middle = (low + high) / 2
            low, high = (middle, high) if at(middle).low < share else (low, middle)
        ends.append(high)
    return ends[0], ends[1]
