"""Charts and tables of Knots, printed in the reader's units."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from clew.knots.answer_odds import joins_words
from clew.knots.from_mill import KnotTerms
from clew.knots.law import KnotLaw
from clew.knots.price import Band, LimitAnswer, LimitRow
from clew.languages import figure, say, say_many, told_again
from clew.web.drawn.chart_svg import Chart, Table, drawn
from clew.web.drawn.figures import Figures
from clew.web.drawn.strand_drawing import KIND_WORDS, Lane, whole_length
from clew.web.knots.charts import law_spec, price_spec
from clew.web.knots.money import coin, coins, small_sum, whole_sum
from clew.web.knots.page import Strand
from clew.web.knots.words import chance_words, cost_words, grouped, out_of

_LEAST_SHOWN = 5e-7
"""Chance of more joins from which on no further bar is drawn: one ball in two millions."""
_MOST_BARS = 12
_MOST_LISTED = 60
_KG_A_LB = 0.45359237
_GAP = 0.7
"""Room for the limit between two bars, in bars."""


def law_chart(law: KnotLaw, allowed: int | None, limit: int, joint: str) -> Chart:
    """Draw how many balls hold how many joins, with the limit between two of the bars.

    Parameters
    ----------
    law : KnotLaw
        The law.
    allowed : int or None
        Most joins in a first-quality ball; None where they do not count.
    limit : int
        The limit, as it is said.
    joint : str
        ``knot`` or ``splice``.

    Returns
    -------
    Chart
        The drawing with its table.
    """
    last = next((k for k in range(law.pmf.size) if law.more_than(k) < _LEAST_SHOWN), 0)
    last = min(
        max(last, 1 if allowed is None else min(allowed + 1, _MOST_BARS - 1)), _MOST_BARS - 1
    )
    chances = [float(law.pmf[k]) if k < law.pmf.size else 0.0 for k in range(last)]
    chances.append(law.more_than(last - 1))
    further = law.more_than(last) >= _LEAST_SHOWN
    names = [joins_words(k, joint) for k in range(max(last, 1) + 1)]
    if further:
        names[-1] = say("{n} or more", n=last)
    most = max(chances)
    ruled = allowed is not None and allowed < last
    rows = [
        {
            "place": k + 0.5 + (_GAP if allowed is not None and k > allowed else 0.0),
            "name": names[k],
            "share": chance / most,
            "words": _bar_words(chance),
            "over": allowed is not None and k > allowed,
        }
        for k, chance in enumerate(chances)
    ]
    rules = (
        [{"at": (allowed or 0) + 1.0 + 0.8 * _GAP, "words": say("limit {limit}", limit=limit)}]
        if ruled
        else []
    )
    height = len(rows) + (_GAP if ruled else 0.0)
    listed = min(max(law.pmf.size, last + 1), 2 * _MOST_BARS)
    counted = say("Splices in a ball") if joint == "splice" else say("Knots in a ball")
    table = Table(
        (counted, say("Of 10 000 balls"), say("With more")),
        tuple(
            (
                say("{n} (over the limit)", n=k) if allowed is not None and k > allowed else str(k),
                _ten_thousands(float(law.pmf[k]) if k < law.pmf.size else 0.0),
                _ten_thousands(law.more_than(k)),
            )
            for k in range(listed)
            if k <= last or law.more_than(k - 1) >= _LEAST_SHOWN
        ),
    )
    title = (
        say("Balls by the number of their splices, wound straight through")
        if joint == "splice"
        else say("Balls by the number of their knots, wound straight through")
    )
    return drawn("law", title, law_spec(height, ruled), {"rows": rows, "rules": rules}, table)


def _bar_words(chance: float) -> str:
    """Say a bar's share: of 100 from one in 100 up, that bars can be compared, else as it comes."""
    if chance < 0.01:
        count, of = out_of(chance)
        if not count:
            return chance_words(chance)
        whole = told_again(grouped(of), lambda part: part.replace("\u00a0", " "))
        return say_many("{n} ball in {of}", "{n} balls in {of}", count, of=whole)
    balls = figure(f"{100.0 * chance:.{0 if chance >= 0.0995 else 1}f}")
    return say("{balls} balls in 100", balls=balls)


def _ten_thousands(chance: float) -> str:
    value = 10_000.0 * chance
    if value >= 99.95:
        return f"{value:.0f}"
    return figure(f"{value:.1f}" if value >= 0.095 else f"{value:.1g}" if value >= 1e-3 else "0")


