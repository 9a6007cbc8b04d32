"""A file whose taking breaks off anywhere: taken again, it comes to what it would have been."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from clew.ledger.events.reading import Sender
from clew.ledger.ingest.files import FileTaken, take_file
from clew.ledger.ingest.quarantine import Quarantine
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records
from clew.ledger.store.schema import FILE_READ


class Killed(BaseException):
    """The process ends here."""


def night() -> str:
    lines = ["at,lane,kind,counts,key,note"]
    for second in range(40):
        at = f"2026-03-02T10:00:{second:02d}"
        lines.append(f"{at},1,turns,{second},,")
        if second % 5 == 0:
            lines.append(f"{at},none,turns,{second},,")
        if second % 7 == 0:
            lines.append(f'{at},1,note,,,"over\nlines, {second}"')
        if second % 9 == 0:
            lines.append(f"{at},1,turns,{second},the same key,")
        if second % 11 == 0:
            lines.append('torn,"open')
    return "\n".join(lines) + "\n"


def begin(tmp_path: Path, line: str) -> Path:
    folder = tmp_path / line
    folder.mkdir()
    (folder / "night.csv").write_text(night())
    return folder


def take(ledger: Ledger, folder: Path, *, again: bool = False) -> FileTaken:
    sender = Sender("file", line=folder.name, zone="Europe/London")
    return take_file(ledger, folder / "night.csv", sender, batch=6, again=again)


def contents(ledger: Ledger, folder: Path) -> tuple[Any, ...]:
    """What there is of a file: its events, its quarantine, and how far it is said to be taken."""
    rows = [(one.at_us, one.kind, one.key, one.body) for one in chain_records(ledger, folder.name)]
    path = str((folder / "night.csv").resolve())
    with ledger.reading() as connection:
        stands = connection.execute(select(FILE_READ).where(FILE_READ.c.path == path)).one()
    aside = (folder / "quarantine" / "night.csv").read_text()
    plain = aside.replace(f"of {folder.name} (", "of it (")
    return rows, plain, stands.bytes_read, stands.sha256_head


@pytest.mark.parametrize("where", ["before", "after", "put", "sync"])
def test_wherever_it_breaks_off(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, where: str
) -> None:
    """Before a transaction, after its commit, between two refused rows, before their sync."""
    unbroken = begin(tmp_path, "unbroken")
    first = take(ledger, unbroken)
    whole = contents(ledger, unbroken)
    assert first.refused > 10
    assert first.kept > 40
    broke_off = 0
    for place in range(200):
        folder = begin(tmp_path, f"broken {place}")
        with monkeypatch.context() as patch:
            _break_at(patch, ledger, where, place)
            try:
                take(ledger, folder)
            except Killed:
                broke_off += 1
            else:
                break
        there = len(list(chain_records(ledger, folder.name)))
        resumed = take(ledger, folder)
        assert resumed.kept == len(whole[0]) - there  # none lost, none doubled
        assert contents(ledger, folder) == whole
    assert broke_off > 8


def _break_at(patch: pytest.MonkeyPatch, ledger: Ledger, where: str, place: int) -> None:
    count = 0

    def due() -> bool:
        nonlocal count
        count += 1
        return count == place + 1

    append, put, sync = ledger.append, Quarantine.put, Quarantine.sync

    def broken_append(messages: Any, **terms: Any) -> Any:
        if where == "before" and due():
            raise Killed
        done = append(messages, **terms)
        if where == "after" and due():
            raise Killed
        return done

    def broken_put(self: Quarantine, *terms: Any) -> None:
        put(self, *terms)
        if where == "put" and due():
            raise Killed

    def broken_sync(self: Quarantine) -> None:
        if where == "sync" and due():
            raise Killed
        sync(self)

    patch.setattr(ledger, "append", broken_append)
    patch.setattr(Quarantine, "put", broken_put)
    patch.setattr(Quarantine, "sync", broken_sync)


@pytest.mark.parametrize("lost", [1, 5, 40, 75])
def test_a_quarantine_torn_by_a_crash_is_made_whole(
    ledger: Ledger, tmp_path: Path, lost: int
) -> None:
    folder = begin(tmp_path, "Line 1")
    take(ledger, folder)
    aside = folder / "quarantine" / "night.csv"
    whole = aside.read_bytes()
    aside.write_bytes(whole[:-lost])
    take(ledger, folder, again=True)
    assert sorted(aside.read_bytes().split(b"\n")) == sorted(whole.split(b"\n"))
