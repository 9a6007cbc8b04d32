"""Wind's charts and tables, printed in the reader's units."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from clew.ball.ball_answer import BallAnswer, WinderSetting
from clew.ball.bounds import Interval
from clew.ball.run_card import RunCard
from clew.ball.size.shape import Range, RoundSize
from clew.ball.turns import Sensitivity, TurnsAnswer
from clew.languages import figure, say
from clew.papers import floor_numbers as floor
from clew.quantities import LENGTH, MASS, Kind, in_unit
from clew.web.drawn.chart_svg import Chart, Table, drawn
from clew.web.drawn.charts import interval_spec, line_spec
from clew.web.drawn.figures import Figures
from clew.web.drawn.shares import share_rows

Printer = Callable[[float], str]
RangePrinter = Callable[[float, float], str]

MOST_POINTS = 100
"""Points of a drawn line; more cannot be told apart at its width."""


def interval_chart(card: BallAnswer, figures: Figures, what: str) -> Chart:
    """Draw what one ball and the run's mean hold, against declaration, target and call-out.

    Parameters
    ----------
    card : BallAnswer
        The answer.
    figures : Figures
        The reader's printing.
    what : {"mass", "length"}
        Which of the two.

    Returns
    -------
    Chart
        The chart.
    """
    answer, promise = card.answer, card.terms.promise
    one: Printer
    many: RangePrinter
    if what == "mass":
        kind, one, many = MASS, figures.mass, figures.masses
        middle, ball, mean = answer.mass_g, answer.mass_g_interval, answer.mean_mass_g_interval
        declared, target, call_out = (
            promise.declared_mass_g,
            promise.target_mass_g,
            card.call_out_mass_g,
        )
    else:
        kind, one, many = LENGTH, figures.length, figures.lengths
        middle, ball, mean = (
            answer.length_m,
            answer.length_m_interval,
            answer.mean_length_m_interval,
        )
        declared, target, call_out = (
            promise.declared_length_m, promise.target_length_m, card.call_out_length_m,
        )  # fmt: skip
    unit = kind.metric if figures.metric else kind.yard
    named = ((floor.of_balls(answer.confidence), ball), (say("run's mean"), mean))
    rows = [
        {
            "place": place + 0.66,
            **_ends(interval, middle, kind, unit),
            "words": say("{title}: {words}", title=name, words=many(interval.low, interval.high)),
        }
        for place, (name, interval) in enumerate(named)
    ]
    marks = _marks(declared, target, call_out, one)
    rules = [
        {
            "at": in_unit(at, kind, unit),
            "words": words,
            "dash": dash,
            "top": level,
            "label": level,
            "bottom": len(rows),
        }
        for at, words, dash, level in marks
    ]
    sure = figures.percent(answer.confidence, 0)
    table = Table(
        ("", say("Mass") if what == "mass" else say("Length")),
        (
            (say("mean ball"), one(middle)),
            (named[0][0], many(ball.low, ball.high)),
            (say("run's mean, {share} sure", share=sure), many(mean.low, mean.high)),
            (say("declared"), one(declared)),
            (say("target"), one(target)),
            (say("call the lead outside"), many(call_out.low, call_out.high)),
        ),
    )
    if what == "mass":
        title = say("Mass: one ball and the run's mean against what is declared and the target")
        axis = say("mass, {unit}", unit=unit)
    else:
        title = say("Length: one ball and the run's mean against what is declared and the target")
        axis = say("length, {unit}", unit=unit)
    spec = interval_spec(axis, len(rows))
    return drawn(what, title, spec, {"rows": rows, "rules": rules}, table)


def _ends(interval: Interval, middle: float, kind: Kind, unit: str) -> dict[str, float]:
    return {
        "low": in_unit(interval.low, kind, unit),
        "high": in_unit(interval.high, kind, unit),
        "middle": in_unit(middle, kind, unit),
    }


def _marks(
    declared: float, target: float, call_out: Interval, one: Printer
) -> list[tuple[float, str, str, float]]:
    """Name every rule: where it stands, its words, its dash, how high its label sits."""
    found = [
        (call_out.low, say("call the lead"), "dotted", 0.0),
        (call_out.high, say("call the lead"), "dotted", 0.0),
    ]
    if target == declared:
        both = say("declared, and target {amount}", amount=one(declared))
        return [*found, (declared, both, "solid", -0.36)]
    return [
        *found,
        (declared, say("declared {amount}", amount=one(declared)), "solid", -0.36),
        (target, say("target {amount}", amount=one(target)), "dashed", -0.72),
    ]


def doubt_chart(answer: TurnsAnswer, figures: Figures) -> Chart:
    """Draw what makes the doubt in one ball's mass; the table says the same of its length."""
    rows, spec = share_rows([(one.mass_share, one.words) for one in answer.contributions], figures)
    table = Table(
        (say("Source"), say("Of the mass"), say("Of the length"), say("Differs")),
        tuple(
            (
                one.words,
                figures.percent(one.mass_share, 0),
                figures.percent(one.length_share, 0),
                _DIFFERS[one.level],
            )
            for one in answer.contributions
        ),
    )
    title = say("What makes the doubt in a ball's mass, as shares of the variance")
    return drawn("doubt", title, spec, {"rows": rows}, table)


