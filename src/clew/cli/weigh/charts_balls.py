"""Balls of a file put in order, for `clew weigh charts`."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from clew.checks.charts.balls import Balls, balls_of, grouped, one_by_one
from clew.faults import BadInput
from clew.ledger.intake.weighings import read_weighings
from clew.ledger.intake.weighings_clocks import tells_clocks

__all__ = ["Balls", "grouped", "one_by_one", "read_balls"]


def read_balls(path: Path, value: str, by: str, *, use_groups: bool) -> Balls:
    """Read the balls of a file in order.

    Raises
    ------
    BadInput
        With every fault of the file; or where nothing in it can be charted.
    """
    measured = ("mass_g", "gross_g", "tare_g") if value == "mass" else ("length_m",)
    only = [*measured, "time_s", "cone", "lot"]
    only += ["group"] if use_groups else []
    only += [by] if by not in ("all", "lot") else []
    table = read_weighings(path, only=only)
    try:
        return balls_of(table, value, by, use_groups=use_groups, clocks=tells_clocks(path))
    except BadInput as bad:
        raise BadInput([replace(fault, file=str(path)) for fault in bad.faults]) from None
