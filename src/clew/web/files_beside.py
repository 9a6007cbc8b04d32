"""Files of one kind beside the mill file: which there are, and each read once while it stays.

A page names a file by its bare name out of the list; no path is ever made from an address.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock
from typing import Generic, TypeVar

from clew.faults import BadInput, Fault
from clew.mill import mill_file

Stamp = tuple[int, int, int]
Read = TypeVar("Read")

MOST_LISTED = 200
_KEPT = 4


@dataclass(frozen=True, slots=True)
class FileKind(Generic[Read]):
    """A kind of file.

    Attributes
    ----------
    what : str
        What it is of: "weighings".
    key : str
        What an address calls it.
    endings : tuple of str
        Endings of its name, in small letters.
    is_one : callable
        Whether a file is of the kind, by its first lines.
    read : callable
        Reads it; raises `BadInput`.
    most_bytes : int
        Largest size that a page reads.
    instead : str
        What takes a larger one; may be empty.
    """

    what: str
    key: str
    endings: tuple[str, ...]
    is_one: Callable[[Path], bool]
    read: Callable[[Path], Read]
    most_bytes: int
    instead: str = ""


class FilesBeside(Generic[Read]):
    """The files of one kind that lie beside the mill file.

    Parameters
    ----------
    kind : FileKind
        The kind.
    folder : Path
        The folder that holds mill.toml, or the file itself.
    """

    def __init__(self, kind: FileKind[Read], folder: Path) -> None:
        self._kind = kind
        self._mill = folder
        self._lock = Lock()
        self._heads: dict[str, tuple[Stamp, bool]] = {}
        self._read: OrderedDict[str, tuple[Stamp, Read | BadInput]] = OrderedDict()

    def names(self) -> tuple[str, ...]:
        """List the files, newest first.

        Returns
        -------
        tuple of str
            Bare names of the files whose first lines are of the kind; also of those that cannot
            be read for another reason, which `read` then says.
        """
        found: list[tuple[int, str]] = []
        with self._lock:
            for path in self._files():
                stamp = _stamp(path)
                if stamp is None:
                    continue
                known = self._heads.get(path.name)
                if known is None or known[0] != stamp:
                    known = self._heads[path.name] = (stamp, self._kind.is_one(path))
                if known[1]:
                    found.append((-stamp[0], path.name))
        return tuple(name for _, name in sorted(found)[:MOST_LISTED])

    def stamp(self, name: str) -> Stamp:
        """Tell a state of a file from any other; keys what was worked out from it.

        Raises
        ------
        BadInput
            When there is no such file in the list.
        """
        stamp = _stamp(self.path(name))
        if stamp is None:
            raise BadInput(self._no_file(name))
        return stamp

    def read(self, name: str) -> Read:
        """Read a file, or give what was read as long as it has not changed on disk.

        Parameters
        ----------
        name : str
            One of `names`.

        Returns
        -------
        Read
            What is in it; the same object while the file stays as it is.

        Raises
        ------
        BadInput
            When there is no such file in the list, when it is too large for a page, and every
            fault of its rows with the bare name as the file.
        """
        path = self.path(name)
        with self._lock:
            stamp = _stamp(path)
            if stamp is None:
                raise BadInput(self._no_file(name))
            known = self._read.get(name)
            if known is None or known[0] != stamp:
                known = self._read[name] = (stamp, self._read_anew(path, stamp[1]))
            self._read.move_to_end(name)
            while len(self._read) > _KEPT:
                self._read.popitem(last=False)
        if isinstance(known[1], BadInput):
            raise BadInput(known[1].faults)
        return known[1]

    def path(self, name: str) -> Path:
        """Find a file by its name in the list, never by joining what an address says.

        Raises
        ------
        BadInput
            When there is no such file in the list.
        """
        if name in self.names():
            for path in self._files():
                if path.name == name:
                    return path
        raise BadInput(self._no_file(name))

    def _files(self) -> list[Path]:
        try:
            return [
                path
                for path in mill_file(self._mill).parent.iterdir()
                if path.suffix.casefold() in self._kind.endings
                and not path.name.startswith(".")
                and path.name.isprintable()
                and path.is_file()
            ]
        except (OSError, ValueError):
            return []

    def _no_file(self, name: str) -> Fault:
        return Fault(
            f"no such file of {self._kind.what}",
            "the name of one in the mill's folder",
            key=self._kind.key,
            value=repr(name)[:80],
        )

    def _read_anew(self, path: Path, size: int) -> Read | BadInput:
        kind = self._kind
        if size > kind.most_bytes:
            expected = f"at most {kind.most_bytes // 1_000_000} MB{kind.instead}"
            return BadInput(Fault("too large a file for a page", expected, file=path.name))
        try:
            return kind.read(path)
        except BadInput as bad:
            return BadInput(replace(one, file=path.name) if one.file else one for one in bad.faults)


def first_text(path: Path, most_bytes: int) -> str:
    """Give the beginning of a file as text; empty when it cannot be opened."""
    try:
        with path.open("rb") as stream:
            return stream.read(most_bytes).decode("utf-8-sig", "replace")
    except OSError:
        return ""


def _stamp(path: Path) -> Stamp | None:
    try:
        seen = path.stat()
    except OSError:
        return None
    return seen.st_mtime_ns, seen.st_size, seen.st_ino