_DIFFERS = {
    "run": say("run to run"),
    "winder": say("winder to winder"),
    "cone": say("cone to cone"),
    "ball": say("ball to ball"),
}


def angle_chart(card: BallAnswer) -> Chart:
    """Draw the angle of wind over latitude."""
    build = card.answer.build
    where = np.flatnonzero(build.crossed)
    rows = [
        {"x": float(build.latitude_deg[i]), "y": float(build.angle_of_wind_deg[i])}
        for i in _thinned(where)
    ]
    middle = _nearest(rows, 0.0)
    outer = rows[-1]
    table = Table(
        (say("Latitude"), say("Angle of wind")),
        tuple((f"{row['x']:.0f}°", figure(f"{row['y']:.1f}°")) for row in _some(rows)),
    )
    title = say(
        "Angle of wind by latitude: {middle:.0f}° from the circumference at the equator, "
        "{outer:.0f}° at {latitude:.0f}°",
        middle=middle["y"],
        outer=outer["y"],
        latitude=outer["x"],
    )
    spec = line_spec(say("latitude, °"), say("angle of wind, °"), (-90.0, 90.0))
    return drawn("angle", title, spec, {"rows": rows}, table)


def turn_length_chart(card: BallAnswer, figures: Figures) -> Chart:
    """Draw the length of a turn over the build."""
    answer = card.answer
    unit = "mm" if figures.metric else "in"
    lengths = answer.build.turn_length_mm
    whole = np.arange(int(answer.build.turns))
    rows = [
        {"x": float(i + 1), "y": in_unit(float(lengths[i]) / 1000.0, LENGTH, unit)}
        for i in _thinned(whole)
    ]
    table = Table(
        (say("Turn"), say("Length")),
        tuple(
            (f"{row['x']:.0f}", figures.turn_length(float(lengths[int(row["x"]) - 1])))
            for row in _some(rows)
        ),
    )
    title = say(
        "Length of a turn over the build: {first} at the first, {last} at the last",
        first=figures.turn_length(answer.length_per_turn_mm_first),
        last=figures.turn_length(answer.length_per_turn_mm_last),
    )
    spec = line_spec(say("turn"), say("length of a turn, {unit}", unit=unit))
    return drawn("turn-length", title, spec, {"rows": rows}, table)


def _thinned(places: np.ndarray[tuple[int], np.dtype[np.int64]]) -> list[int]:
    if len(places) <= MOST_POINTS:
        return [int(place) for place in places]
    kept = np.unique(np.linspace(0, len(places) - 1, MOST_POINTS).round().astype(int))
    return [int(place) for place in places[kept]]


def _some(rows: Sequence[dict[str, float]]) -> list[dict[str, float]]:
    """Nine rows of many, the ends with them."""
    return [rows[i] for i in np.unique(np.linspace(0, len(rows) - 1, 9).round().astype(int))]


