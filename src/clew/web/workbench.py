"""What every page needs: the mill as it stands on disk, the templates, and who is reading."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.faults import BadInput, Fault
from clew.languages import (
    LANGUAGES,
    first_lower,
    first_upper,
    joined,
    say,
    say_many,
    spoken,
    tongue,
)
from clew.mill import mill_file
from clew.papers.floor_numbers import of_balls
from clew.quantities import UnitSystem
from clew.web.asked.limits import fault_for
from clew.web.asked.reader import reader_of
from clew.web.assets import Assets, read_assets
from clew.web.door.who import who_of
from clew.web.drawn.figures import Figures
from clew.web.drawn.marked_up import say_html
from clew.web.ledger_beside import LedgerBeside
from clew.web.mill_on_disk import MillOnDisk, UnusableMill
from clew.web.stations import LINE

STATIONS_OF_MANUAL = frozenset({
    "orders", "creel", "knots", "steam", "dry", "wind", "shift", "run", "band", "case", "lots",
    "trace",
})  # fmt: skip
"""Stations that the manual has a page of: ``/manual/station_<key>``."""
_UNSEEN = bytes([*range(0x09), 0x0B, *range(0x0E, 0x20), 0x7F])
"""Characters that no page may hold, whatever was typed: nothing shows them."""
_AGAIN_S = "5"
"""When to come again, where the ledger could not keep what was sent [s]."""


def _spoken(value: Any) -> Any:
    text = spoken(value.said() if isinstance(value, Fault) else value)
    # a line does not break between a sign and its number
    return text.replace("± ", "±\u00a0") if isinstance(text, str) and "± " in text else text


@cache
def _pages() -> Environment:
    """Templates with what all of them may say; they know nothing of one mill."""
    pages = Environment(
        loader=PackageLoader("clew.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_spoken,
        auto_reload=False,  # a template newer than the program would not find what it shows
    )
    pages.globals.update(
        asset=read_assets().url, line=LINE, of_balls=of_balls,
        say=say, say_many=say_many, say_html=say_html, joined=joined, languages=LANGUAGES,
        stations_of_manual=STATIONS_OF_MANUAL, first_upper=first_upper, first_lower=first_lower,
    )  # fmt: skip
    return pages


class Workbench:
    """The mill and the means to show it.

    Parameters
    ----------
    mill_folder : Path
        Folder that holds mill.toml.

    Attributes
    ----------
    mill : MillOnDisk
        The mill file.
    assets : Assets
        Style sheets and scripts.
    ledger : LedgerBeside
        The mill's ledger, opened at the first need.
    closing : bool
        Whether the workbench is being stopped: what streams without end then ends.
    """

    def __init__(self, mill_folder: Path) -> None:
        self.mill = MillOnDisk(mill_folder)
        self.ledger = LedgerBeside(self.mill)
        self.assets: Assets = read_assets()
        self.closing = False

    def units(self, request: Request) -> UnitSystem:
        """System of units of whoever reads."""
        return reader_of(request, self._mill_units()).units

    def show(
        self, request: Request, template: str, *, at: str = "", status: int = 200, **content: Any
    ) -> HTMLResponse:
        """Render a page.

        Parameters
        ----------
        request : Request
            What was asked.
        template : str
            Name of the template.
        at : str
            Key of the station the page stands at; empty for none.
        status : int
            Status of the answer.
        **content : Any
            What the template arranges.

        Returns
        -------
        HTMLResponse
            The page.
        """
        reader = reader_of(request, self._mill_units())
        here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        content.setdefault("who", who_of(request))
        page = _pages().get_template(template)
        html = page.render(
            reader=reader,
            language=tongue().code,
            decimal=tongue().decimal,
            trouble=self.ledger.trouble(),
            low=self.ledger.low(),
            figures=Figures(reader.units),
            here=here,
            at=at,
            mill_name=self._mill_name(),
            **content,
        )
        later = {"Retry-After": _AGAIN_S} if status == 503 else {}
        return HTMLResponse(
            html.encode().translate(None, _UNSEEN),
            status_code=status,
            headers={"Vary": "Cookie, Accept-Language", "Content-Language": tongue().code, **later},
        )

    def show_faults(self, request: Request, bad: BadInput, status: int = 422) -> HTMLResponse:
        """Render what is wrong with an input in plain lines."""
        of_mill = isinstance(bad, UnusableMill)
        return self.show(
            request, "faults.html", status=status,
            faults=[fault_for(one, self.units(request)) for one in bad.faults], of_mill=of_mill,
            mill_file=str(mill_file(self.mill.folder)),
        )  # fmt: skip

    def _mill_units(self) -> UnitSystem:
        try:
            return self.mill.read().mill.mill.units
        except UnusableMill:
            return "metric"

    def _mill_name(self) -> str:
        try:
            return self.mill.read().mill.mill.name
        except UnusableMill:
            return ""
