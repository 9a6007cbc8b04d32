"""What comes after a deed on Run: where its run goes on, and what can be taken back."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from urllib.parse import urlencode

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.message import MILL_WORD, Record
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.state.known import LineState
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records, records_in_time
from clew.ledger.store.trouble import CannotKeep
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.web.band.weighed import runs_beside
from clew.web.door.who import Who
from clew.web.run.hand_page import UNDO_US, running_lot, voided_by
from clew.web.run.weighings import PREFIX
from clew.web.workbench import Workbench

TAKEN_BACK = "taken back at the workbench"
OF_RUN = ("run start", "run set", "run end")
"""What a lead does to a run, as the ledger keeps it."""
_DAY_US = 24 * 3_600_000_000


@dataclass(frozen=True, slots=True)
class Onward:
    """A way on from a run: what the link says, and where it leads."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class Undo:
    """What can be taken back: its place in the chain, and what it is, in words."""

    seq: int
    words: str


def onward(bench: Workbench, mill: Mill, line: Line, state: LineState) -> tuple[Onward, ...]:
    """Say where the run in progress, or the one that ended last, goes on; nothing without one."""
    run = state.run or state.last_run
    if run is None:
        return (Onward(say("See on Orders which run comes next"), "/orders"),)
    runs = runs_beside(bench, mill)
    weighed = PREFIX + run.run in runs.names()
    own = {"ball": run.ball_name, "lot": run.lot, "line": line.name}
    charts = Onward(
        say("What its winders do, by its weighings"),
        f"/band?{urlencode({'file': PREFIX + run.run, 'ball': run.ball_name})}",
    )
    if state.run is not None:
        card = Onward(say("Its run card"), f"/wind/card?{urlencode(own)}")
        here = urlencode({"line": line.name})
        leads = (
            Onward(say("Change a setting"), f"/run?{here}&form=set#set-run"),
            Onward(say("End this run"), f"/run?{here}&form=end#end-run"),
        )
        return (*leads, card, *((charts,) if weighed else ()))
    test = {"ball": run.ball_name, "lot": run.lot}
    if len(mill.line) > 1:
        test["line"] = line.name
    if weighed:
        test["file"] = PREFIX + run.run
        with suppress(BadInput, CannotKeep):
            test["size"] = str(runs.made(PREFIX + run.run))
    if run.order:
        test["order"] = run.order
    return (
        Onward(say("Test the lot {lot}", lot=run.lot), f"/lots?{urlencode(test)}"),
        Onward(say("Close a case of {lot}", lot=run.lot), f"/case?{urlencode(own)}#close-case"),
        Onward(say("See on Orders which run comes next"), "/orders"),
    )


def run_is_on(bench: Workbench) -> bool:
    """Say whether a run is in progress on any line, by the ledger that is there."""
    try:
        ledger, mill = bench.ledger.ledger(make=False), bench.mill.read().mill
        return any(running_lot(ledger, line.name) for line in mill.line)
    except (BadInput, CannotKeep):
        return False


def undo_of(ledger: Ledger, line: str, who: Who) -> Undo | None:
    """Find what a lead may take back: their own latest start, change or end, while it is fresh."""
    record = _latest(ledger, line)
    if record is None or not may_take_back(record, who, ledger.clock()):
        return None
    return Undo(record.seq, _deed_words(record))


def _deed_words(record: Record) -> str:
    if record.kind == "run start":
        return say("the start of the run {run}", run=record.run)
    if record.kind == "run set":
        return say("the change {run}", run=record.run)
    return say("its end {run}", run=record.run)


def _latest(ledger: Ledger, line: str) -> Record | None:
    found = list(
        records_in_time(
            ledger, line, kinds=(*OF_RUN, "correction"), from_us=ledger.clock() - _DAY_US,
            latest_first=True, most=60,
        )
    )  # fmt: skip
    gone = voided_by(found)
    return next((one for one in found if one.kind in OF_RUN and one.seq not in gone), None)


def may_take_back(record: Record, who: Who, now_us: int) -> bool:
    """Say whether somebody may take back what they kept: their own, by a page, and soon."""
    nobody_said = not who.name and who.how == "tablet"  # there the name is typed into the form
    own = who.how != "token" and (nobody_said or record.author == who.name)
    here = record.source.startswith(("tablet", "web"))
    return own and here and now_us - record.received_us <= UNDO_US


def take_back(ledger: Ledger, line: str, seq: int, who: Who) -> None:
    """Take back the latest deed of a lead on a line.

    Raises
    ------
    BadInput
        When it is another's, too old, or not the latest.
    CannotKeep
        When the ledger cannot write.
    """
    latest = _latest(ledger, line)
    if latest is None or latest.seq != seq or not may_take_back(latest, who, ledger.clock()):
        raise BadInput(
            Fault(
                say("that can no longer be taken back here"),
                say("what you entered last, within 10 min"),
            )
        )
    void(ledger, latest, who)


def void(ledger: Ledger, record: Record, who: Who) -> None:
    """Record that something did not happen; it stays in the ledger, marked as a slip."""
    found = {"kind": "correction", "of_seq": record.seq, "void": True, "why": TAKEN_BACK,
             "line": record.line or MILL_WORD}  # fmt: skip
    sender = Sender(who.source or "tablet", who.name or record.author, "", "", ledger.clock(),
                    f"undo-{record.seq}")  # fmt: skip
    ledger.append([read_message(found, sender)])


def record_at(ledger: Ledger, line: str, seq: int) -> Record | None:
    """Find a record by its place in a chain; None where there is none."""
    return next(chain_records(ledger, line, after_seq=seq - 1, upto_seq=seq), None)
