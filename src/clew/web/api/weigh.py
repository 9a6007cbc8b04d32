"""The JSON beside Band: what the `clew weigh` commands say of a file in the mill's folder."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.requests import Request

from clew.checks.charts.chart_plain import plain_chart
from clew.checks.components.components_plain import components_plain
from clew.checks.components.drifted_plain import drifted_plain
from clew.checks.components.shift_change_plain import shift_change_plain
from clew.faults import BadInput, Fault
from clew.mill import mill_file
from clew.mill.net_content import read_tables
from clew.web.answers import refuse_not_asked
from clew.web.api.questions import FAULTS, OfLine, typed
from clew.web.band.answer import charts_of, drift_of, parts_of
from clew.web.band.files import weighing_files
from clew.web.band.law import law_of, law_plain
from clew.web.band.page import CHOICES, INPUTS, BandPage, open_band
from clew.web.workbench import Workbench


class WeighQuestion(OfLine):
    """Which balls are asked about; what is left out is as the page Band takes it."""

    file: str = typed("bare name of a file of weighings in the mill's folder; the newest if not")
    lot: str = typed('a dye lot of the file; "all" when left out')


class ChartsQuestion(WeighQuestion):
    """The same, with what is charted."""

    value: str = typed('"mass" or "length"; mass when left out')
    chart: str = typed("xbar-s, individuals, ewma or cusum")


class PartsQuestion(WeighQuestion):
    """The same, with what is taken apart."""

    value: str = typed('"mass" or "length"; mass when left out')


class TriedQuestion(WeighQuestion):
    """The same, with what may be tried in place of the mill file's."""

    target_mass: str = typed('what the winders are set to, such as "101 g"')
    yarn_per_kg: str = typed("price of a kilogram of yarn, in the mill's money")
    weigh_each: str = typed("what a change costs, in the mill's money")


def api_weigh_router(bench: Workbench) -> APIRouter:
    """Serve weighings to programs."""
    router = APIRouter(prefix="/api/weigh", responses=FAULTS)

    def opened(request: Request, asked: WeighQuestion, *more: str) -> BandPage:
        refuse_not_asked(request, (*CHOICES, *more))
        files = weighing_files(bench.mill.folder)
        said = asked.model_dump()
        page = open_band(bench.mill.read().mill, files, said, bench.units(request))
        if page.balls is None:
            nothing = Fault("no file of weighings", "one in the mill's folder", key="file")
            raise BadInput(page.file_faults or nothing)
        if page.faults:
            raise BadInput(page.faults)
        return page

    @router.get("/charts")
    def charts(request: Request, asked: Annotated[ChartsQuestion, Query()]) -> dict[str, Any]:
        """A control chart of every winder, with its limits and signals."""
        page = opened(request, asked, "value", "chart")
        found, faults = charts_of(page)
        if found is None:
            raise BadInput(faults)
        return {
            **_of_page(page),
            "value": page.value,
            "unit": "g" if page.value == "mass" else "m",
            "chart": page.kind,
            "condition": found.condition,
            "left_out": list(found.cautions),
            "charts": {
                one.winder or "all": plain_chart(one.chart)
                | {"clocks": list(one.clocks), "false_call_groups": one.false_call_groups}
                for one in found.each
            },
            "refused": found.refused,
        }

    @router.get("/components")
    def components(request: Request, asked: Annotated[PartsQuestion, Query()]) -> dict[str, Any]:
        """What varies: dye lot, cone, winder and the ball itself, with intervals."""
        page = opened(request, asked, "value")
        found, faults = parts_of(page, drift_of(page)[0])
        if found is None:
            raise BadInput(faults)
        return _of_page(page) | components_plain(found)

    @router.get("/corrections")
    def corrections(request: Request, asked: Annotated[TriedQuestion, Query()]) -> dict[str, Any]:
        """Who drifted, and by how many whole counts to correct each winder."""
        page = opened(request, asked, *INPUTS)
        drift, faults = drift_of(page)
        if drift is None:
            raise BadInput(faults)
        lots, unreel, aim = drift.lots, drift.unreel, drift.terms.aim
        return {
            **_of_page(page),
            **drifted_plain(drift.found, drift.terms.currency),
            "target_mass_g": aim.target_mass_g,
            "target_length_m": aim.target_length_m,
            "condition": drift.condition,
            "counts_from": drift.terms.how,
            "unreel": None
            if unreel is None
            else {
                "balls": unreel.balls,
                "half_width_m": unreel.half_width_m,
                "cost_money": unreel.cost,
            },
            "lots": None
            if lots is None
            else {
                "before": lots.before,
                "after": lots.after,
                "mass_frac": lots.mass_frac,
                "mass_low_frac": lots.mass_low_frac,
                "mass_high_frac": lots.mass_high_frac,
                "length_frac": lots.length_frac,
                "length_low_frac": lots.length_low_frac,
                "length_high_frac": lots.length_high_frac,
                "cause": lots.cause,
            },
            "change": None if drift.change is None else shift_change_plain(drift.change, "g"),
        }

    @router.get("/target")
    def target(request: Request, asked: Annotated[TriedQuestion, Query()]) -> dict[str, Any]:
        """The least lawful target, and what a gram of spread is worth."""
        page = opened(request, asked, *INPUTS)
        tables = read_tables(mill_file(bench.mill.folder).parent)
        return _of_page(page) | law_plain(law_of(page, tables))

    return router


def _of_page(page: BandPage) -> dict[str, Any]:
    """What was asked about, as it was taken."""
    return {"file": page.file, "ball": page.chosen.ball.name, "dye_lot": page.lot or None}
