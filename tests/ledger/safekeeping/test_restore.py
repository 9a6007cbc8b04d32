"""A restored ledger is the backup, row by row, and nothing that stood there is lost."""

from __future__ import annotations

import itertools
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text
from tests.ledger.audit.tampering import LINE, fill, make_hashes_anew, message, tamper
from tests.ledger.conftest import DATABASES
from tests.ledger.safekeeping.test_backup import fill_all

from clew.faults import BadInput
from clew.ledger.audit.verify import anchor_of, verify
from clew.ledger.safekeeping.backup import backup
from clew.ledger.safekeeping.restore import restore
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.migrate import migrate, newest_step, step_of
from clew.ledger.store.opening import open_ledger

_number = itertools.count(1)


def everything(ledger: Ledger) -> dict[str, list[Any]]:
    tables = {
        "chain": "line", "event": "line, seq", "archive": "upto_seq", "refused": "number",
        "person": "key", "api_token": "name", "sign_in_try": "key", "file_read": "path",
    }  # fmt: skip
    with ledger.reading() as connection:
        return {
            name: sorted(
                (tuple(row) for row in connection.execute(text(f"SELECT * FROM {name}"))), key=repr
            )
            for name in tables
        }


@pytest.fixture(params=DATABASES)
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> Any:
    """Where a ledger is to be, on each database: nothing yet."""
    if request.param == "sqlite":
        (tmp_path / "other").mkdir()
        yield sqlite_url(tmp_path / "other" / "mill.db")
        return
    cluster = request.getfixturevalue("postgres")
    with cluster.database(f"clew_restored_{next(_number)}") as url:
        yield url


def test_it_comes_back_row_by_row_from_either_database_into_either(
    ledger: Ledger, empty_url: str, tmp_path: Path
) -> None:
    fill_all(ledger)
    made = backup(ledger, tmp_path / "copy.db")
    done = restore(made.path, empty_url)
    assert done.kept is None
    back = open_ledger(empty_url, make=False)
    try:
        assert everything(back) == everything(ledger)
        assert verify(back, [anchor_of(ledger, LINE)]).sound
        with back.reading() as connection:
            assert connection.scalar(text("SELECT count(*) FROM session")) == 0
        # it goes on: the guards are there, the numbers follow on
        assert back.append([message(900)])[0].seq == 41
        with back.writing() as connection:
            connection.execute(
                text(
                    "INSERT INTO refused (received_us, path, source, reason, body) "
                    "VALUES (6, 'http', 'x', 'y', '{')"
                )
            )
        with pytest.raises(Exception, match="never"), back.writing() as connection:
            connection.execute(text("UPDATE event SET lane = 9"))
    finally:
        back.close()


def test_records_beyond_the_backup_are_not_written_over(tmp_path: Path) -> None:
    target = tmp_path / "mill.db"
    url = sqlite_url(target)
    ledger = open_ledger(url)
    fill(ledger, 10)
    made = backup(ledger, tmp_path / "copy.db")
    fill(ledger, 2, start=11)
    fill(ledger, 1, "Line 2")
    ledger.close()
    with pytest.raises(BadInput) as bad:
        restore(made.path, url)
    assert [one.what for one in bad.value.faults] == [
        "rows 11 to 12 of Line 1 are not in the backup",
        "row 1 of Line 2 is not in the backup",
    ]
    done = restore(made.path, url, over=True)
    assert done.kept is not None
    assert len(done.beyond) == 2
    old, new = open_ledger(sqlite_url(done.kept)), open_ledger(url)
    assert verify(old).rows == 13
    assert verify(new).rows == 10
    old.close()
    new.close()
    assert not list(tmp_path.glob(".*"))


