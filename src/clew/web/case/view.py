"""The packing and the cost of Case, arranged as pictures, tables and sentences."""

from __future__ import annotations

import re
from typing import Any

from clew.languages import figure, first_upper, joined, moment, say
from clew.mill.model import Mill
from clew.papers.printing import made_now
from clew.plan.costing.ball_cost import BallCost
from clew.plan.costing.emissions import emissions_of
from clew.plan.costing.sensitivities import CostStep
from clew.plan.costing.waterfall import waterfall
from clew.plan.costing.words import NOT_COUNTED, cost_words, emission_words
from clew.plan.packing.answer import PackAnswer
from clew.plan.packing.drawing import drawings_of
from clew.plan.packing.words import pack_words
from clew.web.case.charts import waterfall_spec
from clew.web.case.drawing import pack_drawing
from clew.web.case.page import CasePage
from clew.web.drawn.chart_svg import Chart, Table, drawn
from clew.web.drawn.figures import Figures
from clew.web.drawn.reworded import reworded

_UNIT = re.compile(r"(?<=\d) (?=%|(?:mm|cm|in|kg|lb|g|kWh|GBP|EUR|USD)(?![\w-]))")
_LEAST_DRAWN = 0.004
"""Parts of a stage below this share of the cost are drawn as one."""


def case_shown(page: CasePage, mill: Mill, figures: Figures) -> dict[str, Any]:
    """Arrange everything around packing and cost."""
    pack, cost = page.pack, page.cost
    if pack is None or cost is None:
        return {"pack": None, "cost": None}
    best = pack.best
    pallet = mill.pack.pallet
    told = [_tied(one) for one in pack_words(pack, figures.units)]
    return {
        "pack": pack,
        "cost": cost,
        "printed": moment(made_now(mill.mill.time_zone)),
        "said": told,
        "drawings": [] if best is None else [
            (_tied(first_upper(one.words)), pack_drawing(one))
            for one in drawings_of(
                best, deck_mm=pallet.deck_mm, most_height_mm=pallet.most_height_mm,
                units=figures.units,
            )
        ],
        "options": options_table(pack, figures),
        "shipped": shipped_table(pack, figures),
        "cost_said": [_tied(one) for one in cost_words(cost)],
        "waterfall": cost_chart(cost),
        "stages": stages_table(cost),
        "doubts": doubts_table(cost),
        "left": [
            _tied(one) for one in emission_words(emissions_of(cost, mill.emissions), figures.units)
        ],
        "notes": (*cost.notes, NOT_COUNTED),
    }  # fmt: skip


def _tied(words: str) -> str:
    """Keep numbers and their units on one line, in whichever language."""
    return reworded(words, lambda text: _UNIT.sub("\u00a0", text))


def options_table(pack: PackAnswer, figures: Figures) -> Table:
    """Every bag and case that fits, the cheapest first."""
    head = (say("Case"), say("Balls a bag"), say("Bags a case"), say("If balls are large"),
            say("Cases a pallet"), say("A case"), say("Lifting index"),
            say("A ball, {currency}", currency=pack.currency))  # fmt: skip
    rows = tuple(
        (
            one.case.name, str(one.balls_per_bag), str(one.bags_per_case), str(one.room.if_large),
            str(one.cases_per_pallet), figures.heavy(one.full_case.gross_g),
            say("none") if one.lift.index is None else figure(f"{one.lift.index:.2f}"),
            figure(f"{one.cost:.4f}"),
        )
        for one in pack.options
    )  # fmt: skip
    return Table(head, rows)


def shipped_table(pack: PackAnswer, figures: Figures) -> Table:
    """What bag, case and pallet weigh, and the room they take."""
    if pack.best is None:
        return Table((), ())
    head = ("", say("Balls"), say("Net"), say("Gross"), say("Volume"))
    named = ((say("Bag"), pack.best.bag), (say("Case"), pack.best.full_case),
             (say("Pallet"), pack.best.pallet))  # fmt: skip
    rows = tuple(
        (
            name, str(one.balls), figures.heavy(one.net_g), figures.heavy(one.gross_g),
            figure(f"{one.volume_m3:.3f} m³" if figures.metric
                   else f"{one.volume_m3 * 35.3147:.2f} ft³"),
        )
        for name, one in named
    )  # fmt: skip
    return Table(head, rows)


