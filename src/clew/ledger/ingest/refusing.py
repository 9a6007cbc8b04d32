"""What could not be read is kept as it came, with the reason: nothing vanishes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import insert

from clew.ledger.ingest.arriving import writable
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.schema import REFUSED

LONGEST_KEPT = 4_096
"""Characters that are kept of what was refused."""
LONGEST_REASON = 1_000


@dataclass(frozen=True, slots=True)
class Refusal:
    """One thing that was refused.

    Attributes
    ----------
    path : str
        The way it came: a topic, a file.
    source : str
        Who sent it, as far as that is known.
    reason : str
        Why it is refused.
    body : str
        What came.
    """

    path: str
    source: str
    reason: str
    body: str


def keep_refused(ledger: Ledger, refused: Sequence[Refusal]) -> None:
    """Keep what was refused; on the disk when this returns.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    refused : sequence of Refusal
        What.

    Raises
    ------
    CannotKeep
        When the database cannot write.
    """
    if not refused:
        return
    now = ledger.clock()
    with ledger.writing() as connection:
        connection.execute(
            insert(REFUSED),
            [
                {
                    "received_us": now,
                    "path": writable(one.path, 300),
                    "source": writable(one.source, 120),
                    "reason": writable(one.reason, LONGEST_REASON),
                    "body": writable(one.body, LONGEST_KEPT),
                }
                for one in refused
            ],
        )
