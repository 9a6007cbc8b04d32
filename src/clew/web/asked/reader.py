"""Who is reading: their units, their light and their language, kept in three cookies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from urllib.parse import parse_qs

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from clew.languages import LANGUAGES
from clew.quantities import UnitSystem
from clew.web.asked.form_body import form_bytes

Theme = Literal["auto", "light", "dark"]
UNITS: tuple[UnitSystem, ...] = ("metric", "yard")
THEMES: tuple[Theme, ...] = ("auto", "light", "dark")
_A_YEAR_S = 31_536_000
_LONGEST_FORM = 8192


@dataclass(frozen=True, slots=True)
class Reader:
    """How the pages are to look for whoever reads them.

    Attributes
    ----------
    units : {"metric", "yard"}
        System of units.
    theme : {"auto", "light", "dark"}
        Light or dark; ``auto`` follows the machine's own setting.
    """

    units: UnitSystem = "metric"
    theme: Theme = "auto"


def reader_of(request: Request, mill_units: UnitSystem = "metric") -> Reader:
    """Read the two cookies; what they do not say is the mill's units and the machine's light."""
    units = request.cookies.get("clew_units", "")
    theme = request.cookies.get("clew_theme", "")
    return Reader(
        units=units if units in UNITS else mill_units,
        theme=theme if theme in THEMES else "auto",
    )


def local_path(back: str) -> str:
    """Where to go back to: a path of this workbench, or the front when it is anything else."""
    inside = back.startswith("/") and not back.startswith(("//", "/\\")) and back.isprintable()
    return back if inside else "/"


def reader_router() -> APIRouter:
    """Set the cookies from a plain form, so that every choice works without script."""
    router = APIRouter()

    @router.post("/reader", include_in_schema=False)
    async def choose(request: Request) -> Response:
        said = {name: values[-1] for name, values in (await _form(request)).items()}
        answer = RedirectResponse(local_path(said.get("back", "/")), status_code=303)
        for name, known in (("units", UNITS), ("theme", THEMES), ("language", tuple(LANGUAGES))):
            if said.get(name) in known:
                answer.set_cookie(
                    f"clew_{name}", said[name], max_age=_A_YEAR_S, httponly=True, samesite="lax",
                    secure=request.url.scheme == "https",
                )  # fmt: skip
        return answer

    return router


async def _form(request: Request) -> dict[str, list[str]]:
    """Read a plain form of a few words; anything longer is not one of ours."""
    body = await form_bytes(request, _LONGEST_FORM)
    return parse_qs(body.decode("utf-8", "replace"))
