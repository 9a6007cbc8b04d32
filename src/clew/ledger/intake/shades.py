"""Reading shade readings off a CSV file: lot, cone, lightness, a, b."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

from clew.faults import BadInput, Fault
from clew.ledger.intake.tables import MOST_FAULTS, placed, stream_rows

if TYPE_CHECKING:
    from clew.checks.attributes.shade_of_lot import ShadeReading

MOST_READINGS = 100_000
_LONGEST_NAME = 60
_RANGES = {"lightness": (0.0, 100.0), "a": (-150.0, 150.0), "b": (-150.0, 150.0)}


def shade_number(text: str, name: str) -> float:
    """Read one number of a shade.

    Parameters
    ----------
    text : str
        As written.
    name : str
        "lightness", "a" or "b".

    Returns
    -------
    float
        The number [1].

    Raises
    ------
    BadInput
        When it is none, or out of CIELAB's range.
    """
    low, high = _RANGES[name]
    expected = f"a number from {low:g} to {high:g}"
    plain = text.strip().replace("\u2212", "-")
    if "," in plain:
        raise BadInput(Fault("a comma in a number", "a decimal point", value=repr(text[:20])))
    try:
        value = float(plain) if plain.isascii() and "_" not in plain else math.nan
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        raise BadInput(Fault(f"not a value of {name}", expected, value=repr(text[:20])))
    return value


def read_shades(path: Path) -> list[ShadeReading]:
    """Read a file of shade readings.

    Parameters
    ----------
    path : Path
        The CSV file; several rows of one cone are repeats.

    Returns
    -------
    list of ShadeReading
        In the order of the file.

    Raises
    ------
    BadInput
        Every faulty cell at once, with file, line and column.
    """
    from clew.checks.attributes.shade_of_lot import ShadeReading

    columns = dict.fromkeys(("lot", "cone", *_RANGES), True)
    faults: list[Fault] = []
    found = []
    for line, cells in stream_rows(path, columns, faults, most_rows=MOST_READINGS):
        values = []
        for name, cell in zip(columns, cells, strict=True):
            try:
                if name in _RANGES:
                    values.append(shade_number(cell, name))
                elif len(cell) > _LONGEST_NAME or not cell.isprintable():
                    raise BadInput(
                        Fault("not a name", f"at most {_LONGEST_NAME} characters", value=cell[:20])
                    )
            except BadInput as bad:
                faults.append(placed(bad.faults[0], path, line, name))
        if len(values) == len(_RANGES):
            found.append(ShadeReading(cells[0], cells[1], *values))
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    if not found:
        raise BadInput(Fault("no rows", "a row under the heading", file=str(path), line=1))
    return found
