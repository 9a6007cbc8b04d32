"""A backup holds what stood at one moment, while writers go on; a damaged one is known."""

from __future__ import annotations

import json
import shutil
import sqlite3
import threading
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import insert, text
from tests.ledger.audit.tampering import LINE, ROWS, fill, message, tamper

from clew.faults import BadInput
from clew.ledger.audit.verify import anchor_of, verify
from clew.ledger.people.tables import PERSON, SESSION
from clew.ledger.safekeeping.backup import backup, backup_name, check_backup
from clew.ledger.safekeeping.manifest import manifest_path
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.schema import REFUSED


def fill_all(ledger: Ledger) -> None:
    """Rows in more tables than one."""
    fill(ledger)
    fill(ledger, 3, "")
    with ledger.writing() as connection:
        connection.execute(
            insert(PERSON).values(
                key="a. lead", name="A. Lead", role="lead", password_hash="$argon2id$x",
                made_us=1, changed_us=1,
            )
        )  # fmt: skip
        connection.execute(
            insert(SESSION).values(
                token_hash=b"\x02" * 32, person="a. lead", made_us=1, seen_us=1, ends_us=2
            )
        )
        connection.execute(
            insert(REFUSED).values(received_us=5, path="http", source="x", reason="y", body="{")
        )


def test_it_holds_every_table_and_says_what_it_holds(ledger: Ledger, tmp_path: Path) -> None:
    fill_all(ledger)
    made = backup(ledger, tmp_path / "copy.db")
    assert made.sound
    assert made.manifest.tables["event"] == ROWS + 3
    assert made.manifest.tables["person"] == 1
    assert made.manifest.tables["refused"] == 1
    assert made.manifest.heads == (anchor_of(ledger, ""), anchor_of(ledger, LINE))
    assert made.manifest.came_from == ledger.dialect
    looked = check_backup(tmp_path / "copy.db")
    assert looked.sound
    assert looked.manifest == made.manifest
    assert looked.plain()["manifest"]["clew_backup"] == 1
    with sqlite3.connect(tmp_path / "copy.db") as copy:
        assert copy.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        mine = copy.execute("SELECT * FROM event ORDER BY line, seq").fetchall()
    copy.close()
    with ledger.reading() as connection:
        theirs = connection.execute(text("SELECT * FROM event ORDER BY line, seq")).all()
    assert sorted(mine) == sorted(tuple(row) for row in theirs)
    assert not list(tmp_path.glob(".*"))
    assert (tmp_path / "copy.db").stat().st_mode & 0o077 == 0


def test_a_folder_gets_a_file_named_after_its_moment(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 2)
    folder = tmp_path / "backups"
    folder.mkdir()
    made = backup(ledger, folder)
    assert made.path.name == backup_name(made.manifest.made_us)
    assert made.path.exists()


def test_nothing_is_written_over(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 2)
    backup(ledger, tmp_path / "copy.db")
    with pytest.raises(BadInput, match="such a file already"):
        backup(ledger, tmp_path / "copy.db")


def test_it_is_whole_while_a_writer_runs(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 200)
    stop, started = threading.Event(), threading.Event()
    written: list[int] = []

    def write() -> None:
        number = 1_000
        while not stop.is_set():
            number += 1
            ledger.append([message(number), message(number, "Line 2")])
            written.append(number)
            started.set()

    writer = threading.Thread(target=write)
    writer.start()
    try:
        assert started.wait(20)
        copies = [backup(ledger, tmp_path / f"copy-{number}.db") for number in range(3)]
        after = len(written)
    finally:
        stop.set()
        writer.join()
    for one in copies:
        assert one.sound
        seqs = {head.line: head.seq for head in one.manifest.heads}
        # both lines were written in one transaction: a copy holds both or neither
        assert seqs[LINE] - 200 == seqs["Line 2"]
    assert after > 0
    assert verify(ledger, [head for one in copies for head in one.manifest.heads]).sound


def test_damage_is_known(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger)
    path = backup(ledger, tmp_path / "copy.db").path
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"k17", b"k71"))
    looked = check_backup(path)
    assert any("sha256" in one for one in looked.faults)
    assert looked.audit is not None
    assert [one.first for one in looked.audit.lines[0].findings] == [17]
    path.write_bytes(whole[: len(whole) // 2])
    looked = check_backup(path)
    assert not looked.whole
    assert "bytes" in looked.faults[0]
    path.write_bytes(b"no database at all")
    assert "cannot be read as a ledger" in check_backup(path).faults[-1]
    path.write_bytes(whole)
    assert check_backup(path).sound


def test_a_manifest_that_does_not_fit_is_known(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger)
    path = backup(ledger, tmp_path / "copy.db").path
    beside = manifest_path(path)
    said: dict[str, Any] = json.loads(beside.read_text())
    said["tables"]["event"] += 1
    beside.write_text(json.dumps(said))
    assert "not what its manifest says" in check_backup(path).faults[0]
    beside.write_text(json.dumps(said | {"clew_backup": 2}))
    with pytest.raises(BadInput, match="newer Clew"):
        check_backup(path)
    beside.write_text("{}")
    with pytest.raises(BadInput, match="no manifest of a backup"):
        check_backup(path)
    beside.unlink()
    with pytest.raises(BadInput, match="without its manifest"):
        check_backup(path)
    path.unlink()
    with pytest.raises(BadInput, match="no such backup"):
        check_backup(path)


def test_a_backup_of_a_tampered_ledger_is_made_and_says_so(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger)
    tamper(ledger, "UPDATE event SET lane = 9 WHERE seq = 12")
    made = backup(ledger, tmp_path / "copy.db")
    assert made.whole
    assert not made.sound


def test_a_folder_that_cannot_be_written_to(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 2)
    (tmp_path / "file").write_text("")
    with pytest.raises(BadInput, match="cannot be written"):
        backup(ledger, tmp_path / "file" / "copy.db")


def test_a_failure_leaves_nothing_behind(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(ledger, 2)
    folder = tmp_path / "out"
    folder.mkdir()

    def fail(_path: Path) -> bytes:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("clew.ledger.safekeeping.backup.sha256_of", fail)
    with pytest.raises(BadInput, match="No space left"):
        backup(ledger, folder)
    assert list(folder.iterdir()) == []


def test_a_copy_can_be_carried_elsewhere(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger)
    made = backup(ledger, tmp_path / "copy.db")
    other = tmp_path / "stick"
    other.mkdir()
    for one in (made.path, manifest_path(made.path)):
        shutil.copy(one, other)
    assert check_backup(other / "copy.db", (anchor_of(ledger, LINE),)).sound
