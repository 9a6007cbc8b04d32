"""When nothing can be kept: it says so, nothing is half there, and it goes on when mended."""

from __future__ import annotations

import json
import os
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text
from tests.services import own_check
from tests.services.postgres import MISSING, Cluster, binaries, running_cluster

from clew.ledger.events.message import Message
from clew.ledger.store import ledger as ledger_module
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import heads_of
from clew.ledger.store.trouble import CannotKeep, trouble_of

AT = 1_767_225_600_000_000


def feed_on(key: str, note: str = "") -> Message:
    return Message("north", "feed on", AT, "s", key, lane=1, body={"note": note} if note else {})


@pytest.mark.parametrize(
    ("said", "words", "for_good"),
    [
        ("database or disk is full", "is full", True),
        ('could not extend file "base/1": No space left on device', "is full", True),
        ("attempt to write a readonly database", "may not be written", True),
        ("cannot execute INSERT in a read-only transaction", "may not be written", True),
        ("unable to open database file", "cannot be opened", True),
        ("disk I/O error", "failed to write", True),
        ("database disk image is malformed", "damaged", True),
        ("file is not a database", "damaged", True),
        ("database is locked", "locked", False),
        ("no such table: event", "clew ledger migrate", True),
        ('relation "event" does not exist', "clew ledger migrate", True),
        ("server closed the connection\nunexpectedly", "(server closed the connection", False),
    ],
)
def test_what_a_driver_s_words_mean(said: str, words: str, for_good: bool) -> None:
    cannot = trouble_of(sqlite3.OperationalError(said))
    assert words in cannot.reason == str(cannot)
    assert cannot.for_good is for_good
    assert "\n" not in cannot.reason


def test_no_space_by_its_number() -> None:
    assert "is full" in trouble_of(OSError(28, "Kein Platz")).reason


# SQLite


@contextmanager
def as_nobody() -> Iterator[None]:
    """Root may write what is read-only; for this block be somebody who may not."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def shared() -> Iterator[Path]:
    """A ledger in a folder that anybody may reach and write."""
    folder = Path(tempfile.mkdtemp(prefix="clew-shared-"))
    folder.chmod(0o777)
    path = folder / "mill.db"
    opened = open_ledger(sqlite_url(path))
    opened.append([feed_on("before")])
    opened.close()
    path.chmod(0o666)
    yield path
    folder.chmod(0o777)
    shutil.rmtree(folder)


def read_only_file(path: Path) -> None:
    path.chmod(0o444)


def read_only_folder(path: Path) -> None:
    path.parent.chmod(0o555)


@pytest.mark.parametrize("spoil", [read_only_file, read_only_folder])
def test_what_may_not_be_written(shared: Path, spoil: Callable[[Path], None]) -> None:
    spoil(shared)
    with as_nobody(), pytest.raises(CannotKeep) as cannot:
        opened = open_ledger(sqlite_url(shared))
        opened.append([feed_on("a")])
    assert cannot.value.for_good
    shared.parent.chmod(0o777)
    shared.chmod(0o666)
    mended = open_ledger(sqlite_url(shared))
    assert heads_of(mended) == {"north": 1}
    assert mended.append([feed_on("a")])[0].seq == 2
    mended.close()
    assert own_check.chain_faults(sqlite_url(shared)) == []


def test_an_open_ledger_whose_file_becomes_read_only(tmp_path: Path) -> None:
    """`query_only` is how SQLite itself refuses to write; the ledger mends itself afterwards."""
    opened = open_ledger(sqlite_url(tmp_path / "mill.db"))
    opened.append([feed_on("a")])
    opened._cursor().execute("PRAGMA query_only = ON")
    with pytest.raises(CannotKeep, match="may not be written") as cannot:
        opened.append([feed_on("b")])
    assert opened.trouble is cannot.value
    assert opened.append([feed_on("b")])[0].seq == 2  # on a new connection
    assert opened.trouble is None
    opened.close()


FILL = """
import json, resource, signal, sys
from clew.ledger.events.message import Message
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.trouble import CannotKeep
ledger = open_ledger(sys.argv[1])
if len(sys.argv) > 2:
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), resource.RLIM_INFINITY))
kept = []
message = lambda n: Message("north", "note", 1_767_225_600_000_000, "s", f"{n}",
                            body={"note": "x" * 1500})
try:
    for n in range(10_000):
        ledger.append([message(n)])
        kept.append(str(n))
except CannotKeep as cannot:
    reason = cannot.reason
first = ledger.trouble is not None
try:
    ledger.append([message(n)])
    still = False
except CannotKeep:
    still = True
mended = None
if len(sys.argv) > 2:
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY,) * 2)
    mended = ledger.append([message(n)])[0].outcome, ledger.trouble is None
    kept.append(str(n))
print(json.dumps({"kept": kept, "reason": reason, "trouble": first, "still": still,
                  "mended": mended}))
