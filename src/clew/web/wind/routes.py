"""The address of Wind."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.ball.ball_answer import BallAnswer, strand_width_mm
from clew.ball.run_card import RunCard
from clew.languages import say, say_many
from clew.papers import ball_words
from clew.web.answers import refuse_not_asked
from clew.web.asked.limits import sizes_for
from clew.web.drawn.colour import strand_colours
from clew.web.drawn.drawing import cover_drawing, section_drawing
from clew.web.drawn.figures import Figures
from clew.web.wind import view
from clew.web.wind.ball_drawing import ball_drawing
from clew.web.wind.ball_path import highest_crossed_deg, path_of
from clew.web.wind.page import WIND_KEYS, Wind, open_wind
from clew.web.workbench import Workbench

_TEMPLATES = {"answer": "wind_part.html", "price": "wind_more_part.html"}
"""What is sent while a slider moves, and once it rests."""


def wind_router(bench: Workbench) -> APIRouter:
    """Serve Wind, whole or only what changes with an input."""
    router = APIRouter()

    @router.get("/wind", include_in_schema=False)
    def wind(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        refuse_not_asked(request, WIND_KEYS)
        units = bench.units(request)
        # while a slider moves, what is not the answer itself follows at rest
        quick = part == "answer"
        page = open_wind(bench.mill.read().mill, request.query_params, units, whole=not quick)
        shown: dict[str, Any] = {}
        if page.ball is not None and part != "price":
            shown |= _shown(page, page.ball, Figures(units))
        if page.card is not None:
            shown |= _more(page, page.card, Figures(units))
        return bench.show(
            request, _TEMPLATES.get(part, "wind.html"), at="wind",
            status=200 if page.ball is not None else 422,
            wind=page, query=query_of(request), **shown,
        )  # fmt: skip

    return router


def query_of(request: Request) -> str:
    """Write the question again without the part that was asked for."""
    return urlencode([(k, v) for k, v in request.query_params.multi_items() if k != "part" and v])


def _shown(page: Wind, ball: BallAnswer, figures: Figures) -> dict[str, Any]:
    """Everything the page arranges around the answer itself."""
    lot = page.chosen.dye_lot
    return {
        "charts": {
            "mass": view.interval_chart(ball, figures, "mass"),
            "length": view.interval_chart(ball, figures, "length"),
        },
        "colours": strand_colours(page.chosen.colour),
        "winders": view.winder_table(ball, figures),
        "sensitivities": view.sensitivity_table(ball.answer, figures),
        "words": _words(ball, figures),
        "measured": lot is not None and lot.count_measured_tex is not None,
    }


def _more(page: Wind, card: RunCard, figures: Figures) -> dict[str, Any]:
    """Everything the page arranges that a run card says besides."""
    setting, build = card.terms.winding.setting, card.answer.build
    sizes = (figures.size(build.diameter_mm), figures.size(build.width_mm))
    return {
        "more_charts": {
            "doubt": view.doubt_chart(card.answer, figures),
            "angle": view.angle_chart(card),
            "turn_length": view.turn_length_chart(card, figures),
        },
        "drawings": {
            "ball": _ball(page, card),
            "cover": cover_drawing(card.coverage, say("Layers of strand over the finished ball")),
            "section": section_drawing(
                build, (setting.mandrel_diameter_mm, setting.mandrel_width_mm), sizes,
                say(
                    "The ball cut along its axis: {across} across, {wide} wide",
                    across=sizes[0],
                    wide=sizes[1],
                ),
            ),
        },
        "cover_words": _cover_words(card, figures),
        "covers": view.cover_table(card, figures),
        "sizes": view.size_table(card, figures),
        "pressed": view.pressed_table(card, figures),
    }  # fmt: skip


def _cover_words(card: BallAnswer, figures: Figures) -> str:
    """Say how the strand covers the ball."""
    cover = ball_words.cover_words(card.coverage, figures.units)
    return cover if card.coverage.ribbon else say("Ribbons: {cover}", cover=cover)


def _words(card: BallAnswer, figures: Figures) -> dict[str, Any]:
    """The sentences that card and page have in common."""
    units = figures.units
    return {
        "binds": ball_words.binding_words(card.answer),
        "needed": ball_words.needed_words(card.answer, card.terms.promise, units),
        "over": ball_words.over_words(card.answer, units),
        "short": ball_words.short_words(card.answer),
        "basis": ball_words.basis_words(card, units),
        "cover": _cover_words(card, figures) if card.coverage.ribbon else "",
        "warnings": [sizes_for(one, units) for one in card.answer.build.warnings],
    }


def _ball(page: Wind, card: RunCard) -> Markup:
    path, build = path_of(card), card.answer.build
    beyond = build.latitude_deg > highest_crossed_deg(build) - 2.0
    hole = card.terms.winding.setting.mandrel_diameter_mm
    ends = (build.latitude_deg[beyond][::3], build.radius_mm[beyond][::3], hole)
    title = say_many(
        "{ball} after {n} turn, drawn with its real path",
        "{ball} after {n} turns, drawn with its real path",
        card.answer.turns,
        ball=page.chosen.ball.name,
    )
    width = strand_width_mm(build.area_mm2)
    colours = strand_colours(page.chosen.colour)
    return ball_drawing(path.points_mm, path.steps, width, ends, colours, title)
