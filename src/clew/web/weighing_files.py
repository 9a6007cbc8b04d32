"""Files of weighings in the mill's folder: which there are, and each read once while it stays.

A page names a file by its bare name out of the list; no path is ever made from an address.
"""

from __future__ import annotations

import json
from collections import OrderedDict
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from threading import Lock

from clew.checks.weighings import Weighings
from clew.faults import BadInput, Fault
from clew.ledger.intake.weighings import read_weighings
from clew.ledger.intake.weighings_clocks import tells_clocks
from clew.mill import mill_file

Stamp = tuple[int, int, int]

ENDINGS = (".csv", ".jsonl", ".ndjson")
MEASURED = ("mass_g", "gross_g", "length_m")
"""A file whose heading names one of these is of weighings, whatever else is wrong with it."""
MOST_LISTED = 200
MOST_BYTES = 64_000_000
"""A million balls or so; a page that reads more keeps its reader waiting, a command may take it."""
_HEAD_BYTES = 1 << 16
_KEPT = 4


class WeighingFiles:
    """The files of weighings that lie beside the mill file.

    Parameters
    ----------
    folder : Path
        The folder that holds mill.toml, or the file itself.
    """

    def __init__(self, folder: Path) -> None:
        self._mill = folder
        self._lock = Lock()
        self._heads: dict[str, tuple[Stamp, bool]] = {}
        self._read: OrderedDict[str, tuple[Stamp, Weighings | tuple[Fault, ...]]] = OrderedDict()

    def names(self) -> tuple[str, ...]:
        """List the files, newest first.

        Returns
        -------
        tuple of str
            Bare names of CSV and JSON-lines files whose heading names a mass or a length; also of
            those that cannot be read for another reason, which `read` then says.
        """
        found: list[tuple[int, str]] = []
        with self._lock:
            for path in self._files():
                stamp = _stamp(path)
                if stamp is None:
                    continue
                known = self._heads.get(path.name)
                if known is None or known[0] != stamp:
                    known = self._heads[path.name] = (stamp, _is_weighings(path))
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
        stamp = _stamp(self._path(name))
        if stamp is None:
            raise BadInput(_no_file(name))
        return stamp

    def read(self, name: str) -> Weighings:
        """Read a file, or give what was read as long as it has not changed on disk.

        Parameters
        ----------
        name : str
            One of `names`.

        Returns
        -------
        Weighings
            Its balls; the same object while the file stays as it is.

        Raises
        ------
        BadInput
            When there is no such file in the list, when it is too large for a page, and every
            fault of its rows with the bare name as the file.
        """
        path = self._path(name)
        with self._lock:
            stamp = _stamp(path)
            if stamp is None:
                raise BadInput(_no_file(name))
            known = self._read.get(name)
            if known is None or known[0] != stamp:
                known = self._read[name] = (stamp, _read_anew(path, stamp[1]))
            self._read.move_to_end(name)
            while len(self._read) > _KEPT:
                self._read.popitem(last=False)
        if isinstance(known[1], tuple):
            raise BadInput(known[1])
        return known[1]

    def clocks(self, name: str) -> bool:
        """Whether a file writes times of day, rather than seconds from any start."""
        return tells_clocks(self._path(name))

    def _path(self, name: str) -> Path:
        """Find a file by its name in the list, never by joining what an address says."""
        if name in self.names():
            for path in self._files():
                if path.name == name:
                    return path
        raise BadInput(_no_file(name))

    def _files(self) -> list[Path]:
        try:
            folder = mill_file(self._mill).parent
            return [
                path
                for path in folder.iterdir()
                if path.suffix.casefold() in ENDINGS
                and not path.name.startswith(".")
                and path.name.isprintable()
                and path.is_file()
            ]
        except (OSError, ValueError):
            return []


def _no_file(name: str) -> Fault:
    return Fault(
        "no such file of weighings",
        "the name of one in the mill's folder",
        key="file",
        value=repr(name)[:80],
    )


def _stamp(path: Path) -> Stamp | None:
    try:
        seen = path.stat()
    except OSError:
        return None
    return seen.st_mtime_ns, seen.st_size, seen.st_ino


def _read_anew(path: Path, size: int) -> Weighings | tuple[Fault, ...]:
    if size > MOST_BYTES:
        expected = f"at most {MOST_BYTES // 1_000_000} MB; the commands clew weigh take more"
        return (Fault("too large a file for a page", expected, file=path.name),)
    try:
        return read_weighings(path)
    except BadInput as bad:
        return tuple(replace(one, file=path.name) if one.file else one for one in bad.faults)


def _is_weighings(path: Path) -> bool:
    """Look at the first line that is not empty: a heading, or one object of JSON lines."""
    try:
        with path.open("rb") as stream:
            text = stream.read(_HEAD_BYTES).decode("utf-8-sig", "replace")
    except OSError:
        return False
    lines = (line.strip(" \t,;\r\ufeff") for line in text.split("\n"))
    first = next((line for line in lines if line and not line.casefold().startswith("sep=")), "")
    if path.suffix.casefold() == ".csv":
        for mark in ";\t":
            first = first.replace(mark, ",")
        named = {cell.strip(' "').casefold() for cell in first.split(",")}
    else:
        try:
            found = json.loads(first)
        except (ValueError, RecursionError):
            return False
        named = set(found) if isinstance(found, dict) else set()
    return not named.isdisjoint(MEASURED)


@lru_cache(maxsize=8)
def weighing_files(folder: Path) -> WeighingFiles:
    """Share one list, and what was read from it, among the pages of a mill."""
    return WeighingFiles(folder)
