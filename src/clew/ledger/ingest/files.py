"""Taking a file of events into the ledger: every good row once, every bad one to quarantine.

How far a file has been taken is kept in the ledger itself. A batch is first on the disk (rows in
the ledger, refused ones in the quarantine file), and only with the next batch does the ledger say
that it was taken: whoever is killed in between reads the batch again, and its keys make that
change nothing.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import IO, Any

from sqlalchemy import select

from clew.faults import BadInput, Fault
from clew.ledger.events.message import Message, Taken
from clew.ledger.events.reading import Sender
from clew.ledger.ingest.clashes import same_event
from clew.ledger.ingest.events_csv import CsvFile
from clew.ledger.ingest.events_jsonl import ENDINGS, JsonLinesFile
from clew.ledger.ingest.quarantine import FOLDER, Quarantine
from clew.ledger.ingest.readings import EVENT_ROWS, Reading
from clew.ledger.ingest.rows import FoundRow, lines_before, raw_lines
from clew.ledger.store.append import Beside
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.schema import FILE_READ
from clew.ledger.store.trouble import CannotKeep

BATCH = 500
"""Rows kept in one transaction."""
HEAD_BYTES = 4_096
"""So much of a file's beginning, and of where it was read to, by which it is known again."""
HALF = 16
"""Bytes of the hash of either."""
SOURCE = "file"
"""Source of events from files, where the caller names none."""

Tell = Callable[[int, int], None]
"""Is told bytes read and bytes there, after each batch."""


@dataclass(frozen=True, slots=True)
class FileTaken:
    """What became of a file.

    Attributes
    ----------
    path : Path
        The file.
    rows : int
        Rows read this time.
    kept, already : int
        Events that were kept now, and that were there before.
    refused : int
        Rows that went to quarantine.
    flagged : int
        Events kept now with something odd about them.
    flags : mapping of str to int
        What is odd, and how often.
    quarantine : Path or None
        Where the refused rows are; None where there are none.
    from_line, upto_line : int
        Line at which reading began, and line before which everything is taken.
    bytes_read, size : int
        The same in bytes, and how long the file was.
    replaced : bool
        Whether another file of that name had been taken before.
    unfinished : bool
        Whether something was left for later, because its line end is not there yet.
    """

    path: Path
    rows: int = 0
    kept: int = 0
    already: int = 0
    refused: int = 0
    flagged: int = 0
    flags: Mapping[str, int] = field(default_factory=dict)
    quarantine: Path | None = None
    from_line: int = 1
    upto_line: int = 1
    bytes_read: int = 0
    size: int = 0
    replaced: bool = False
    unfinished: bool = False


class StoppedAt(CannotKeep):
    """The ledger, or the quarantine file, could not be written in the middle of a file.

    Attributes
    ----------
    so_far : FileTaken
        What was taken until then; it stays taken.
    """

    def __init__(self, trouble: CannotKeep, so_far: FileTaken) -> None:
        super().__init__(
            f"{trouble.reason}; {so_far.path.name} is taken up to line {so_far.upto_line - 1}",
            for_good=trouble.for_good,
        )
        self.so_far = so_far


