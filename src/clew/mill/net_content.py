"""The tables of the net-content rule sets: one file that a person can correct and confirm.

`net_content.toml` is shipped beside this module. A mill may keep a copy of its own beside
``mill.toml``; then that one is used, and every answer names it with a hash of its text.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from clew.faults import BadInput, Fault
from clew.mill.net_content_tables import Kind, Table, TableReader
from clew.mill.places import shown
from clew.mill.reading import MOST_FAULTS, mill_file, mill_text
from clew.mill.toml_text import read_text

FILE_NAME = "net_content.toml"
BUILT_IN = "built in"

_KINDS: dict[str, tuple[Kind, tuple[str, ...]]] = {
    "us_category_a_plans": ("lots", ("n", "factor", "accept")),
    "us_category_a_mass": ("bands", ("g",)),
    "us_category_a_length": ("bands", ("m",)),
    "us_thread": ("values", ("least_balls", "short_percent", "length_below_g")),
    "r87_mass": ("bands", ("g",)),
    "r87_length": ("bands", ("m",)),
    "r87_plans": ("lots", ("n", "factor", "accept")),
    "r87_small_lots": ("lots", ("n", "factor", "accept")),
    "tne": ("bands", ("g",)),
    "reference_double": ("lots", ("n", "accept", "reject", "n_second", "accept_second")),
    "reference_single": ("lots", ("n", "accept")),
    "reference_destructive": ("lots", ("n", "accept")),
    "reference_mean": ("lots", ("n", "factor")),
    "reference_mean_destructive": ("lots", ("n", "factor")),
    "uk_small_batch": ("values", ("defective_percent",)),
    "de_mass": ("bands", ("g",)),
    "de_marketable": ("bands", ("g",)),
    "de_plans": ("lots", ("n", "factor", "accept")),
    "de_destructive": ("lots", ("n", "factor", "accept")),
    "de_full": ("values", ("defective_percent", "least_balls")),
}
TABLE_KEYS = tuple(_KINDS)
"""Keys of the tables; every one must stand in the file."""


@dataclass(frozen=True, slots=True)
class Tables:
    """All tables of the rule sets.

    Attributes
    ----------
    by_key : mapping of str to Table
        The tables.
    file : str
        File of the mill they were read from, or "built in".
    sha256 : str
        Hash of the file's bytes, in hexadecimal.
    """

    by_key: Mapping[str, Table]
    file: str
    sha256: str

    def __getitem__(self, key: str) -> Table:
        """Give a table by its key."""
        return self.by_key[key]


def built_in_text() -> str:
    """Give the text of the shipped file."""
    from importlib import resources

    return resources.files("clew.mill").joinpath(FILE_NAME).read_text(encoding="utf-8")


def read_tables(folder: Path | str | None = None) -> Tables:
    """Read the tables: the mill's own copy where it keeps one, else those built in.

    Parameters
    ----------
    folder : Path or str, optional
        The mill's folder, or its mill.toml.

    Returns
    -------
    Tables
        The tables.

    Raises
    ------
    BadInput
        With everything that is wrong with the mill's copy, each with its line.
    """
    own = _own_file(folder)
    return tables_from_text(tables_text(folder), BUILT_IN if own is None else str(own))


def tables_text(folder: Path | str | None = None) -> str:
    """Give the text of the tables in use, to be written out and corrected."""
    own = _own_file(folder)
    return built_in_text() if own is None else mill_text(own)


def _own_file(folder: Path | str | None) -> Path | None:
    if folder is None:
        return None
    if not Path(folder).exists():
        raise BadInput(Fault("no such file or folder", "the folder of a mill", str(folder)))
    own = mill_file(folder).parent / FILE_NAME
    return own if own.is_file() else None


@lru_cache(maxsize=8)
def tables_from_text(text: str, file: str = FILE_NAME) -> Tables:
    """Read the tables from the text of a file; `BadInput` holds everything that is wrong."""
    read = read_text(text, file)
    faults = list(read.faults)

    def note(path: tuple[str | int, ...], what: str, expected: str, value: Any = None) -> None:
        said = "" if value is None else shown(value)
        section, key = (str(path[0]), ".".join(map(str, path[1:]))) if len(path) > 1 else ("", "")
        if not section:
            key = str(path[0])
        if len(path) > 2 and path[1] == "rows":
            key = f"row {int(path[2]) + 1}" + (f" {path[3]}" if len(path) > 3 else "")
        faults.append(Fault(what, expected, file, read.lines.line_of(path), section, key, said))

    if not read.faults and read.raw.get("version") != 1:
        note(("version",), "not a version known here", "version = 1", read.raw.get("version"))
    for key in read.raw:
        if key not in _KINDS and key != "version":
            note((key,), "no such table", "one of " + ", ".join(_KINDS))
    found: dict[str, Table] = {}
    for key, (kind, columns) in _KINDS.items():
        raw = read.raw.get(key)
        if not isinstance(raw, dict):
            if not read.faults:
                note((key,), "a table that is missing", f"[{key}]")
            continue
        before = len(faults)
        table = TableReader(key, raw, columns, note).table(kind)
        if table is not None and len(faults) == before:
            found[key] = table
    if faults:
        raise BadInput(sorted(faults, key=lambda fault: fault.line or 0)[:MOST_FAULTS])
    sha256 = hashlib.sha256(text.encode()).hexdigest()
    return Tables(MappingProxyType(found), file, sha256)