def cost_chart(cost: BallCost) -> Chart:
    """Draw the parts of the cost, one on top of the other."""
    money = cost.figures.currency
    steps = waterfall(cost, least_frac=_LEAST_DRAWN)
    rows: list[dict[str, Any]] = [
        {
            "place": place, "start": min(one.start, one.end), "end": max(one.start, one.end),
            "whole": one.stage in ("total", "price"), "less": one.end < one.start,
            "words": joined(
                "  ", (first_upper(one.words), _minus(f"{one.end - one.start:.3f}"))
            ),
        }
        for place, one in enumerate(steps)
    ]  # fmt: skip
    most = max(float(row["end"]) for row in rows if not row["whole"] or row["place"] == _sum(steps))
    table = Table(
        (say("Part"), say("{currency} a ball", currency=money)),
        tuple((first_upper(one.words), _minus(f"{one.end - one.start:.4f}")) for one in steps),
    )
    shown = [row for row in rows if float(row["end"]) <= most]
    title = say(
        "What a ball of {ball} costs, part on part, in {currency}",
        ball=cost.figures.ball_name,
        currency=money,
    )
    return drawn("waterfall", title, waterfall_spec(most), {"rows": shown}, table)


def _sum(steps: tuple[Any, ...]) -> int:
    return next(place for place, one in enumerate(steps) if one.stage == "total")


def worth_table(steps: tuple[CostStep, ...], currency: str) -> Table:
    """What one more of each input does to the cost."""
    rows = tuple(
        (
            first_upper(one.words), _signed(one.money_per_ball, 4),
            "" if one.money_per_year is None else _signed(one.money_per_year, 0),
            "" if one.foregone_per_ball is None else _signed(one.foregone_per_ball, 4),
        )
        for one in steps
    )  # fmt: skip
    head = (say("What changes"), say("{currency} a ball", currency=currency), say("A year"),
            say("Foregone a ball"))  # fmt: skip
    return Table(head, rows)


def _signed(value: float, places: int) -> str:
    return _minus(f"{value:+.{places}f}")


def _minus(printed: str) -> str:
    """Write a figure's minus as one; words keep their hyphens."""
    return figure(printed.replace("-", "−"))


def stages_table(cost: BallCost) -> Table:
    """Every part, stage by stage, with what is left of the yarn at each."""
    rows: list[tuple[str, ...]] = []
    for stage in cost.stages:
        left = figure(f"{100.0 * stage.yield_frac:.2f} %")
        for place, part in enumerate(stage.parts):
            rows.append((
                first_upper(part.words), first_upper(stage.words), _minus(f"{part.money:.4f}"),
                _share(part.money, cost.total), left if place == 0 else "",
            ))  # fmt: skip
    rows.append((say("A first-quality ball"), say("All"), figure(f"{cost.total:.4f}"),
                 figure("100.0 %"), figure(f"{100.0 * cost.yield_frac:.2f} %")))  # fmt: skip
    head = (say("Part"), say("Where"), cost.figures.currency, say("Share"),
            say("Yield of the stage"))  # fmt: skip
    return Table(head, tuple(rows))


def _share(money: float, whole: float) -> str:
    return _minus(f"{100.0 * money / whole:.1f} %") if whole > 0.0 else ""


def doubts_table(cost: BallCost) -> Table:
    """What the cost would be at the ends of each doubt."""
    head = (say("How unsure"), say("From"), say("To"))
    rows = tuple(
        (first_upper(one.words), figure(f"{one.low:.3f}"), figure(f"{one.high:.3f}"))
        for one in cost.doubts
    )
    return Table(head, rows)
