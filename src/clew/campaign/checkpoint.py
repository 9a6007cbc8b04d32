"""What a sweep has finished, in a file that survives a kill: a header, then one line a point.

Each line is on the disk before its point counts as done. A line that was cut short by a crash is
dropped, and its point is worked out again.
"""

from __future__ import annotations

import functools
import json
import os
import stat
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from io import FileIO
from pathlib import Path
from typing import Any, Generic, TypeVar

import clew
from clew.campaign.header import compare, header_of
from clew.campaign.records import plain, record_from
from clew.faults import BadInput, Fault

_START = b'{"clew_sweep": '

Result = TypeVar("Result")


def _as_written(written: Any) -> Any:
    return written


@dataclass(frozen=True)  # no slots: until 3.12 a generic one could not be made as Checkpoint[...]()
class Checkpoint(Generic[Result]):
    """Where a sweep writes what it has finished, and how a result is written.

    Attributes
    ----------
    path : Path
        The file; it is made when it is not there, and gone on with when it is.
    seed : int or None
        Seed of the sweep, part of what must agree before it is gone on with.
    version : str
        Version of what works the points out, likewise.
    encode : callable
        Writes a result as plain JSON values.
    decode : callable
        Reads it back, exactly. Left out, results are plain objects; see `of` for records.
    """

    path: Path
    seed: int | None = None
    version: str = clew.__version__
    encode: Callable[[Result], Any] = plain
    decode: Callable[[Any], Result] = _as_written

    @classmethod
    def of(
        cls,
        record: type[Result],
        path: Path,
        *,
        seed: int | None = None,
        version: str = clew.__version__,
    ) -> Checkpoint[Result]:
        """Make a checkpoint for results of one dataclass.

        Parameters
        ----------
        record : type
            The dataclass of the results.
        path : Path
            The file.
        seed : int or None
            Seed of the sweep.
        version : str
            Version of what works the points out.

        Returns
        -------
        Checkpoint
            One that writes these records and reads them back.
        """
        return cls(path, seed, version, plain, functools.partial(record_from, record))

    @contextmanager
    def opened(
        self, function: Callable[..., Result], points: Sequence[Any]
    ) -> Iterator[OpenCheckpoint[Result]]:
        """Open the file for one sweep, with what it holds already.

        Parameters
        ----------
        function : callable
            What is swept.
        points : sequence
            Over what.

        Yields
        ------
        OpenCheckpoint
            The finished points, and the way to add more.

        Raises
        ------
        BadInput
            When the file is of another sweep, is no checkpoint, is damaged before its last line,
            is in use, or cannot be read and written.
        """
        header = header_of(function, points, self.seed, self.version)
        with _locked(self.path) as file:
            book = OpenCheckpoint(self, file, header, len(points))
            yield book


class OpenCheckpoint(Generic[Result]):
    """A checkpoint while its sweep runs.

    Attributes
    ----------
    finished : dict of int to result
        Result of each point that is done, by its number.
    """

    def __init__(
        self, made_by: Checkpoint[Result], file: FileIO, header: dict[str, Any], total: int
    ) -> None:
        self.finished: dict[int, Result] = {}
        self._made_by = made_by
        self._file = file
        try:
            content = file.readall()
        except OSError as error:
            raise _unusable(made_by.path, error) from None
        self._end = 0
        lines = content.split(b"\n")
        if len(lines) == 1 and (_START.startswith(content) or content.startswith(_START)):
            self._write(json.dumps(header) + "\n")
            return
        compare(made_by.path, lines[0], header)
        self._end = len(lines[0]) + 1
        # What stands after the last line end was cut short and is written over.
        self._read(lines[1:-1], total)

    def _read(self, lines: list[bytes], total: int) -> None:
        for number, line in enumerate(lines, start=2):
            try:
                entry = json.loads(line)
                index = entry["point"]
                if not (type(index) is int and 0 <= index < total):
                    raise ValueError(index)
                self.finished[index] = self._made_by.decode(entry["result"])
            except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
                # A crash of the machine can spoil the last line; no other.
                if number == len(lines) + 1:
                    return
                raise BadInput(
                    Fault(
                        "is damaged",
                        "a finished point; move the file away to begin anew",
                        file=str(self._made_by.path),
                        line=number,
                        value=line[:40].decode("utf-8", "replace"),
                    )
                ) from None
            self._end += len(line) + 1

    def add(self, batch: Iterable[tuple[int, Result]]) -> None:
        """Write finished points; when this returns they are on the disk.

        Parameters
        ----------
        batch : iterable of (int, result)
            Number of each point, and its result.

        Raises
        ------
        BadInput
            When the file cannot be written.
        TypeError
            When a result would not come back exactly as it is.
        """
        listed = list(batch)
        self._write("".join(self._line(index, result) for index, result in listed))
        self.finished.update(listed)

    def _line(self, index: int, result: Result) -> str:
        text = json.dumps({"point": index, "result": self._made_by.encode(result)})
        back = self._made_by.decode(json.loads(text)["result"])
        # Compared as they are shown: not a number equals itself, 1 is not 1.0, -0.0 is not 0.0.
        if repr(back) != repr(result):
            raise TypeError(f"a result does not come back as it was written: {result!r}, {back!r}")
        return text + "\n"

    def _write(self, text: str) -> None:
        """Write after the last whole line, over whatever an interruption left there."""
        content = text.encode("utf-8")
        try:
            self._file.truncate(self._end)
            self._file.seek(self._end)
            written = 0
            while written < len(content):
                written += self._file.write(content[written:])
            os.fsync(self._file.fileno())
        except OSError as error:
            raise _unusable(self._made_by.path, error) from None
        self._end += len(content)


@contextmanager
def _locked(path: Path) -> Iterator[FileIO]:
    """Open a file to read and write, made if need be, for this sweep alone."""
    try:
        new = not path.exists()
        handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o644)
        if new:
            _keep_name(path.parent)
    except OSError as error:
        raise _unusable(path, error) from None
    with FileIO(handle, "r+") as file:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise _unusable(path, OSError("not a file"))
        try:
            import fcntl
        except ImportError:
            # Where there is no such lock the user sees to it that a file serves one sweep.
            pass
        else:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                raise BadInput(
                    Fault("is in use by another sweep", "a file of its own", file=str(path))
                ) from None
        yield file


def _keep_name(folder: Path) -> None:
    """See to it that a new file's name is on the disk too, where folders can be synced."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _unusable(path: Path, error: OSError) -> BadInput:
    return BadInput(
        Fault(
            "cannot be used as a checkpoint",
            "a file that can be read and written",
            file=str(path),
            value=str(error.strerror or error),
        )
    )
