"""The address of Steam."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from clew.web.drawn.figures import Figures
from clew.web.heat import said
from clew.web.heat import steam_view as view
from clew.web.heat.page import STEAM_ASKS, HeatPage
from clew.web.heat.routes import heat_router
from clew.web.workbench import Workbench


def steam_router(bench: Workbench) -> APIRouter:
    """Serve Steam, whole or only what changes with an input."""
    return heat_router(bench, "steam", "dry", STEAM_ASKS, _shown)


def _shown(page: HeatPage, figures: Figures) -> dict[str, Any]:
    """Everything the page arranges around the answer."""
    answer = page.answer
    assert answer is not None
    verdict, because = said.bulk_words(answer, figures)
    drawn, where = said.steam_words(answer, figures)
    return {
        "said": {
            "verdict": verdict,
            "because": because,
            "drawn": drawn,
            "where": where,
            "room": said.room_words(answer, figures),
            "warnings": said.warning_words(answer, said.steam_keys(answer), figures),
        },
        "charts": {"bulk": view.bulk_chart(answer, figures)},
        "steam": view.steam_table(answer, figures),
        "caption": view.bulk_caption(answer, figures),
    }
