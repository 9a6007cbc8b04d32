"""`clew ledger watch`: take in what comes into a folder, as it comes."""

from __future__ import annotations

import signal
import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import Quantity, as_json, checked_mill, mill_folder
from clew.quantities import TIME

if TYPE_CHECKING:
    from clew.ledger.events.reading import Sender
    from clew.ledger.ingest.watch import Seen
    from clew.ledger.store.ledger import Ledger
    from clew.ledger.store.trouble import CannotKeep


@click.command()
@click.option(
    "--folder", type=click.Path(path_type=Path), help="Folder; what the mill file says otherwise."
)
@click.option("--line", "line_name", default="", help="Line of rows that name none.")
@click.option("--by", "author", default="", metavar="NAME", help="Who vouches for the rows.")
@click.option("--once", is_flag=True, help="Look through it once, and end.")
@click.option(
    "--settle", "settle_s", type=Quantity(TIME), default="60 s",
    help="A file unchanged for so long is finished, and moved to the folder taken.",
)  # fmt: skip
@mill_folder
@as_json
def watch(
    folder: Path | None,
    line_name: str,
    author: str,
    once: bool,
    settle_s: float,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Take in every .csv, .jsonl and .ndjson file that comes into a folder, as it grows.

    A finished file is moved to the folder "taken" in it, refused rows go to "quarantine". Names
    that end in .part or .tmp, or begin with a dot, are left alone. With --json, a line a file.

    Exit code 1, with --once: some rows, or a file, went to quarantine.
    """
    from clew.cli.ledger.take import line_of, sender_of
    from clew.ledger.ingest.files import SOURCE
    from clew.ledger.store.opening import open_ledger, url_of
    from clew.ledger.store.trouble import CannotKeep

    mill = checked_mill(mill_folder)
    home = mill_folder if mill_folder.is_dir() else mill_folder.parent
    into = home / mill.ledger.watch if folder is None else folder
    if folder is None:
        into.mkdir(exist_ok=True)
    sender = sender_of(SOURCE, author, line_of(mill, line_name, ""), mill.mill.time_zone)
    say = _Saying(as_json)
    try:
        ledger = open_ledger(url_of(home, mill.ledger.database))
        try:
            if once:
                _once(ledger, into, sender, settle_s, say)
            else:
                _on_and_on(ledger, into, sender, settle_s, say)
        finally:
            ledger.close()
    except CannotKeep as trouble:
        say.trouble(trouble)
        sys.exit(2)
    sys.exit(1 if once and say.refused else 0)


def _once(ledger: Ledger, into: Path, sender: Sender, settle_s: float, say: _Saying) -> None:
    from clew.ledger.ingest.watch import FolderWatch, the_only_one

    with the_only_one(into):
        for seen in FolderWatch(ledger, into, sender, settle_s=settle_s).round():
            say.seen(seen)


def _on_and_on(ledger: Ledger, into: Path, sender: Sender, settle_s: float, say: _Saying) -> None:
    from clew.ledger.ingest.watch import watch_folder

    stop = threading.Event()
    before = {
        number: signal.signal(number, lambda *_: stop.set())
        for number in (signal.SIGINT, signal.SIGTERM)
    }
    if not say.as_json:
        click.echo(f"Watching {into}; Ctrl-C ends it.")
    try:
        watch_folder(
            ledger, into, sender, tell=say.seen, stopped=stop.wait, in_trouble=say.trouble,
            settle_s=settle_s,
        )  # fmt: skip
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


class _Saying:
    """Says what the watch does, each trouble once."""

    def __init__(self, as_json: bool) -> None:
        self.as_json = as_json
        self.refused = False
        self._said: set[str] = set()

    def seen(self, seen: Seen) -> None:
        """Say what was done with a file."""
        self.refused |= bool(seen.trouble or (seen.taken and seen.taken.refused))
        if self.as_json:
            self._line(_plain(seen))
        elif seen.trouble:
            where = f"; it was moved to {seen.moved_to}" if seen.moved_to else ""
            self._once(f"clew: {seen.trouble}{where}")
        elif seen.taken is not None:
            from clew.cli.ledger.take import taken_words

            if seen.taken.rows:
                click.echo(taken_words(seen.taken))
            if seen.moved_to:
                click.echo(f"{seen.path}: finished, moved to {seen.moved_to}.")

    def trouble(self, trouble: CannotKeep) -> None:
        """Say that the ledger cannot write."""
        self._once(f"clew: the ledger cannot keep anything: {trouble.reason}")

    def _once(self, words: str) -> None:
        if words not in self._said:
            self._said.add(words)
            click.echo(words, err=True)

    def _line(self, plain: dict[str, Any]) -> None:
        import json

        click.echo(json.dumps(plain, ensure_ascii=False))


def _plain(seen: Seen) -> dict[str, Any]:
    from clew.cli.ledger.take import plain_taken

    return {
        "file": str(seen.path),
        "taken": plain_taken(seen.taken) if seen.taken else None,
        "moved_to": str(seen.moved_to) if seen.moved_to else None,
        "trouble": seen.trouble or None,
    }
