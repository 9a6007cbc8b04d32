"""Dry's charts and tables, printed in the reader's units."""

from __future__ import annotations

import math
from collections.abc import Sequence

from clew.line.heat.answer import HeatAnswer
from clew.line.heat.speed_limits import NO_QUEUE, SpeedLimit, SpeedLimits
from clew.line.heat.terms import DOUBT_WORDS
from clew.quantities import SPEED, in_unit, number
from clew.web import heat_figures as heat
from clew.web.chart_svg import Chart, Rows, Table, drawn
from clew.web.charts_heat import limits_spec, regain_spec
from clew.web.figures import Figures, tight
from clew.web.heat_said import why_words
from clew.web.knots_money import small_sum
from clew.web.shares import share_rows

_POINTS = 60
_LONGEST = 1.8
"""How far past the dryer's end the curve is followed to the regain wanted, in passages."""
_LISTED = 8
_SEEN = 0.005
"""Share of the doubt that prints as 1 % or more."""


def regain_chart(answer: HeatAnswer) -> Chart:
    """Draw the regain along the dryer with its band, and once cooled, against the one wanted.

    Parameters
    ----------
    answer : HeatAnswer
        The answer.

    Returns
    -------
    Chart
        The drawing with its table. The constant rate is dashed, the falling one solid; what
        another length of dryer would still take off is dotted.
    """
    terms, out, doubt = answer.terms, answer.dried, answer.doubt
    dwell, before, wanted = terms.dryer_dwell_s, out.regain_before_frac, terms.regain_wanted_frac
    needed = sum(answer.needed_s)
    short = not answer.dry_enough
    ends = dwell
    if short:
        ends = min(needed, _LONGEST * dwell) if math.isfinite(needed) else 1.3 * dwell
        ends = max(ends, 1.05 * dwell)
    cooled_at, right = 1.17 * ends, 1.3 * ends
    changes = max(0.0, before - out.law.critical_frac) / out.law.constant_per_s
    pieces = [
        (0.0, min(changes, dwell), "dashed", "constant"),
        (min(changes, dwell), dwell, "solid", "falling"),
        (dwell, ends, "dotted", "beyond"),
    ]
    curve = [
        {
            "x": start + (end - start) * k / _POINTS,
            "y": 100.0 * out.law.regain_after(before, start + (end - start) * k / _POINTS),
            "dash": dash,
            "part": part,
        }
        for start, end, dash, part in pieces
        if end > start
        for k in range(_POINTS + 1)
    ]
    after, cooled = 100.0 * out.regain_after_frac, 100.0 * out.regain_cooled_frac
    band = [
        {"x": part * dwell, "low": 100.0 * low, "high": 100.0 * high}
        for part, low, high in doubt.along
    ]
    high = max(100.0 * before, 100.0 * wanted, *(row["high"] for row in band))
    high = _round_up(1.12 * max(high, 100.0 * doubt.cooled_high_frac))
    words = [
        {"x": 0.0, "y": 100.0 * wanted - 0.045 * high, "align": "left",
         "words": f"wanted {_percent(wanted)}"},
        {"x": dwell, "y": 0.955 * high, "align": "right",
         "words": f"dryer’s end {number(after, 3)} %"},
        {"x": right, "y": 100.0 * doubt.cooled_high_frac + 0.06 * high, "align": "right",
         "words": f"{number(cooled, 3)} %"},
    ]  # fmt: skip
    points = [
        {"x": dwell, "y": after, "shape": "circle"},
        {"x": cooled_at, "y": cooled, "shape": "circle"},
    ]
    if 0.0 < changes < dwell:
        critical = 100.0 * out.law.critical_frac
        points.append({"x": changes, "y": critical, "shape": "diamond"})
        words.append({"x": changes, "y": critical + 0.03 * high, "align": "left",
                      "words": f"critical {number(critical, 3)} %"})  # fmt: skip
    data: dict[str, Rows] = {
        "curve": curve,
        "band": band,
        "cooling": [{"x": dwell, "y": after}, {"x": cooled_at, "y": cooled}],
        "wanted": [{"at": 100.0 * wanted}],
        "end": [{"at": dwell}],
        "cooled": [{"x": cooled_at, "low": 100.0 * doubt.cooled_low_frac,
                    "high": 100.0 * doubt.cooled_high_frac}],
        "points": points,
        "words": words,
    }  # fmt: skip
    title = (
        f"Regain along the dryer: {_percent(before)} at its mouth, {number(after, 3)} % at its "
        f"end, {number(cooled, 3)} % once cooled; {_percent(wanted)} wanted"
    )
    spec = regain_spec(right, cooled_at, _ticks(ends), high)
    return drawn("regain", title, spec, data, _regain_table(answer))


