"""What one improvement is worth, as Shift shows it: it takes a second or two and comes later."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from clew.line.improve.money import COUNTED, NOT_COUNTED, ShiftPrices, shift_prices_of
from clew.line.improve.ranking import Ranking, Worth, what_to_change
from clew.line.layout import Layout
from clew.mill.model import Mill
from clew.quantities import number
from clew.web.chart_svg import Table

REPLICATIONS = 60
"""Shifts of each of some sixteen lines, the same for all of them."""


def change_for(mill: Mill, ball_name: str, layout: Layout, seed: int) -> Ranking:
    """Rank what one improvement of the line is worth, once for a page and its part."""
    return _ranking(layout, shift_prices_of(mill, ball_name), seed)


@lru_cache(maxsize=32)
def _ranking(layout: Layout, prices: ShiftPrices | None, seed: int) -> Ranking:
    return what_to_change(layout, prices, replications=REPLICATIONS, seed=seed)


def change_shown(ranking: Ranking) -> dict[str, Any]:
    """Arrange a ranking for the page.

    Parameters
    ----------
    ranking : Ranking
        What each improvement is worth.

    Returns
    -------
    dict
        The best in words, rows for a drawing, a table, and what is counted.
    """
    best = [one for one in ranking.worths if one.told and one.ranked_by.mean > 0.0]
    currency = "" if ranking.prices is None else ranking.prices.currency
    return {
        "best": _best(best, currency),
        "table": _table(ranking, currency),
        "priced": ranking.prices is not None,
        "counted": COUNTED if ranking.prices is not None else "",
        "not_counted": NOT_COUNTED if ranking.prices is not None else "",
        "left_out": [f"{one.label}: {one.reason}" for one in ranking.left_out],
        "replications": ranking.replications,
        "seed": ranking.seed,
    }


def _best(best: list[Worth], currency: str) -> list[str]:
    if not best:
        return ["No single improvement that was tried can be told from nothing."]
    return [f"{_capital(one.label)}: {_worth(one, currency)} a shift." for one in best[:3]]


def _capital(label: str) -> str:
    return label[:1].upper() + label[1:]


def _worth(one: Worth, currency: str) -> str:
    worth = one.ranked_by
    if one.money is not None:
        return (
            f"{_sum(worth.mean)} {currency} ({_sum(worth.low)} to {_sum(worth.high)})".replace(
                " ", "\u00a0", 1
            )
        )
    return f"{_sum(worth.mean)} first-quality balls ({_sum(worth.low)} to {_sum(worth.high)})"


def _sum(value: float) -> str:
    text = f"{value:.0f}" if abs(value) >= 9.5 else number(value, 2)
    sign = "" if text.startswith("-") or not text.strip("0.") else "+"
    return (sign + text).replace("-", "−")


def _table(ranking: Ranking, currency: str) -> Table:
    head: tuple[str, ...] = ("One improvement", "First-quality balls")
    if ranking.prices is not None:
        head = (head[0], f"{currency} a shift", "from", "to", head[1])
    else:
        head = (*head, "from", "to")
    rows = []
    for one in ranking.worths:
        worth, first = one.ranked_by, one.first_balls
        label = _capital(one.label) + ("" if one.told else " (cannot be told from nothing)")
        row = [label, _sum(worth.mean), _sum(worth.low), _sum(worth.high)]
        if one.money is not None:
            row.append(_sum(first.mean))
        rows.append(tuple(row))
    return Table(head, tuple(rows))
