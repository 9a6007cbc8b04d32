"""An open ledger: where it is, and the few things that are done with it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, SQLAlchemyError

from clew.faults import BadInput, Fault
from clew.ledger.events.message import Message, Taken
from clew.ledger.store.append import Beside, Dialect, Statements, append
from clew.ledger.store.trouble import CannotKeep, trouble_of

FILE_NAME = "mill.db"
"""The ledger's file in the mill folder."""
BUSY_S = 10.0
"""How long a writer waits for another one's turn [s]."""

Clock = Callable[[], int]


def now_us() -> int:
    """Our clock, UTC, microseconds since 1970 [us]."""
    return time.time_ns() // 1000


FILE = "clew file"
GONE = "the ledger's file was moved or replaced while it was open"


def _file_at(path: Path | None) -> tuple[int, int] | None:
    """Say which file stands at a path: the same name may be given to another one."""
    try:
        stat = None if path is None else path.stat()
    except FileNotFoundError:
        return None
    return None if stat is None else (stat.st_dev, stat.st_ino)


def sqlite_url(path: Path) -> str:
    """Write the URL of a ledger in a file."""
    name = str(path.absolute()).replace("%", "%25").replace("?", "%3F")  # an address's own signs
    return f"sqlite:///{name}"


class Ledger:
    """A ledger that is open for reading and writing.

    Parameters
    ----------
    url : str
        ``sqlite:///path`` or ``postgresql://host/database``.
    clock : callable, optional
        Our clock [us]; for tests.

    Attributes
    ----------
    url : str
        The same, without a password.
    dialect : {"sqlite", "postgresql"}
        What database it is.
    engine : sqlalchemy.Engine
        For reading, and for what is written seldom.
    trouble : CannotKeep or None
        Why the last write failed; None once one has gone through again.
    """

    def __init__(self, url: str, *, clock: Clock = now_us) -> None:
        self.engine = _engine(url)
        self.url = self.engine.url.render_as_string(hide_password=True)
        dialect: Dialect = "sqlite" if self.engine.dialect.name == "sqlite" else "postgresql"
        self.dialect: Dialect = dialect
        self.clock = clock
        self.trouble: CannotKeep | None = None
        self._say = Statements(dialect)
        self._turn = threading.Lock()
        self._writer: Any = None

    @property
    def path(self) -> Path | None:
        """The file it lives in; None where it is on a server."""
        return Path(str(self.engine.url.database)) if self.dialect == "sqlite" else None

    def append(
        self, messages: Sequence[Message], *, beside: Beside | None = None
    ) -> tuple[Taken, ...]:
        """Keep messages: all of them in one transaction that is on the disk when this returns.

        Parameters
        ----------
        messages : sequence of Message
            In the order in which they are to stand.
        beside : callable, optional
            Writes in the same transaction, through the driver's cursor.

        Returns
        -------
        tuple of Taken
            One a message, in their order.

        Raises
        ------
        CannotKeep
            When the database cannot write; nothing was kept then.
        """
        if not messages and beside is None:
            return ()
        with self._turn:
            return self._append(messages, beside)

    def _append(self, messages: Sequence[Message], beside: Beside | None) -> tuple[Taken, ...]:
        try:
            cursor = self._cursor()
            try:
                cursor.execute(self._say.begin)
                taken = append(cursor, self._say, messages, self.clock(), beside)
                cursor.execute("COMMIT")
                self._see_it_in_place()
            except BaseException:
                with suppress(Exception):
                    cursor.execute("ROLLBACK")
                raise
        except Exception as error:
            if not self._of_driver(error):
                raise
            self._drop_writer()
            self.trouble = trouble_of(error)
            raise self.trouble from error
        self.trouble = None
        return taken

    def _see_it_in_place(self) -> None:
        """See that what was written stands in the file that others open under this name."""
        if self.path is not None and _file_at(self.path) != self._writer.info[FILE]:
            self.engine.dispose()  # or readers would go on with the file that went
            raise OSError(GONE)

    def _cursor(self) -> Any:
        """Hand out the writer's cursor, on a connection that begins nothing by itself."""
        if self._writer is None:
            self._writer = self.engine.raw_connection()
            if self.dialect == "postgresql":
                self._writer.driver_connection.autocommit = True
        return self._writer.driver_connection.cursor()

    def _of_driver(self, error: Exception) -> bool:
        driver = self.engine.dialect.dbapi
        return isinstance(error, (OSError, SQLAlchemyError)) or (
            driver is not None and isinstance(error, driver.Error)
        )

    def _drop_writer(self) -> None:
        if self._writer is not None:
            with suppress(Exception):
                self._writer.invalidate()
        self._writer = None

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Open a connection for reading.

        Raises
        ------
        CannotKeep
            When the database does not answer.
        """
        try:
            with self.engine.connect() as connection:
                yield connection
        except DBAPIError as error:
            raise trouble_of(error.orig or error) from error

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Open a transaction for what is no event: people, refused messages, archives.

        Raises
        ------
        CannotKeep
            When the database cannot write.
        """
        try:
            with self.engine.execution_options(writes=True).begin() as connection:
                yield connection
        except DBAPIError as error:
            self.trouble = trouble_of(error.orig or error)
            raise self.trouble from error

    def close(self) -> None:
        """Let go of the database."""
        with self._turn:
            self._drop_writer()
        self.engine.dispose()