"""


def fill(*arguments: str) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, "-c", FILL, *arguments], capture_output=True, text=True, check=True
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_a_file_that_may_grow_no_further(tmp_path: Path) -> None:
    """The nearest to a full disk that needs no root: all that was kept is there, and it mends."""
    url = sqlite_url(tmp_path / "mill.db")
    found = fill(url, "1500000")
    assert "disk" in found["reason"]
    assert found["trouble"]
    assert found["still"]
    assert found["mended"] == ["kept", True]
    assert len(found["kept"]) > 20
    assert [row[own_check.KEY] for row in own_check.rows_of(url)] == found["kept"]
    assert own_check.chain_faults(url) == []


def test_a_full_disk(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = os.geteuid() == 0 and not subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=1500k", "tmpfs", str(disk)],
        capture_output=True, check=False,
    ).returncode  # fmt: skip
    if not mounted:
        pytest.skip("a small disk can be made by root only")
    try:
        url = sqlite_url(disk / "mill.db")
        found = fill(url)
        assert found["reason"] == "the disk that holds the ledger is full"
        assert found["trouble"]
        assert found["still"]
        assert len(found["kept"]) > 20
        subprocess.run(["mount", "-o", "remount,size=8m", str(disk)], check=True)
        assert [row[own_check.KEY] for row in own_check.rows_of(url)] == found["kept"]
        opened = open_ledger(url)
        assert opened.append([feed_on("after")])[0].seq == len(found["kept"]) + 1
        opened.close()
        assert own_check.chain_faults(url) == []
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_damaged_file_is_said(tmp_path: Path) -> None:
    path = tmp_path / "mill.db"
    path.write_bytes(b"this was a ledger once" * 500)
    with pytest.raises(CannotKeep, match="restore the last backup"):
        open_ledger(sqlite_url(path))


def test_another_program_keeps_it_locked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ledger_module, "BUSY_S", 0.05)
    path = tmp_path / "mill.db"
    opened = open_ledger(sqlite_url(path))
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(CannotKeep, match="another program") as cannot:
        opened.append([feed_on("a")])
    assert not cannot.value.for_good
    other.execute("ROLLBACK")
    other.close()
    assert opened.append([feed_on("a")])[0].seq == 1
    assert opened.trouble is None
    opened.close()


# both


def test_tables_that_are_missing(ledger: Ledger) -> None:
    with ledger.writing() as connection:
        connection.exec_driver_sql("ALTER TABLE chain RENAME TO chain_away")
    with pytest.raises(CannotKeep, match="clew ledger migrate"):
        ledger.append([feed_on("a")])
    with pytest.raises(CannotKeep, match="clew ledger migrate"):
        heads_of(ledger)
    with ledger.writing() as connection:
        connection.exec_driver_sql("ALTER TABLE chain_away RENAME TO chain")
    assert ledger.append([feed_on("a")])[0].seq == 1
    assert ledger.trouble is None


def test_what_fails_beside_the_events_is_trouble_too(ledger: Ledger) -> None:
    with pytest.raises(CannotKeep), ledger.writing() as connection:
        connection.execute(text("INSERT INTO refused (number) VALUES (1)"))
    assert ledger.trouble is not None
    ledger.append([feed_on("a")])
    assert ledger.trouble is None


# PostgreSQL


@pytest.fixture
def own_server() -> Iterator[Cluster]:
    if binaries() is None:
        pytest.skip(MISSING)
    with running_cluster() as cluster:
        yield cluster


@pytest.mark.services
def test_a_server_that_goes_and_comes(own_server: Cluster) -> None:
    with own_server.database("comes") as url:
        opened: Ledger = open_ledger(url)
        opened.append([feed_on("a")])
        own_server.stop(signal.SIGINT)
        for _ in range(2):
            with pytest.raises(CannotKeep) as cannot:
                opened.append([feed_on("b")])
            assert not cannot.value.for_good
            with pytest.raises(CannotKeep):
                heads_of(opened)
        own_server.start()
        assert [one.outcome for one in opened.append([feed_on("a"), feed_on("b")])] == [
            "already", "kept",
        ]  # fmt: skip
        assert opened.trouble is None
        assert own_check.chain_faults(url) == []
        opened.close()


@pytest.mark.services
def test_a_server_that_may_only_be_read(own_server: Cluster) -> None:
    with own_server.database("read_only") as url:
        open_ledger(url).close()
        own_server.say("ALTER DATABASE read_only SET default_transaction_read_only = on")
        opened = open_ledger(url)
        with pytest.raises(CannotKeep, match="may not be written"):
            opened.append([feed_on("a")])
        own_server.say("ALTER DATABASE read_only RESET default_transaction_read_only")
        assert opened.append([feed_on("a")])[0].seq == 1
        opened.close()


@pytest.mark.services
def test_no_server_and_no_such_database(own_server: Cluster) -> None:
    with pytest.raises(CannotKeep):
        open_ledger(own_server.url("nowhere"))
    own_server.stop()
    with pytest.raises(CannotKeep):
        open_ledger(own_server.url())


def test_the_limit_of_this_process_is_untouched() -> None:
    """The child alone was limited."""
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] == resource.RLIM_INFINITY
