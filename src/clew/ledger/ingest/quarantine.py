"""The quarantine file: rows that could not be taken, as they stood, each with its reason."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from clew.ledger.ingest.events_csv import QUARANTINE, part
from clew.ledger.ingest.events_jsonl import read_object
from clew.ledger.ingest.rows import FoundRow, raw_lines

FOLDER = "quarantine"
"""Folder beside the file that is taken."""
TORN = ".torn"
"""Ending of the file beside it for what stood behind its last whole row."""
_MOST_NAMES = 1_000


class Quarantine:
    """The quarantine file of one file; nothing is made before the first row is put there.

    A CSV file's has its columns behind the line and the reason; one of JSON lines has both as two
    more keys. So it can be mended where it lies and taken again as it is.

    Parameters
    ----------
    path : Path
        Where it would be.
    heading : bytes
        The file's heading; empty for JSON lines.
    mark : str
        What parts its columns.

    Attributes
    ----------
    path : Path
        Where it is: a name beside that one, where another heading's file has it.
    """

    def __init__(self, path: Path, heading: bytes, mark: str = ",") -> None:
        self.mark = mark
        self.heading = mark.join(QUARANTINE).encode() + mark.encode() + heading if heading else b""
        self.path = self._free(path)
        self._there: set[bytes] | None = None
        self._out: IO[bytes] | None = None

    def _free(self, path: Path) -> Path:
        if not self.heading:
            return path
        for number in range(1, _MOST_NAMES):
            name = path if number == 1 else path.with_name(f"{path.stem}-{number}{path.suffix}")
            try:
                with name.open("rb") as file:
                    first = file.readline(len(self.heading) + 8)
            except OSError:  # not there; what cannot be opened is said when a row is put there
                return name
            head = first.removesuffix(b"\n")
            torn = not first.endswith(b"\n") and self.heading.startswith(head)
            if head == self.heading or torn:
                return name
        return path

    def put(self, row: FoundRow, why: str) -> None:
        """Put a row there; one that stands there already is not put there twice.

        Raises
        ------
        OSError
            When the file cannot be written.
        """
        record = self._record(row, " ".join(why.split()))
        mark = _mark(record)
        if self._out is None:
            self._open()
        assert self._out is not None and self._there is not None
        if mark not in self._there:
            self._there.add(mark)
            self._out.write(record + b"\n")

    def _record(self, row: FoundRow, why: str) -> bytes:
        raw = row.raw
        if self.heading:
            text = raw.decode(errors="backslashreplace")
            parts = b"\r" not in raw and (row.found is not None or self._parts(text))
            shown = raw if parts else _quoted(text).encode()
            start = f"{row.line}{self.mark}{_quoted(why)}{self.mark}"
            return start.encode(errors="backslashreplace") + shown
        try:
            told: dict[str, Any] = read_object(raw)
        except ValueError:
            told = {"quarantine_text": raw.decode(errors="backslashreplace")}
        plain = told | dict(zip(QUARANTINE, (row.line, why), strict=True))
        return json.dumps(plain, ensure_ascii=False).encode(errors="backslashreplace")

    def _parts(self, text: str) -> bool:
        """Say whether a row that was refused still is a row of cells."""
        if "�" in text or "\\x" in text:
            return False
        try:
            return part(text, self.mark) is not None
        except ValueError:
            return False

    def _open(self) -> None:
        """Open the file, look through what is there, and put aside a row that a crash tore."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        new = not self.path.exists()
        self._there = set()
        out = self.path.open("ab+")
        try:
            if not new:
                whole = 0
                for record, end in _records(out, self.mark if self.heading else ""):
                    self._there.add(_mark(record))
                    whole = end
                self._put_aside(out, whole)
            out.seek(0, os.SEEK_END)
            if self.heading and out.tell() == 0:
                out.write(self.heading + b"\n")
        except BaseException:
            out.close()
            raise
        self._out = out
        if new:
            _sync_folder(self.path.parent)

    def _put_aside(self, out: IO[bytes], whole: int) -> None:
        """Cut off what ends in no whole row, but lose nothing: a hand may have mended there."""
        out.seek(whole)
        rest = out.read()
        if not rest:
            return
        aside = self.path.with_name(self.path.name + TORN)
        with aside.open("ab") as file:
            file.write(rest + b"\n")
            file.flush()
            os.fsync(file.fileno())
        _sync_folder(self.path.parent)
        out.truncate(whole)

    @property
    def used(self) -> bool:
        """Whether a row was put there, or stood there already."""
        return self._out is not None

    def sync(self) -> None:
        """See that what was put there is on the disk."""
        if self._out is not None:
            self._out.flush()
            os.fsync(self._out.fileno())

    def close(self) -> None:
        """Let go of the file."""
        if self._out is not None:
            self._out.close()


def _records(file: IO[bytes], mark: str) -> Iterator[tuple[bytes, int]]:
    """Give the whole rows of a quarantine file and where each ends."""
    held: list[bytes] = []
    for line in raw_lines(file, 0, 1):
        if not line.ended:
            return
        held.append(line.text)
        record = b"\n".join(held)
        if mark and record.count(b'"') % 2:
            continue
        held = []
        yield record, line.end


def _mark(record: bytes) -> bytes:
    return hashlib.sha256(record.replace(b"\r", b"")).digest()[:12]


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