def _engine(url: str) -> Engine:
    try:
        found = make_url(url)
    except ArgumentError:
        raise _no_url(url) from None
    name = found.get_backend_name()
    if name == "postgresql":
        try:
            import psycopg  # noqa: F401
        except ImportError:
            raise BadInput(
                Fault("PostgreSQL's driver is not installed", 'pip install "clew[postgresql]"')
            ) from None
        engine = create_engine(
            found.set(drivername="postgresql+psycopg"),
            pool_pre_ping=True,
            isolation_level="READ COMMITTED",
        )
        event.listen(engine, "connect", _set_postgresql)
        return engine
    in_memory = found.database in (None, "", ":memory:") or "uri" in found.query
    if name != "sqlite" or in_memory:
        raise _no_url(url)
    engine = create_engine(
        found,
        connect_args={"timeout": BUSY_S, "check_same_thread": False, "isolation_level": None},
    )
    event.listen(engine, "connect", _set_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _no_url(url: str) -> BadInput:
    return BadInput(
        Fault(
            "no address of a ledger",
            "sqlite:///path/to/mill.db or postgresql://host/database",
            key="database",
            value=repr(url.rpartition("@")[2])[:80],
        )
    )


def _set_sqlite(connection: Any, record: Any) -> None:
    """Make every commit wait for the disk: what is acknowledged outlives a power cut."""
    cursor = connection.cursor()
    cursor.execute("PRAGMA journal_mode = WAL")
    # where there can be no log beside the file, FULL would not wait for the journal's end
    cursor.execute("PRAGMA synchronous = EXTRA")
    cursor.execute("PRAGMA foreign_keys = ON")
    (_, _, path) = cursor.execute("PRAGMA database_list").fetchone()
    record.info[FILE] = _file_at(Path(path))
    cursor.close()


def _set_postgresql(connection: Any, _record: object) -> None:
    """Make every commit wait for the disk, whatever was set for the role or the database.

    One that asks for more than that, such as a second server, is left alone.
    """
    cursor = connection.cursor()
    for name, wanted, loose in (
        ("synchronous_commit", "on", "off"),
        ("lock_timeout", f"{BUSY_S:.0f}s", "0"),
    ):
        cursor.execute(
            "SELECT set_config(%s, %s, false) WHERE current_setting(%s) = %s",
            (name, wanted, name, loose),
        )
    cursor.close()
    connection.commit()  # or the setting would go with the transaction


def _begin_sqlite(connection: Connection) -> None:
    """Take a writer's turn at once: one that reads first could not have it later."""
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
