"""Files of weighings in the mill's folder, as the pages read them."""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path

from clew.checks.weighings import Weighings
from clew.ledger.intake.weighings import read_weighings
from clew.ledger.intake.weighings_clocks import tells_clocks
from clew.web.files_beside import FileKind, FilesBeside, first_text

MEASURED = ("mass_g", "gross_g", "length_m")
"""A file whose heading names one of these is of weighings, whatever else is wrong with it."""
MOST_BYTES = 64_000_000
"""A million balls or so; a page that reads more keeps its reader waiting, a command may take it."""
_HEAD_BYTES = 1 << 16


class WeighingFiles(FilesBeside[Weighings]):
    """The files of weighings that lie beside the mill file.

    Parameters
    ----------
    folder : Path
        The folder that holds mill.toml, or the file itself.
    """

    def __init__(self, folder: Path) -> None:
        kind = FileKind(
            "weighings", "file", (".csv", ".jsonl", ".ndjson"), _is_weighings, read_weighings,
            MOST_BYTES, "; the commands clew weigh take more",
        )  # fmt: skip
        super().__init__(kind, folder)

    def clocks(self, name: str) -> bool:
        """Whether a file writes times of day, rather than seconds from any start."""
        return tells_clocks(self.path(name))


def _is_weighings(path: Path) -> bool:
    """Look at the first line that is not empty: a heading, or one object of JSON lines."""
    text = first_text(path, _HEAD_BYTES)
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
