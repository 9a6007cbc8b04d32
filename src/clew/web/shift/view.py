"""Shift's charts and tables, printed in the reader's units."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

from markupsafe import Markup

from clew.languages import figure, joined, say, told_again
from clew.line.simulate.answer import Estimate, ShiftAnswer
from clew.line.simulate.words import CAUSE_WORDS, FEED_WORDS, KIND_WORDS, percent
from clew.quantities import YARD_M, number
from clew.web.drawn.chart_svg import Chart, Table, drawn
from clew.web.drawn.figures import Figures
from clew.web.drawn.shares import share_rows
from clew.web.heat.figures import held_together
from clew.web.knots.charts import law_spec
from clew.web.shift.bars import Bar, bars, swatch
from clew.web.shift.charts import level_spec
from clew.web.shift.estimates import Estimates
from clew.web.shift.states import HAND_DOES, STATES

_WAIT_CLASSES_S = ((10, 2), (20, 5), (30, 5), (60, 10), (120, 20), (240, 60))
"""Classes of waits: up to where [s], and the step of a class, chosen by the longest usual wait."""
_MOST_CLASSES = 7
_LEAST_SHOWN = 5e-5
_HOUR_S = 3600.0


def winder_bars(answer: ShiftAnswer, numbers: tuple[int, ...]) -> Markup:
    """Draw where the seconds of every winder go, all of them together first."""
    shares = {cause: one.mean for cause, one in answer.winder_share.items()}
    rows = [Bar(say("All winders"), shares)] + [
        Bar(say("Winder {n}", n=number), lane.winder_share)
        for number, lane in zip(numbers, answer.lanes, strict=True)
    ]
    told = _told(((cause, share) for cause, share in shares.items() if share), CAUSE_WORDS)
    title = say("Where the winders' time goes: {shares}", shares=told)
    return bars("winder-bars", title, rows, CAUSE_WORDS)


def _told(shares: Iterable[tuple[str, float]], names: Mapping[str, str]) -> str:
    return joined(
        ", ", [say("{what} {share}", what=names[key], share=percent(part)) for key, part in shares]
    )


def winder_key(answer: ShiftAnswer) -> list[tuple[Markup, str, str]]:
    """Each cause that took time: its pattern, its name, its share."""
    return [
        (swatch(cause), CAUSE_WORDS[cause], _share(one.mean))
        for cause, one in answer.winder_share.items()
        if one.mean > _LEAST_SHOWN
    ]


def strip_key() -> list[tuple[Markup, str]]:
    """Every state of the strips, winders' first: its pattern, its name."""
    winders = [(swatch(cause), CAUSE_WORDS[cause]) for cause in STATES]
    return winders + [(swatch(what), words) for what, words in _HAND_KEY.items()]


_HAND_KEY = {
    "serving": say("hand serving"),
    "walking": say("hand walking"),
    "resting": say("hand at rest"),
    "idle": say("hand waiting for a call"),
}


def winder_table(answer: ShiftAnswer, numbers: tuple[int, ...], figures: Figures) -> Table:
    """What every winder gives, its lane takes in and wastes, and the shares of its time."""
    causes = [c for c, one in answer.winder_share.items() if one.mean > _LEAST_SHOWN]
    ball_g = 1000.0 * answer.kg.mean / max(answer.balls.mean, 1e-9)
    mean = (
        say("all"), f"{answer.balls.mean:.0f}", figures.heavy(1000.0 * answer.kg.mean),
        _long(sum(lane.laid_m for lane in answer.lanes), figures),
        figures.length(sum(lane.waste_m for lane in answer.lanes)),
        *(_share(answer.winder_share[cause].mean) for cause in causes),
    )  # fmt: skip
    doubt = (
        say("interval"), _ends(answer.balls.low, answer.balls.high), "", "", "",
        *(_interval(answer.winder_share[cause]) for cause in causes),
    )  # fmt: skip
    rows = [
        (str(number), f"{lane.balls:.0f}", figures.heavy(ball_g * lane.balls),
         _long(lane.laid_m, figures), figures.length(lane.waste_m),
         *(_share(lane.winder_share[c]) for c in causes))
        for number, lane in zip(numbers, answer.lanes, strict=True)
    ]  # fmt: skip
    head = (say("Winder"), say("Balls"), say("Yarn"), say("Fed"), say("Wasted"))
    return Table((*head, *(CAUSE_WORDS[cause] for cause in causes)), (mean, doubt, *rows))