def regain_caption(answer: HeatAnswer) -> str:
    """Say what the parts of the curve are, and what the band is."""
    out = answer.dried
    critical = tight(_percent(out.law.critical_frac))
    constant, _ = _parts(answer)
    if constant == 0.0:
        said = f"It dries at a falling rate all the way: it comes in below {critical}, its critical"
        said += " regain."
    elif constant >= answer.terms.dryer_dwell_s:
        said = f"It dries at a constant rate all the way (dashed), never down to {critical}, its"
        said += " critical regain."
    else:
        said = f"Dashed: at a constant rate down to {critical}, the critical regain; solid: at a"
        said += " falling rate."
    if not answer.dry_enough:
        said += " Dotted past the dryer’s end: if it were longer."
    return f"{said} The pale band holds 95 of 100 cases."


def _parts(answer: HeatAnswer) -> tuple[float, float]:
    """Time in the dryer at constant and at falling rate [s]."""
    law, dwell = answer.dried.law, answer.terms.dryer_dwell_s
    fall = max(0.0, answer.dried.regain_before_frac - law.critical_frac)
    constant = min(dwell, fall / law.constant_per_s)
    return constant, dwell - constant


def _regain_table(answer: HeatAnswer) -> Table:
    terms, out, doubt = answer.terms, answer.dried, answer.doubt
    steps = [doubt.along[round(k * (len(doubt.along) - 1) / _LISTED)] for k in range(_LISTED + 1)]
    rows = [
        (
            heat.seconds(part * terms.dryer_dwell_s),
            heat.regain(out.law.regain_after(out.regain_before_frac, part * terms.dryer_dwell_s)),
            heat.regains(low, high),
        )
        for part, low, high in steps
    ]
    rows += [
        (
            "once cooled",
            heat.regain(out.regain_cooled_frac),
            heat.regains(doubt.cooled_low_frac, doubt.cooled_high_frac),
        ),
        ("wanted, cooled", heat.regain(terms.regain_wanted_frac), ""),
    ]
    return Table(("In the dryer", "Regain", "95 of 100 cases"), tuple(rows))


def limits_chart(limits: SpeedLimits, figures: Figures) -> Chart:
    """Draw the fastest feed of each station, slowest first, with the feed as it is run.

    Parameters
    ----------
    limits : SpeedLimits
        The limits.
    figures : Figures
        The reader's printing.

    Returns
    -------
    Chart
        The drawing with its table.
    """
    unit = SPEED.metric if figures.metric else SPEED.yard

    def own(speed_m_per_s: float) -> float:
        return in_unit(speed_m_per_s, SPEED, unit)

    now, least = own(limits.feed_m_per_s), own(limits.least_feed_m_per_s)
    finite = [own(one.feed_m_per_s) for one in limits.limits if math.isfinite(one.feed_m_per_s)]
    fastest = _round_up(1.04 * max(*finite, now, least, 0.0))
    rows = [
        {
            "place": place + 0.6,
            "feed": min(own(one.feed_m_per_s), fastest),
            "words": f"{place + 1}. {one.station}: {_fastest_words(one, figures)}",
            "side": _side_words(one, limits),
            "kind": "over"
            if one.feed_m_per_s < limits.feed_m_per_s
            else ("first" if place == 0 else "other"),
        }
        for place, one in enumerate(limits.limits)
    ]
    drawn_least = 0.0 < least < fastest

    def crossing(at: float, words: str, label: float) -> list[dict[str, object]]:
        align = "left" if at < 0.28 * fastest else "right" if at > 0.72 * fastest else "center"
        return [
            {
                "at": at, "words": words, "align": align, "labelled": place == 0,
                "from": place + 0.36, "to": place + 0.84, "label": label,
            }
            for place in range(len(rows))
        ]  # fmt: skip

    data: dict[str, Rows] = {
        "rows": rows,
        "now": crossing(now, f"runs at {number(now, 3)} {unit}", -0.2),
        "least": crossing(least, f"not below {number(least, 3)} {unit}", len(rows))
        if drawn_least
        else [],
    }
    table = Table(
        ("Station", "Fastest feed", "Runs at", "From"),
        tuple(
            (
                one.station,
                _fastest_words(one, figures),
                _used(one, limits),
                why_words(one, figures),
            )
            for one in limits.limits
        ),
    )
    first = limits.first
    title = (
        f"What limits the feed, slowest first: {first.station} {_fastest_words(first, figures)}; "
        f"the feed is {figures.speed(limits.feed_m_per_s)}"
    )
    spec = limits_spec(len(rows), fastest, f"feed, {unit}", drawn_least)
    return drawn("limits", title, spec, data, table)


def limits_caption(limits: SpeedLimits, figures: Figures) -> str:
    """Say how the picture is to be read, and what is not in it."""
    said = "Fastest feed of each station, slowest first; the upright strokes are the feed as it is."
    if any(one.feed_m_per_s < limits.feed_m_per_s for one in limits.limits):
        said += " Dashed outline: the line runs above it."
    if limits.least_feed_m_per_s > 0.0:
        said += (
            f" Below {figures.speed(limits.least_feed_m_per_s)} (dotted) the yarn lies too long in "
            "steam."
        )
    for station in limits.unknown:
        said += f" Not stated: what the {station} allows."
    if any(one.station == "hands" for one in limits.limits):
        estimate = NO_QUEUE.replace("'", "’")
        said += f" {estimate} The page Shift knows queues and the buffer."
    return said


