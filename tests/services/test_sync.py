"""Every acknowledgement follows a completed sync: seen in the system calls, and by a power cut.

A killed process loses nothing that the kernel holds; a power cut does. So the calls themselves
are looked at: the row is written, the write is synced, the sync is done, and only then the word.
"""

from __future__ import annotations

import re
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.services import own_check
from tests.services.postgres import MISSING, Cluster, binaries, running_cluster

from clew.ledger.events.message import Message
from clew.ledger.store.ledger import sqlite_url
from clew.ledger.store.opening import open_ledger

pytestmark = pytest.mark.services
VICTIM = Path(__file__).parent / "sync_victim.py"
MANY = 15
CALLS = "trace=fdatasync,fsync,write,pwrite64,pwritev,sendto"
WORD = re.compile(r'write\(1<[^>]*>, "ACK (row-\d+)\\n"')


def strace() -> str:
    """Path of strace; the test fails without it, for nothing else shows what it shows."""
    found = shutil.which("strace")
    assert found, "strace is not installed: apt-get install strace"
    return found


def calls_of(url: str, folder: Path, *more: str) -> list[str]:
    """System calls of a program that keeps rows and says so, in their order."""
    out = folder / "calls"
    done = subprocess.run(
        [
            strace(), "-f", "-y", "-s", "20000", "-e", CALLS, "-o", str(out),
            sys.executable, str(VICTIM), url, str(MANY), *more,
        ],
        input="\n", capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.count("ACK") == MANY
    return out.read_text(encoding="utf-8", errors="replace").splitlines()


def words_too_early(calls: list[str], log: str) -> list[str]:
    """Rows whose word came before the write that holds them was synced."""
    synced_upto, written, early, said = 0, {}, [], 0
    for number, call in enumerate(calls, start=1):
        if re.search(rf"(pwrite64|pwritev|write)\(\d+<[^>]*{log}>", call):
            for key in re.findall(r"word of (row-\d+)", call):
                written[key] = number
        elif re.search(rf"(fdatasync|fsync)\(\d+<[^>]*{log}>\) += 0", call):
            synced_upto = number
        elif word := WORD.search(call):
            said += 1
            if not written.get(word[1], number) < synced_upto:
                early.append(word[1])
    assert said == MANY
    return early


def test_sqlite_says_so_after_the_sync(tmp_path: Path) -> None:
    calls = calls_of(sqlite_url(tmp_path / "mill.db"), tmp_path)
    assert words_too_early(calls, "mill.db-wal") == []


def test_a_ledger_that_does_not_wait_for_the_disk_is_found(tmp_path: Path) -> None:
    calls = calls_of(sqlite_url(tmp_path / "mill.db"), tmp_path, "unsynced")
    assert len(words_too_early(calls, "mill.db-wal")) == MANY


@pytest.fixture(scope="module")
def synced() -> Iterator[Cluster]:
    if binaries() is None:
        pytest.skip(MISSING)
    with running_cluster(sync=True) as cluster:
        yield cluster


def may_attach(folder: Path) -> bool:
    """Whether this system lets one process look at another's calls."""
    sleeper = subprocess.Popen(["sleep", "20"])
    try:
        watch = subprocess.Popen(
            [strace(), "-p", str(sleeper.pid), "-o", str(folder / "try")],
            stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert watch.stderr is not None
        attached = "attached" in watch.stderr.readline()
        watch.terminate()
        watch.wait()
        watch.stderr.close()
        return attached
    finally:
        sleeper.kill()
        sleeper.wait()


def commits_of(cluster: Cluster, url: str, folder: Path, *told: str) -> tuple[int, int, int]:
    """Commits that were answered; those answered too early; syncs of the server's log."""
    if not may_attach(folder):
        pytest.skip("this system lets no process look at another one's calls (ptrace)")
    out = folder / "calls"
    victim = subprocess.Popen(
        [sys.executable, str(VICTIM), url, str(MANY), *told],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert victim.stdout is not None
    assert victim.stdout.readline() == "ready\n"
    found = cluster.say(
        "SELECT pid, backend_type FROM pg_stat_activity WHERE pid <> pg_backend_pid() "
        "AND backend_type IN ('client backend', 'walwriter')"
    )
    backends = {pid for pid, kind in found if kind == "client backend"}
    attach = [word for pid, _ in found for word in ("-p", str(pid))]
    watch = subprocess.Popen(
        [strace(), "-f", "-y", "-s", "200", "-e", CALLS, "-o", str(out), *attach],
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert watch.stderr is not None
    for _ in found:
        assert "attached" in watch.stderr.readline()
    said, _ = victim.communicate("\n", timeout=300)
    assert said.count("ACK") == MANY
    time.sleep(0.2)
    watch.terminate()
    watch.wait()
    watch.stderr.close()
    unsynced, commits, early, syncs = False, 0, 0, 0
    for call in out.read_text(encoding="utf-8", errors="replace").splitlines():
        if re.search(r"(pwrite64|pwritev|write)\(\d+<[^>]*/pg_wal/", call):
            unsynced = True
        elif re.search(r"(fdatasync|fsync)\(\d+<[^>]*/pg_wal/[^>]*>\) += 0", call) or (
            "fdatasync resumed" in call and call.endswith("= 0")
        ):
            unsynced = False
            syncs += 1
        elif "sendto(" in call and "COMMIT" in call and int(call.split()[0]) in backends:
            commits += 1
            early += unsynced
    return commits, early, syncs


def test_postgresql_says_so_after_the_sync(synced: Cluster, tmp_path: Path) -> None:
    """The server's own processes: its log is written and synced before it answers COMMIT."""
    with synced.database("sync") as url:
        open_ledger(url).close()
        commits, early, syncs = commits_of(synced, url, tmp_path)
    assert commits == MANY
    assert early == 0
    assert syncs >= MANY


def test_a_server_that_does_not_wait_for_the_disk_is_found(synced: Cluster, tmp_path: Path) -> None:
    with synced.database("unsynced") as url:
        open_ledger(url).close()
        commits, early, syncs = commits_of(synced, url, tmp_path, "unsynced")
    assert commits == MANY
    assert early or syncs < MANY


def test_a_database_told_not_to_wait_waits_for_us_all_the_same(
    synced: Cluster, tmp_path: Path
) -> None:
    with synced.database("hurried") as url:
        open_ledger(url).close()
        synced.say("ALTER DATABASE hurried SET synchronous_commit = off")
        commits, early, syncs = commits_of(synced, url, tmp_path)
    assert commits == MANY
    assert early == 0
    assert syncs >= MANY


def test_a_power_cut(tmp_path: Path) -> None:
    """What a disk holds that lost every write after a sync: the state at each word, copied.

    The log is copied up to the length it had at the sync and the rest filled with what a disk may
    make of writes it had begun: nothing, zeros, or half of them.
    """
    folder, cuts = tmp_path / "live", []
    folder.mkdir()
    live = open_ledger(sqlite_url(folder / "mill.db"))
    for number in range(12):
        live.append([Message("north", "note", 1_767_225_600_000_000, "s", f"{number}")])
        cuts.append(((folder / "mill.db").read_bytes(), (folder / "mill.db-wal").read_bytes()))
    tail = cuts[-1][1]
    for number, (database, log) in enumerate(cuts):
        for name, more in {
            "nothing": b"",
            "zeros": bytes(4_096),
            "half": tail[len(log) : len(log) + 2_500],
        }.items():
            place = tmp_path / f"{number}-{name}"
            place.mkdir()
            (place / "mill.db").write_bytes(database)
            (place / "mill.db-wal").write_bytes(log + more)
            url = sqlite_url(place / "mill.db")
            after = open_ledger(url)
            assert after.append([Message("north", "note", 1_767_225_600_000_000, "s", "next")])
            after.close()
            keys = [row[own_check.KEY] for row in own_check.rows_of(url)]
            assert keys == [*(f"{n}" for n in range(number + 1)), "next"]
            assert own_check.chain_faults(url) == []
            with sqlite3.connect(place / "mill.db") as check:
                assert check.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            check.close()
    live.close()