def test_a_ledger_with_nothing_beyond_is_kept_beside_all_the_same(tmp_path: Path) -> None:
    url = sqlite_url(tmp_path / "mill.db")
    ledger = open_ledger(url)
    fill(ledger, 10)
    made = backup(ledger, tmp_path / "copy.db")
    ledger.close()
    (tmp_path / "mill.db").chmod(0o640)
    done = restore(made.path, url)
    assert done.kept is not None
    assert done.kept.exists()
    assert (tmp_path / "mill.db").stat().st_mode & 0o777 == 0o640
    assert done.beyond == ()


def test_a_ledger_that_went_another_way_is_not_written_over(tmp_path: Path) -> None:
    url = sqlite_url(tmp_path / "mill.db")
    ledger = open_ledger(url)
    fill(ledger, 10)
    made = backup(ledger, tmp_path / "copy.db")
    tamper(ledger, "UPDATE event SET lane = 9 WHERE seq = 3")
    make_hashes_anew(ledger)
    ledger.close()
    with pytest.raises(BadInput, match="another way"):
        restore(made.path, url)


def test_a_ledger_in_use_is_left_alone(tmp_path: Path) -> None:
    url = sqlite_url(tmp_path / "mill.db")
    ledger = open_ledger(url)
    fill(ledger, 10)
    made = backup(ledger, tmp_path / "copy.db")
    with pytest.raises(BadInput, match="in use"):
        restore(made.path, url, over=True)
    assert verify(ledger).sound
    ledger.close()


def test_a_damaged_ledger_goes_only_when_told_and_is_kept(tmp_path: Path) -> None:
    url = sqlite_url(tmp_path / "mill.db")
    ledger = open_ledger(url)
    fill(ledger, 10)
    made = backup(ledger, tmp_path / "copy.db")
    ledger.close()
    (tmp_path / "mill.db").write_bytes(b"rubbish" * 100)
    with pytest.raises(BadInput, match="cannot be read"):
        restore(made.path, url)
    done = restore(made.path, url, over=True)
    assert done.kept is not None
    assert done.kept.read_bytes() == b"rubbish" * 100
    back = open_ledger(url)
    assert verify(back).rows == 10
    back.close()


def test_a_damaged_backup_is_not_put_in_place(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 10)
    made = backup(ledger, tmp_path / "copy.db")
    made.path.write_bytes(made.path.read_bytes()[:-1] + b"\x01")
    with pytest.raises(BadInput, match="sha256"):
        restore(made.path, sqlite_url(tmp_path / "new.db"))
    assert not (tmp_path / "new.db").exists()


def test_a_database_with_records_is_left_alone(ledger: Ledger, tmp_path: Path) -> None:
    if ledger.dialect == "sqlite":
        pytest.skip("a file is set aside instead")
    fill(ledger, 10)
    made = backup(ledger, tmp_path / "copy.db")
    with pytest.raises(BadInput, match="not empty"):
        restore(made.path, ledger.engine.url.render_as_string(hide_password=False))
    assert verify(ledger).rows == 10


def test_an_older_backup_is_brought_up(tmp_path: Path, empty_url: str) -> None:
    ledger = open_ledger(sqlite_url(tmp_path / "mill.db"))
    fill(ledger, 10)
    migrate(ledger, "0001")
    made = backup(ledger, tmp_path / "copy.db")
    ledger.close()
    assert made.manifest.step == "0001"
    restore(made.path, empty_url)
    back = open_ledger(empty_url, make=False)
    assert step_of(back) == newest_step()
    assert verify(back).rows == 10
    back.close()


def test_places_where_no_ledger_can_be(tmp_path: Path) -> None:
    url = sqlite_url(tmp_path / "mill.db")
    ledger = open_ledger(url)
    fill(ledger, 3)
    made = backup(ledger, tmp_path / "copy.db")
    ledger.close()
    with pytest.raises(BadInput, match="no such folder"):
        restore(made.path, sqlite_url(tmp_path / "none" / "mill.db"))
    with pytest.raises(BadInput, match="the ledger itself"):
        restore(made.path, sqlite_url(made.path))
    connection = sqlite3.connect(made.path)
    assert connection.execute("SELECT count(*) FROM event").fetchone() == (3,)
    connection.close()
