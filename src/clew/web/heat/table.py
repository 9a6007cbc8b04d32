"""Heat and money of dryer and steamer as a table of Dry."""

from __future__ import annotations

import math
from collections.abc import Sequence

from clew.languages import figure, say
from clew.line.heat.answer import HeatAnswer
from clew.web.drawn.chart_svg import Table
from clew.web.drawn.figures import Figures, tight
from clew.web.heat import figures as heat
from clew.web.knots.money import small_sum


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
    what = (
        say("water off the yarn"),
        say("fresh air warmed"),
        say("yarn warmed"),
        say("shell and belt, stated"),
    )
    efficiency = figures.percent(terms.heat_efficiency_frac, 0)
    rows = [
        *((one, kw, "") for one, kw in zip(what, parts, strict=True)),
        (say("the dryer"), dryer, _sum(money.dryer_money_per_h, terms.currency)),
        (say("the steamer"), steamer, _sum(money.steam_money_per_h, terms.currency)),
        (
            say(
                "lost in boiler and heater, at an efficiency of {efficiency}", efficiency=efficiency
            ),
            lost,
            "",
        ),
        (say("fuel for both"), whole, _sum(money.money_per_h, terms.currency)),
    ]
    head = (
        "",
        "kW",
        say("kWh a kg of yarn") if figures.metric else say("kWh a lb of yarn"),
        say("Money an hour"),
    )
    priced = money.money_per_h is not None
    return Table(
        head if priced else head[:-1],
        tuple(
            (
                one,
                figure(f"{kw:.{places}f}".replace("-", "−")),
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
