"""A run with its line, its change before it and its place in time, by the mill's clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from clew.plan.runs import PlannedRun

ChangeKind = Literal["none", "lot", "colour", "ball", "yarn"]
"""What changes: nothing, the dye lot alone, the colour, the ball of the same yarn, the yarn."""


@dataclass(frozen=True, slots=True)
class MoneyPart:
    """One part of a sum of money.

    Attributes
    ----------
    key, words : str
        Its stable key, and what it is.
    money : float
        The part [money].
    """

    key: str
    words: str
    money: float


@dataclass(frozen=True, slots=True)
class Change:
    """What it takes to go from one run to the next on a line.

    Attributes
    ----------
    kind : str
        What changes.
    stand_s : float
        How long the line makes nothing that can be sold, cleaning in it [s].
    clean_s : float
        Of that, cleaning after a darker colour [s].
    de00 : float
        How far the two colours are apart, CIEDE2000 [1].
    lightness_rise : float
        By how much the next colour is lighter; below 0 it is darker [1].
    strand_m : float
        Strand thrown away, as it comes, all lanes together [m].
    waste_kg : float
        Its mass, as it comes [kg].
    second_balls : float
        Balls that hold both colours and go to second quality.
    parts : tuple of MoneyPart
        What it costs, part by part.
    """

    kind: ChangeKind
    stand_s: float
    clean_s: float
    de00: float
    lightness_rise: float
    strand_m: float
    waste_kg: float
    second_balls: float
    parts: tuple[MoneyPart, ...]

    @property
    def cost(self) -> float:
        """What the change costs [money]."""
        return sum(part.money for part in self.parts)


@dataclass(frozen=True, slots=True)
class TimedRun:
    """One run of a plan.

    Attributes
    ----------
    run : PlannedRun
        What is made.
    line_name : str
        Where.
    change : Change
        What comes before it.
    change_from, start, end : datetime
        When its change begins, when it begins, when it ends on average, with the time zone.
    end_early, end_late : datetime
        Between these it ends 95 times of 100, by the spread of shifts.
    late_cost : float
        What its lateness costs [money].
    frozen : bool
        Whether it stands in the part of the plan that is not touched.
    wait_from : datetime or None
        From when its line waits for it, up to ``change_from``; None where it does not.
    wait_s : float
        Working time in that [s].
    wait_cost : float
        What that costs [money].
    """

    run: PlannedRun
    line_name: str
    change: Change
    change_from: datetime
    start: datetime
    end: datetime
    end_early: datetime
    end_late: datetime
    late_cost: float
    frozen: bool = False
    wait_from: datetime | None = None
    wait_s: float = 0.0
    wait_cost: float = 0.0
