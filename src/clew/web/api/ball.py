"""The JSON beside the pages: the same questions, answers and keys as the commands."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict
from starlette.requests import Request

from clew.ball.plain import turns_plain, yarn_plain
from clew.ball.run_card import RunCard
from clew.faults import BadInput
from clew.web.api.questions import FAULTS, OfLine, typed
from clew.web.creel.page import open_creel
from clew.web.wind.ball_path import plain_path
from clew.web.wind.page import open_wind
from clew.web.workbench import Workbench


class YarnQuestion(BaseModel):
    """What is asked of a yarn; what is left out is as in the mill file."""

    model_config = ConfigDict(extra="forbid")

    of: str = typed("lot:NAME or yarn:NAME; the first dye lot when left out")
    count: str = typed('such as "400 tex"')
    shrink: str = typed('such as "20 %"')
    regain_in: str = typed('such as "9 %"')
    regain_out: str = typed('such as "9.5 %"')
    finish_loss: str = typed('such as "0.8 %"')


class BallQuestion(OfLine):
    """What is asked of a ball; what is left out is as in the mill file."""

    model_config = ConfigDict(extra="forbid")

    target_mass: str = typed('such as "101 g"')
    target_length: str = typed('such as "200 m"')
    tension: str = typed('such as "40 cN"')
    pack_density: str = typed('such as "150 kg/m3"')
    wind_ratio: str = typed('such as "20.38"')
    shrink: str = typed('such as "20 %"')
    regain_out: str = typed('such as "9.5 %"')


def api_router(bench: Workbench) -> APIRouter:
    """Serve yarns, balls and paths to programs."""
    router = APIRouter(prefix="/api", responses=FAULTS)

    def card_of(request: Request, asked: BallQuestion) -> RunCard:
        page = open_wind(bench.mill.read().mill, asked.model_dump(), bench.units(request))
        if page.card is None:
            raise BadInput(page.faults)
        return page.card

    @router.get("/yarn")
    def yarn(request: Request, asked: Annotated[YarnQuestion, Query()]) -> dict[str, Any]:
        """A dye lot or a yarn before and after steam."""
        page = open_creel(bench.mill.read().mill, asked.model_dump(), bench.units(request))
        if page.answer is None:
            raise BadInput(page.faults)
        return {"of": page.chosen, "yarn": page.yarn.name, **yarn_plain(page.answer)}

    @router.get("/ball/turns")
    def turns(request: Request, asked: Annotated[BallQuestion, Query()]) -> dict[str, Any]:
        """Turns of a ball, what it will hold, and what would change it."""
        card = card_of(request, asked)
        return {"ball": card.ball_name, "dye_lot": card.lot_name, **turns_plain(card.answer)}

    @router.get("/ball/path")
    def path(request: Request, asked: Annotated[BallQuestion, Query()]) -> dict[str, Any]:
        """The path of the strand on the finished ball, packed, for drawing it."""
        mill, units = bench.mill.read().mill, bench.units(request)
        page = open_wind(mill, asked.model_dump(), units, whole=False)
        if page.ball is None:
            raise BadInput(page.faults)
        return plain_path(page.ball)

    return router
