"""Weighings that can be looked at: weighed runs of the ledger, and files beside the mill file."""

from __future__ import annotations

from clew.checks.weighings import Weighings
from clew.mill.model import Mill
from clew.web.asked.chosen import Choice
from clew.web.band.files import WeighingFiles
from clew.web.band.kept import Kept
from clew.web.files_beside import Stamp
from clew.web.run.weighings import ENOUGH, PREFIX, RunWeighings, WeighedRun, run_words
from clew.web.workbench import Workbench

_read: Kept[Weighings] = Kept(8)


class WeighedBalls:
    """Runs and files with weighed balls, one list for a page.

    Parameters
    ----------
    files : WeighingFiles
        Files beside the mill file.
    runs : RunWeighings, optional
        Runs of the ledger; made for one question. None without a ledger.
    as_set : bool
        Whether only balls wound as the winders are set now are wanted of a run.
    """

    def __init__(
        self, files: WeighingFiles, runs: RunWeighings | None = None, *, as_set: bool = False
    ) -> None:
        self._files, self._runs, self._as_set = files, runs, as_set

    def names(self) -> tuple[str, ...]:
        """Name all: runs that say enough, the latest first; files; runs that say little yet."""
        runs = () if self._runs is None else self._runs.runs()
        many = [PREFIX + one.name for one in runs if one.weighed >= ENOUGH]
        few = [PREFIX + one.name for one in runs if one.weighed < ENOUGH]
        return (*many, *self._files.names(), *few)

    def choices(self) -> tuple[Choice, ...]:
        """Give them with their words, as a list offers them."""
        return tuple(
            Choice(name, name if (run := self.run(name)) is None else run_words(run))
            for name in self.names()
        )

    def run(self, name: str) -> WeighedRun | None:
        """Find the run that is named; None for a file."""
        if self._runs is None or not name.startswith(PREFIX):
            return None
        return self._runs.run(name)

    def lots_in(self, name: str) -> tuple[str, ...]:
        """Name the dye lots of one; raises as `read`."""
        run = self.run(name)
        if run is not None:
            return (run.lot,)
        factor = self.read(name).factors.get("lot")
        return () if factor is None else factor.names

    def stamp(self, name: str) -> Stamp:
        """Tell a state of one from any other; raises as `read`."""
        run = self.run(name)
        return self._files.stamp(name) if run is None else run.stamp

    def read(self, name: str) -> Weighings:
        """Read one.

        Raises
        ------
        BadInput
            When there is no such run or file, or the file cannot be read.
        CannotKeep
            When the ledger does not answer.
        """
        run = self.run(name)
        if run is None or self._runs is None:
            return self._files.read(name)
        runs = self._runs
        key = (runs.mill, name, run.stamp, self._as_set)
        return _read.of(key, lambda: runs.read(name, as_set=self._as_set))

    def clocks(self, name: str) -> bool:
        """Whether times of day are told; raises as `read`."""
        return self.run(name) is not None or self._files.clocks(name)

    def made(self, name: str) -> int:
        """Count the good balls of a run's dye lot on its line; raises `BadInput` for a file."""
        assert self._runs is not None
        return self._runs.made(name)

    def sha256(self, name: str) -> str:
        """Hash what a run's records say; raises `BadInput` for a file."""
        assert self._runs is not None
        return self._runs.sha256(name)


def runs_beside(bench: Workbench, mill: Mill) -> RunWeighings:
    """Give the weighed runs of a workbench's ledger; looking makes no ledger."""
    return RunWeighings(mill, lambda: bench.ledger.ledger(make=False))