def lanes_of(strand: Strand, terms: KnotTerms) -> tuple[Lane, ...]:
    """Ways to cut the strand; the best one only where prices say what best is."""
    cuts = strand.cuts
    plain = (Lane(say("straight"), cuts.straight), Lane(say("part"), cuts.part_every))
    return plain if terms.stated_prices is None else (Lane(say("best"), cuts.best), *plain)


LANE_WORDS = {
    "best": say("Best plan: most money, knowing the whole strand"),
    "straight": say("Straight through, ball after ball"),
    "part": say("Part at every offence, drop what was wound"),
}


def cut_table(strand: Strand, terms: KnotTerms, figures: Figures) -> Table:
    """What each way of cutting brings on the drawn strand."""
    head: tuple[str, ...] = (
        "",
        say("First"),
        say("Second"),
        say("Waste"),
        say("Partings"),
    )
    if terms.stated_prices is not None:
        head = (*head, say("Brings"))
    rows = []
    for lane in lanes_of(strand, terms):
        plan = lane.plan
        row = [
            lane.name,
            str(plan.first),
            str(plan.second),
            whole_length(plan.waste_m, figures),
            str(plan.partings),
        ]
        if terms.stated_prices is not None:
            row.append(whole_sum(plan.value, terms.currency))
        rows.append(tuple(row))
    return Table(head, tuple(rows))


def join_table(strand: Strand, figures: Figures) -> Table:
    """Places and kinds of the joins of the drawn strand, the first of them."""
    places = strand.knots.positions_m.tolist()
    return Table(
        (say("Join at"), say("What made it")),
        tuple(
            (figures.length(place), KIND_WORDS[kind])
            for place, kind in list(zip(places, strand.knots.kinds, strict=True))[:_MOST_LISTED]
        ),
    )


def price_chart(today: LimitAnswer, half: LimitAnswer, currency: str, now: str) -> Chart | None:
    """Draw what each limit costs a ball, at today's and at half the breaks; none if nothing does.

    Parameters
    ----------
    today, half : LimitAnswer
        At today's and at half the breaks.
    currency : str
        Currency of the prices.
    now : str
        What the first of the two break rates is called.

    Returns
    -------
    Chart or None
        Costs on a scale of tens, least first; a cost of nothing stands at its left end.
    """
    pairs = [
        (old.limit, old.cost_per_ball, new.cost_per_ball)
        for old, new in zip(today.rows, half.rows, strict=True)
        if old.limit is not None and math.isfinite(old.cost_per_ball.value)
    ]
    ends = [
        coins(end, currency)
        for _, *bands in pairs
        for band in bands
        for end in (band.low, band.value, band.high)
        if 0.0 < end < math.inf
    ]
    if not ends:
        return None
    coins_a_tick = 100.0 if max(ends) >= 1000.0 and coins(1.0, currency) == 100.0 else 1.0
    ends = [end / coins_a_tick for end in ends]
    highest = max(ends)
    lowest = max(min(ends), highest / 1e5)
    low, high = math.floor(math.log10(lowest)), math.ceil(math.log10(highest) + 1e-9)
    domain, ticks = (10.0**low, 10.0**high), tuple(10.0**k for k in range(low, high + 1))

    def on(value: float) -> float:
        return min(max(coins(value, currency) / coins_a_tick, domain[0]), domain[1])

    rows: list[dict[str, Any]] = []
    for limit, old, new in pairs:
        for band, first in ((old, True), (new, False)):
            cost = cost_words(band, currency)
            words = (
                say("limit {limit}: {cost}", limit=limit, cost=cost)
                if first
                else say("half the breaks: {cost}", cost=cost)
            )
            rows.append(
                {
                    "place": len(rows) + 0.72,
                    "low": on(band.low),
                    "high": on(band.high),
                    "middle": on(band.value),
                    "words": words,
                    "today": first,
                }
            )
    table = Table(
        (say("Limit"), now, say("Half the breaks")),
        tuple(
            (str(limit), cost_words(old, currency), cost_words(new, currency))
            for limit, old, new in pairs
        ),
    )
    title = say("What each knot limit costs a ball, with 95 % bands")
    unit = coin(currency) if coins_a_tick == 1.0 else currency
    axis = say("{coin} a ball, each mark ten times the last", coin=unit)
    return drawn("price", title, price_spec(axis, len(rows), domain, ticks), {"rows": rows}, table)


