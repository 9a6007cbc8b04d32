"""What Lots keeps in the ledger: the decision on a lot, by whom, by which paper."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from clew.faults import BadInput, Fault
from clew.ledger.lots.decided import LotDecided, anchor_words, keep_decision, last_decision
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.trouble import CannotKeep
from clew.mill.model import Mill
from clew.web.lots_files import LotFiles
from clew.web.lots_page import LotsPage, open_lots
from clew.web.who import who_of
from clew.web.workbench import Workbench

_OF_FORM = ("csrf", "by")


def _there(bench: Workbench) -> Ledger | None:
    """Give the ledger where there is one already: looking at a lot makes none."""
    try:
        return bench.ledger.ledger(make=False)
    except (BadInput, CannotKeep):
        return None


def anchor_beside(bench: Workbench, mill: Mill) -> str:
    """Write where the record of the mill's first line stands; empty without a ledger."""
    ledger = _there(bench)
    try:
        return "" if ledger is None else anchor_words(ledger, mill.line[0].name)
    except CannotKeep:
        return ""


def decided_words(bench: Workbench, page: LotsPage, mill: Mill) -> str:
    """Say what the ledger holds of decisions on the lot; empty where it holds none."""
    ledger, lot = _there(bench), page.chosen.lot_name
    if ledger is None or not lot:
        return ""
    try:
        last = last_decision(ledger, lot, mill.mill.time_zone)
    except CannotKeep:
        return ""
    if last is None:
        return f"The ledger of {mill.mill.name} holds no decision on {lot} yet."
    done = {"release": "released", "hold": "held", "rework": "sent to rework", "refuse": "refused"}
    same = page.paper is not None and last.certificate == page.paper.hash
    by = f" by {last.author}" if last.author else ""
    what = done.get(last.decision, last.decision)
    paper = "this very paper" if same else f"another paper, {last.certificate[:16]}"
    return f"The ledger has {lot} {what}{by}, on {paper}."


def kept(
    bench: Workbench, files: LotFiles, request: Request, typed: dict[str, list[str]]
) -> Response:
    """Keep the decision that the page shows for what was entered.

    Raises
    ------
    BadInput
        When there is nothing to decide on, or nobody is named.
    CannotKeep
        When the ledger cannot write.
    """
    mill, who = bench.mill.read().mill, who_of(request)
    pairs = [(name, one) for name, all_ in typed.items() if name not in _OF_FORM for one in all_]
    asked = QueryParams(pairs)
    page = open_lots(mill, asked, asked.getlist("rule"), files, bench.units(request))
    if page.paper is None or page.answer is None or not page.size_said:
        raise BadInput(
            page.faults or Fault("nothing to decide on yet", "a sample, and the lot's size")
        )
    author = who.name or typed.get("by", [""])[-1]
    decided = LotDecided(page.chosen.lot_name, page.answer.decision.word, page.paper.hash, author)
    taken = keep_decision(bench.ledger.ledger(), decided, who.source or "tablet")
    query = urlencode([*pairs, ("kept", str(taken.seq))])
    return RedirectResponse(f"/lots?{query}#keep", status_code=303)