def _fastest_words(one: SpeedLimit, figures: Figures) -> str:
    if math.isinf(one.feed_m_per_s):
        return "no limit"
    return "no speed will do" if one.feed_m_per_s == 0.0 else figures.speed(one.feed_m_per_s)


def _used(one: SpeedLimit, limits: SpeedLimits) -> str:
    if not 0.0 < one.feed_m_per_s < math.inf:
        return "–"
    return tight(f"{number(100.0 * limits.feed_m_per_s / one.feed_m_per_s, 3)} %")


def _side_words(one: SpeedLimit, limits: SpeedLimits) -> str:
    used = _used(one, limits)
    if used == "–":
        return ""
    return f"{'too fast:' if one.feed_m_per_s < limits.feed_m_per_s else 'runs at'} {used} of it"


def heat_table(answer: HeatAnswer, figures: Figures) -> Table:
    """Heat of dryer and steamer, in kilowatts and on a mass of yarn, with its money.

    The printed kilowatts add up: the parts are cut to the places of the whole and what is left goes
    to the parts that lost most.
    """
    money, terms, of = answer.money, answer.terms, answer.dried.heat
    yarn = terms.yarn_kg_per_h * (1.0 if figures.metric else 1.0 / heat.KG_A_LB)
    fuel_kw = money.fuel_kwh_per_kg * terms.yarn_kg_per_h
    lost_kw = fuel_kw - money.dryer_kw - money.steam_kw
    places = max(0, 2 - math.floor(math.log10(fuel_kw)))
    whole = round(fuel_kw, places)
    dryer, steamer, lost = adding_up((money.dryer_kw, money.steam_kw, lost_kw), whole, places)
    parts = adding_up((of.water_kw, of.air_kw, of.yarn_kw, of.fixed_kw), dryer, places)
    what = ("water off the yarn", "fresh air warmed", "yarn warmed", "shell and belt, stated")
    efficiency = figures.percent(terms.heat_efficiency_frac, 0)
    rows = [
        *((one, kw, "") for one, kw in zip(what, parts, strict=True)),
        ("the dryer", dryer, _sum(money.dryer_money_per_h, terms.currency)),
        ("the steamer", steamer, _sum(money.steam_money_per_h, terms.currency)),
        (f"lost in boiler and heater, at an efficiency of {efficiency}", lost, ""),
        ("fuel for both", whole, _sum(money.money_per_h, terms.currency)),
    ]
    head = ("", "kW", f"kWh a {'kg' if figures.metric else 'lb'} of yarn", "Money an hour")
    priced = money.money_per_h is not None
    return Table(
        head if priced else head[:-1],
        tuple(
            (
                one,
                f"{kw:.{places}f}".replace("-", "−"),
                figures.number(kw / yarn, 2),
                *((paid,) if priced else ()),
            )
            for one, kw, paid in rows
        ),
    )


def adding_up(parts: Sequence[float], whole: float, places: int) -> list[float]:
    """Round parts so that they add up to a whole that is rounded already.

    Parameters
    ----------
    parts : sequence of float
        The parts [kW].
    whole : float
        What they shall add up to [kW].
    places : int
        Places behind the point.

    Returns
    -------
    list of float
        Each part, less than one unit of the last place off where the whole is that of the parts.
    """
    scale = 10.0**places
    down = [math.floor(scale * part + 1e-9) for part in parts]
    left = round(scale * whole) - sum(down)
    most = sorted(range(len(parts)), key=lambda at: down[at] - scale * parts[at])
    for at in most[: max(0, left)]:
        down[at] += 1
    return [value / scale for value in down]


def _sum(value: float | None, currency: str) -> str:
    return "" if value is None else tight(small_sum(value, currency))


def doubt_chart(answer: HeatAnswer, figures: Figures) -> Chart | None:
    """Draw what makes the doubt in the regain; none where nothing is in doubt."""
    shares = answer.doubt.shares
    if not shares:
        return None
    shown = [(share, DOUBT_WORDS[key]) for key, share in shares if share >= _SEEN]
    rows, spec = share_rows(shown, figures)
    table = Table(
        ("Source", "Share of the variance"),
        tuple((words, figures.percent(share, 0)) for share, words in shown),
    )
    title = "What makes the doubt in the regain after the dryer, as shares of the variance"
    return drawn("doubt", title, spec, {"rows": rows}, table)


def _percent(frac: float) -> str:
    return f"{number(100.0 * frac, 3)} %"


def _round_up(value: float) -> float:
    """The next round number: a tenth of its power of ten."""
    if value <= 0.0:
        return 1.0
    unit = 10.0 ** (math.floor(math.log10(value)) - 1)
    return math.ceil(value / unit - 1e-9) * unit


def _ticks(ends_s: float) -> tuple[float, ...]:
    """Four to seven round places along the passage."""
    raw = ends_s / 5.0
    unit = 10.0 ** math.floor(math.log10(raw))
    step = next(unit * k for k in (1.0, 2.0, 2.5, 5.0, 10.0) if unit * k >= raw * 0.999)
    return tuple(step * k for k in range(math.floor(ends_s / step + 1e-9) + 1))
