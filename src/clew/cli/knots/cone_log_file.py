"""Reading a cone log off a CSV file: knots counted on cones of known mass and count."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from clew.faults import BadInput, Fault
from clew.knots.rates import LONGEST_KM, MOST_KNOTS, CountedCone
from clew.ledger.intake.tables import MOST_FAULTS, placed, read_rows
from clew.quantities import MASS, read_count, read_quantity


def _name(text: str) -> str:
    if not text:
        raise BadInput(Fault("an empty cell", "a name"))
    return text


def _mass(text: str) -> float:
    if not text:
        raise BadInput(Fault("an empty cell", f"a mass such as {MASS.example}"))
    value = read_quantity(text, MASS)
    if value <= 0.0:
        raise BadInput(Fault("no yarn on the cone", "a mass above 0", value=repr(text)))
    return value


def _count(text: str) -> float:
    if not text:
        raise BadInput(Fault("an empty cell", "a count such as 400 tex"))
    return read_count(text)


def _knots(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", text) or int(text) > MOST_KNOTS:
        expected = f"a whole number from 0 to {MOST_KNOTS}; 0 where none was found"
        raise BadInput(Fault("not a count of knots", expected, value=repr(text)))
    return int(text)


_READERS: dict[str, Callable[[str], Any]] = {
    "cone": _name,
    "supplier": _name,
    "dye_lot": str,
    "mass": _mass,
    "count": _count,
    "knots": _knots,
}


def read_cone_log(path: Path) -> list[CountedCone]:
    """Read a cone log: cone, supplier, dye_lot, mass, count, knots.

    Parameters
    ----------
    path : Path
        The CSV file. ``dye_lot`` may be left out, or empty.

    Returns
    -------
    list of CountedCone
        In the order of the file.

    Raises
    ------
    BadInput
        Every faulty cell at once, with file, line and column: empty cells, masses and counts that
        are none, knots that are no whole number, cones that stand twice or are too long.
    """
    # Empty cells are named here and not by the reader, so that one run names all that is wrong.
    rows = read_rows(path, dict.fromkeys(_READERS, False))
    faults = [
        Fault("a column is missing, or empty", "filled in each row", file=str(path), key=column)
        for column in _READERS
        if column != "dye_lot" and not any(cells[column] for _, cells in rows)
    ]
    if faults:
        raise BadInput(faults)
    found: list[CountedCone] = []
    seen: dict[tuple[str, str, str], int] = {}
    for line, cells in rows:
        values: dict[str, Any] = {}
        for column, read in _READERS.items():
            try:
                values[column] = read(cells[column])
            except BadInput as bad:
                faults.append(placed(bad.faults[0], path, line, column))
        name = (cells["supplier"], cells["dye_lot"], cells["cone"])
        if cells["cone"] and name in seen:
            twice = Fault("a cone twice", f"once; it stands in line {seen[name]} already")
            faults.append(placed(twice, path, line, "cone"))
        seen.setdefault(name, line)
        if len(values) < len(_READERS):
            continue
        cone = CountedCone(
            cone=values["cone"],
            supplier=values["supplier"],
            dye_lot=values["dye_lot"],
            mass_g=values["mass"],
            count_tex=values["count"],
            knots=values["knots"],
        )
        if not 0.0 < cone.length_km <= LONGEST_KM:
            expected = f"a mass and a count that make at most {LONGEST_KM:g} km"
            long = Fault("no cone is so long", expected, value=f"{cone.length_km:.4g} km")
            faults.append(placed(long, path, line, "mass"))
        found.append(cone)
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    return found
