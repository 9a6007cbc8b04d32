"""The mill file as the pages see it: read once, and again when it has changed on disk."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from threading import Lock

from clew.ball.mill_checks import MILL_CHECKS
from clew.faults import BadInput
from clew.mill import Mill, mill_file, read_mill

Stamp = tuple[int, int, int]


class UnusableMill(BadInput):
    """The mill file itself cannot be used, whatever was asked."""


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """One reading of the mill file.

    Attributes
    ----------
    number : int
        How many readings there were, this one counted; keys what was worked out from it.
    mill : Mill
        What was read.
    """

    number: int
    mill: Mill


class MillOnDisk:
    """A mill folder that is looked at before every answer.

    Parameters
    ----------
    folder : Path
        The folder that holds mill.toml, or the file itself.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = Lock()
        self._stamp: Stamp | None = None
        self._number = 0
        self._found: Reading | UnusableMill | None = None

    def read(self) -> Reading:
        """Give the mill as it stands on disk now.

        Returns
        -------
        Reading
            The mill; the same object as long as the file does not change.

        Raises
        ------
        UnusableMill
            With every fault of the file.
        """
        with self._lock:
            stamp = self._look()
            if self._found is None or stamp is None or stamp != self._stamp:
                self._found, self._stamp = self._read_anew(), stamp
            if isinstance(self._found, UnusableMill):
                raise UnusableMill(self._found.faults)
            return self._found

    def _look(self) -> Stamp | None:
        try:
            seen = mill_file(self.folder).stat()
        except (OSError, ValueError):
            return None
        return seen.st_mtime_ns, seen.st_size, seen.st_ino

    def _read_anew(self) -> Reading | UnusableMill:
        self._number += 1
        try:
            return Reading(self._number, read_mill(self.folder, MILL_CHECKS))
        except BadInput as bad:
            return UnusableMill(bad.faults)
