"""What `clew lot release` reads from the ledger, and what it keeps there."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.events.message import Taken
    from clew.mill.model import Mill


def anchor_of(mill: Mill, folder: Path, line: str) -> str:
    """Write where a line's record stands; empty where the mill has no ledger.

    Raises
    ------
    BadInput
        When there is a ledger and it cannot be read.
    """
    from clew.ledger.lots.decided import anchor_words
    from clew.ledger.store.ledger import FILE_NAME
    from clew.ledger.store.opening import open_ledger, url_of
    from clew.ledger.store.trouble import CannotKeep
    from clew.mill import mill_file

    beside = mill_file(folder).parent
    url = url_of(beside, mill.ledger.database)
    if url == url_of(beside) and not (beside / FILE_NAME).exists():
        return ""
    try:
        ledger = open_ledger(url, make=False)
        try:
            return anchor_words(ledger, line)
        finally:
            ledger.close()
    except CannotKeep as trouble:
        raise BadInput(Fault(f"the ledger cannot be read: {trouble.reason}")) from None


def kept_decision(
    mill: Mill, folder: Path, lot: str, decision: str, certificate: str, author: str
) -> Taken:
    """Keep a decision on a lot.

    Raises
    ------
    BadInput
        Without a lot, or when the ledger cannot keep it.
    """
    from clew.ledger.lots.decided import LotDecided, keep_decision
    from clew.ledger.store.opening import open_ledger, url_of
    from clew.ledger.store.trouble import CannotKeep
    from clew.mill import mill_file

    try:
        ledger = open_ledger(url_of(mill_file(folder).parent, mill.ledger.database))
        try:
            return keep_decision(ledger, LotDecided(lot, decision, certificate, author), "command")
        finally:
            ledger.close()
    except CannotKeep as trouble:
        raise BadInput(Fault(f"the ledger cannot keep anything: {trouble.reason}")) from None