def _share(share: float) -> str:
    return told_again(percent(share), held_together)


def _interval(share: Estimate) -> str:
    return _ends(100.0 * share.low, 100.0 * share.high, 2, "\u00a0%")


def _ends(low: float, high: float, places: int = 0, unit: str = "") -> str:
    if math.isnan(low):
        return say("one shift")
    least, most = figure(f"{max(low, 0.0):.{places}f}"), figure(f"{high:.{places}f}{unit}")
    return say("{low} to {high}", low=least, high=most)


def feed_chart(answer: ShiftAnswer, figures: Figures) -> Chart | None:
    """Draw why the feed stands; none where it never stands."""
    stops = [
        (one.mean, FEED_WORDS[cause])
        for cause, one in answer.feed_share.items()
        if one.mean > _LEAST_SHOWN
    ]
    if not stops:
        return None
    rows, spec = share_rows(sorted(stops, reverse=True), figures)
    for row, (share, what) in zip(rows, sorted(stops, reverse=True), strict=True):
        row["words"] = joined("  ", (percent(share), what))
    table = Table(
        ("", say("Share of the time"), say("A shift, all lanes")),
        tuple((what, _share(share), _minutes(share * _lane_s(answer))) for share, what in stops),
    )
    title = say("Why the feed stands, as shares of the shift")
    return drawn("feed-stops", title, spec, {"rows": rows}, table)


def _lane_s(answer: ShiftAnswer) -> float:
    return answer.layout.lanes * answer.layout.shift_s


def _minutes(time_s: float) -> str:
    unit, value = ("min", time_s / 60.0) if time_s < 2 * _HOUR_S else ("h", time_s / _HOUR_S)
    return figure(f"{number(value, 3)}\u00a0{unit}")


def waits_chart(answer: ShiftAnswer) -> Chart | None:
    """Draw how long full balls wait for their doff; none where nothing was doffed."""
    longer = dict(answer.waits.share_longer)
    if not longer:
        return None
    step = next(
        (step for most, step in _WAIT_CLASSES_S if answer.waits.p95_s <= most),
        _WAIT_CLASSES_S[-1][1],
    )
    edges = [step * k for k in range(_MOST_CLASSES)]
    above = [1.0, *(_longer(longer, edge) for edge in edges[1:])]
    names = [say("up to {time}", time=f"{edges[1]} s")]
    names += [say("{low} to {high}", low=str(a), high=f"{b} s") for a, b in pairwise(edges[1:])]
    names.append(say("over {time}", time=f"{edges[-1]} s"))
    shares = [a - b for a, b in zip(above, [*above[1:], 0.0], strict=True)]
    most = max(shares)
    rows = [
        {
            "place": place + 0.5,
            "name": name,
            "share": share / most,
            "words": percent(share) if share > 0.0 else say("none"),
            "over": False,
        }
        for place, (name, share) in enumerate(zip(names, shares, strict=True))
    ]
    table = Table(
        (say("A full ball waits"), say("Of all balls"), say("Or longer")),
        tuple(
            (name, _share(share), _share(more))
            for name, share, more in zip(names, shares, above, strict=True)
        ),
    )
    title = say("How long full balls wait for their doff")
    data: dict[str, Any] = {"rows": rows, "rules": []}
    return drawn("waits", title, law_spec(float(len(rows)), False), data, table)


def _longer(longer: Mapping[float, float], edge_s: float) -> float:
    """Share of waits longer than so many seconds, which end a class of 2 s or lie in its middle."""
    below = max((end for end in longer if end <= edge_s), default=0.0)
    above = min((end for end in longer if end >= edge_s), default=below)
    if above == below:
        return longer.get(below, 0.0)
    part = (edge_s - below) / (above - below)
    return longer.get(below, 1.0) * (1.0 - part) + longer[above] * part


