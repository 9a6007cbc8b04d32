"""The JSON beside Orders and Case: the same answers and keys as the commands `clew plan`."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict

from clew.faults import BadInput, Fault
from clew.mill import mill_file
from clew.mill.net_content import read_tables
from clew.plan.costing.emissions import emissions_of
from clew.plan.costing.plain import plain_cost, plain_emissions, plain_steps
from clew.plan.orders.plain import plain_materials, plain_unmet
from clew.plan.packing.plain import plain_pack
from clew.plan.sequence.plain import plan_plain, wish_plain
from clew.web.api.questions import FAULTS, OfLine, typed
from clew.web.case.page import CasePage, open_case, worth_of
from clew.web.few_at_once import FewAtOnce
from clew.web.mill_on_disk import Reading
from clew.web.orders.page import OrdersPage, Planned, Planner, open_orders
from clew.web.orders.routes import now_on_lines
from clew.web.workbench import Workbench


class PlanQuestion(BaseModel):
    """What is planned, and how long is searched."""

    model_config = ConfigDict(extra="forbid")

    orders: str = typed(
        "bare name of a list of orders in the mill's folder, or \"mill\" for the mill file's"
    )
    plan: str = typed("bare name of a plan in the mill's folder to begin from; none when left out")
    now: str = typed('when the plan begins, such as "2026-11-30 06:00"; now when left out')
    within: str = typed("seconds to search, 1 to 30; 2 when left out")
    seed: str = typed("seed of the search; 1 when left out")


class WishQuestion(PlanQuestion):
    """A run of the plan, and where it is wished."""

    run: str = typed("name of a run of the plan")
    line: str = typed("line it should be on; the first when left out")
    place: str = typed("which run of that line it should be, from 1; 1 when left out")


class PackQuestion(BaseModel):
    """What is packed."""

    model_config = ConfigDict(extra="forbid")

    ball: str = typed("name of a ball; the first when left out")
    case: str = typed("name of a case of the mill's; any when left out")
    bag: str = typed("balls to a bag; any number when left out")


class CostQuestion(OfLine):
    """What is costed."""

    model_config = ConfigDict(extra="forbid")

    run_balls: str = typed("balls of a run; the median of the mill's orders when left out")
    worth: str = typed('"no" leaves out what one more of each thing is worth, which takes longer')


def api_plan_router(bench: Workbench, planner: Planner) -> APIRouter:
    """Serve materials, sequence, packing and cost to programs."""
    router = APIRouter(prefix="/api/plan", responses=FAULTS)
    few = FewAtOnce(2)

    def opened(asked: PlanQuestion) -> tuple[OrdersPage, Planned]:
        reading = bench.mill.read()
        on_lines = now_on_lines(bench, reading.mill)
        page = open_orders(reading, asked.model_dump(), planner, on_lines)
        if page.faults:
            raise BadInput(page.faults)
        if page.planned is None:
            raise BadInput(Fault("no orders to plan", "a list of orders", key="orders"))
        return page, page.planned

    def packed(asked: BaseModel) -> tuple[Reading, CasePage]:
        reading = bench.mill.read()
        page = open_case(reading, asked.model_dump())
        if page.faults:
            raise BadInput(page.faults)
        return reading, page

    @router.get("/materials")
    @planner.few
    def materials(asked: Annotated[PlanQuestion, Query()]) -> dict[str, Any]:
        """The orders against the cones in stock."""
        _, found = opened(asked)
        return plain_materials(found.materials)

    @router.get("/sequence")
    @planner.few
    def sequence(asked: Annotated[PlanQuestion, Query()]) -> dict[str, Any]:
        """Which run next, on which line, when, and what it costs."""
        _, found = opened(asked)
        unmet = plain_unmet(found.materials)
        kept = found.plan.kept and not unmet
        return {**plan_plain(found.plan), "kept": kept, "unmet": unmet}

    @router.get("/wish")
    @planner.few
    def wish(asked: Annotated[WishQuestion, Query()]) -> dict[str, Any]:
        """What it costs to put a run of the plan elsewhere; amounts are more than in the plan."""
        page, _ = opened(asked)
        if page.wish is None:
            raise BadInput(Fault("no run is named", "the name of a run of the plan", key="run"))
        return wish_plain(page.wish)

    @router.get("/pack")
    @few
    def pack(asked: Annotated[PackQuestion, Query()]) -> dict[str, Any]:
        """Which bag, case and pallet a ball goes in."""
        reading, page = packed(asked)
        assert page.pack is not None
        pallet = reading.mill.pack.pallet
        return plain_pack(page.pack, deck_mm=pallet.deck_mm, most_height_mm=pallet.most_height_mm)

    @router.get("/cost")
    @few
    def cost(asked: Annotated[CostQuestion, Query()]) -> dict[str, Any]:
        """What a ball costs by the time it leaves, and what one more of each thing is worth."""
        if asked.worth not in ("", "yes", "no"):
            value = repr(asked.worth)[:80]
            raise BadInput(Fault("neither yes nor no", "yes or no", key="worth", value=value))
        reading, page = packed(asked)
        assert page.cost is not None
        steps = None
        if asked.worth != "no":
            tables = read_tables(mill_file(bench.mill.folder).parent)
            steps = plain_steps(worth_of(reading.mill, page, tables))
        return {
            **plain_cost(page.cost),
            "sensitivities": steps,
            "emissions": plain_emissions(emissions_of(page.cost, reading.mill.emissions)),
        }

    return router
