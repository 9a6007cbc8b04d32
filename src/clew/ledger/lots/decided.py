"""Keeping what was decided on a lot: the decision, and the paper that says why."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace

from clew.faults import BadInput, Fault
from clew.ledger.audit.anchors import anchor_at
from clew.ledger.events.message import Message, Taken
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.state.effective import as_told
from clew.ledger.state.known import Effective
from clew.ledger.store.chain import body_text
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import head_of, records_naming
from clew.ledger.trace.records import Kept, KeptInLedger


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
        The same decision on the same lot or run, by the same paper and the same person, is kept
        once; anew where it was corrected away.

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
    author = decided.author.strip()
    message = read_message(found, Sender(source, author, "", "", ledger.clock(), "new"))
    there, told = _same_before(ledger, message)
    if there is not None:
        # the moment of the first is what counts; the same paper decides nothing twice
        return Taken("already", there.line, there.seq)
    (taken,) = ledger.append([replace(message, key=_key(message, told))])
    return taken if taken.outcome != "clash" else Taken("already", taken.line, taken.seq)


def _same_before(ledger: Ledger, message: Message) -> tuple[Effective | None, int]:
    """Find the same decision that counts, and say how often it was told and no longer counts."""
    wanted = _identity(message)
    with ledger.reading() as connection:
        kept = KeptInLedger(connection, "").naming("lot", message.lot, ("lot decision",))
    there = next((one for one in kept if _identity(one) == wanted), None)
    told = sum(
        one.kind == "lot decision" and _identity(as_told(one)) == wanted
        for one in records_naming(ledger, "lot", message.lot)
    )
    return there, told


def _identity(one: Message | Effective) -> tuple[str, ...]:
    body = one.body
    paper = str(body.get("certificate") or "")
    return (one.lot, one.run, str(body.get("decision")), paper, one.author)


def _key(message: Message, told: int) -> str:
    """Make a key from all that tells one decision from another, and how often it was taken back."""
    text = body_text({"of": list(_identity(message)), "told": told})
    return f"{message.body['decision']} {hashlib.sha256(text.encode()).hexdigest()[:32]}"


def decision_on(
    kept: Kept, lot: str, run: str = "", upto_us: int | None = None
) -> Effective | None:
    """Find the decision that counts for balls of a lot: the latest, corrections put in.

    Parameters
    ----------
    kept : Kept
        The records.
    lot : str
        The dye lot.
    run : str
        The run that made the balls; empty: not known, or all of them.
    upto_us : int, optional
        Decisions after that moment are left out [us].

    Returns
    -------
    Effective or None
        The decision; None where there is none.

    Notes
    -----
    A decision on one run is one on its balls only. Where the run is not known, a release of one
    run is none of it, and a hold of one run is one.
    """
    found = None
    for one in kept.naming("lot", lot, ("lot decision",)):
        other = run == "" and one.body.get("decision") != "release"
        late = upto_us is not None and one.at_us > upto_us
        if not late and (one.run in ("", run) or other):
            found = one
    return found


def last_decision(ledger: Ledger, lot: str, zone: str = "") -> LotDecided | None:
    """Give the decision on a lot that counts, as `decision_on` finds it; None where there is none.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    lot : str
        The dye lot.
    zone : str
        The mill's time zone, for moments in corrections that have no offset.
    """
    with ledger.reading() as connection:
        last = decision_on(KeptInLedger(connection, zone), lot)
    if last is None:
        return None
    return LotDecided(
        lot, str(last.body["decision"]), str(last.body.get("certificate") or ""), last.author,
        last.run, str(last.body.get("why") or ""),
    )  # fmt: skip


def anchor_words(ledger: Ledger, line: str) -> str:
    """Write the place at which a line's chain stands now, for paper; empty where it has no rows."""
    seq, digest = head_of(ledger, line)
    return anchor_at(line, seq, digest).text() if seq else ""
