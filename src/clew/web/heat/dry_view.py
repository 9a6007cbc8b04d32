"""Dry's charts and tables, printed in the reader's units."""

from __future__ import annotations

import math

from clew.languages import figure, joined, say
from clew.line.heat.answer import HeatAnswer
from clew.line.heat.speed_limits import SpeedLimit, SpeedLimits
from clew.line.heat.terms import DOUBT_WORDS
from clew.quantities import SPEED, in_unit, number
from clew.web.drawn.chart_svg import Chart, Rows, Table, drawn
from clew.web.drawn.figures import Figures, tight
from clew.web.drawn.shares import share_rows
from clew.web.heat import figures as heat
from clew.web.heat.charts import limits_spec, regain_spec
from clew.web.heat.said import STATION_WORDS, why_words

_POINTS = 60
_LONGEST = 1.8
"""How far past the dryer's end the curve is followed to the regain wanted, in passages."""
_LISTED = 8
_SEEN = 0.005
_CLOSE = 1.0
"""So near to 100 % a tenth tells whether the line runs above a limit or below it."""
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
         "words": say("wanted {regain}", regain=_percent(wanted))},
        {"x": dwell, "y": 0.955 * high, "align": "right",
         "words": say("dryer’s end {regain}", regain=figure(f"{number(after, 3)} %"))},
        {"x": right, "y": 100.0 * doubt.cooled_high_frac + 0.06 * high, "align": "right",
         "words": figure(f"{number(cooled, 3)} %")},
    ]  # fmt: skip
    points = [
        {"x": dwell, "y": after, "shape": "circle"},
        {"x": cooled_at, "y": cooled, "shape": "circle"},
    ]
    if 0.0 < changes < dwell:
        critical = 100.0 * out.law.critical_frac
        points.append({"x": changes, "y": critical, "shape": "diamond"})
        words.append({"x": changes, "y": critical + 0.03 * high, "align": "left",
                      "words": say("critical {regain}",
                                   regain=figure(f"{number(critical, 3)} %"))})  # fmt: skip
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
    title = say(
        "Regain along the dryer: {mouth} at its mouth, {end} at its end, {cooled} once cooled; "
        "{wanted} wanted",
        mouth=_percent(before),
        end=_percent(out.regain_after_frac),
        cooled=_percent(out.regain_cooled_frac),
        wanted=_percent(wanted),
    )
    spec = regain_spec(right, cooled_at, _ticks(ends), high)
    return drawn("regain", title, spec, data, _regain_table(answer))


def regain_caption(answer: HeatAnswer) -> str:
    """Say what the parts of the curve are, and what the band is."""
    out = answer.dried
    critical = tight(_percent(out.law.critical_frac))
    constant, _ = _parts(answer)
    if constant == 0.0:
        said = say(
            "It dries at a falling rate all the way: it comes in below {critical}, its critical "
            "regain.",
            critical=critical,
        )
    elif constant >= answer.terms.dryer_dwell_s:
        said = say(
            "It dries at a constant rate all the way (dashed), never down to {critical}, its "
            "critical regain.",
            critical=critical,
        )
    else:
        said = say(
            "Dashed: at a constant rate down to {critical}, the critical regain; solid: at a "
            "falling rate.",
            critical=critical,
        )
    parts = [said]
    if not answer.dry_enough:
        parts.append(say("Dotted past the dryer’s end: if it were longer."))
    return joined(" ", (*parts, say("The pale band holds 95 of 100 cases.")))


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
            say("once cooled"),
            heat.regain(out.regain_cooled_frac),
            heat.regains(doubt.cooled_low_frac, doubt.cooled_high_frac),
        ),
        (say("wanted, cooled"), heat.regain(terms.regain_wanted_frac), ""),
    ]
    return Table((say("In the dryer"), say("Regain"), say("95 of 100 cases")), tuple(rows))


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
            "words": say(
                "{title}: {words}",
                title=joined("", (f"{place + 1}. ", STATION_WORDS[one.station])),
                words=_fastest_words(one, figures),
            ),
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
        "now": crossing(now, say("runs at {feed}", feed=figure(f"{number(now, 3)} {unit}")), -0.2),
        "least": crossing(
            least, say("not below {feed}", feed=figure(f"{number(least, 3)} {unit}")), len(rows)
        )
        if drawn_least
        else [],
    }
    table = Table(
        (say("Station"), say("Fastest feed"), say("Runs at"), say("Why")),
        tuple(
            (
                STATION_WORDS[one.station],
                _fastest_words(one, figures),
                _used(one, limits),
                why_words(one, figures),
            )
            for one in limits.limits
        ),
    )
    first = limits.first
    title = say(
        "What limits the feed, slowest first: {station} {fastest}; the feed is {feed}",
        station=STATION_WORDS[first.station],
        fastest=_fastest_words(first, figures),
        feed=figures.speed(limits.feed_m_per_s),
    )
    spec = limits_spec(len(rows), fastest, say("feed, {unit}", unit=unit), drawn_least)
    return drawn("limits", title, spec, data, table)


