"""Files of shade readings in the mill's folder: which there are, and each read once while it stays.

A page names a file by its bare name out of the list; no path is ever made from an address.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from clew.faults import BadInput, Fault
from clew.mill import mill_file

if TYPE_CHECKING:
    from clew.checks.attributes.shade_of_lot import ShadeReading

Stamp = tuple[int, int, int]

COLUMNS = frozenset(("lot", "cone", "lightness", "a", "b"))
"""A file whose heading names all of these is of shade readings."""
MOST_LISTED = 200
MOST_BYTES = 5_000_000
_HEAD_BYTES = 1 << 12


class ShadeFiles:
    """The files of shade readings that lie beside the mill file.

    Parameters
    ----------
    folder : Path
        The folder that holds mill.toml, or the file itself.
    """

    def __init__(self, folder: Path) -> None:
        self._mill = folder
        self._lock = Lock()
        self._read: dict[str, tuple[Stamp, tuple[ShadeReading, ...] | tuple[Fault, ...]]] = {}

    def names(self) -> tuple[str, ...]:
        """List the files, newest first.

        Returns
        -------
        tuple of str
            Bare names of CSV files whose heading names a lot, a cone and its three numbers.
        """
        found = []
        for path in self._files():
            stamp = _stamp(path)
            if stamp is not None and _is_shades(path):
                found.append((-stamp[0], path.name))
        return tuple(name for _, name in sorted(found)[:MOST_LISTED])

    def read(self, name: str) -> tuple[ShadeReading, ...]:
        """Read a file, or give what was read as long as it has not changed on disk.

        Parameters
        ----------
        name : str
            One of `names`.

        Returns
        -------
        tuple of ShadeReading
            Its readings.

        Raises
        ------
        BadInput
            When there is no such file in the list, when it is too large for a page, and every
            fault of its cells with the bare name as the file.
        """
        path = self._path(name)
        with self._lock:
            stamp = None if path is None else _stamp(path)
            if path is None or stamp is None:
                expected = "the name of one in the mill's folder"
                raise BadInput(
                    Fault("no such file of shades", expected, key="shade", value=repr(name)[:80])
                )
            known = self._read.get(name)
            if known is None or known[0] != stamp:
                known = (stamp, _read_anew(path, stamp[1]))
                self._read = {name: known}
        faults = tuple(one for one in known[1] if isinstance(one, Fault))
        if faults:
            raise BadInput(faults)
        return tuple(one for one in known[1] if not isinstance(one, Fault))

    def _path(self, name: str) -> Path | None:
        """Find a file by its name in the list, never by joining what an address says."""
        if name not in self.names():
            return None
        return next((path for path in self._files() if path.name == name), None)

    def _files(self) -> list[Path]:
        try:
            return [
                path
                for path in mill_file(self._mill).parent.iterdir()
                if path.suffix.casefold() == ".csv"
                and not path.name.startswith(".")
                and path.name.isprintable()
                and path.is_file()
            ]
        except (OSError, ValueError):
            return []


def _stamp(path: Path) -> Stamp | None:
    try:
        seen = path.stat()
    except OSError:
        return None
    return seen.st_mtime_ns, seen.st_size, seen.st_ino


def _read_anew(path: Path, size: int) -> tuple[ShadeReading, ...] | tuple[Fault, ...]:
    from clew.ledger.intake.shades import read_shades

    if size > MOST_BYTES:
        expected = f"at most {MOST_BYTES // 1_000_000} MB"
        return (Fault("too large a file for a page", expected, file=path.name),)
    try:
        return tuple(read_shades(path))
    except BadInput as bad:
        return tuple(replace(one, file=path.name) if one.file else one for one in bad.faults)


def _is_shades(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            text = stream.read(_HEAD_BYTES).decode("utf-8-sig", "replace")
    except OSError:
        return False
    head = next((line for line in text.splitlines() if line.strip(" ,")), "")
    return {cell.strip(' "').casefold() for cell in head.split(",")} >= COLUMNS
