"""The addresses of a ball that came back: the page under Knots, and the same for programs."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.faults import BadInput, Fault
from clew.knots import answer_words as words
from clew.knots.answer import BuyerAnswer
from clew.knots.answer_grade_words import first_sentence
from clew.knots.answer_plain import answer_as_plain
from clew.knots.answer_price_words import prevention_sentence
from clew.knots.from_mill import KnotTerms
from clew.knots.letter import letter_paragraphs
from clew.languages import figure, say
from clew.quantities import LENGTH, UnitSystem, number, show
from clew.web.answers import refuse_not_asked
from clew.web.api.questions import FAULTS, typed
from clew.web.drawn.chart_svg import Table
from clew.web.knots.answer_page import ANSWER_KEYS, open_returned
from clew.web.knots.money import small_sum
from clew.web.workbench import Workbench

_typed = partial(typed, longest=1000)  # places of many joins are a long text


class ReturnedQuestion(BaseModel):
    """What is asked about a ball that came back."""

    model_config = ConfigDict(extra="forbid")

    ball: str = _typed("name of a ball; the first when left out")
    lot: str = _typed(
        'a dye lot, or "none" for the yarn as spun; the first that fits when left out'
    )
    joins: str = _typed('joins counted in it, such as "3"; as many as places when left out')
    at: str = _typed('places of joins from either end, such as "12 m, 80 m"')


def knots_answer_router(bench: Workbench) -> APIRouter:
    """Serve the answer to a buyer as a page and to programs."""
    router = APIRouter()

    @router.get("/knots/answer", include_in_schema=False)
    def answer(request: Request) -> HTMLResponse:
        refuse_not_asked(request, ANSWER_KEYS)
        units = bench.units(request)
        page = open_returned(bench.mill.read().mill, request.query_params, units)
        said = None
        if page.answer is not None and page.knots.terms is not None:
            said = _said(page.answer, page.knots.terms, units)
        back = "/knots?" + urlencode(page.knots.chosen.address)
        return bench.show(
            request, "knots_answer.html", at="knots", status=422 if page.faults else 200,
            returned=page, knots=page.knots, said=said, back_to_knots=back,
        )  # fmt: skip

    @router.get("/api/knots/answer", responses=FAULTS)
    def plain(request: Request, asked: Annotated[ReturnedQuestion, Query()]) -> dict[str, Any]:
        """How usual a returned ball is, what its joins were, and a draft of the letter."""
        terms, found = _asked(bench, request, asked)
        return {
            "ball": terms.ball_name,
            "dye_lot": terms.lot_name,
            **answer_as_plain(found),
            "currency": terms.currency,
            "letter": _letter(found, terms, bench.units(request)),
        }

    return router


def _asked(
    bench: Workbench, request: Request, asked: ReturnedQuestion
) -> tuple[KnotTerms, BuyerAnswer]:
    page = open_returned(bench.mill.read().mill, asked.model_dump(), bench.units(request))
    if page.answer is None or page.knots.terms is None:
        none = (Fault(say("no joins"), say("joins, or a place for each in at"), key="joins"),)
        raise BadInput(page.faults or none)
    return page.knots.terms, page.answer


def _letter(found: BuyerAnswer, terms: KnotTerms, units: UnitSystem) -> list[str]:
    return letter_paragraphs(
        found,
        ball_name=terms.ball_name,
        lot_name=terms.lot_name,
        joined_by=terms.joined_by,
        units=units,
    )


def _said(found: BuyerAnswer, terms: KnotTerms, units: UnitSystem) -> dict[str, Any]:
    """Everything the page arranges around the answer."""
    sentences = (
        words.split_sentence(found, terms.joined_by),
        words.cone_sentence(found),
        *words.spinning_sentences(found, terms.joined_by),
        prevention_sentence(found, terms.currency, small_sum),
    )
    return {
        "grade": first_sentence(found, units, terms.joined_by),
        "usual": words.usual_sentence(found, units, terms.joined_by),
        "sentences": [one for one in sentences if one],
        "letter": _letter(found, terms, units),
        "chances": _chances(found),
        "kinds": _kinds(found),
        "places": _places(found, units, terms.joined_by),
    }


def _chances(found: BuyerAnswer) -> Table:
    rows = (
        (say("just so many, of all balls"), found.exactly, 10_000.0),
        (say("so many or more, of all balls"), found.at_least, 10_000.0),
        (say("just so many, of first-quality"), found.exactly_of_first, 10_000.0),
        (say("so many or more, of first-quality"), found.at_least_of_first, 10_000.0),
        (say("wound with just so many, a year"), found.exactly_a_year, 1.0),
        (say("sold as first-quality, a year"), found.sold_a_year, 1.0),
    )
    return Table(
        (say("balls in 10 000, or a year"), say("low"), say("figure"), say("high")),
        tuple(
            (name, *(number(factor * one, 3) for one in (band.low, band.value, band.high)))
            for name, band, factor in rows
            if band is not None
        ),
    )


def _kinds(found: BuyerAnswer) -> Table | None:
    split = found.split
    if split is None or not split.joins:
        return None
    return Table(
        (say("what they were"), say("in the mean"), say("none of them"), say("all of them")),
        tuple(
            (
                words.SHORT_WORDS[kind],
                number(split.expected[kind], 3),
                _percent(chances[0]),
                _percent(chances[split.joins] if len(chances) > split.joins else 0.0),
            )
            for kind, chances in split.chances.items()
        ),
    )


def _places(found: BuyerAnswer, units: UnitSystem, joined_by: str) -> Table | None:
    split = found.split
    if split is None or not split.placed:
        return None
    at = say("splice at") if joined_by == "splice" else say("knot at")
    return Table(
        (at, *words.SHORT_WORDS.values()),
        tuple(
            (show(place, LENGTH, units), *(_percent(one) for one in kinds.values()))
            for place, kinds in zip(sorted(found.ball.positions_m), split.by_join, strict=True)
        ),
    )


def _percent(chance: float) -> str:
    return figure(f"{100.0 * chance:.0f} %")
