"""What the database is told must hold whatever was set there, and whatever befalls its file."""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

import psycopg
import pytest
from tests.services.postgres import Cluster

from clew.ledger.events.message import Message
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import head_of
from clew.ledger.store.trouble import CannotKeep, trouble_of

AT = 1_767_225_600_000_000


def message(key: str) -> Message:
    return Message("north", "feed on", AT, "s", key, lane=1)


@pytest.fixture
def loose(postgres: Cluster, request: pytest.FixtureRequest) -> str:
    """A database that is told not to wait for the disk, and to see one state all along."""
    name = "clew_loose"
    postgres.say(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
    postgres.say(f"CREATE DATABASE {name} TEMPLATE template0")
    postgres.say(f"ALTER DATABASE {name} SET synchronous_commit = off")
    postgres.say(f"ALTER DATABASE {name} SET default_transaction_isolation = 'serializable'")
    request.addfinalizer(lambda: postgres.say(f"DROP DATABASE {name} WITH (FORCE)"))
    return postgres.url(name)


@pytest.mark.services
def test_a_commit_waits_for_the_disk_though_the_database_says_otherwise(loose: str) -> None:
    ledger = open_ledger(loose)
    seen: list[object] = []

    def beside(cursor: psycopg.Cursor[tuple[str]]) -> None:
        for name in ("synchronous_commit", "transaction_isolation"):
            seen.extend(cursor.execute(f"SHOW {name}".encode()).fetchall())

    ledger.append([message("a")], beside=beside)
    with ledger.writing() as connection:
        seen.append(connection.exec_driver_sql("SHOW synchronous_commit").scalar())
    ledger.close()
    assert seen == [("on",), ("read committed",), "on"]


@pytest.mark.services
def test_one_that_asks_for_more_is_left_alone(loose: str, postgres: Cluster) -> None:
    postgres.say("ALTER DATABASE clew_loose SET synchronous_commit = remote_apply")
    ledger = open_ledger(loose)
    with ledger.writing() as connection:
        said = connection.exec_driver_sql("SHOW synchronous_commit").scalar()
        waits = connection.exec_driver_sql("SHOW lock_timeout").scalar()
    ledger.close()
    assert (said, waits) == ("remote_apply", "10s")


@pytest.mark.services
def test_many_that_make_one_ledger_make_it_once(loose: str) -> None:
    wrong: list[BaseException] = []

    def make() -> None:
        try:
            open_ledger(loose).close()
        except BaseException as error:
            wrong.append(error)

    makers = [threading.Thread(target=make) for _ in range(4)]
    for one in makers:
        one.start()
    for one in makers:
        one.join()
    assert wrong == []


def test_sqlite_waits_for_the_disk_on_every_connection(tmp_path: Path) -> None:
    ledger = open_ledger(sqlite_url(tmp_path / "mill.db"))
    with ledger.reading() as one, ledger.writing() as other:
        found = [each.exec_driver_sql("PRAGMA synchronous").scalar() for each in (one, other)]
    ledger.close()
    assert found == [3, 3]


@pytest.mark.parametrize("another", [False, True])
def test_what_went_into_a_file_that_was_moved_is_not_acknowledged(
    tmp_path: Path, another: bool
) -> None:
    path = tmp_path / "mill.db"
    ledger = open_ledger(sqlite_url(path))
    ledger.append([message("a")])
    path.rename(tmp_path / "elsewhere.db")
    if another:
        for end in ("-wal", "-shm"):
            (tmp_path / f"mill.db{end}").rename(tmp_path / f"elsewhere.db{end}")
        open_ledger(sqlite_url(path)).close()
    with pytest.raises(CannotKeep, match="moved or replaced"):
        ledger.append([message("b")])
    if another:  # then the one that stands there is written
        assert ledger.append([message("b")])[0].outcome == "kept"
        assert head_of(ledger, "north")[0] == 1
    ledger.close()


@pytest.mark.parametrize("name", ["a?b", "50%25", "a#b", "ä b", "a@b:c"])
def test_a_ledger_stands_where_its_folder_is_whatever_that_is_called(
    tmp_path: Path, name: str
) -> None:
    path = tmp_path / name / "mill.db"
    path.parent.mkdir()
    ledger = open_ledger(sqlite_url(path))
    ledger.append([message("a")])
    ledger.close()
    with sqlite3.connect(path) as there:
        assert there.execute("SELECT count(*) FROM event").fetchall() == [(1,)]
    there.close()


def test_a_database_that_is_not_there_is_not_called_one_without_tables() -> None:
    said = trouble_of(OSError('connection failed: FATAL:  database "x" does not exist'))
    assert said.reason == "there is no such database on its server"
    assert isinstance(Ledger(sqlite_url(Path("/nowhere/mill.db"))).path, Path)
