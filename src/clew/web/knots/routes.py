"""The address of Knots."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.faults import BadInput
from clew.knots.from_mill import KnotTerms
from clew.knots.law import KnotLaw
from clew.knots.policy.thumb import thumb_rule
from clew.knots.policy.words import rule_in_words
from clew.languages import first_upper, say
from clew.quantities import UnitSystem
from clew.web.answers import refuse_not_asked
from clew.web.asked.whole import MOST_SEED
from clew.web.drawn.figures import Figures
from clew.web.drawn.strand_drawing import (
    HATCH,
    KIND_WORDS,
    MOST_LETTERED,
    join_mark,
    piece_mark,
    strand_lines,
    whole_length,
)
from clew.web.knots import view, words
from clew.web.knots.inputs import KNOTS_KEYS
from clew.web.knots.page import (
    BALLS_DRAWN,
    KnotsPage,
    open_knots,
    price_of,
    straight_of,
    strand_of,
)
from clew.web.wind.routes import query_of
from clew.web.workbench import Workbench


def knots_router(bench: Workbench) -> APIRouter:
    """Serve Knots, whole, or what changes at once with an input, or the price that takes longer."""
    router = APIRouter()

    @router.get("/knots", include_in_schema=False)
    def knots(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        refuse_not_asked(request, KNOTS_KEYS)
        units = bench.units(request)
        page = open_knots(bench.mill.read().mill, request.query_params, units)
        figures, terms, law = Figures(units), page.terms, page.law
        shown: dict[str, Any] = {"quick": None, "price": None}
        if terms is not None and law is not None:
            if part != "price":
                shown["quick"] = _quick(page, terms, law, figures)
                shown["strand"] = _strand(page, terms, request, figures)
            if part != "answer":
                shown["price"] = _price(page, terms, figures)
                shown["thumb"] = _thumb(terms, page.allowed, units)
        template = {"answer": "knots_part.html", "price": "knots_price_part.html"}
        return bench.show(
            request, template.get(part, "knots.html"), at="knots",
            status=200 if terms is not None else 422, knots=page, query=query_of(request), **shown,
        )  # fmt: skip

    return router


def _quick(page: KnotsPage, terms: KnotTerms, law: KnotLaw, figures: Figures) -> dict[str, Any]:
    """What answers a slider at once: the law."""
    joint, allowed = terms.joined_by, page.allowed
    of, held = words.held_words(law, joint)
    over, over_band = words.over_words(terms, law, allowed)
    return {
        "joint": joint,
        "of": of,
        "held": held,
        "from": words.source_words(law, figures),
        "over": over,
        "over_band": over_band,
        "short": words.short_words(terms, law, allowed, figures),
        "law": view.law_chart(law, allowed, page.chosen.ball.knot_limit, joint),
        "mean": law.mean,
        "allowed": allowed,
    }


def _strand(
    page: KnotsPage, terms: KnotTerms, request: Request, figures: Figures
) -> dict[str, Any]:
    """The drawn strand and what it can be cut into."""
    drawn = strand_of(terms, page.seed)
    lanes = view.lanes_of(drawn, terms)
    said = [
        (k, v) for k, v in request.query_params.multi_items() if k not in ("part", "seed") and v
    ]
    following = page.seed + 1 if page.seed < MOST_SEED else 1
    return {
        "seed": page.seed,
        "balls": BALLS_DRAWN,
        "joins": len(drawn.knots.kinds),
        "lettered": len(drawn.knots.kinds) <= MOST_LETTERED,
        "lines": strand_lines(drawn.knots, lanes, terms.rule.ball_length_m, figures),
        "hatch": HATCH,
        "kinds": [(join_mark(kind), what) for kind, what in KIND_WORDS.items()],
        "pieces": [
            (piece_mark("first"), say("first-quality")),
            (piece_mark("second"), say("second-quality")),
            (piece_mark("dropped"), say("dropped")),
        ],
        "lanes": [(lane.name, view.LANE_WORDS[lane.name]) for lane in lanes],
        "cuts": view.cut_table(drawn, terms, figures),
        "places": view.join_table(drawn, figures),
        "verdict": view.strand_words(drawn, terms),
        "another": "/knots?" + urlencode([*said, ("seed", str(following))]) + "#strand",
    }


def _price(page: KnotsPage, terms: KnotTerms, figures: Figures) -> dict[str, Any]:
    """What takes longer: the price of each limit."""
    if terms.stated_prices is None:
        return {"stated": False, "faults": ()}
    try:
        today = price_of(terms, terms.join_counts, 1.0)
        half = price_of(terms, terms.join_counts, 0.5)
        straight = straight_of(terms)
    except BadInput as bad:  # too many joins to draw, or to reckon with at the band's upper end
        return {"stated": True, "faults": bad.faults}
    moved = {one.key for one in page.entries if one.moved}
    now = say("the breaks tried") if "breaks" in moved else say("today’s breaks")
    return {
        "stated": True,
        "faults": (),
        "now": now,
        "command": "" if moved else _command(terms),
        "words": words.stricter_words(today, half, terms.currency),
        "straight": words.straight_words(straight, terms.currency),
        "chart": view.price_chart(today, half, terms.currency, first_upper(now)),
        "strands": view.strand_table(today, figures, tried="knot_limit" in moved),
        "limits": view.limit_table(
            today, straight, figures, terms.currency, tried="knot_limit" in moved
        ),
        "splice": view.other_table(_joinings(terms), terms.currency, tried="knot_limit" in moved)
        if terms.splice_counts < 1.0
        else None,
        "splice_counts": terms.splice_counts,
        "strand": whole_length(today.question.strand_m, figures),
    }


def _command(terms: KnotTerms) -> str:
    """The command that prices the same."""
    lot = f" --lot {terms.lot_name}" if terms.lot_name else ""
    return f'clew knots price --ball "{terms.ball_name}"{lot}'


def _thumb(terms: KnotTerms, allowed: int | None, units: UnitSystem) -> str:
    """What a hand does when a join shows at the winder; empty where there is no rule to keep."""
    if terms.stated_prices is None or allowed is None:
        return ""
    seen_per_m = terms.finds_frac * sum(terms.sources.intensities_per_m.values())
    seen_per_m += terms.false_alarms_per_km / 1000.0
    rule = replace(terms.rule, limit=allowed)
    try:
        best = thumb_rule(seen_per_m, rule, terms.stated_prices)
    except BadInput:  # joins too many for a rule by hand
        return ""
    return rule_in_words(rule, 0.0, best.before_m, units)


def _joinings(terms: KnotTerms) -> list[tuple[str, Any]]:
    """Knots, and splices that count less."""
    counts = terms.splice_counts
    if counts == 0.0:
        splices = say("Splices, each counting nothing")
    elif counts == 0.5:
        splices = say("Splices, each counting a half")
    else:
        splices = say("Splices, each counting {counts:g}", counts=counts)
    return [(say("Knots"), price_of(terms, 1.0, 1.0)), (splices, price_of(terms, counts, 1.0))]
