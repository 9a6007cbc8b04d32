"""What Lots keeps in the ledger: the decision on a lot, by whom, by which paper."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import urlencode

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.message import MILL_LINE, Record
from clew.ledger.lots.decided import LotDecided, anchor_words, keep_decision, last_decision
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.trouble import CannotKeep
from clew.ledger.trace.records import KeptInLedger
from clew.mill.model import Mill
from clew.web.door.who import Who, who_of
from clew.web.lots.files import LotFiles
from clew.web.lots.page import LotsPage, open_lots
from clew.web.run.next import may_take_back, record_at, void
from clew.web.workbench import Workbench

_OF_FORM = ("csrf", "by", "seq")
_DONE = {
    "release": say("released"),
    "hold": say("held"),
    "rework": say("sent to rework"),
    "refuse": say("refused"),
}


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
        return say(
            "The ledger of {mill} holds no decision on {lot} yet.", mill=mill.mill.name, lot=lot
        )
    same = page.paper is not None and last.certificate == page.paper.hash
    paper = (
        say("this very paper")
        if same
        else say("another paper, {paper}", paper=last.certificate[:16])
    )
    what = _DONE.get(last.decision, last.decision)
    if last.author:
        return say(
            "The ledger has {lot} {what} by {author}, on {paper}.",
            lot=lot,
            what=what,
            author=last.author,
            paper=paper,
        )
    return say("The ledger has {lot} {what}, on {paper}.", lot=lot, what=what, paper=paper)


def asked_of(typed: Mapping[str, list[str]]) -> QueryParams:
    """Give what the page around a form was asked."""
    return QueryParams(
        [(name, one) for name, all_ in typed.items() if name not in _OF_FORM for one in all_]
    )


def onward_of(bench: Workbench, page: LotsPage, mill: Mill) -> tuple[tuple[str, str], ...]:
    """Lead on from a lot that the ledger has released to closing its cases, with all chosen."""
    ledger, lot = _there(bench), page.chosen.lot_name
    if ledger is None or not lot:
        return ()
    try:
        last = last_decision(ledger, lot, mill.mill.time_zone)
    except CannotKeep:
        return ()
    if last is None or last.decision != "release":
        return ()
    own = {"ball": page.chosen.ball.name, "lot": lot, "line": page.chosen.line.name}
    return ((say("Pack it: close a case of {lot}", lot=lot), f"/case?{urlencode(own)}#close-case"),)


def undo_of(bench: Workbench, was_kept: str, who: Who) -> int:
    """Find the decision that was just kept and may be taken back; 0 for none."""
    ledger = _there(bench)
    place = int(was_kept) if was_kept.isascii() and was_kept.isdecimal() else 0
    if ledger is None or not 0 < place < 2**60 or not who.may("decide on lots"):
        return 0
    try:
        return place if _mine(ledger, place, who) is not None else 0
    except CannotKeep:
        return 0


def _mine(ledger: Ledger, place: int, who: Who) -> Record | None:
    """Find a decision that somebody may take back: their own, soon, and not taken back yet."""
    record = record_at(ledger, MILL_LINE, place)
    if record is None or record.kind != "lot decision":
        return None
    with ledger.reading() as connection:
        counts = KeptInLedger(connection, "").naming("lot", record.lot, ("lot decision",))
    there = any(one.seq == place for one in counts)
    return record if there and may_take_back(record, who, ledger.clock()) else None


def taken_back(bench: Workbench, request: Request, typed: Mapping[str, list[str]]) -> Response:
    """Take back the decision that was just kept.

    Raises
    ------
    BadInput
        When it is another's, or was kept long ago.
    CannotKeep
        When the ledger cannot write.
    """
    who, seq = who_of(request), typed.get("seq", [""])[-1]
    ledger = bench.ledger.ledger(make=False)
    place = int(seq) if seq.isascii() and seq.isdecimal() and len(seq) < 16 else 0
    record = _mine(ledger, place, who)
    if record is None:
        raise BadInput(
            Fault(
                say("that can no longer be taken back here"),
                say("a decision of your own, within 10 min"),
            )
        )
    void(ledger, record, who)
    query = urlencode([*asked_of(typed).multi_items(), ("undone", "yes")])
    return RedirectResponse(f"/lots?{query}#keep", status_code=303)


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
    asked = asked_of(typed)
    page = open_lots(mill, asked, asked.getlist("rule"), files, bench.units(request))
    if page.paper is None or page.answer is None or not page.size_said:
        raise BadInput(
            page.faults
            or Fault(say("nothing to decide on yet"), say("a sample, and the lot's size"))
        )
    author = who.name or typed.get("by", [""])[-1]
    decided = LotDecided(page.chosen.lot_name, page.answer.decision.word, page.paper.hash, author)
    taken = keep_decision(bench.ledger.ledger(), decided, who.source or "tablet")
    query = urlencode([*asked.multi_items(), ("kept", str(taken.seq))])
    return RedirectResponse(f"/lots?{query}#keep", status_code=303)
