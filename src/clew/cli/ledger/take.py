"""`clew ledger take`: take in files of events, the bad rows to quarantine."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, checked_mill, mill_folder
from clew.cli.output import print_json
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.events.reading import Sender
    from clew.ledger.ingest.files import FileTaken
    from clew.ledger.ingest.readings import Reading
    from clew.mill.lines import Line
    from clew.mill.model import Mill

_LONG_BYTES = 2_000_000


@click.command()
@click.argument(
    "files", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE...",
)  # fmt: skip
@click.option("--line", "line_name", default="", help="Line of rows that name none.")
@click.option("--by", "author", default="", metavar="NAME", help="Who vouches for the rows.")
@click.option("--zone", default="", help="Time zone of moments without one; else the mill's.")
@click.option(
    "--day", default="", metavar="YYYY-MM-DD", help="Day of the first row, for times of day."
)
@click.option(
    "--sheet", default="", metavar="T-...", help="FILE is typed in from this paper sheet."
)
@click.option("--again", is_flag=True, help="Read from the top, even what was taken before.")
@mill_folder
@as_json
def take(
    files: tuple[Path, ...],
    line_name: str,
    author: str,
    zone: str,
    day: str,
    sheet: str,
    again: bool,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Take in FILEs of events: CSV, or JSON lines (.jsonl, .ndjson).

    Each good row is kept once, however often its file is taken. A bad one goes to a file of the
    same name in the folder "quarantine" beside, with its line and the reason; mended there, it can
    be taken from there. Files of `clew line where` and of weighings are read too; --day says the
    day of times that have none.

    Exit code 1: some rows went to quarantine.
    """
    from clew.ledger.ingest.files import SOURCE, take_file
    from clew.ledger.store.opening import open_ledger, url_of
    from clew.ledger.store.trouble import CannotKeep

    mill = checked_mill(mill_folder)
    on = _day(day)
    line = line_of(mill, line_name, sheet)
    sender = sender_of(SOURCE, author, line, zone or mill.mill.time_zone)
    folder = mill_folder if mill_folder.is_dir() else mill_folder.parent
    found: list[FileTaken] = []
    unusable: list[Fault] = []
    try:
        ledger = open_ledger(url_of(folder, mill.ledger.database))
        try:
            for path in files:
                try:
                    reading = _reading(path, mill, line, on, sheet, author)
                    with _progress(path) as tell:
                        found.append(
                            take_file(ledger, path, sender, again=again, reading=reading, tell=tell)
                        )
                except BadInput as bad:  # the other files are taken all the same
                    unusable += bad.faults
        finally:
            ledger.close()
    except CannotKeep as trouble:
        click.echo(f"clew: the ledger cannot keep anything: {trouble.reason}", err=True)
        sys.exit(2)
    if as_json:
        print_json({"files": [plain_taken(one) for one in found]})
    else:
        for one in found:
            click.echo(taken_words(one))
    if unusable:
        raise BadInput(unusable)
    sys.exit(1 if any(one.refused for one in found) else 0)


def _day(text: str) -> date | None:
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(Fault("no day", "such as 2026-11-25", key="--day", value=text)) from None


def line_of(mill: Mill, name: str, sheet: str) -> Line | None:
    """Say which line is meant: by name, by the sheet's number, or the only one there is."""
    if name:
        return mill.find_line(name)
    if sheet:
        from clew.ledger.ingest.paper import read_sheet

        place = read_sheet(sheet).line_place
        if place < len(mill.line):
            return mill.line[place]
        raise BadInput(Fault("no sheet of a line of this mill", key="--sheet", value=sheet))
    return mill.line[0] if len(mill.line) == 1 else None


def sender_of(source: str, author: str, line: Line | None, zone: str) -> Sender:
    """Say who hands files in; raises `BadInput` for a zone that there is not."""
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    from clew.ledger.events.reading import Sender

    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadInput(
            Fault("no time zone", "such as Europe/London", key="--zone", value=zone[:60])
        ) from None
    return Sender(source, author=author, line=line.name if line else "", zone=zone)


def _reading(
    path: Path, mill: Mill, line: Line | None, day: date | None, sheet: str, author: str
) -> Reading:
    if sheet:
        from clew.ledger.ingest.paper import PaperRows, read_sheet

        if not author:
            raise BadInput(Fault("nobody typed it in", "--by NAME", key="--sheet"))
        return PaperRows(read_sheet(sheet), mill.mill.shift_starts)
    from clew.ledger.ingest.from_line_files import reading_for

    lanes = {str(one.number): one.lane for one in line.winder} if line else {}
    return reading_for(path, day=day, lanes=lanes)


@contextmanager
def _progress(path: Path) -> Iterator[Callable[[int, int], None] | None]:
    """Show how far a long file is, on standard error, where somebody looks."""
    if not sys.stderr.isatty() or not path.is_file() or path.stat().st_size < _LONG_BYTES:
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(path.name, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)


def plain_taken(one: FileTaken) -> dict[str, Any]:
    """Make a file's answer plain, for JSON."""
    return {
        "file": str(one.path),
        "rows": one.rows,
        "kept": one.kept,
        "already": one.already,
        "refused": one.refused,
        "flagged": one.flagged,
        "flags": dict(one.flags),
        "quarantine": str(one.quarantine) if one.quarantine else None,
        "from_line": one.from_line,
        "upto_line": one.upto_line - 1,
        "read_bytes": one.bytes_read,
        "size_bytes": one.size,
        "replaced": one.replaced,
        "unfinished": one.unfinished,
    }


def taken_words(one: FileTaken) -> str:
    """Say in a line or two what became of a file."""
    name = str(one.path)
    if not one.rows:
        return f"{name}: nothing new after line {one.upto_line - 1}."
    parts = [f"{one.kept} kept"]
    if one.already:
        parts.append(f"{one.already} there already")
    if one.refused:
        parts.append(f"{one.refused} refused")
    words = f"{name}: {one.rows} row{'' if one.rows == 1 else 's'}, {', '.join(parts)}."
    if one.flagged:
        told = ", ".join(f"{flag} {count}" for flag, count in one.flags.items())
        words += f" Flagged: {told}."
    if one.replaced:
        words += " Another file of this name was taken before."
    if one.quarantine:
        words += f"\n  refused rows, with reasons: {one.quarantine}"
    return words
