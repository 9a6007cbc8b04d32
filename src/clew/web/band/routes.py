"""The address of Band."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.faults import BadInput
from clew.languages import moment, say
from clew.mill import mill_file
from clew.mill.net_content import read_tables
from clew.web.answers import refuse_not_asked
from clew.web.asked.limits import fault_for
from clew.web.band import said as words
from clew.web.band import tables as tables_of
from clew.web.band import view
from clew.web.band.answer import Charts, Drift, WinderChart, charts_of, drift_of, parts_of
from clew.web.band.chart_words import chart_words, variance_words
from clew.web.band.control import held_table
from clew.web.band.drawing import DENSE
from clew.web.band.figures import Measure, in_readers_units
from clew.web.band.files import weighing_files
from clew.web.band.page import BAND_KEYS, KINDS, VALUES, BandPage, open_band
from clew.web.band.weighed import WeighedBalls, runs_beside
from clew.web.band.why import why_of
from clew.web.drawn.figures import Figures
from clew.web.workbench import Workbench

_POINTS = {
    "xbar-s": say("mean of a group"),
    "individuals": say("one ball"),
    "ewma": say("moving average of group means"),
    "cusum": say("sum of deviations, upward and downward"),
}
_CENTRES = {"cusum": say("no deviation")}


def band_router(bench: Workbench) -> APIRouter:
    """Serve Band: whole, what changes with an input, or what the law needs, which takes longer."""
    router = APIRouter()

    @router.get("/band", include_in_schema=False)
    def band(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        refuse_not_asked(request, BAND_KEYS)
        mill, units = bench.mill.read().mill, bench.units(request)
        files = WeighedBalls(
            weighing_files(bench.mill.folder), runs_beside(bench, mill), as_set=True
        )
        page, figures = open_band(mill, files, request.query_params, units), Figures(units)
        shown: dict[str, Any] = {"law": None, "law_faults": ()}
        drift, faults = drift_of(page)
        shown["said"] = None if drift is None else said_of(drift, figures)
        shown["why"] = why_of(page, drift, figures)
        shown["drift_faults"] = [fault_for(one, units) for one in faults]
        if part == "price" or (not part and request.query_params.get("law")):
            shown |= _law(bench, page, figures)
        if part != "price":
            shown |= _picture(page, drift, figures) | _numbers(page, drift, figures)
        template = {"answer": "band_part.html", "price": "band_law_part.html"}
        fine = not page.faults and not page.file_faults
        return bench.show(
            request, template.get(part, "band.html"), at="band", status=200 if fine else 422,
            page=page, fault_words=words.fault_words,
            folder=str(mill_file(bench.mill.folder).parent.absolute()),
            printed=moment(datetime.now(ZoneInfo(mill.mill.time_zone))), **shown,
        )  # fmt: skip

    return router


def said_of(drift: Drift, figures: Figures) -> dict[str, Any]:
    """Everything that is said of who drifted."""
    found, currency = drift.found, drift.terms.currency
    aim = drift.terms.aim
    measure = Measure("mass", figures)
    unreel = ""
    if drift.unreel is not None:
        length = Measure("length", figures)
        asked = {"width": length.text(drift.unreel.half_width_m), "balls": drift.unreel.balls}
        unreel = (
            say(
                "A length check destroys its ball. To know a winder’s length to ±\u00a0{width} "
                "(95 %), unreel {balls} of its balls a shift: {money} a winder.",
                money=words.money(drift.unreel.cost, currency),
                **asked,
            )
            if currency
            else say(
                "A length check destroys its ball. To know a winder’s length to ±\u00a0{width} "
                "(95 %), unreel {balls} of its balls a shift.",
                **asked,
            )
        )
    change = drift.change
    return {
        "headline": words.headline(found),
        "changes": words.changes(found, currency, figures),
        "left": words.left_alone(found, figures),
        "saved": words.saved_words(found, currency, figures),
        "funnel": words.funnel(found, figures),
        "lot": None if drift.lots is None else words.lot_words(drift.lots, figures),
        "lots": None if drift.lots is None else (drift.lots.before, drift.lots.after),
        "condition": in_readers_units(drift.condition, figures),
        "aim": words.aim_words(aim, found.lot, figures),
        "mini": words.mini(found),
        "counts_from": in_readers_units(drift.terms.how, figures),
        "unreel": unreel,
        "change_notes": ()
        if change is None
        else [words.sentence(in_readers_units(one, figures)) for one in change.cautions],
        "last_lot": found.lot,
        "how": say("Aimed at {mass}.", mass=measure.text(aim.target_mass_g))
        if aim.target_length_m is None
        else say(
            "Aimed at {mass} and {length}.",
            mass=measure.text(aim.target_mass_g),
            length=Measure("length", figures).text(aim.target_length_m),
        ),
        "cautions": [words.sentence(one) for one in found.cautions],
    }


def _numbers(page: BandPage, drift: Drift | None, figures: Figures) -> dict[str, Any]:
    parts, faults = parts_of(page, drift)
    tables: dict[str, Any] = {"corrections": None, "causes": None, "change": None}
    if drift is not None:
        tables["corrections"] = tables_of.correction_table(drift.found, figures)
        tables["causes"] = tables_of.cause_table(drift.found, figures)
        if drift.change is not None:
            tables["change"] = tables_of.change_table(drift.change, figures)
    return {
        "tables": tables,
        "shares": None if parts is None else tables_of.share_chart(parts, figures),
        "parts_faults": faults,
        "next_lot": words.next_lot_words(parts, figures),
    }


def _picture(page: BandPage, drift: Drift | None, figures: Figures) -> dict[str, Any]:
    charts, faults = charts_of(page)
    turns = {
        "what": [(one, said, page.query(value=one, chart="")) for one, said in VALUES.items()],
        "kinds": [(one, said, page.query(chart=one)) for one, said in KINDS.items()],
    }
    shown: dict[str, Any] = {"turns": turns, "charts": None, "chart_faults": faults}
    if charts is not None:
        shown["charts"] = _arranged(page, charts, drift, figures)
    return shown


def _arranged(
    page: BandPage, charts: Charts, drift: Drift | None, figures: Figures
) -> dict[str, Any]:
    measure = Measure(page.value, figures)
    target = None
    if drift is not None:
        aim = drift.terms.aim
        target = aim.target_mass_g if page.value == "mass" else aim.target_length_m
    chosen = chosen_chart(page, charts, drift)
    cautions = [*charts.cautions, *(() if chosen is None else chosen.chart.cautions)]
    return {
        "words": chart_words(charts, measure),
        "panels": view.panels(charts, target, measure),
        "chosen": "" if chosen is None else chosen.winder,
        "large": [] if chosen is None else view.large(charts, chosen, target, measure),
        "held": partial(held_table, charts.key, measure),
        "variance": "" if chosen is None else variance_words(chosen, measure),
        "cautions": [in_readers_units(one, figures) for one in dict.fromkeys(cautions)],
        "refused": charts.refused,
        "point": _POINTS[page.kind],
        "limit": say("limit of the sums")
        if page.kind == "cusum"
        else say("limits, three sd of a point"),
        "dense": any(one.chart.panel.points.size > DENSE for one in charts.each),
        "centre": _CENTRES.get(page.kind, say("the winder’s own mean")),
        "target": "" if target is None or page.kind == "cusum" else measure.text(target),
    }


def chosen_chart(page: BandPage, charts: Charts, drift: Drift | None) -> WinderChart | None:
    """Take the chart asked for, else that of the winder to correct most, else the first."""
    by_winder = {one.winder: one for one in charts.each}
    if page.winder in by_winder:
        return by_winder[page.winder]
    if drift is not None:
        makes = [one for one in drift.found.corrections if one.make]
        makes.sort(key=lambda one: -abs(one.offset_g))
        for one in makes:
            if one.standing.winder in by_winder:
                return by_winder[one.standing.winder]
    return next(iter(charts.each), None)


def _law(bench: Workbench, page: BandPage, figures: Figures) -> dict[str, Any]:
    """What takes longer: the least lawful target."""
    if page.balls is None or page.faults:
        return {}
    from clew.web.band.law import law_of, law_shown

    try:
        tables = read_tables(mill_file(bench.mill.folder).parent)
        return {"law": law_shown(law_of(page, tables), figures)}
    except BadInput as bad:  # a ball without a rule set, or too few balls to tell
        return {"law_faults": [fault_for(one, figures.units) for one in bad.faults]}
