"""The address of Dry."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from clew.line.heat.answer import HeatAnswer
from clew.web.drawn.figures import Figures
from clew.web.heat import dry_view as view
from clew.web.heat import said
from clew.web.heat.page import DRY_ASKS, HeatPage
from clew.web.heat.routes import heat_router
from clew.web.heat.table import heat_table
from clew.web.workbench import Workbench


def dry_router(bench: Workbench) -> APIRouter:
    """Serve Dry, whole or only what changes with an input."""
    return heat_router(bench, "dry", "steam", DRY_ASKS, _shown)


def _shown(page: HeatPage, figures: Figures) -> dict[str, Any]:
    """Everything the page arranges around the answer."""
    answer, limits = page.answer, page.limits
    assert isinstance(answer, HeatAnswer)
    assert limits is not None
    verdict, regains = said.dry_words(answer)
    sure, band = said.sure_words(answer)
    limit, runs = said.limit_words(limits, figures)
    return {
        "said": {
            "verdict": verdict,
            "regains": regains,
            "sure": sure,
            "band": band,
            "limit": limit,
            "runs": runs,
            "allowed": said.allowed_words(limits, figures),
            "belt": said.belt_words(answer),
            "energy": said.energy_words(answer, figures),
            "warnings": said.warning_words(answer, said.DRY_KEYS, figures),
            "needed": said.needed_words(answer),
        },
        "charts": {
            "regain": view.regain_chart(answer),
            "limits": view.limits_chart(limits, figures),
            "doubt": view.doubt_chart(answer, figures),
        },
        "captions": {
            "regain": view.regain_caption(answer),
            "limits": view.limits_caption(limits, figures),
        },
        "heats": heat_table(answer, figures),
    }
