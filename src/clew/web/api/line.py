"""The JSON beside Steam and Dry: the same answers and keys as `clew line heat` and `limits`."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.requests import Request

from clew.faults import BadInput
from clew.line.heat.answer import HeatAnswer
from clew.line.heat.heat_plain import plain_heat, plain_limits
from clew.web.answers import refuse_not_asked
from clew.web.api.questions import FAULTS, OfLine, typed
from clew.web.heat.page import API_ASKS, Asking, HeatPage, open_heat
from clew.web.workbench import Workbench

_OF_HEAT = replace(API_ASKS, limited=False)
_OF_LIMITS = replace(API_ASKS, doubted=False)


class HeatQuestion(OfLine):
    """What is asked of a line's steam and dryer; what is left out is as in the mill file."""

    feed_speed: str = typed('such as "300 m/min"')
    belt_speed: str = typed('such as "1.1 m/min"')
    steam_temperature: str = typed('such as "100 °C"')
    dryer_temperature: str = typed('such as "95 °C"')
    regain_out: str = typed('regain wanted once cooled, such as "9.5 %"')


def api_line_router(bench: Workbench) -> APIRouter:
    """Serve what is known of a line to programs."""
    router = APIRouter(prefix="/api/line", responses=FAULTS)

    def answered(request: Request, asked: HeatQuestion, asking: Asking) -> HeatPage:
        refuse_not_asked(request, asking.keys)
        said = asked.model_dump()
        page = open_heat(bench.mill.read().mill, said, bench.units(request), asking)
        if page.answer is None:
            raise BadInput(page.faults)
        return page

    @router.get("/heat")
    def heat(request: Request, asked: Annotated[HeatQuestion, Query()]) -> dict[str, Any]:
        """What steam and dryer do to the yarn, and what they cost."""
        answer = answered(request, asked, _OF_HEAT).answer
        assert isinstance(answer, HeatAnswer)
        return plain_heat(answer) | {"calibrated": False}

    @router.get("/limits")
    def limits(request: Request, asked: Annotated[HeatQuestion, Query()]) -> dict[str, Any]:
        """What limits the speed of the line, station by station, slowest first."""
        page = answered(request, asked, _OF_LIMITS)
        assert page.limits is not None
        names = {"line": page.chosen.line.name, "ball": page.chosen.ball.name}
        return names | plain_limits(page.limits)

    return router
