"""The JSON beside Shift: what `clew line simulate` says of a line, and a drawn shift's timeline."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import Field
from starlette.requests import Request

from clew.faults import BadInput, Fault
from clew.line.layout import Layout
from clew.line.simulate.plain import plain_shift
from clew.web.answers import refuse_not_asked
from clew.web.api.questions import FAULTS, OfLine, typed
from clew.web.asked.whole import whole_typed
from clew.web.shift.page import (
    INPUTS,
    REPLICATIONS,
    ShiftPage,
    answer_for,
    open_shift,
    replications_for,
)
from clew.web.shift.replay import replay_for
from clew.web.shift.routes import lane_numbers
from clew.web.shift.window import plain_window
from clew.web.workbench import Workbench

MOST_REPLICATIONS = 1000
LONGEST_WINDOW_S = 3600.0
_ASKED = ("ball", "lot", "line", *INPUTS, "seed")
_DRAWN = (*_ASKED, "drawn")


class ShiftQuestion(OfLine):
    """What is asked of a line for a shift; what is left out is as in the mill file."""

    hands: str = typed("how many serve the line, 1 to 16")
    feed_speed: str = typed('of strand before steam, such as "300 m/min"')
    buffer: str = typed('strand after steam at which the belt stops, such as "900 m"')
    doff_time: str = typed('a hand\'s time for one doff, such as "7 s"')
    load_time: str = typed('a hand\'s time to load one cone and tie it, such as "40 s"')
    colour_changes: str = typed("changes of colour, evenly over the shift; 0 when left out")
    lanes: str = typed("lanes side by side, 1 to 16")
    shift_time: str = typed('length of the shift, such as "8 h"')
    seed: str = typed("what chance depends on; 1 when left out")


class SimulateQuestion(ShiftQuestion):
    """The same, with the number of shifts."""

    replications: str = typed(
        f"shifts that are drawn, 1 to {MOST_REPLICATIONS}; {REPLICATIONS} when left out. A very "
        "busy line is answered from fewer, and the answer says from how many"
    )


class TimelineQuestion(ShiftQuestion):
    """The same, with a window of time in the shift."""

    drawn: str = typed("which of the simulated shifts is drawn; 1, the first, when left out")
    from_s: float = Field(0.0, ge=0.0, le=86_400.0, description="begin of the window [s]")
    to_s: float = Field(1200.0, gt=0.0, le=86_400.0, description="its end, at most 1 h later [s]")


def api_shift_router(bench: Workbench) -> APIRouter:
    """Serve shifts to programs."""
    router = APIRouter(prefix="/api/line", responses=FAULTS)

    @router.get("/simulate")
    def simulate(request: Request, asked: Annotated[SimulateQuestion, Query()]) -> dict[str, Any]:
        """A shift of a line, drawn many times over: balls, and where every second goes."""
        refuse_not_asked(request, (*_ASKED, "replications"))
        page, layout = _opened(bench, request, asked)
        wanted = _replications(asked.replications)
        return plain_shift(answer_for(layout, page.seed, replications_for(layout, wanted)))

    @router.get("/shift/timeline")
    def timeline(request: Request, asked: Annotated[TimelineQuestion, Query()]) -> dict[str, Any]:
        """What every lane and hand does in a window of one drawn shift, change by change."""
        refuse_not_asked(request, (*_DRAWN, "from_s", "to_s"))
        page, layout = _opened(bench, request, asked)
        if not page.drawable:
            raise BadInput(
                Fault("a shift of too many changes to be drawn", "a line with fewer", key="line")
            )
        to_s = min(asked.to_s, layout.shift_s)
        if not asked.from_s < to_s <= asked.from_s + LONGEST_WINDOW_S:
            expected = f"after from_s, at most {LONGEST_WINDOW_S:.0f} s later, from_s in the shift"
            raise BadInput(
                Fault("no such window of the shift", expected, key="to_s", value=f"{asked.to_s:g}")
            )
        replay = replay_for(layout, page.seed, page.shift - 1)
        return plain_window(replay, asked.from_s, to_s, lane_numbers(page))

    return router


def _opened(bench: Workbench, request: Request, asked: ShiftQuestion) -> tuple[ShiftPage, Layout]:
    said = {key: text for key, text in asked.model_dump().items() if key in _DRAWN}
    page = open_shift(bench.mill.read().mill, said, bench.units(request))
    if page.layout is None:
        raise BadInput(page.faults)
    return page, page.layout


def _replications(text: str) -> int:
    if not text.strip():
        return REPLICATIONS
    number, fault = whole_typed("replications", text.strip(), MOST_REPLICATIONS)
    if fault is None and number < 1:
        expected = f"a whole number from 1 to {MOST_REPLICATIONS}"
        fault = Fault("out of reach", expected, key="replications", value=repr(text))
    if fault is not None:
        raise BadInput(fault)
    return number
