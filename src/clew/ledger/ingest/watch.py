"""A folder that is looked through again and again: what comes into it is taken, file by file."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from clew.faults import BadInput, Fault
from clew.ledger.events.reading import Sender
from clew.ledger.ingest.events_jsonl import ENDINGS
from clew.ledger.ingest.files import BATCH, FileTaken, take_file
from clew.ledger.ingest.quarantine import FOLDER
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.trouble import CannotKeep

TAKEN = "taken"
"""Folder for files that are taken whole."""
LOCK = ".clew-watch.lock"
TAKES = (".csv", *ENDINGS)
"""Endings of files that are taken; all others are left alone."""
EVERY_S = 1.0
"""How often the folder is looked through [s]."""
SETTLE_S = 60.0
"""A file that has not changed for so long is finished [s]."""
WITHOUT_END = 5.0
"""So many times longer it is waited for a last line without its end."""
LOOK_BACK_S = 14 * 86_400.0
"""Files in `taken` that changed within this are looked at: their writer may go on [s]."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What the watch did with one file in one round.

    Attributes
    ----------
    path : Path
        The file.
    taken : FileTaken or None
        What became of it; None where it could not be used.
    moved_to : Path or None
        Where it was moved.
    trouble : str
        Why it could not be used.
    """

    path: Path
    taken: FileTaken | None = None
    moved_to: Path | None = None
    trouble: str = ""


class _BrokenOff(Exception):  # noqa: N818 - no error: somebody said stop
    """A file is left where it stands, between two batches."""


class FolderWatch:
    """A folder that is watched.

    Parameters
    ----------
    ledger : Ledger
        Where to.
    folder : Path
        The folder.
    sender : Sender
        Who hands its files in.
    settle_s : float
        A file that has not changed for so long is finished and moved [s].
    batch : int
        Rows in one transaction.
    clock : callable
        Seconds since 1970, as files are stamped.
    stopped : callable
        Whether to break off after the batch at hand.
    """

    def __init__(
        self,
        ledger: Ledger,
        folder: Path,
        sender: Sender,
        *,
        settle_s: float = SETTLE_S,
        batch: int = BATCH,
        clock: Callable[[], float] = time.time,
        stopped: Callable[[], bool] = lambda: False,
    ) -> None:
        self.ledger, self.folder, self.sender = ledger, folder, sender
        self.settle_s, self.batch, self.clock = settle_s, batch, clock
        self.stopped = stopped
        self._sizes: dict[Path, tuple[int, int]] = {}
        self._since: dict[Path, tuple[tuple[int, int], float]] = {}

    def round(self) -> Iterator[Seen]:
        """Look through the folder once, files by their names.

        Yields
        ------
        Seen
            Each file with which something was done.

        Raises
        ------
        CannotKeep
            When the ledger cannot write: nothing else can be taken then.
        """
        for path in _files(self.folder):
            try:
                seen = self._one(path)
            except (OSError, BadInput) as error:  # one bad file never stops the others
                seen = self._unusable(path, error)
            if seen is not None:
                yield seen
        for path in _files(self.folder / TAKEN):
            try:
                late = self._gone_on(path)
            except (OSError, BadInput) as error:
                late = Seen(path, trouble=str(error))
            if late is not None:
                yield late

    def _one(self, path: Path) -> Seen | None:
        stamp = _stamp(path)
        settled = self._settled(path, stamp, self.settle_s)
        long_since = self._settled(path, stamp, self.settle_s * WITHOUT_END)
        if self._sizes.get(path) == stamp and not settled:
            return None
        taken = take_file(
            self.ledger, path, self.sender, quarantine=self.folder / FOLDER, batch=self.batch,
            growing=not long_since, tell=self._told,
        )  # fmt: skip
        new = self._sizes.get(path) != stamp or bool(taken.rows)
        self._sizes[path] = stamp
        if settled and not taken.unfinished and _stamp(path) == stamp:
            return Seen(path, taken, self._move(path, stamp, self.folder / TAKEN))
        return Seen(path, taken) if new and taken.rows else None

    def _told(self, _read: int, _size: int) -> None:
        if self.stopped():
            raise _BrokenOff

    def _settled(self, path: Path, stamp: tuple[int, int], for_s: float) -> bool:
        """Say whether a file has not changed for some time, by its stamp or by our watching it."""
        now = self.clock()
        if self._since.get(path, ((), 0.0))[0] != stamp:
            self._since[path] = (stamp, now)
        age = now - stamp[1] / 1e9
        return age >= for_s or now - self._since[path][1] >= for_s

    def _gone_on(self, path: Path) -> Seen | None:
        """Take what a writer that kept a moved file open has added to it."""
        stamp = _stamp(path)
        if self._sizes.get(path) == stamp:
            return None
        first = path not in self._sizes
        if first and self.clock() - stamp[1] / 1e9 > LOOK_BACK_S:
            self._sizes[path] = stamp
            return None
        taken = take_file(
            self.ledger, path, self.sender, quarantine=self.folder / FOLDER, batch=self.batch,
            growing=not self._settled(path, stamp, self.settle_s), tell=self._told,
        )  # fmt: skip
        if not taken.unfinished:  # what was not taken, for whatever reason, is looked at again
            self._sizes[path] = stamp
            self._since.pop(path, None)
        return Seen(path, taken) if taken.kept or taken.refused else None

    def _move(self, path: Path, stamp: tuple[int, int], into: Path) -> Path:
        """Move a file, never over another one, and have the ledger know it under its new name."""
        into.mkdir(exist_ok=True)
        goal = into / path.name
        number = 1
        while goal.exists():
            number += 1
            goal = into / f"{path.stem}-{number}{path.suffix}"
        names = (str(goal.resolve()), str(path.resolve()))
        one = "?" if self.ledger.dialect == "sqlite" else "%s"

        def rename(cursor: Any) -> None:
            cursor.execute(f"DELETE FROM file_read WHERE path = {one}", names[:1])
            cursor.execute(f"UPDATE file_read SET path = {one} WHERE path = {one}", names)

        path.rename(goal)  # a kill before the next line: its rows are there already, by their keys
        self.ledger.append((), beside=rename)
        self._sizes[goal] = stamp  # what was added since it was read is seen in the next round
        self._sizes.pop(path, None)
        self._since.pop(path, None)
        return goal

    def _unusable(self, path: Path, error: Exception) -> Seen | None:
        """Put a file that cannot be used aside, once nobody writes it any more."""
        words = str(error)
        try:
            if not isinstance(error, BadInput) or not self._settled(
                path, _stamp(path), self.settle_s
            ):
                return None
            goal = self._move(path, _stamp(path), self.folder / FOLDER)
            goal.with_name(f"{goal.name}.reason.txt").write_text(words + "\n", encoding="utf-8")
        except OSError:
            return Seen(path, trouble=words)
        return Seen(path, moved_to=goal, trouble=words)


def watch_folder(
    ledger: Ledger,
    folder: Path,
    sender: Sender,
    *,
    tell: Callable[[Seen], None],
    stopped: Callable[[float], bool],
    in_trouble: Callable[[CannotKeep], None],
    every_s: float = EVERY_S,
    settle_s: float = SETTLE_S,
    batch: int = BATCH,
) -> None:
    """Watch a folder until told to stop; a ledger that cannot write is tried again and again.

    Parameters
    ----------
    ledger : Ledger
        Where to.
    folder : Path
        The folder; only one watch works on it at a time.
    sender : Sender
        Who hands its files in.
    tell : callable
        Told what was done with each file.
    stopped : callable
        Waits so many seconds and says whether to stop.
    in_trouble : callable
        Told when the ledger cannot write.
    every_s : float
        How often to look [s].
    settle_s : float
        A file that has not changed for so long is finished [s].
    batch : int
        Rows in one transaction.

    Raises
    ------
    BadInput
        When there is no such folder, or another watch works on it.
    """
    with the_only_one(folder):
        watch = FolderWatch(
            ledger, folder, sender, settle_s=settle_s, batch=batch, stopped=lambda: stopped(0.0)
        )
        wait_s = every_s
        while True:
            try:
                for seen in watch.round():
                    tell(seen)
                    if stopped(0.0):
                        return
                wait_s = every_s
            except _BrokenOff:
                return
            except CannotKeep as trouble:
                in_trouble(trouble)
                wait_s = min(max(2.0 * wait_s, 1.0), 30.0)
            if stopped(wait_s):
                return


@contextmanager
def the_only_one(folder: Path) -> Iterator[None]:
    """Hold a folder's lock: the system lets go of it when the process ends, however it ends.

    Raises
    ------
    BadInput
        When there is no such folder, or another process holds it.
    """
    import fcntl

    if not folder.is_dir():
        raise BadInput(Fault("no such folder", "a folder to watch", file=str(folder)))
    handle = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT, 0o644)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise BadInput(
                Fault("another clew ledger watch works on it", "one at a time", file=str(folder))
            ) from None
        yield
    finally:
        os.close(handle)


def _files(folder: Path) -> list[Path]:
    """Files to be taken, by name: no dotfiles, none whose ending says it is not yet whole."""
    found = []
    with suppress(FileNotFoundError):
        for entry in os.scandir(folder):
            name = entry.name
            if name.startswith(".") or not name.casefold().endswith(TAKES) or not entry.is_file():
                continue
            found.append(Path(entry.path))
    return sorted(found)


def _stamp(path: Path) -> tuple[int, int]:
    stat = path.stat()
    return stat.st_size, stat.st_mtime_ns
