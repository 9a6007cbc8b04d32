"""Reading first balls off a CSV file, as a hand writes them down."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from clew.ball.first.first_run import WeighedBall
from clew.faults import BadInput, Fault
from clew.ledger.intake.tables import MOST_FAULTS, placed, read_rows
from clew.quantities import LENGTH, MASS, read_quantity

_CONE_PART = re.compile(r"^(?P<cone>.+?)(?:\s+(?P<share>\d+(?:\.\d+)?)\s*%)?$")


def _cones(text: str) -> tuple[tuple[str, float], ...]:
    """Read a cone, or a ball across a tie: ``SL-01 60 % + SL-02 40 %``."""
    parts = [_CONE_PART.match(part.strip()) for part in text.split("+")]
    named = [(part["cone"].strip(), part["share"]) for part in parts if part is not None]
    if len(named) == 1 and named[0][1] is None:
        return ((named[0][0], 1.0),)
    if len(named) != len(parts) or any(share is None for _, share in named):
        example = "such as A-01 60 % + A-02 40 %"
        raise BadInput(Fault("two cones without their shares", example, value=repr(text)))
    shares = [float(share) / 100 for _, share in named]
    if abs(sum(shares) - 1) > 1e-3:
        raise BadInput(Fault("shares of cones that do not add up", "100 %", value=repr(text)))
    return tuple(
        (cone, share / sum(shares)) for (cone, _), share in zip(named, shares, strict=True)
    )


def _winder(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,6}", text):
        raise BadInput(Fault("not a winder's number", "a whole number such as 4", value=repr(text)))
    return int(text)


def _counts(text: str) -> float:
    if not re.fullmatch(r"[0-9]{1,7}(\.[0-9]{1,6})?", text) or float(text) <= 0:
        expected = "a number above 0, such as 800"
        raise BadInput(Fault("not a counter reading", expected, value=repr(text)))
    return float(text)


def _mass(text: str) -> float:
    return read_quantity(text, MASS)


def _length(text: str) -> float | None:
    return read_quantity(text, LENGTH) if text else None


_READERS: dict[str, Callable[[str], Any]] = {
    "winder": _winder,
    "cone": _cones,
    "counts": _counts,
    "mass": _mass,
    "length": _length,
}


def read_weighed(path: Path) -> list[WeighedBall]:
    """Read first balls: ball, winder, cone, counts, mass and, where it was reeled, length.

    Parameters
    ----------
    path : Path
        The CSV file.

    Returns
    -------
    list of WeighedBall
        In the order of the file.

    Raises
    ------
    BadInput
        Every faulty cell at once, with file, line and column.
    """
    faults: list[Fault] = []
    found: list[WeighedBall] = []
    columns = {"ball": True} | {name: name != "length" for name in _READERS}
    for line, cells in read_rows(path, columns):
        values: dict[str, Any] = {}
        for column, read in _READERS.items():
            try:
                values[column] = read(cells[column])
            except BadInput as bad:
                faults.append(placed(bad.faults[0], path, line, column))
        if len(values) == len(_READERS):
            found.append(
                WeighedBall(
                    ball=cells["ball"],
                    winder=values["winder"],
                    cones=values["cone"],
                    counts=values["counts"],
                    mass_g=values["mass"],
                    length_m=values["length"],
                    line=line,
                )
            )
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    return found
