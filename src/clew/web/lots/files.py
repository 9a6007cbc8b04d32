"""What a lot is judged from: files of weighings and of shades, and their hashes for the paper."""

from __future__ import annotations

import hashlib
from pathlib import Path

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill import mill_file
from clew.mill.model import Mill
from clew.mill.net_content import Tables, read_tables
from clew.web.band.files import WeighingFiles
from clew.web.band.weighed import WeighedBalls, runs_beside
from clew.web.lots.shade_files import ShadeFiles
from clew.web.workbench import Workbench

Stamp = tuple[int, int, int]
_KEPT = 16


class LotFiles:
    """The files beside the mill file that a lot is judged from.

    Parameters
    ----------
    folder : Path
        The folder that holds mill.toml, or the file itself.
    bench : Workbench, optional
        The workbench whose ledger's runs can be judged too; none for files alone.

    Attributes
    ----------
    weighings : WeighingFiles
        Weighed balls.
    shades : ShadeFiles
        Shade readings of cones.
    """

    def __init__(self, folder: Path, bench: Workbench | None = None) -> None:
        self.weighings = WeighingFiles(folder)
        self.shades = ShadeFiles(folder)
        self._mill, self._bench = folder, bench
        self._hashes: dict[tuple[str, Stamp], str] = {}

    def balls(self, mill: Mill) -> WeighedBalls:
        """List what was weighed: runs of the ledger, and files; made for one question."""
        runs = None if self._bench is None else runs_beside(self._bench, mill)
        return WeighedBalls(self.weighings, runs)

    def tables(self) -> Tables:
        """Read the tables of the rule sets: the mill's own where it has them."""
        return read_tables(mill_file(self._mill).parent)

    def sha256(self, name: str) -> str:
        """Hash a file that was read.

        Parameters
        ----------
        name : str
            One of the names that `weighings` or `shades` list.

        Returns
        -------
        str
            SHA-256 of its bytes [hexadecimal].

        Raises
        ------
        BadInput
            When it is not there any more.
        """
        if name in (*self.weighings.names(), *self.shades.names()):
            try:
                for path in mill_file(self._mill).parent.iterdir():
                    if path.name == name:
                        return self._hashed(path)
            except OSError:
                pass
        raise BadInput(
            Fault(say("no such file"), say("one in the mill's folder"), value=repr(name)[:80])
        )

    def _hashed(self, path: Path) -> str:
        seen = path.stat()
        key = (path.name, (seen.st_mtime_ns, seen.st_size, seen.st_ino))
        found = self._hashes.get(key)
        if found is None:
            with path.open("rb") as file:
                found = hashlib.file_digest(file, "sha256").hexdigest()
            if len(self._hashes) >= _KEPT:
                self._hashes.clear()
            self._hashes[key] = found
        return found
