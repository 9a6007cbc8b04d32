"""What the verbs of `clew ship` share: papers that come with a record or not at all, and orders."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.events.message import Message, Taken
    from clew.ledger.store.ledger import Ledger
    from clew.mill.model import Mill
    from clew.plan.orders.asked import OrderAsked

Made = TypeVar("Made")
SOURCE = "clew ship"
"""What the ledger names as the sender of these messages."""


class Papers:
    """Files written whole beside their places, and put there once the record is kept."""

    def __init__(self) -> None:
        self._waiting: list[tuple[Path, Path]] = []

    def write(self, path: Path, content: bytes) -> None:
        """Write a file beside its place; raises `BadInput` where that cannot be done."""
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if path.is_dir():
                raise IsADirectoryError(21, "it is a folder")
            handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
            self._waiting.append((Path(name), path))
            with os.fdopen(handle, "wb") as out:
                out.write(content)
                out.flush()
                os.fsync(out.fileno())
            Path(name).chmod(0o644)
        except OSError as error:
            self.drop()
            raise BadInput(
                Fault("cannot be written; nothing is recorded", "a file in a folder to write to",
                      file=str(path), value=str(error.strerror))
            ) from None  # fmt: skip

    def place(self, again: str) -> None:
        """Put the files in their places; raises `BadInput`, saying how to print them again."""
        while self._waiting:
            name, path = self._waiting[0]
            try:
                name.replace(path)
            except OSError as error:
                self.drop()
                raise BadInput(
                    Fault(f"it is recorded, but the paper could not be put there; {again}",
                          file=str(path), value=str(error.strerror))
                ) from None  # fmt: skip
            self._waiting.pop(0)

    def drop(self) -> None:
        """Take away what was not put in its place."""
        for name, _ in self._waiting:
            name.unlink(missing_ok=True)
        self._waiting.clear()


def record_with_papers(
    ledger: Ledger,
    work: Callable[[], Made],
    messages_of: Callable[[Made], Sequence[Message]],
    write: Callable[[Made, Papers], None],
    again: Callable[[Made], str],
) -> tuple[Made, tuple[Taken, ...]]:
    """Keep a record and write its papers: both, or the record alone, never a paper without it.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    work, messages_of : callable
        As in `clew.ledger.shipping.turn.keep_in_turn`.
    write : callable
        Writes the papers of what was worked out.
    again : callable
        Says how to print them again.

    Returns
    -------
    (object, tuple of Taken)
        What was worked out, and what became of its messages.

    Notes
    -----
    The papers are written whole beside their places first; then the record is kept; then they are
    renamed. A folder that cannot be written keeps the record out; a record that cannot be kept
    leaves no paper. Between record and renaming only the power can fail: the record stands then,
    and its papers are printed again.
    """
    from clew.ledger.shipping.turn import keep_in_turn

    papers = Papers()

    def at_work() -> Made:
        papers.drop()
        made = work()
        write(made, papers)
        return made

    try:
        made, taken = keep_in_turn(ledger, at_work, messages_of)
        papers.place(again(made))
    finally:
        papers.drop()
    return made, taken


SHIP_OPTIONS = {"tokens": "--token", "package": "--name"} | {
    key: f"--{key}"
    for key in ("anew", "anyway", "ball", "balls", "by", "case", "customer", "from", "line", "lot",
                "order", "pallet", "run", "upto")
}  # fmt: skip
"""The option that gives what a fault names."""


def order_asked(mill: Mill, number: str, orders: Path | None) -> OrderAsked | None:
    """Find an order in the mill file, or in a CSV file; None where no number is given.

    Raises
    ------
    BadInput
        When there is no such order, or the file is none.
    """
    from clew.plan.orders.asked import orders_of_mill

    known = orders_of_mill(mill)
    if orders is not None:
        from clew.plan.orders.reading import orders_from_csv

        try:
            text = orders.read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            raise BadInput(
                Fault("cannot be read", "a CSV file of orders", file=str(orders),
                      value=str(getattr(error, "strerror", None) or "not UTF-8"))
            ) from None  # fmt: skip
        known = orders_from_csv(text, mill, file=str(orders))
    if not number:
        return None
    for one in known:
        if one.number == number.strip():
            return one
    names = ", ".join(one.number for one in known) or "none is there"
    raise BadInput(Fault("no such order", f"one of {names}", key="--order", value=repr(number)))