def limits_caption(limits: SpeedLimits, figures: Figures) -> str:
    """Say how the picture is to be read, and what is not in it."""
    said = [
        say(
            "Fastest feed of each station, slowest first; the upright strokes are the feed as it "
            "is."
        )
    ]
    if any(one.feed_m_per_s < limits.feed_m_per_s for one in limits.limits):
        said.append(say("Dashed outline: the line runs above it."))
    if limits.least_feed_m_per_s > 0.0:
        said.append(
            say(
                "Below {feed} (dotted) the yarn lies too long in steam.",
                feed=figures.speed(limits.least_feed_m_per_s),
            )
        )
    if limits.unknown:
        said.append(say("Not stated: what the feed allows."))
    if any(one.station == "hands" for one in limits.limits):
        said.append(
            say(
                "An instant estimate: the hands’ limit knows no queue and the winder’s no wait for "
                "a doff. Hands may hold the line up below both."
            )
        )
        said.append(say("The page Shift knows queues and the buffer."))
    return joined(" ", said)


def _fastest_words(one: SpeedLimit, figures: Figures) -> str:
    if math.isinf(one.feed_m_per_s):
        return say("no limit")
    return say("no speed will do") if one.feed_m_per_s == 0.0 else figures.speed(one.feed_m_per_s)


def _used(one: SpeedLimit, limits: SpeedLimits) -> str:
    if not 0.0 < one.feed_m_per_s < math.inf:
        return "–"
    used = 100.0 * limits.feed_m_per_s / one.feed_m_per_s
    places = 1 if abs(used - 100.0) < _CLOSE else 0
    return tight(figure(f"{used:.{places}f} %"))


def _side_words(one: SpeedLimit, limits: SpeedLimits) -> str:
    used = _used(one, limits)
    if used == "–":
        return ""
    if one.feed_m_per_s < limits.feed_m_per_s:
        return say("too fast: {used} of it", used=used)
    return say("runs at {used} of it", used=used)


def doubt_chart(answer: HeatAnswer, figures: Figures) -> Chart | None:
    """Draw what makes the doubt in the regain; none where nothing is in doubt."""
    shares = answer.doubt.shares
    if not shares:
        return None
    shown = [(share, DOUBT_WORDS[key]) for key, share in shares if share >= _SEEN]
    rows, spec = share_rows(shown, figures)
    table = Table(
        (say("Source"), say("Share of the variance")),
        tuple((words, figures.percent(share, 0)) for share, words in shown),
    )
    title = say("What makes the doubt in the regain after the dryer, as shares of the variance")
    return drawn("doubt", title, spec, {"rows": rows}, table)


def _percent(frac: float) -> str:
    return figure(f"{number(100.0 * frac, 3)} %")


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