def take_file(
    ledger: Ledger,
    path: Path,
    sender: Sender,
    *,
    quarantine: Path | None = None,
    batch: int = BATCH,
    growing: bool = False,
    again: bool = False,
    reading: Reading = EVENT_ROWS,
    tell: Tell | None = None,
) -> FileTaken:
    """Take a file, or what has been added to it since it was taken last.

    Parameters
    ----------
    ledger : Ledger
        Where to.
    path : Path
        JSON lines where its name ends in ``.jsonl`` or ``.ndjson``, CSV otherwise.
    sender : Sender
        Who hands it in; its key is not used.
    quarantine : Path, optional
        Folder for refused rows; ``quarantine`` beside the file where left out.
    batch : int
        Rows in one transaction.
    growing : bool
        Whether somebody still writes it: a last line without its end is left for later.
    again : bool
        Whether to read from the top; what is there already changes nothing.
    reading : Reading
        How rows become messages.
    tell : callable, optional
        Told how far it is.

    Returns
    -------
    FileTaken
        What became of it.

    Raises
    ------
    BadInput
        When the file as a whole cannot be used.
    StoppedAt
        When ledger or quarantine cannot be written: no row is half taken, and what was taken
        until then is said.
    """
    folder = path.parent / FOLDER if quarantine is None else quarantine
    try:
        file = path.open("rb")
    except OSError as error:
        raise BadInput(
            Fault("cannot be read", "a file", str(path), value=str(error.strerror))
        ) from None
    with file:
        stat = os.fstat(file.fileno())
        if path.suffix.casefold() in ENDINGS:
            form: CsvFile | JsonLinesFile = JsonLinesFile(file)
            store = Quarantine(folder / path.name, b"")
        elif growing and not _has_heading(file):
            return FileTaken(path, size=stat.st_size, unfinished=True)
        else:
            form = CsvFile(file, str(path), reading.columns, reading.shape, reading.needs)
            store = Quarantine(folder / path.name, form.heading, form.mark)
        taking = _Taking(ledger, path, file, form, store, stat.st_size, stat.st_mtime_ns // 1000)
        try:
            return taking.run(sender, reading.fresh(), batch, tell, growing=growing, again=again)
        finally:
            with suppress(OSError):
                store.close()


def _has_heading(file: IO[bytes]) -> bool:
    """Say whether the first line that is not empty is there with its end."""
    return any(line.ended for line in raw_lines(file, 0, 1) if line.text.strip())


class _Taking:
    """One file while it is taken."""

    def __init__(
        self,
        ledger: Ledger,
        path: Path,
        file: IO[bytes],
        form: CsvFile | JsonLinesFile,
        store: Quarantine,
        size: int,
        changed_us: int,
    ) -> None:
        self.ledger, self.path, self.file, self.form, self.store = ledger, path, file, form, store
        self.where = str(path.resolve())
        self.size, self.changed_us = size, changed_us
        self.so_far = FileTaken(path, size=size)
        self.rows_before = 0
        self.noted = 0
        self.held: list[tuple[FoundRow, list[Message]]] = []
        self.read_to, self.line_to = 0, 1
        self.unread = 0

    def run(
        self,
        sender: Sender,
        reading: Reading,
        batch: int,
        tell: Tell | None,
        *,
        growing: bool,
        again: bool,
    ) -> FileTaken:
        start, line = self._begin(again=again)
        self.read_to, self.line_to = start, line
        top = (self.form.start, self.form.first_line)
        first = top if reading.from_top else (start, line)
        waiting = 0
        for row in self.form.rows(*first, growing=growing):
            why, messages = row.why, []
            if row.found is not None:
                try:
                    messages = reading.messages(row, sender)
                except BadInput as bad:
                    why = "; ".join(str(fault) for fault in bad.faults)
                except RecursionError:
                    why = "too deep a message"
            if row.start < start:
                continue
            self.unread += 1
            waiting += 1
            if why:
                self._put(row, why)
            else:
                self.held.append((row, messages))
            if row.ended:  # a last line without its end may yet go on: it is read again
                self.read_to = row.end
                self.line_to = row.line + row.raw.count(b"\n") + 1
            if waiting >= batch:
                self._flush()
                waiting = 0
                if tell is not None:
                    tell(row.end, self.size)
        self._flush()
        if self.so_far.bytes_read != self.noted:
            self._write(())
        return replace(self.so_far, unfinished=growing and self.so_far.bytes_read < self.size)

    def _begin(self, *, again: bool) -> tuple[int, int]:
        """Say where reading begins: place and line."""
        start, line = self.form.start, self.form.first_line
        query = select(FILE_READ).where(FILE_READ.c.path == self.where)
        with self.ledger.reading() as connection:
            stands = connection.execute(query).first()
        replaced = False
        if stands is not None:
            there = int(stands.bytes_read)
            now, noted = self._head(there), bytes(stands.sha256_head)
            replaced = there > self.size or now[:HALF] != noted[:HALF]
            changed = there == self.size and self.changed_us != int(stands.changed_us)
            changed = changed or now != noted
            if not replaced and not again and not changed and there > start:
                start, line = there, lines_before(self.file, there) + 1
                self.rows_before, self.noted = int(stands.rows_read), there
        self.so_far = replace(
            self.so_far, from_line=line, upto_line=line, bytes_read=start, replaced=replaced
        )
        return start, line

    def _head(self, upto: int) -> bytes:
        """Hash the beginning, and the last of what was read: a file may be written anew with
        another middle, and grown meanwhile.
        """
        self.file.seek(0)
        first = hashlib.sha256(self.file.read(min(upto, HEAD_BYTES))).digest()
        self.file.seek(max(0, upto - HEAD_BYTES))
        last = hashlib.sha256(self.file.read(min(upto, HEAD_BYTES))).digest()
        return first[:HALF] + last[:HALF]

    def _put(self, row: FoundRow, why: str) -> None:
        try:
            self.store.put(row, why)
        except OSError as error:
            raise self._stopped(error) from error
        self.so_far = replace(
            self.so_far, refused=self.so_far.refused + 1, quarantine=self.store.path
        )

    def _sync(self) -> None:
        try:
            self.store.sync()
        except OSError as error:
            raise self._stopped(error) from error

    def _stopped(self, error: OSError) -> StoppedAt:
        words = f"the quarantine file cannot be written ({error.strerror or error})"
        return StoppedAt(CannotKeep(words, for_good=True), self.so_far)

    def _flush(self) -> None:
        """Keep what is held, and only then say that the rows up to here are read."""
        self._sync()
        messages = [message for _, of_row in self.held for message in of_row]
        if messages:
            self._write(messages)
            self._sync()
        self.held.clear()
        self.so_far = replace(
            self.so_far, rows=self.so_far.rows + self.unread, bytes_read=self.read_to,
            upto_line=self.line_to,
        )  # fmt: skip
        self.unread = 0

    def _write(self, messages: list[Message] | tuple[()]) -> None:
        note = self._note() if self.so_far.bytes_read != self.noted else None
        try:
            taken = iter(self.ledger.append(messages, beside=note))
        except CannotKeep as trouble:
            raise StoppedAt(trouble, self.so_far) from trouble
        self.noted = self.so_far.bytes_read
        kept = already = flagged = 0
        flags = dict(self.so_far.flags)
        clashes: list[tuple[FoundRow, Message, Taken]] = []
        for row, of_row in self.held if messages else ():
            for message in of_row:
                one = next(taken)
                kept += one.outcome == "kept"
                already += one.outcome == "already"
                if one.outcome == "kept" and one.flags:
                    flagged += 1
                    for flag in one.flags:
                        flags[flag] = flags.get(flag, 0) + 1
                if one.outcome == "clash":
                    clashes.append((row, message, one))
        same = same_event(self.ledger, [(message, one) for _, message, one in clashes])
        already += sum(same)
        self.so_far = replace(
            self.so_far, kept=self.so_far.kept + kept, already=self.so_far.already + already,
            flagged=self.so_far.flagged + flagged, flags=flags,
        )  # fmt: skip
        for (row, message, one), already_there in zip(clashes, same, strict=True):
            if already_there:
                continue
            place = f"place {one.seq} in the chain of {one.line or 'the mill'}"
            self._put(row, f"key: another event has it, {place} ({message.key!r})")

    def _note(self) -> Beside:
        """Write, beside the rows of a batch, how far the batches before it reach."""
        one = "?" if self.ledger.dialect == "sqlite" else "%s"
        names = [column.name for column in FILE_READ.columns]
        text = (
            f"INSERT INTO file_read ({', '.join(names)}) VALUES ({', '.join([one] * len(names))}) "
            "ON CONFLICT (path) DO UPDATE SET "
            + ", ".join(f"{name} = excluded.{name}" for name in names[1:])
        )
        upto = self.so_far.bytes_read
        values = (self.where, self._head_kept(upto), upto, self.rows_before + self.so_far.rows,
                  self.changed_us)  # fmt: skip

        def write(cursor: Any) -> None:
            cursor.execute(text, values)

        return write

    def _head_kept(self, upto: int) -> bytes:
        """Hash the file's beginning without losing the place where it is read."""
        place = self.file.tell()
        try:
            return self._head(upto)
        finally:
            self.file.seek(place)
