"""The address of Shift."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.faults import BadInput
from clew.languages import moment
from clew.line.layout import Layout
from clew.line.simulate.words import shift_words
from clew.mill.model import Mill
from clew.web.answers import refuse_not_asked
from clew.web.drawn.figures import Figures
from clew.web.shift import said as words
from clew.web.shift import view
from clew.web.shift.bars import PATTERNS
from clew.web.shift.change import change_for, change_shown, crew_for, rankable
from clew.web.shift.drawing import shift_drawing
from clew.web.shift.estimates import estimates_of
from clew.web.shift.forms import NARROW, WIDE
from clew.web.shift.page import (
    MOST_SHIFT,
    QUICK_REPLICATIONS,
    REPLICATIONS,
    SHIFT_KEYS,
    ShiftPage,
    answer_for,
    clock_words,
    open_shift,
    replications_for,
)
from clew.web.shift.replay import Replay, replay_for
from clew.web.shift.states import line_title, player_words
from clew.web.shift.strip import NARROW as NARROW_STRIP
from clew.web.shift.strip import SPAN_S, near_strip, shift_strip
from clew.web.shift.strip import WIDE as WIDE_STRIP
from clew.web.workbench import Workbench

_STEP_S = 300.0
"""How far the links without script go."""


def shift_router(bench: Workbench) -> APIRouter:
    """Serve Shift: whole or in parts.

    While a slider moves a page asks for ``answer``, which a few shifts give; once the values rest,
    for ``price``, which has all shifts and draws one; then for ``change``, which takes longest.
    """
    router = APIRouter()

    @router.get("/shift", include_in_schema=False)
    def shift(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        refuse_not_asked(request, SHIFT_KEYS)
        mill, units = bench.mill.read().mill, bench.units(request)
        page, figures = open_shift(mill, request.query_params, units), Figures(units)
        shown: dict[str, Any] = {"said": None, "change": None, "change_faults": (), "drawn": None}
        shown["rankable"] = page.layout is not None and rankable(page.layout)
        wants = part == "change" or (not part and bool(request.query_params.get("change")))
        if page.layout is not None:
            if part not in ("answer", "change") and page.drawable:
                shown["drawn"] = _drawn(page, replay_for(page.layout, page.seed, page.shift - 1))
            if part not in ("change", "strip"):
                shown |= _shown(page, page.layout, figures, quick=part == "answer")
            if wants and shown["rankable"]:
                shown |= _change(mill, page, page.layout)
        template = {
            "answer": "shift_quick_part.html",
            "price": "shift_part.html",
            "change": "shift_change_part.html",
            "strip": "shift_strip_part.html",
        }
        return bench.show(
            request, template.get(part, "shift.html"), at="shift",
            status=200 if page.layout is not None else 422, page=page, clock=clock_words,
            paper_words=words.paper_words(
                page.chosen.subject,
                page.entries,
                moment(datetime.now(ZoneInfo(mill.mill.time_zone))),
            ),
            **shown,
        )  # fmt: skip

    return router


def _change(mill: Mill, page: ShiftPage, layout: Layout) -> dict[str, Any]:
    """What takes longer: what one improvement is worth."""
    line_name, ball_name = page.chosen.line.name, page.chosen.ball.name
    try:
        ranking = change_for(mill, line_name, ball_name, layout, page.seed)
        crew = crew_for(mill, ball_name, layout, page.seed)
        return {"change": change_shown(ranking, crew)}
    except BadInput as bad:  # prices that no ranking can be made by
        return {"change_faults": bad.faults}


def _shown(page: ShiftPage, layout: Layout, figures: Figures, *, quick: bool) -> dict[str, Any]:
    """Everything the page arranges around the answer; a quick one is of fewer shifts."""
    wanted = QUICK_REPLICATIONS if quick else REPLICATIONS
    answer = answer_for(layout, page.seed, replications_for(layout, wanted))
    numbers, closed, told = lane_numbers(page), estimates_of(layout), shift_words(answer)

    def printed(text: str) -> str:
        return words.in_readers_units(text, figures)

    return {
        "answer": answer,
        "said": {
            "balls": answer.balls.mean,
            "quick": quick,
            "interval": (words.quick_words if quick else words.interval_words)(answer),
            "tried": words.tried_words(page.entries),
            "cautions": [printed(one) for one in page.cautions],
            "use": words.use_words(answer, figures),
            "kg": words.heavy_words(answer, figures),
            "holds_up": printed(told.holds_up),
            "winders": words.winder_words(answer),
            "beside": words.beside(told.reasons, figures),
            "second": [printed(one) for one in told.to_do],
            "second_head": printed(told.second),
            "caution": told.caution,
            "mini": words.mini_words(answer),
            "differ": words.why_they_differ(answer, closed),
            "estimates": words.estimate_note(closed),
            "formula": words.which_formula(closed),
        },
        "winders": {
            "bars": view.winder_bars(answer, numbers),
            "key": view.winder_key(answer),
            "table": view.winder_table(answer, numbers, figures),
        },
        "hands": {"bars": view.hand_bars(answer), "key": view.hand_key(answer)},
        "charts": {
            "feed": view.feed_chart(answer, figures),
            "waits": view.waits_chart(answer),
            "level": view.level_chart(answer),
        },
        "tables": {
            "calls": view.call_table(answer),
            "estimates": view.estimate_table(answer, closed),
            "books": view.book_table(answer, figures),
        },
        "patterns": PATTERNS,
    }


def lane_numbers(page: ShiftPage) -> tuple[int, ...]:
    """Number of each lane's winder."""
    by_lane = {one.lane: one.number for one in page.chosen.line.winder}
    new = max(by_lane.values()) - page.chosen.line.lanes
    lanes = page.chosen.line.lanes if page.layout is None else page.layout.lanes
    return tuple(by_lane.get(lane, new + lane) for lane in range(1, lanes + 1))


def _drawn(page: ShiftPage, replay: Replay) -> dict[str, Any]:
    """The drawings of the shift that is shown, at the moment that is asked."""
    numbers, at_s = lane_numbers(page), min(page.at_s, replay.layout.shift_s)
    title = line_title(clock_words(at_s))
    shift_s = replay.layout.shift_s
    near_s = min(SPAN_S * int(at_s / SPAN_S), max(shift_s - 1.0, 0.0) // SPAN_S * SPAN_S)
    strips = (WIDE_STRIP, NARROW_STRIP)
    return {
        "line": [shift_drawing(replay, at_s, numbers, form, title) for form in (WIDE, NARROW)],
        "near": [near_strip(replay, near_s, at_s, numbers, size) for size in strips],
        "shift": [shift_strip(replay, at_s, numbers, size) for size in strips],
        "at_s": at_s,
        "at": clock_words(at_s),
        "end": clock_words(shift_s),
        "shift_s": shift_s,
        "near_from": clock_words(near_s)[:-3],
        "near_to": clock_words(min(near_s + SPAN_S, shift_s))[:-3],
        "timeline": f"/api/line/shift/timeline?{page.query()}",
        "before": page.query(at=clock_words(max(at_s - _STEP_S, 0.0))),
        "after": page.query(at=clock_words(min(at_s + _STEP_S, shift_s))),
        "another": page.query(drawn=str(page.shift % MOST_SHIFT + 1)),
        "number": page.shift,
        "key": view.strip_key(),
        "words": player_words(),
        "moment": words.moment_words(replay, at_s),
    }
