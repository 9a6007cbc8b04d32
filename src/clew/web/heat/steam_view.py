"""Steam's chart and tables, printed in the reader's units."""

from __future__ import annotations

import math

from clew.languages import figure, joined, say
from clew.line.heat.answer import HeatBalance
from clew.line.heat.steaming import bulk_share
from clew.quantities import number
from clew.web.drawn.chart_svg import Chart, Rows, Table, drawn
from clew.web.drawn.figures import Figures
from clew.web.heat import figures as heat
from clew.web.heat.charts import bulk_spec

_POINTS = 60
_FARTHEST = 3.0
"""A longest dwell farther off than so many times the others is said, not drawn."""
_LISTED = 8


def bulk_chart(answer: HeatBalance, figures: Figures) -> Chart:
    """Draw the bulk over the time in steam: where it is full, where steam ends, what is too long.

    Parameters
    ----------
    answer : HeatBalance
        The answer.
    figures : Figures
        The reader's printing.

    Returns
    -------
    Chart
        The drawing with its table. In steam that is too cool the whole curve is dashed: it is that
        of steam hot enough.
    """
    terms, steam = answer.terms, answer.steamed
    hot = steam.zone_c >= terms.full_bulk_c
    dwell, full, longest = steam.dwell_s, steam.full_dwell_s, terms.longest_dwell_s
    rules = [(full, "dashed", say("full bulk {time}", time=heat.seconds(full)))] if hot else []
    rules.append((dwell, "solid", say("out of steam {time}", time=heat.seconds(dwell))))
    if longest <= _FARTHEST * max(full, dwell):
        rules.append((longest, "dotted", say("longest {time}", time=heat.seconds(longest))))
    ends = 1.06 * max(at for at, *_ in rules)
    rules.sort()
    levels = len(rules)
    within = [(dwell * k / _POINTS, "solid" if hot else "dashed") for k in range(_POINTS + 1)]
    beyond = [(dwell + (ends - dwell) * k / _POINTS, "dotted") for k in range(_POINTS + 1)]
    data: dict[str, Rows] = {
        "curve": [
            {"x": t, "y": 100.0 * bulk_share(t, terms.bulk_tau_s), "dash": dash}
            for t, dash in within + beyond
        ],
        "rules": [
            {
                "at": at,
                "from": 0.0,
                "dash": dash,
                "words": words,
                "level": 100.0 + 14.0 * (levels - place) - 6.0,
                "align": "left" if at < 0.5 * ends else "right",
            }
            for place, (at, dash, words) in enumerate(rules)
        ],
        "points": [{"x": dwell, "y": 100.0 * steam.bulk_frac}] if hot else [],
    }
    table = Table(
        (
            say("In steam"),
            say("Along the steamer"),
            say("Bulk") if hot else say("Bulk, were it hot enough"),
        ),
        tuple(
            (
                heat.seconds(t),
                heat.belt_length(t * terms.belt_m_per_s, figures),
                figure(f"{number(100.0 * bulk_share(t, terms.bulk_tau_s), 3)}\u00a0%"),
            )
            for t in (dwell * k / _LISTED for k in range(_LISTED + 1))
        ),
    )
    reached = {
        "share": figure(f"{number(100.0 * steam.bulk_frac, 3)} %"),
        "time": heat.seconds(dwell),
    }
    title = (
        say("Bulk along the steamer: {share} of the shrink after {time}", **reached)
        if hot
        else say(
            "Bulk along the steamer, were it hot enough: {share} of the shrink after {time}",
            **reached,
        )
    )
    return drawn("bulk", title, bulk_spec(ends, levels), data, table)


def bulk_caption(answer: HeatBalance, figures: Figures) -> str:
    """Say what the drawn curve is, and what its dashes are."""
    terms, steam = answer.terms, answer.steamed
    hot = steam.zone_c >= terms.full_bulk_c
    said = say("Bulk along the steamer. The dotted end is what a longer stay would add.")
    if not hot:
        said = say(
            "No full bulk in this steam. Dashed: what steam of {full} would give.",
            full=heat.degrees(terms.full_bulk_c, figures),
        )
    far = terms.longest_dwell_s > _FARTHEST * max(steam.full_dwell_s, steam.dwell_s)
    if far and math.isfinite(terms.longest_dwell_s):
        beyond = say(
            "Too long in steam, from {time}, is beyond.", time=heat.seconds(terms.longest_dwell_s)
        )
        said = joined(" ", (said, beyond))
    return said


def steam_table(answer: HeatBalance, figures: Figures) -> Table:
    """Where the steam goes, the most first, as shares of what is drawn."""
    demand = answer.steamed.demand
    parts = sorted(
        (
            (demand.wet_kg_per_h, say("warms the yarn and condenses on it")),
            (demand.losses_kg_per_h, say("slots, shell and pipes, as stated")),
        ),
        key=lambda part: -part[0],
    )
    return Table(
        ("", say("Share"), say("An hour")),
        (
            *(
                (what, figures.percent(flow / demand.total_kg_per_h, 0), heat.heavy(flow, figures))
                for flow, what in parts
                if flow > 0.0
            ),
            (say("drawn, all together"), "100\u00a0%", heat.heavy(demand.total_kg_per_h, figures)),
        ),
    )
