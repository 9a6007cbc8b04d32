"""A private PostgreSQL: a cluster in a temporary folder, on a free port of this machine only.

`initdb` refuses root, so root runs it as the user `postgres`, or `nobody`.
"""

from __future__ import annotations

import contextlib
import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

STARTS_WITHIN_S = 60.0
USER = "clew"
MISSING = "PostgreSQL's server is not installed: apt-get install postgresql"


def binaries() -> Path | None:
    """Folder with `initdb` and `postgres`; None where they are not installed."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=_version)
    if found:
        return found[-1].parent
    there = shutil.which("initdb")
    return Path(there).resolve().parent if there else None


def _version(path: Path) -> int:
    name = path.parent.parent.name
    return int(name) if name.isdecimal() else 0


def _as_user() -> dict[str, Any]:
    """Whom the server runs as: not root."""
    if os.geteuid() != 0:
        return {}
    names = {one.pw_name for one in pwd.getpwall()}
    entry = pwd.getpwnam("postgres" if "postgres" in names else "nobody")
    return {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}


def free_port() -> int:
    """A TCP port of this machine that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Cluster:
    """A PostgreSQL server of our own.

    Parameters
    ----------
    sync : bool
        Whether a commit waits for the disk: on where a crash is the subject, else off for speed.
    """

    def __init__(self, *, sync: bool = False) -> None:
        found = binaries()
        if found is None:
            raise FileNotFoundError(MISSING)
        self.bin = found
        self.sync = sync
        self.server: subprocess.Popen[bytes] | None = None
        self.port = 0
        self.folder = Path(tempfile.mkdtemp(prefix="clew-pg-"))
        self._as = _as_user()
        if self._as:
            os.chown(self.folder, self._as["user"], self._as["group"])
        self._environment = {"PATH": os.environ.get("PATH", ""), "LC_ALL": "C", "TZ": "UTC"}
        subprocess.run(
            [
                str(self.bin / "initdb"), "--pgdata", str(self.data), "--username", USER,
                "--auth", "trust", "--encoding", "UTF8", "--no-locale", "--no-sync",
            ],
            check=True, capture_output=True, cwd=self.folder, env=self._environment, **self._as,
        )  # fmt: skip

    @property
    def data(self) -> Path:
        """Folder of the cluster's files."""
        return self.folder / "data"

    def url(self, database: str = "postgres") -> str:
        """Address of one of its databases."""
        return f"postgresql://{USER}@127.0.0.1:{self.port}/{database}"

    def start(self) -> None:
        """Start the server, the second time on the same port, and wait until it answers."""
        for _ in range(3):
            self.port = self.port or free_port()
            if self._started():
                return
            self.port = 0
        log = (self.folder / "log").read_text(errors="replace")[-2000:]
        raise RuntimeError(f"PostgreSQL did not start:\n{log}")

    def _started(self) -> bool:
        settings = {
            "port": self.port, "listen_addresses": "127.0.0.1",
            "unix_socket_directories": str(self.folder), "fsync": "on" if self.sync else "off",
            "synchronous_commit": "on" if self.sync else "off",
            "full_page_writes": "on" if self.sync else "off",
            "shared_buffers": "32MB", "max_connections": 60, "log_min_messages": "warning",
            "autovacuum": "off", "max_wal_size": "256MB",
        }  # fmt: skip
        command = [str(self.bin / "postgres"), "-D", str(self.data)]
        for name, value in settings.items():
            command += ["-c", f"{name}={value}"]
        with (self.folder / "log").open("ab") as log:
            self.server = subprocess.Popen(
                command, stdout=log, stderr=log, stdin=subprocess.DEVNULL, cwd=self.folder,
                env=self._environment, start_new_session=True, **self._as,
            )  # fmt: skip
        return self.wait_until_up()

    def wait_until_up(self) -> bool:
        """Wait until it answers; false when it has gone instead."""
        import psycopg

        deadline = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < deadline:
            assert self.server is not None
            if self.server.poll() is not None:
                return False
            try:
                psycopg.connect(self.url(), connect_timeout=5).close()
                return True
            except psycopg.OperationalError:
                time.sleep(0.05)
        return False

    def say(self, statement: str) -> list[tuple[Any, ...]]:
        """Run one statement, outside any transaction."""
        import psycopg

        with psycopg.connect(self.url(), autocommit=True) as connection:
            cursor = connection.execute(statement.encode())
            return cursor.fetchall() if cursor.description else []

    def stop(self, how: signal.Signals = signal.SIGINT) -> None:
        """Stop the server: SIGINT at once but tidily, SIGQUIT as a crash does."""
        server, self.server = self.server, None
        if server is not None and server.poll() is None:
            server.send_signal(how)
            with contextlib.suppress(subprocess.TimeoutExpired):
                server.wait(30)
            if server.poll() is None:
                server.kill()
                server.wait()

    def close(self) -> None:
        """Stop it and remove its folder."""
        self.stop()
        shutil.rmtree(self.folder, ignore_errors=True)

    @contextlib.contextmanager
    def database(self, name: str, template: str = "template0") -> Iterator[str]:
        """Address of a new database, which goes again afterwards."""
        self.say(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')
        try:
            yield self.url(name)
        finally:
            self.say(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')


@contextlib.contextmanager
def running_cluster(*, sync: bool = False) -> Iterator[Cluster]:
    """A server that runs, until the end of the block."""
    cluster = Cluster(sync=sync)
    try:
        cluster.start()
        yield cluster
    finally:
        cluster.close()


@pytest.fixture(scope="session")
def postgres() -> Iterator[Cluster]:
    """One server for all tests of this session, or of this worker; no commit waits for the disk."""
    if binaries() is None:
        pytest.skip(MISSING)
    with running_cluster() as cluster:
        yield cluster


@pytest.fixture(scope="session")
def postgres_template(postgres: Cluster) -> str:
    """Name of a database with the ledger's tables in it, to make others from."""
    from clew.ledger.store.opening import open_ledger

    postgres.say("CREATE DATABASE clew_template TEMPLATE template0")
    open_ledger(postgres.url("clew_template")).close()
    return "clew_template"
