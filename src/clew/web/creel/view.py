"""Creel's charts and tables, printed in the reader's units."""

from __future__ import annotations

from clew.ball.yarn_answer import YarnAnswer
from clew.languages import figure, say
from clew.quantities import LENGTH, MASS, convert_count, in_unit
from clew.strand.bulk import SteamedSpread
from clew.web.drawn.chart_svg import Chart, Table, drawn
from clew.web.drawn.charts import interval_spec
from clew.web.drawn.figures import COUNTS, Figures
from clew.web.drawn.shares import share_rows

COUNT_WORDS = {
    "tex": say("tex, grams in 1000 m"),
    "Nm": say("Nm, metres in 1 g"),
    "Ne": say("Ne cotton, hanks of 840 yd in 1 lb"),
    "NeK": say("NeK worsted, hanks of 560 yd in 1 lb"),
    "yd/lb": say("yards in 1 lb"),
}


def count_chart(answer: YarnAnswer, figures: Figures) -> Chart:
    """Draw the count on the cone and steamed, each with its interval."""
    unit = figures.count_unit
    named = (
        (say("on the cone"), answer.before),
        (say("steamed"), answer.after),
        (say("steamed, run's mean"), answer.mean_after),
    )
    rows = [
        {
            "place": place + 0.66,
            **_ends(spread, unit),
            "words": say("{title}: {words}", title=name, words=figures.own_count(spread.count_tex)),
        }
        for place, (name, spread) in enumerate(named)
    ]
    table = Table(
        (
            "",
            say("Count"),
            say("{share} lie within", share=figures.percent(answer.after.level, 0)),
        ),
        tuple(
            (name, figures.own_count(s.count_tex), figures.own_counts(s.low_tex, s.high_tex))
            for name, s in named
        ),
    )
    title = say("Count before and after steam, with the intervals that the stated spreads give")
    return drawn(
        "count",
        title,
        interval_spec(say("count, {unit}", unit=unit), len(rows)),
        {"rows": rows, "rules": []},
        table,
    )


def _ends(spread: SteamedSpread, unit: str) -> dict[str, float]:
    low, high = sorted(convert_count(tex, "tex", unit) for tex in (spread.low_tex, spread.high_tex))
    return {"low": low, "high": high, "middle": convert_count(spread.count_tex, "tex", unit)}


def doubt_chart(answer: YarnAnswer, figures: Figures) -> Chart:
    """Draw what makes up the doubt about the steamed count."""
    rows, spec = share_rows([(part.share, part.words) for part in answer.parts], figures)
    table = Table(
        (say("Source"), say("Share of the variance"), say("By itself, standard deviation")),
        tuple(
            (part.words, figures.percent(part.share, 0), figures.percent(part.ln_sd, 2))
            for part in answer.parts
        ),
    )
    title = say("What makes the doubt in the steamed count, as shares of the variance")
    return drawn("doubt", title, spec, {"rows": rows}, table)


def count_table(answer: YarnAnswer, figures: Figures) -> Table:
    """Count in several systems, and lengths that go with it, before and after steam."""
    before, after = answer.before.count_tex, answer.after.count_tex
    rows: list[tuple[str, ...]] = [
        (COUNT_WORDS[unit], figures.count(before, unit), figures.count(after, unit))
        for unit in COUNTS
    ]
    rows += [
        (
            words,
            *(
                figure(f"{_length_in(tex, mass_g, unit):.{places}f} {unit}")
                for tex in (before, after)
            ),
        )
        for words, mass_g, unit, places in (
            (say("length in 100 g"), 100.0, "m", 1),
            (say("length in 100 g"), 100.0, "yd", 1),
            (say("length in 1 oz"), MASS.units["oz"], "yd", 1),
        )
    ]
    return Table(("", say("On the cone"), say("Steamed")), tuple(rows))


def water_table(answer: YarnAnswer, figures: Figures) -> Table:
    """Regain and moisture content side by side, before and after steam."""
    strand = answer.strand
    return Table(
        ("", say("On the cone"), say("Off the dryer"), say("Agreed")),
        (
            (
                say("Regain, on dry mass"),
                figures.percent(strand.regain_in_frac, 2),
                figures.percent(strand.regain_out_frac, 2),
                figures.percent(strand.allowance_frac, 2),
            ),
            (
                say("Moisture content, on the mass as it stands"),
                figures.percent(answer.content_in_frac, 2),
                figures.percent(answer.content_out_frac, 2),
                figures.percent(answer.content_agreed_frac, 2),
            ),
        ),
    )


def _length_in(count_tex: float, mass_g: float, unit: str) -> float:
    """Length [unit] in a mass [g] of yarn of a count [tex]."""
    per_kg = convert_count(count_tex, "tex", "m/kg")
    return in_unit(per_kg * mass_g / 1000.0, LENGTH, unit)
