"""Whether what a database server acknowledges outlives a power cut."""

from __future__ import annotations

from sqlalchemy import text

from clew.ledger.store.ledger import Ledger

_ASKED = ("fsync", "full_page_writes")


def what_would_be_lost(ledger: Ledger) -> str:
    """Say that a server was told not to wait for its disk; a client cannot overrule that.

    A file needs no such question: there every commit waits, by `clew.ledger.store.ledger`.

    Parameters
    ----------
    ledger : Ledger
        The ledger.

    Returns
    -------
    str
        A sentence; empty where nothing is amiss.

    Raises
    ------
    CannotKeep
        When the database does not answer.

    Notes
    -----
    Source: PostgreSQL 15 manual, 20.5.1 (MEMORY): without ``fsync`` a crash of the machine may
    damage the whole cluster beyond recovery, without ``full_page_writes`` single pages of it.
    """
    if ledger.dialect != "postgresql":
        return ""
    with ledger.reading() as connection:
        off = [
            name
            for name in _ASKED
            if connection.scalar(text("SELECT current_setting(:name)"), {"name": name}) == "off"
        ]
    if not off:
        return ""
    settings = " and ".join(f"{name} = off" for name in off)
    return (
        f"PostgreSQL runs with {settings}: a power cut can damage the ledger and lose what was "
        "acknowledged. Turn it on in the server's own settings."
    )
