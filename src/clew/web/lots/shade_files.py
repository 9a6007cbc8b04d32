"""Files of shade readings in the mill's folder, as the pages read them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from clew.web.files_beside import FileKind, FilesBeside, first_text

if TYPE_CHECKING:
    from clew.checks.attributes.shade_of_lot import ShadeReading

COLUMNS = frozenset(("lot", "cone", "lightness", "a", "b"))
"""A file whose heading names all of these is of shade readings."""
MOST_BYTES = 5_000_000
_HEAD_BYTES = 1 << 12


class ShadeFiles(FilesBeside["tuple[ShadeReading, ...]"]):
    """The files of shade readings that lie beside the mill file.

    Parameters
    ----------
    folder : Path
        The folder that holds mill.toml, or the file itself.
    """

    def __init__(self, folder: Path) -> None:
        super().__init__(
            FileKind("shades", "shade", (".csv",), _is_shades, _readings, MOST_BYTES), folder
        )


def _readings(path: Path) -> tuple[ShadeReading, ...]:
    from clew.ledger.intake.shades import read_shades

    return tuple(read_shades(path))


def _is_shades(path: Path) -> bool:
    text = first_text(path, _HEAD_BYTES)
    from clew.ledger.intake.tables import parted_by

    head = next((line for line in text.splitlines() if line.strip(" ,;\t")), "")
    return {cell.strip(' "').casefold() for cell in head.split(parted_by(head))} >= COLUMNS
