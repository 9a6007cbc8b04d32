"""A run of balls in a ledger, and the bench that closes and ships them."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import Any
from uuid import uuid4

from clew.ledger.events.kinds import KINDS
from clew.ledger.events.message import MILL_WORD, Message
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.lots.decided import LotDecided, keep_decision
from clew.ledger.shipping.case import CaseQuestion, close_case
from clew.ledger.shipping.note import Shipping, ShipQuestion, ship
from clew.ledger.shipping.pallet import PalletQuestion, close_pallet
from clew.ledger.shipping.turn import keep_in_turn
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import chain_records
from clew.mill.model import Mill
from clew.plan.orders.asked import OrderAsked, orders_of_mill

ZONE = "Europe/London"
BY = "Ina"


def said_by(kind: str, at_us: int, key: str, **said: Any) -> Message:
    """Read something that is told; on Line 1 where its kind belongs to a line, and none is said."""
    line = {} if KINDS[kind].where == "mill" else {"line": "Line 1"}
    return read_message({"kind": kind, **line, **said}, Sender("told", BY, "", ZONE, at_us, key))


def tell(ledger: Ledger, kind: str, at_us: int, key: str, **said: Any) -> None:
    """Have something told."""
    (taken,) = ledger.append([said_by(kind, at_us, key, **said)])
    assert taken.outcome == "kept"


def wind(ledger: Ledger, run: str, lot: str, doffs: int, *, pulled: int = 0, **said: Any) -> None:
    """Have a run wound that began an hour ago and has ended: its balls are there."""
    begun = ledger.clock() - 3_600_000_000
    of_run = {"run": run, "lot": lot, "ball_name": "Querl 100", **said}
    told = [said_by("run start", begun, f"{run} start", **of_run)]
    told += [
        said_by(
            "doff", begun + 1 + number, f"{run} doff {number}", lane=number % 6 + 1, ball=number
        )
        for number in range(doffs)
    ]
    told += [
        said_by("pulled", begun + doffs + 1, f"{run} pulled {number}", lane=1, ball=number * 6)
        for number in range(pulled)
    ]
    told.append(said_by("run end", begun + doffs + 2, f"{run} end", run=run))
    assert all(one.outcome == "kept" for one in ledger.append(told))


def decide(ledger: Ledger, lot: str, decision: str, **said: Any) -> None:
    """Have a lot decided on."""
    printed = hashlib.sha256(f"{lot} {decision}".encode()).hexdigest()
    keep_decision(ledger, LotDecided(lot, decision, printed, BY, **said), "tablet")


def void(ledger: Ledger, line: str, seq: int) -> None:
    """Say that something did not happen."""
    tell(ledger, "correction", ledger.clock(), f"v{seq} {line}", line=line or MILL_WORD,
         of_seq=seq, void=True, why="told by mistake")  # fmt: skip


def order_of(mill: Mill, number: str) -> OrderAsked:
    """Find an order of the demo mill."""
    return next(one for one in orders_of_mill(mill) if one.number == number)


class Bench:
    """The packing bench: closes and ships by the ledger's own clock, and keeps it."""

    def __init__(self, ledger: Ledger, mill: Mill) -> None:
        self.ledger, self.mill = ledger, mill

    def case(
        self, balls: int, lot: str = "SL-207", *, lots: Sequence[str] = (), **said: Any
    ) -> str:
        """Close a case of one lot, or of several."""
        question = CaseQuestion(
            tuple(lots) or (lot,), balls, self.ledger.clock(), BY, "clew ship", uuid4().hex, **said
        )
        closing, (taken,) = keep_in_turn(
            self.ledger, lambda: close_case(self.ledger, self.mill, question),
            lambda made: [made.message],
        )  # fmt: skip
        assert taken.outcome == "kept"
        return closing.message.package

    def pallet(self, cases: Sequence[str], **said: Any) -> str:
        """Close a pallet."""
        question = PalletQuestion(
            tuple(cases), self.ledger.clock(), BY, "clew ship", uuid4().hex, **said
        )
        closing, (taken,) = keep_in_turn(
            self.ledger, lambda: close_pallet(self.ledger, self.mill, question),
            lambda made: [made.message],
        )  # fmt: skip
        assert taken.outcome == "kept"
        return closing.message.package

    def ship(
        self, packages: Sequence[str], order: OrderAsked | str = "1041", **said: Any
    ) -> Shipping:
        """Ship packages."""
        asked = order_of(self.mill, order) if isinstance(order, str) else order
        question = ShipQuestion(
            asked, tuple(packages), self.ledger.clock(), BY, "clew ship", uuid4().hex, **said
        )
        shipping, taken = keep_in_turn(
            self.ledger, lambda: ship(self.ledger, self.mill, question),
            lambda made: made.messages,
        )  # fmt: skip
        assert all(one.outcome == "kept" for one in taken)
        return shipping


def wound_mill(folder: Path, doffs: int = 60) -> None:
    """Have balls of SL-207 wound in the ledger of a mill folder."""
    with closing(open_ledger(sqlite_url(folder / "mill.db"))) as ledger:
        wind(ledger, "L1-251125-1", "SL-207", doffs)


def decide_in(folder: Path, lot: str, decision: str) -> None:
    """Have a lot decided on in the ledger of a mill folder."""
    with closing(open_ledger(sqlite_url(folder / "mill.db"))) as ledger:
        decide(ledger, lot, decision)


def kinds_in(folder: Path) -> list[str]:
    """Name the kinds of records about packages in the ledger of a mill folder, in their order."""
    with closing(open_ledger(sqlite_url(folder / "mill.db"))) as ledger:
        return [
            one.kind
            for line in ("Line 1", "")
            for one in chain_records(ledger, line)
            if one.kind in ("case closed", "pallet closed", "shipped")
        ]
