"""A run to be planned: one ball from one dye lot for one order, before it has a line and a time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """One run.

    Attributes
    ----------
    name : str
        The order's number, and behind a stroke which run of the order it is, where there are
        several: ``1041`` or ``1041/2``.
    order_number, customer, ball_name, yarn_name, colour_name, lot_name : str
        What is made, of what, for whom.
    balls : int
        First-quality balls to be made.
    wound_balls : float
        Balls wound for them, with what the line spoils and what knots turn to second quality; what
        changes before and after the run spoil is not in it.
    cones : int
        Cones to fetch.
    due : date
        The day by whose end it must be done.
    priority : float
        What a day late weighs [1].
    lines : tuple of str
        Lines that may make it, by name; never empty.
    ready : date or None
        The day from which its yarn is there.
    """

    name: str
    order_number: str
    customer: str
    ball_name: str
    yarn_name: str
    colour_name: str
    lot_name: str
    balls: int
    wound_balls: float
    cones: int
    due: date
    priority: float
    lines: tuple[str, ...]
    ready: date | None = None


def what_is_made(run: PlannedRun) -> dict[str, Any]:
    """Turn what a run makes, of what and for whom, into plain values."""
    return {
        "run": run.name,
        "order": run.order_number,
        "customer": run.customer,
        "ball": run.ball_name,
        "yarn": run.yarn_name,
        "colour": run.colour_name,
        "lot": run.lot_name,
        "balls": run.balls,
        "wound_balls": run.wound_balls,
        "cones": run.cones,
        "due": run.due.isoformat(),
    }