def _nearest(rows: Sequence[dict[str, float]], x: float) -> dict[str, float]:
    return min(rows, key=lambda row: abs(row["x"] - x))


def sensitivity_table(answer: TurnsAnswer, figures: Figures) -> Table:
    """Say what each stated change would do to the mean ball, and the turns that undo it."""
    rows = []
    for one in answer.sensitivities:
        back = "" if one.key == "turn" else figure(f"{one.turns:+.1f}".replace("-", "−"))
        rows.append(
            (
                _change_words(one, figures),
                figures.mass_change(one.mass_g),
                figures.change(figures.length(one.length_m)),
                back,
            )
        )
    return Table((say("If"), say("Mass"), say("Length"), say("Turns to undo it")), tuple(rows))


def _change_words(one: Sensitivity, figures: Figures) -> str:
    """Name a stated change; the room's words carry a unit only for tension."""
    if one.key != "tension":
        return one.words
    return say("tension {tension} more", tension=figures.tension(1.0))


def winder_table(card: BallAnswer, figures: Figures) -> Table:
    """Say what to set on each winder's own counter and what it then winds."""
    return Table(
        (say("Winder"), say("Set"), say("It counts"), say("Mean ball"), say("Length")),
        tuple(
            (
                str(one.winder)
                if one.winder == one.lane
                else say("{winder} in lane {lane}", winder=one.winder, lane=one.lane),
                str(one.counts),
                _counter_words(one),
                figures.mass(one.mass_g),
                figures.length(one.length_m),
            )
            for one in card.settings
        ),
    )


def _counter_words(one: WinderSetting) -> str:
    """Say what a counter counts, and the turns it gives where its counts are no flyer turns."""
    if one.turns == one.counts:
        return one.counter_words
    turns = figure(f"{one.turns:.1f}".removesuffix(".0"))
    return say("{counts}: {turns} turns", counts=one.counter_words, turns=turns)


def size_table(card: RunCard, figures: Figures) -> Table:
    """Say how large the ball is from the winder to the band."""
    shape = card.shape
    rows = [
        _round_row(say("on the mandrel"), shape.on_mandrel, figures),
        _round_row(say("off the mandrel"), shape.off_mandrel, figures),
        _round_row(say("at rest"), shape.relaxed, figures),
    ]
    return Table(("", say("Across"), say("Wide"), say("Bore")), tuple(rows))


def pressed_table(card: RunCard, figures: Figures) -> Table | None:
    """Say how large the pressed ball is; none where it is not pressed."""
    flat = card.shape.pressed
    if flat is None:
        return None
    sizes = (flat.thickness_mm, flat.breadth_mm, flat.length_mm, flat.hollow_mm)
    return Table(
        ("", say("Thick"), say("Broad"), say("Long"), say("Bore left")),
        ((say("pressed"), *(_range(size, figures) for size in sizes)),),
    )


def _round_row(name: str, size: RoundSize, figures: Figures) -> tuple[str, ...]:
    return (name, *(_range(r, figures) for r in (size.diameter_mm, size.width_mm, size.bore_mm)))


def _range(size: Range, figures: Figures) -> str:
    between = figures.sizes(size.low, size.high)
    if size.central is None or size.low == size.high:
        return between
    return say("{middle} ({between})", middle=figures.size(size.central), between=between)


def cover_table(card: RunCard, figures: Figures) -> Table:
    """Say how the wind ratio covers the ball at each diameter it was judged at."""
    cover = card.coverage
    rows = zip(
        cover.diameters_mm, cover.cover_first_frac, cover.cover_fourth_frac, cover.thickness_cv,
        cover.bare_frac, strict=True,
    )  # fmt: skip
    return Table(
        (
            say("Across"),
            say("Covered once round"),
            say("After four"),
            say("Thickness varies"),
            say("Left bare"),
        ),
        tuple(
            (figures.size(diameter), *(figures.percent(share, 0) for share in shares))
            for diameter, *shares in rows
        ),
    )
