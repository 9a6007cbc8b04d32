"""What the verbs of `clew run` share: the line's ledger open, who, and when."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from clew.cli.options import checked_mill
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.events.message import Message
    from clew.ledger.state.known import Run
    from clew.ledger.state.live import LiveLine
    from clew.ledger.store.ledger import Ledger
    from clew.mill.lines import Line
    from clew.mill.model import Mill

SOURCE = "clew run"
"""What the ledger names as the sender of these messages."""
Command = TypeVar("Command", bound=Callable[..., Any])


@dataclass(frozen=True, slots=True)
class OpenLine:
    """A line with its ledger open.

    Attributes
    ----------
    mill : Mill
        The mill.
    line : Line
        The line.
    ledger : Ledger
        Its ledger.
    live : LiveLine
        What is known of it.
    """

    mill: Mill
    line: Line
    ledger: Ledger
    live: LiveLine

    @property
    def running(self) -> Run | None:
        """The run in progress."""
        return self.live.catch_up().state.run

    def moment(self, text: str) -> int:
        """Read a moment off ``--at``; now where it is empty [us]."""
        return read_at(text, self.mill.mill.time_zone, self.ledger.clock())

    def keep(self, message: Message) -> int:
        """Keep a message; gives its place in the chain."""
        (taken,) = self.ledger.append([message])
        return taken.seq


@contextmanager
def open_line(folder: Path, line_name: str, *, make: bool = True) -> Iterator[OpenLine]:
    """Open the ledger of a line; says why, with exit code 2, where it cannot be used.

    Raises
    ------
    BadInput
        When mill file, line or ledger is none.
    """
    from clew.ledger.state.live import LiveLine
    from clew.ledger.store.opening import open_ledger, url_of
    from clew.ledger.store.trouble import CannotKeep

    mill = checked_mill(folder)
    line = mill.find_line(line_name)
    beside = folder if folder.is_dir() else folder.parent
    try:
        ledger = open_ledger(url_of(beside, mill.ledger.database), make=make)
        try:
            yield OpenLine(mill, line, ledger, LiveLine(ledger, mill, line.name))
        finally:
            ledger.close()
    except CannotKeep as trouble:
        click.echo(f"clew: the ledger cannot keep anything: {trouble.reason}", err=True)
        sys.exit(2)


def read_at(text: str, zone: str, now_us: int) -> int:
    """Read a moment; a time of day such as ``05:41`` is the last one by the mill's clock [us].

    Parameters
    ----------
    text : str
        ISO 8601, with or without an offset, or a time of day; now where empty.
    zone : str
        The mill's time zone.
    now_us : int
        Now [us].

    Raises
    ------
    BadInput
        When it is none, or more than a minute ahead.
    """
    from clew.ledger.events.moments import local_of, read_moment

    if not text.strip():
        return now_us
    try:
        if re.fullmatch(r"[0-2]?\d:\d\d(:\d\d)?", text.strip(), re.ASCII):
            clock = text.strip().rjust(5 if text.count(":") == 1 else 8, "0")
            today: datetime = local_of(now_us, zone)
            found = read_moment(f"{today.date()}T{clock}", zone).at_us
            if found > now_us:
                found = read_moment(f"{today.date() - timedelta(days=1)}T{clock}", zone).at_us
            return found
        found = read_moment(text, zone).at_us
    except BadInput as bad:
        first = bad.faults[0]
        raise BadInput(
            Fault(first.what, "05:41, or 2026-03-29 05:41", key="--at", value=text[:40])
        ) from None
    if found > now_us + 60_000_000:
        raise BadInput(Fault("a moment to come", "now or before", key="--at", value=text[:40]))
    return found


def new_key() -> str:
    """Make a key that no other message has."""
    import uuid

    return uuid.uuid4().hex


RUN_OPTIONS = {"by": "--by", "why": "--why", "at": "--at", "lot": "--lot", "order": "--order",
            "line": "--line", "target_g": "--target", "winder": "--winder"}  # fmt: skip
"""The option that gives what a fault names."""


def by_and_at(command: Command) -> Command:
    """Add ``--by`` and ``--at``: who does it, and when."""
    command = click.option(
        "--at", "at", default="", help="When, by the mill's clock: 05:41, or with its day; or now."
    )(command)
    return click.option("--by", "author", required=True, metavar="NAME", help="Who does it.")(
        command
    )
