"""A disk that is full or may not be written is said in words, and loses nothing."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest
from tests.ledger.audit.tampering import fill, message

from clew.ledger.audit.verify import verify
from clew.ledger.safekeeping import room_left as subject
from clew.ledger.safekeeping.room_left import level_of, room_left, room_text
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.trouble import CannotKeep


def test_levels_and_sizes() -> None:
    assert level_of(None) == "enough"
    assert level_of(2_000_000_000) == "enough"
    assert level_of(1_999_999_999) == "low"
    assert level_of(199_999_999) == "nearly none"
    assert room_text(1_440_000_000) == "1.4 GB"
    assert room_text(180_400_000) == "180 MB"
    assert room_text(139_264) == "139 kB"


def test_a_ledger_that_can_be_written(ledger: Ledger) -> None:
    fill(ledger, 3)
    found = room_left(ledger)
    assert found.can_keep
    assert (found.free_bytes is None) == (ledger.dialect == "postgresql")
    assert verify(ledger).rows == 3


@pytest.mark.parametrize(
    ("free", "level", "word"), [(1_000_000_000, "low", "soon"), (10_000_000, "nearly none", "now")]
)
def test_little_room_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, free: int, level: str, word: str
) -> None:
    ledger = open_ledger(sqlite_url(tmp_path / "mill.db"))
    monkeypatch.setattr(subject, "_free_bytes", lambda _folder: free)
    found = room_left(ledger)
    assert found.level == level
    assert word in found.words
    assert found.can_keep
    ledger.close()


def test_a_file_that_is_gone(tmp_path: Path) -> None:
    ledger = open_ledger(sqlite_url(tmp_path / "mill.db"))
    ledger.close()
    (tmp_path / "mill.db").unlink()
    found = room_left(ledger)
    assert found.level == "cannot keep"
    assert "gone" in found.words
    ledger.close()


def test_a_server_that_does_not_answer() -> None:
    ledger = Ledger("postgresql://clew@127.0.0.1:1/none")
    found = room_left(ledger)
    assert not found.can_keep
    assert found.words.startswith("Nothing can be kept: the database does not answer")
    ledger.close()


def test_a_file_that_may_only_be_read(ledger: Ledger) -> None:
    fill(ledger, 3)
    if ledger.dialect == "sqlite":
        with ledger.engine.connect() as connection:  # one connection is kept: it stays so
            connection.exec_driver_sql("PRAGMA query_only = ON")
    else:
        with ledger.writing() as connection:
            name = connection.exec_driver_sql("SELECT current_database()").scalar()
            connection.exec_driver_sql(
                f'ALTER DATABASE "{name}" SET default_transaction_read_only = on'
            )
        ledger.engine.dispose()
        ledger._drop_writer()
    found = room_left(ledger)
    assert not found.can_keep
    assert found.reason == "the ledger's file, or its disk, may not be written"
    assert verify(ledger).rows == 3


def _mounted(folder: Path, size: str) -> bool:
    if os.geteuid() != 0 or shutil.which("mount") is None:
        return False
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)],
        capture_output=True, check=False,
    )  # fmt: skip
    return done.returncode == 0


@pytest.mark.services
def test_a_real_full_disk_refuses_and_loses_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "small"
    folder.mkdir()
    if not _mounted(folder, "2m"):
        pytest.skip("a small disk cannot be mounted here")
    try:
        ledger = open_ledger(sqlite_url(folder / "mill.db"))
        kept = 0
        with pytest.raises(CannotKeep, match="full"):
            for number in range(1_000):
                ledger.append([message(number * 100 + one) for one in range(100)])
                kept += 100
        assert kept > 0
        filler = folder / "filler"
        with filler.open("wb", buffering=0) as file, pytest.raises(OSError, match="No space"):
            while True:
                file.write(bytes(4096))
        found = room_left(ledger)
        assert found.level == "cannot keep"
        assert "full" in found.reason
        filler.unlink()
        audit = verify(ledger)
        assert audit.sound
        assert audit.rows == kept
        ledger.close()
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)
