"""The JSON beside Lots: what `clew lot release`, `lot test` and `lot sample` say of a lot."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import Field
from starlette.requests import Request

from clew.checks.packages.rule_sets import rule_of
from clew.checks.packages.verdict_plain import plain_verdict
from clew.checks.release.decision_plain import plain_decision
from clew.faults import BadInput, Fault
from clew.mill.model import Mill
from clew.web.answers import refuse_not_asked
from clew.web.api.questions import FAULTS, OfLine, typed
from clew.web.lots.files import LotFiles
from clew.web.lots.inputs import LOTS_KEYS
from clew.web.lots.page import LotsPage, open_lots
from clew.web.workbench import Workbench

_SHARES = (0.005, 0.01, 0.02, 0.03, 0.05, 0.08, 0.12)
"""Shares at fault that the plan's curve is given at, beside the mill file's two."""


class LotQuestion(OfLine):
    """What is asked of a lot; what is left out is as on the page Lots."""

    file: str = typed("bare name of a file of weighings in the mill's folder")
    size: str = typed("balls in the lot; as many as the file holds of it when left out")
    rule: list[str] = Field(
        default_factory=list,
        max_length=10,
        description="a rule set, such as eu-average, repeated for several; or the ball's",
    )
    sample: str = typed('"random" or "file": how the balls are taken out of the file')
    seed: str = typed("what a random order depends on; 1 when left out")


class ReleaseQuestion(LotQuestion):
    """The same, with all that is needed for a release."""

    knots_looked: str = typed("balls looked through for knots over the limit")
    knots_found: str = typed("of them at fault")
    band_looked: str = typed("balls looked at for a wrong or missing band")
    band_found: str = typed("of them at fault")
    shape_looked: str = typed("balls looked at for their shape")
    shape_found: str = typed("of them at fault")
    shade: str = typed('bare name of a file of shade readings, or "none"')
    regain: str = typed('regain at weighing where the file has none, such as "9 %"')
    accepted: str = typed("who takes a table on them that was not checked against its source")
    drawn_by: str = typed("who drew the sample")
    drawn_how: str = typed("how it was drawn")
    drawn_when: str = typed("when")
    order: str = typed("order the lot is for")


def api_lot_router(bench: Workbench, files: LotFiles) -> APIRouter:
    """Serve decisions on lots to programs."""
    router = APIRouter(prefix="/api/lot", responses=FAULTS)

    def opened(request: Request, asked: LotQuestion) -> tuple[Mill, LotsPage]:
        refuse_not_asked(request, LOTS_KEYS)
        mill = bench.mill.read().mill
        said = asked.model_dump(exclude={"rule"})
        page = open_lots(mill, said, asked.rule, files, bench.units(request))
        if page.faults:
            raise BadInput(page.faults)
        return mill, page

    @router.get("/release")
    def release(request: Request, asked: Annotated[ReleaseQuestion, Query()]) -> dict[str, Any]:
        """The decision on a lot, what would release it, and every worksheet."""
        _, page = opened(request, asked)
        if page.answer is None or page.paper is None:
            raise _nothing(page)
        stage = page.answer.fault_plan.stages[0]
        return {
            **plain_decision(page.answer.decision),
            "hash": page.paper.hash,
            "pdf": f"/lots/certificate.pdf?{page.query()}" if page.size_said else None,
            "fault_plan": {"drawn": stage.drawn, "accept": stage.accept},
            "verdicts": [plain_verdict(one, page.tables) for one in page.answer.verdicts],
        }

    @router.get("/test")
    def test(request: Request, asked: Annotated[LotQuestion, Query()]) -> dict[str, Any]:
        """A sample's net content by one rule set: the ball's own where none is named."""
        _, page = opened(request, asked)
        if page.answer is None:
            raise _nothing(page)
        if len([part for one in asked.rule for part in one.split(",") if part.strip()]) > 1:
            raise BadInput(
                Fault("several rule sets", "one; /api/lot/release takes several", key="rule")
            )
        verdict = page.answer.verdicts[0]
        return {
            **plain_verdict(verdict, page.tables),
            "title": rule_of(verdict.rule.key).title,
        }

    @router.get("/sample")
    def sample(request: Request, asked: Annotated[LotQuestion, Query()]) -> dict[str, Any]:
        """How many balls to look through for faults, and how many may be at fault."""
        mill, page = opened(request, asked)
        if page.plan is None:
            raise BadInput(Fault("no size of the lot", "balls in the lot", key="size"))
        return _plain_plan(mill, page)

    return router


def _nothing(page: LotsPage) -> BadInput:
    return BadInput(Fault(page.missing or "nothing to judge", "balls of the lot", key="file"))


def _plain_plan(mill: Mill, page: LotsPage) -> dict[str, Any]:
    from clew.checks.attributes.curves import curve, worst_outgoing

    plan, size, rules = page.plan, page.lot_size, mill.checks
    assert plan is not None
    shares = sorted({*_SHARES, rules.fault_good_frac, rules.fault_bad_frac})
    points = {one.bad_frac: one for one in curve(plan, shares, size)}
    limit, at = worst_outgoing(plan, size)
    return {
        "lot_size": size,
        "kind": "single",
        "stages": [
            {"drawn": one.drawn, "accept": one.accept, "reject": one.reject} for one in plan.stages
        ],
        "whole_lot": plan.most_n == size,
        "good_frac": rules.fault_good_frac,
        "bad_frac": rules.fault_bad_frac,
        "curve": [
            {
                "bad_frac": one.bad_frac,
                "accepted_frac": one.accepted,
                "drawn_mean": one.drawn_mean,
                "drawn_mean_curtailed": one.curtailed_mean,
                "outgoing_frac": one.outgoing_frac,
                "inspected_mean": one.inspected_mean,
            }
            for one in points.values()
        ],
        "aoql_frac": limit,
        "aoql_at_frac": at,
    }
