"""The manual inside the workbench: its contents, its pages, its pictures, and a search."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from clew.languages import say, tongue
from clew.web.answers import refuse_not_asked
from clew.web.manual.pages import find_page, manual_folder, read_parts
from clew.web.manual.search import look_for
from clew.web.manual.text import rendered
from clew.web.workbench import Workbench


def manual_router(bench: Workbench) -> APIRouter:
    """Serve the manual, from what was packed with the program."""
    router = APIRouter(include_in_schema=False)
    folder = manual_folder()

    def title_of(name: str) -> str:
        page = find_page(folder, name)
        return page.title if page else name

    @router.get("/manual")
    def contents(
        request: Request, find: Annotated[str, Query(max_length=200)] = ""
    ) -> HTMLResponse:
        refuse_not_asked(request, ("find",))
        parts = read_parts(folder)
        return bench.show(
            request, "manual.html", parts=parts, find=find, found=look_for(parts, find)
        )

    @router.get("/manual/{name}")
    def page(request: Request, name: str) -> HTMLResponse:
        refuse_not_asked(request, ())
        parts = read_parts(folder)
        order = [one for part in parts for one in part.pages]
        at = next((number for number, one in enumerate(order) if one.name == name), None)
        if at is None:
            return bench.show(
                request, "missing.html", status=404, heading=say("The manual has no such page"),
                words=say("Its contents list every page, and it can be searched there."),
            )  # fmt: skip
        return bench.show(
            request, "manual_page.html", page=order[at], find="",
            text=rendered(order[at].text, title_of, tongue().code),
            part=next(part for part in parts if order[at] in part.pages),
            earlier=order[at - 1] if at else None,
            later=order[at + 1] if at + 1 < len(order) else None,
        )  # fmt: skip

    @router.get("/manual/pictures/{name}")
    def picture(name: str) -> Response:
        there = {path.name: path for path in (folder / "pictures").glob("*.png")}
        if name not in there:
            return Response("There is no such picture.", status_code=404, media_type="text/plain")
        return Response(there[name].read_bytes(), media_type="image/png")

    return router
