"""The JSON beside Knots: the same answers and keys as `clew knots law` and `clew knots price`."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import ConfigDict
from starlette.requests import Request

from clew.faults import BadInput
from clew.knots.cutting import CuttingPlan
from clew.knots.from_mill import KnotTerms
from clew.knots.law_plain import plain_law
from clew.knots.price_plain import COMPLAINTS_ARE, plain_price
from clew.web.api.questions import FAULTS, OfBall, typed
from clew.web.knots.page import KnotsPage, law_of, open_knots, price_of, strand_of
from clew.web.knots.view import lanes_of
from clew.web.workbench import Workbench


class KnotsQuestion(OfBall):
    """What is asked of a ball's knots; what is left out is as in the mill file."""

    model_config = ConfigDict(extra="forbid")

    seed: str = typed('seed of the drawn strand, such as "7"; 1 when left out')
    knot_limit: str = typed('such as "2"')
    breaks: str = typed('breaks on the cone before steam, such as "0.35 /km"')
    cone_mass: str = typed('such as "1.6 kg"')
    shortest_piece: str = typed('such as "5 m"')
    shrink: str = typed('such as "20 %"')


def api_knots_router(bench: Workbench) -> APIRouter:
    """Serve the law of knots, its price and a drawn strand to programs."""
    router = APIRouter(prefix="/api/knots", responses=FAULTS)

    def asked_of(request: Request, asked: KnotsQuestion) -> tuple[KnotsPage, KnotTerms]:
        page = open_knots(bench.mill.read().mill, asked.model_dump(), bench.units(request))
        if page.terms is None:
            raise BadInput(page.faults)
        return page, page.terms

    @router.get("/law")
    def law(request: Request, asked: Annotated[KnotsQuestion, Query()]) -> dict[str, Any]:
        """How many joins land in a ball that starts anywhere on the strand."""
        _, terms = asked_of(request, asked)
        found = plain_law(law_of(terms), terms.rule.min_piece_m, terms.shrink_frac)
        return {"ball": terms.ball_name, "dye_lot": terms.lot_name, **found}

    @router.get("/price")
    def price(request: Request, asked: Annotated[KnotsQuestion, Query()]) -> dict[str, Any]:
        """What each limit costs a ball, at today's and at half the breaks, knots and splices."""
        _, terms = asked_of(request, asked)
        kinds = [("knot", 1.0), ("splice", terms.splice_counts)]
        if terms.splice_counts == 1.0:
            kinds = [(terms.joined_by, 1.0)]
        kinds.sort(key=lambda kind: kind[0] != terms.joined_by)
        return {
            "ball": terms.ball_name,
            "lot": terms.lot_name or None,
            "currency": terms.currency,
            "joined_by": terms.joined_by,
            "complaints_are": COMPLAINTS_ARE,
            "tables": [
                {"joins": joins, **plain_price(price_of(terms, counts, left))}
                for joins, counts in kinds
                for left in (1.0, 0.5)
            ],
        }

    @router.get("/strand")
    def strand(request: Request, asked: Annotated[KnotsQuestion, Query()]) -> dict[str, Any]:
        """A strand drawn from a seed: its joins and what it can be cut into."""
        page, terms = asked_of(request, asked)
        drawn = strand_of(terms, page.seed)
        return {
            "ball": terms.ball_name,
            "dye_lot": terms.lot_name,
            "seed": drawn.seed,
            "strand_m": drawn.knots.strand_m,
            "ball_length_m": terms.rule.ball_length_m,
            "limit": terms.rule.limit,
            "joins_allowed": page.allowed,
            "currency": terms.currency,
            "joins": [
                {"at_m": place, "kind": kind}
                for place, kind in zip(
                    drawn.knots.positions_m.tolist(), drawn.knots.kinds, strict=True
                )
            ],
            "plans": {
                lane.name: _plain_plan(lane.plan, priced=terms.stated_prices is not None)
                for lane in lanes_of(drawn, terms)
            },
        }

    return router


def _plain_plan(plan: CuttingPlan, *, priced: bool) -> dict[str, Any]:
    return {
        "starts_m": plan.starts_m.tolist(),
        "is_first": plan.is_first.tolist(),
        "first": plan.first,
        "second": plan.second,
        "waste_m": plan.waste_m,
        "partings": plan.partings,
        "value": plan.value if priced else None,
    }