def strand_table(answer: LimitAnswer, figures: Figures, *, tried: bool) -> Table:
    """What becomes of the strand under each limit: shares that add up, and what is dropped."""
    yearly = answer.rows[0].landfill_kg_a_year is not None
    head = (say("Limit"), say("First-quality"), say("Second-quality"), say("Dropped"))
    rows = []
    for row in answer.rows:
        cells = [_limit_name(row, answer.question.rule.limit, tried=tried)]
        cells += [
            figures.percent(band.value, 2)
            for band in (row.yield_frac, row.second_share, row.waste_frac)
        ]
        if yearly:
            cells.append(_kg(row.landfill_kg_a_year, figures))
        rows.append(tuple(cells))
    return Table((*head, say("Landfill a year")) if yearly else head, tuple(rows))


def limit_table(
    answer: LimitAnswer, straight: LimitAnswer, figures: Figures, currency: str, *, tried: bool
) -> Table:
    """What each limit costs, and what buyers say."""
    said = answer.rows[0].complaints_per_10000 is not None
    head = (
        say("Limit"),
        say("Cost a ball"),
        say("Straight through"),
        say("Cost a kg") if figures.metric else say("Cost a lb"),
        say("On the shelf"),
    )
    rows = []
    for place, row in enumerate(answer.rows):
        a_kg = row.cost_per_kg.value * (1.0 if figures.metric else _KG_A_LB)
        cells = [
            _limit_name(row, answer.question.rule.limit, tried=tried),
            small_sum(row.cost_per_ball.value, currency),
            small_sum(straight.rows[place].cost_per_ball.value, currency),
            small_sum(a_kg, currency),
            small_sum(row.shelf_change.value, currency),
        ]
        if said:
            cells.append(_per_10000(row.complaints_per_10000))
        rows.append(tuple(cells))
    return Table((*head, say("Complaints in 10 000*")) if said else head, tuple(rows))


def _limit_name(row: LimitRow, limit: int, *, tried: bool) -> str:
    if row.limit is None:
        return say("no rule")
    if row.limit != limit:
        return str(row.limit)
    return say("{limit} (tried)", limit=limit) if tried else say("{limit} (today)", limit=limit)


def _kg(band: Band | None, figures: Figures) -> str:
    if band is None or not math.isfinite(band.value):
        return say("without bound")
    kilograms = band.value if figures.metric else band.value / _KG_A_LB
    return f"{kilograms:.0f}\u00a0{'kg' if figures.metric else 'lb'}"


def _per_10000(band: Band | None) -> str:
    return "" if band is None or not math.isfinite(band.value) else figure(f"{band.value:.2f}")


def other_table(answers: Sequence[tuple[str, LimitAnswer]], currency: str, *, tried: bool) -> Table:
    """Cost a ball by limit, for one way of joining beside another."""
    first = answers[0][1]
    return Table(
        (say("Limit"), *(words for words, _ in answers)),
        tuple(
            (
                _limit_name(row, first.question.rule.limit, tried=tried),
                *(cost_words(one.rows[at].cost_per_ball, currency) for _, one in answers),
            )
            for at, row in enumerate(first.rows)
            if row.limit is not None
        ),
    )


def strand_words(strand: Strand, terms: KnotTerms) -> str:
    """Say what the drawn strand shows."""
    straight, joins = strand.cuts.straight, len(strand.knots.kinds)
    balls = straight.first + straight.second
    counted = (
        say_many("{n} splice", "{n} splices", joins)
        if terms.joined_by == "splice"
        else say_many("{n} knot", "{n} knots", joins)
    )
    held = say("{joins} on {balls} balls’ worth of strand", joins=counted, balls=balls)
    if not straight.second:
        return say("{held}; wound straight through, every ball is first-quality.", held=held)
    seconds = say_many(
        "wound straight through, {n} ball is second-quality",
        "wound straight through, {n} balls are second-quality",
        straight.second,
    )
    if terms.stated_prices is None:
        return say("{held}; {seconds}.", held=held, seconds=seconds)
    gain = strand.cuts.best.value - straight.value
    if gain <= 0.0:
        return say("{held}; {seconds}, and no plan brings more.", held=held, seconds=seconds)
    return say(
        "{held}; {seconds}; the best plan brings {gain} more.",
        held=held,
        seconds=seconds,
        gain=whole_sum(gain, terms.currency),
    )