def level_chart(answer: ShiftAnswer) -> Chart:
    """Draw how full the buffers stand over the shift."""
    shift_h = answer.layout.shift_s / _HOUR_S
    last = len(answer.level_mean) - 1
    rows = [
        {"x": shift_h * k / last, "low": 100 * low, "mean": 100 * mean, "high": 100 * high}
        for k, (low, mean, high) in enumerate(
            zip(answer.level_low, answer.level_mean, answer.level_high, strict=True)
        )
    ]
    step = next(one for one in (0.25, 0.5, 1, 2, 4) if shift_h / one <= 8.0)
    ticks = tuple(step * k for k in range(int(shift_h / step + 1e-9) + 1))
    end = rows[-max(last // 12, 1)]
    words = [{"x": end["x"], "y": min(max(end["mean"] + 9.0, 8.0), 94.0), "words": say("mean")}]
    table = Table(
        (say("Hours into the shift"), say("1 in 10 below"), say("Mean"), say("1 in 10 above")),
        tuple(
            (number(row["x"], 3), *(f"{row[key]:.0f}\u00a0%" for key in ("low", "mean", "high")))
            for row in rows[:: max(last // 12, 1)]
        ),
    )
    title = say("How full the buffers stand over the shift")
    return drawn("level", title, level_spec(shift_h, ticks), {"rows": rows, "words": words}, table)


def hand_bars(answer: ShiftAnswer) -> Markup:
    """Draw where the hands' time goes."""
    shares = _hand_shares(answer)
    title = say("Where the hands' time goes: {shares}", shares=_told(shares.items(), HAND_DOES))
    return bars("hand-bars", title, [Bar(say("All hands"), shares)], HAND_DOES)


def hand_key(answer: ShiftAnswer) -> list[tuple[Markup, str, str]]:
    """What hands do: its pattern, its name, its share."""
    return [
        (swatch(what), HAND_DOES[what], _share(share))
        for what, share in _hand_shares(answer).items()
        if share > _LEAST_SHOWN
    ]


def _hand_shares(answer: ShiftAnswer) -> dict[str, float]:
    shares = {what: one.mean for what, one in answer.hand_share.items()}
    return shares | {"idle": max(1.0 - sum(shares.values()), 0.0)}


def call_table(answer: ShiftAnswer) -> Table:
    """Calls answered, by kind."""
    lanes = answer.layout.lanes
    return Table(
        (say("Calls answered"), say("A shift"), say("A winder an hour")),
        tuple(
            (
                KIND_WORDS[kind],
                figure(f"{count:.0f}" if count >= 10 else f"{count:.1f}"),
                number(count / lanes / (answer.layout.shift_s / _HOUR_S), 2),
            )
            for kind, count in answer.served.items()
            if count > 0.0
        ),
    )


def estimate_table(answer: ShiftAnswer, quick: Estimates) -> Table:
    """The simulation beside the instant estimates."""
    layout = answer.layout
    wind = answer.winder_share["winding"]
    rows = [
        (say("Simulated, everything together"), wind.mean, answer.balls.mean),
        (say("What the feed brings"), quick.feed_frac, quick.balls(quick.feed_frac, layout)),
        (say("Hands, doffs in step"), quick.step_frac, quick.balls(quick.step_frac, layout)),
        (say("Hands, doffs by chance"), quick.chance_frac, quick.balls(quick.chance_frac, layout)),
    ]
    return Table(
        ("", say("Winders wind"), say("Balls a shift")),
        tuple((what, _share(share), f"{balls:.0f}") for what, share, balls in rows),
    )


def book_table(answer: ShiftAnswer, figures: Figures) -> Table:
    """The books of strand, all shifts together."""
    books = answer.books
    shifts = float(answer.replications)
    rows = (
        (say("there at first"), books.initial_m),
        (say("fed"), books.laid_m),
        (say("left on the belt before steam"), -books.raw_m),
        (say("left after steam and in buffers"), -books.steamed_m),
        (say("wound"), -books.wound_m),
        (say("wasted"), -books.waste_m),
    )
    return Table(
        (say("Strand, before steam"), say("A shift")),
        tuple((what, _long(metres / shifts, figures)) for what, metres in rows),
    )


def _long(length_m: float, figures: Figures) -> str:
    value = length_m / (1000.0 if figures.metric else 1000.0 * YARD_M)
    text = f"{value:.3f}".replace("-", "−")
    if figures.metric:
        return figure(f"{text}\u00a0km")
    return say("{length}\u00a0thousand yd", length=figure(text))
