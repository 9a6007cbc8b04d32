"""What one improvement is worth, as Shift shows it: it takes a second or two and comes later."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any

from markupsafe import Markup, escape

from clew.languages import first_upper, joined, say, spoken, told_again
from clew.line.improve.crew import MOST_HANDS, CrewTable, crew_table
from clew.line.improve.money import ShiftPrices, shift_prices_of
from clew.line.improve.ranking import Ranking, what_to_change
from clew.line.improve.words import (
    crew_words,
    decimals,
    largest_tried,
    place_value,
    ranking_words,
    with_doubt,
    worth_said,
)
from clew.line.layout import Layout
from clew.line.simulate.answer import Estimate
from clew.mill.model import Mill
from clew.web.drawn.chart_svg import Table
from clew.web.heat.figures import held_together
from clew.web.shift.page import replications_for

REPLICATIONS = 60
"""Shifts of each of some sixteen lines, the same for all of them."""
_FEWEST = 10
_MINUS = re.compile(r"(?<!\w)-(?=\d)")
_WIDE, _ROW, _TEXT = 400.0, 46.0, 16.0
_LETTER = 0.57
"""Width of a letter, as a part of its size."""
_LEFTMOST = 0.5
"""Losses are drawn to this part of the largest gain; what goes beyond is cut, and said in words."""


def rankable(layout: Layout) -> bool:
    """Whether a line is quiet enough for its improvements to be ranked while a reader waits."""
    return replications_for(layout, REPLICATIONS) >= _FEWEST


def change_for(mill: Mill, line_name: str, ball_name: str, layout: Layout, seed: int) -> Ranking:
    """Rank what one improvement of the line is worth, once for a page and its part.

    Parameters
    ----------
    mill : Mill
        The mill, for its prices and what its rollers can.
    line_name, ball_name : str
        The line and the ball.
    layout : Layout
        The line, one that is `rankable`.
    seed : int
        What chance depends on.

    Returns
    -------
    Ranking
        What each improvement is worth.

    Raises
    ------
    BadInput
        When the prices cannot be.
    """
    fastest = mill.find_line(line_name).fastest_feed_m_per_s
    return _ranking(layout, shift_prices_of(mill, ball_name), seed, fastest)


@lru_cache(maxsize=32)
def _ranking(
    layout: Layout, prices: ShiftPrices | None, seed: int, fastest_feed_m_per_s: float | None
) -> Ranking:
    return what_to_change(
        layout,
        prices,
        replications=replications_for(layout, REPLICATIONS),
        seed=seed,
        fastest_feed_m_per_s=fastest_feed_m_per_s,
    )


def crew_for(mill: Mill, ball_name: str, layout: Layout, seed: int) -> CrewTable:
    """Try crews of other sizes on the same shifts, up to two hands more than there are."""
    return _crew(layout, shift_prices_of(mill, ball_name), seed)


@lru_cache(maxsize=32)
def _crew(layout: Layout, prices: ShiftPrices | None, seed: int) -> CrewTable:
    return crew_table(
        layout, prices, most_hands=min(layout.hands + 2, MOST_HANDS),
        replications=replications_for(layout, REPLICATIONS), seed=seed,
    )  # fmt: skip


def change_shown(ranking: Ranking, crew: CrewTable | None = None) -> dict[str, Any]:
    """Arrange a ranking for the page.

    Parameters
    ----------
    ranking : Ranking
        What each improvement is worth.
    crew : CrewTable or None
        Crews of other sizes.

    Returns
    -------
    dict
        The best in words, a drawing, a table, and what else should be known.
    """
    headline, *notes = (_printed(one) for one in ranking_words(ranking))
    better = [one for one in ranking.worths if one.told and one.ranked_by.mean > 0.0]
    priced = ranking.prices is not None
    return {
        "headline": headline,
        "others": [
            _printed(
                say(
                    "{change}: {worth}.",
                    change=first_upper(one.label),
                    worth=worth_said(ranking, one),
                )
            )
            for one in better[1:3]
        ],
        "notes": notes,
        "crew": "" if crew is None or crew.prices is None else _crew_said(crew),
        "drawing": worth_drawing(ranking),
        "what": _what_is_drawn(ranking),
        "table": _table(ranking, priced=priced),
        "replications": ranking.replications,
    }


def _crew_said(crew: CrewTable) -> str:
    """Which crew makes a ball cheapest, and whether a larger one was not tried."""
    first, larger = crew_words(crew)[0], largest_tried(crew)
    return _printed(joined(" ", (first, larger)) if larger else first)


def _what_is_drawn(ranking: Ranking) -> str:
    if ranking.prices is None:
        return say(
            "One improvement at a time, first-quality balls a shift. On each bar its interval; "
            "dashed, what cannot be told from nothing."
        )
    return say(
        "One improvement at a time, {currency} a shift. On each bar its interval; dashed, what "
        "cannot be told from nothing.",
        currency=ranking.prices.currency,
    )


def worth_drawing(ranking: Ranking) -> Markup:
    """Draw what each improvement is worth: a bar from nothing, and the interval on it.

    Parameters
    ----------
    ranking : Ranking
        What each improvement is worth.

    Returns
    -------
    Markup
        The drawing. What cannot be told from nothing is hollow and dashed.
    """
    worths = [one.ranked_by for one in ranking.worths]
    most = max([one.high for one in worths] + [1e-9])
    least = min([one.low for one in worths] + [0.0])
    least = max(least, -_LEFTMOST * most) if most > 1e-9 else least

    def x(value: float) -> float:
        return _WIDE * (min(max(value, least), most) - least) / (most - least)

    parts: list[str] = []
    for place, (one, worth) in enumerate(zip(ranking.worths, worths, strict=True)):
        top = _ROW * place
        left, right = sorted((x(0.0), x(worth.mean)))
        kind = "told" if one.told else "untold"
        side = "gain" if worth.mean >= 0.0 else "loss"
        label, value = spoken(first_upper(one.label)), spoken(_mean(worth))
        room = _WIDE - _LETTER * _TEXT * (len(value) + 2)
        size = min(_TEXT, room / (_LETTER * len(label)))
        parts.append(
            f'<g class="{kind} {side}"><text x="0" y="{top + _TEXT:.0f}" font-size="{size:.3g}">'
            f'{escape(label)}</text><text class="worth" x="{_WIDE:g}" '
            f'y="{top + _TEXT:.0f}" font-size="{_TEXT:g}">{escape(value)}</text>'
            f'<rect x="{left:.1f}" y="{top + 24:.0f}" width="{max(right - left, 0.8):.1f}" '
            f'height="14"/><path class="band" d="M{x(worth.low):.1f} {top + 31:.0f}'
            f'H{x(worth.high):.1f}"/><path class="zero" d="M{x(0.0):.1f} {top + 22.5:.1f}v17"/>'
            + (f'<path class="cut" d="M9 {top + 23:.0f}l-5 16m10 0l5 -16"/>'
               if worth.low < least else "")
            + "</g>"
        )  # fmt: skip
    title = say("What one improvement is worth in a shift, the best first")
    return Markup(
        f'<svg class="worths" viewBox="-1 0 {_WIDE + 2:g} {_ROW * len(worths):.0f}" role="img" '
        f'aria-labelledby="worths-title"><title id="worths-title">{escape(spoken(title))}</title>'
        f"{''.join(parts)}</svg>"
    )


def _printed(words: str) -> str:
    """Print minus signs as everywhere else, and keep a number with its unit."""
    return told_again(words, lambda part: held_together(_MINUS.sub("\u2212", part)))


def _mean(one: Estimate) -> str:
    if math.isnan(one.mean):
        return "-"
    return _printed(place_value(one.mean, decimals(one), signed=True))


def _table(ranking: Ranking, *, priced: bool) -> Table:
    change, balls = say("One improvement"), say("First-quality balls")
    if ranking.prices is None:
        head: tuple[str, ...] = (change, balls)
    else:
        head = (change, say("{currency} a shift", currency=ranking.prices.currency), balls)
    rows = []
    for one in ranking.worths:
        label = first_upper(one.label)
        if not one.told:
            label = say("{change} (not told from nothing)", change=label)
        worth = _printed(with_doubt(one.ranked_by, signed=True))
        rows.append((label, worth, _mean(one.first_balls)) if priced else (label, worth))
    return Table(head, tuple(rows))
