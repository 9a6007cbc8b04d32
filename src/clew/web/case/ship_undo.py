"""Taking back what was closed: soon, by who closed it, while nothing rests on it yet."""

from __future__ import annotations

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.message import Record
from clew.ledger.shipping.names import package_said
from clew.ledger.state.known import Effective
from clew.ledger.store.ledger import Ledger
from clew.ledger.trace.records import KeptInLedger
from clew.web.case.ship_page import PackageHere, ShipState
from clew.web.door.who import Who
from clew.web.run.next import may_take_back, record_at, void

_CLOSED = ("case closed", "pallet closed")


def closed_by(ledger: Ledger, package: str) -> Record | None:
    """Find the record that closed a package and counts; None where there is none."""
    with ledger.reading() as connection:
        found: list[Effective] = KeptInLedger(connection, "").naming("package", package, _CLOSED)
    return None if not found else record_at(ledger, found[-1].line, found[-1].seq)


def may_undo_closing(ledger: Ledger, one: PackageHere, who: Who) -> bool:
    """Say whether the closing of a package may be taken back: nothing rests on it yet."""
    if one.left is not None or one.on:
        return False
    record = closed_by(ledger, one.package)
    return record is not None and may_take_back(record, who, ledger.clock())


def undo_closing(ledger: Ledger, state: ShipState, package: str, who: Who) -> str:
    """Take the closing of a package back.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    state : ShipState
        What it holds of closing and shipping.
    package : str
        The case or pallet.
    who : Who
        Who takes it back.

    Returns
    -------
    str
        Its name.

    Raises
    ------
    BadInput
        When another closed it, it was long ago, or it stands on a pallet or has left.
    CannotKeep
        When the ledger cannot write.
    """
    found = state.package(package_said(package))
    if found is None or not may_undo_closing(ledger, found, who):
        raise BadInput(
            Fault(
                say("that can no longer be taken back here"),
                say(
                    "what you closed in the last 10 min, that stands on no pallet and has not left"
                ),
                key="form",
            )
        )
    record = closed_by(ledger, found.package)
    assert record is not None
    void(ledger, record, who)
    return found.package
