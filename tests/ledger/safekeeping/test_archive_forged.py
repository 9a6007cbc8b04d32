"""Rows taken away behind a forged note of an archive: verify looks into the file itself."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from sqlalchemy import delete, insert, select
from tests.ledger.audit.tampering import LINE, NOON_US, fill

from clew.ledger.audit.verify import verify
from clew.ledger.audit.walk import Bounds, walk_chain
from clew.ledger.safekeeping import archive as subject
from clew.ledger.safekeeping.archive import archive, archives_missing
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.schema import ARCHIVE, EVENT

LATER = NOON_US + 10_000_000_000


def forge(ledger: Ledger, path: Path) -> None:
    with ledger.writing() as connection:
        hash_ = connection.scalar(select(EVENT.c.hash).where(EVENT.c.seq == 20))
        connection.execute(
            insert(ARCHIVE).values(
                line=LINE, upto_seq=20, upto_hash=hash_, from_seq=1, file=str(path),
                sha256=hashlib.sha256(path.read_bytes()).digest(), made_us=1,
            )
        )  # fmt: skip
        connection.execute(delete(EVENT).where(EVENT.c.line == LINE, EVENT.c.seq <= 20))


def test_a_file_that_is_no_archive_stands_for_no_rows(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 40)
    path = tmp_path / "rows.parquet"
    path.write_bytes(b"nothing at all")
    forge(ledger, path)
    (said,) = archives_missing(ledger)
    assert said.startswith(f"the archive of rows 1 to 20 of {LINE} cannot be read")


@pytest.mark.services
def test_nor_does_another_ones_archive(ledger: Ledger, ledger_url: str, tmp_path: Path) -> None:
    fill(ledger, 40)
    other = tmp_path / "other"
    other.mkdir()
    elsewhere = open_ledger(sqlite_url(other / "mill.db"), clock=lambda: NOON_US + 99_000_000)
    fill(elsewhere, 20)
    (made,) = archive(elsewhere, LINE, LATER, other)
    elsewhere.close()
    forge(ledger, made.path)
    (said,) = archives_missing(ledger)
    assert "does not hold them as they were kept" in said


def test_several_archives_that_are_as_they_were_made_are_told_of_nothing(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(subject, "MOST_ROWS", 15)
    fill(ledger, 40)
    made = archive(ledger, LINE, NOON_US + 9_000_000_000_000_000, tmp_path)
    assert len(made) == 3
    assert archives_missing(ledger) == ()
    assert verify(ledger).sound


def test_a_chain_that_is_all_archived_and_no_longer_listed_is_not_sound() -> None:
    audit, _ = walk_chain(LINE, [], Bounds(20, bytes(32)))
    assert [one.what for one in audit.findings] == ["no chain"]
