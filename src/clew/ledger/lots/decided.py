"""Keeping what was decided on a lot: the decision, and the paper that says why."""

from __future__ import annotations

from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.ledger.audit.anchors import anchor_at
from clew.ledger.events.message import Taken
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import head_of, records_naming


@dataclass(frozen=True, slots=True)
class LotDecided:
    """What was decided on a lot.

    Attributes
    ----------
    lot : str
        The dye lot.
    decision : {"release", "hold", "rework", "refuse"}
        What was decided.
    certificate : str
        SHA-256 of the paper's content [hexadecimal].
    author : str
        Who decided.
    run : str
        The run, where it is of one only.
    why : str
        Why, in words.
    """

    lot: str
    decision: str
    certificate: str
    author: str
    run: str = ""
    why: str = ""


def keep_decision(ledger: Ledger, decided: LotDecided, source: str) -> Taken:
    """Keep a decision.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    decided : LotDecided
        The decision.
    source : str
        Who sends it.

    Returns
    -------
    Taken
        The same decision, by the same paper and the same person, is kept once.

    Raises
    ------
    BadInput
        Without a lot or a person.
    CannotKeep
        When the database cannot write.
    """
    faults = []
    if not decided.lot.strip():
        faults.append(Fault("no dye lot is named", "the lot that was decided on", key="lot"))
    if not decided.author.strip():
        faults.append(Fault("nobody is named", "who decided", key="by"))
    if faults:
        raise BadInput(faults)
    found = {
        "kind": "lot decision",
        "lot": decided.lot,
        "decision": decided.decision,
        "certificate": decided.certificate,
    }
    found |= {name: said for name, said in (("run", decided.run), ("why", decided.why)) if said}
    at_us = ledger.clock()
    key = f"{decided.decision} {decided.certificate[:24]} {decided.author.strip()}"[:120]
    message = read_message(found, Sender(source, decided.author.strip(), "", "", at_us, key))
    (taken,) = ledger.append([message])
    if taken.outcome != "clash":
        return taken
    # the moment of the first is what counts; the same paper decides nothing twice
    return Taken("already", taken.line, taken.seq)


def last_decision(ledger: Ledger, lot: str) -> LotDecided | None:
    """Give the latest decision on a lot that the ledger holds; None where there is none."""
    last = None
    for record in records_naming(ledger, "lot", lot):
        if record.kind == "lot decision":
            last = record
    if last is None:
        return None
    body = last.fields()
    return LotDecided(
        lot, str(body["decision"]), str(body.get("certificate") or ""), last.author, last.run,
        str(body.get("why") or ""),
    )  # fmt: skip


def anchor_words(ledger: Ledger, line: str) -> str:
    """Write the place at which a line's chain stands now, for paper; empty where it has no rows."""
    seq, digest = head_of(ledger, line)
    return anchor_at(line, seq, digest).text() if seq else ""
