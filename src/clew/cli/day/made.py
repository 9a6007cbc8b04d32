"""What a played day holds while it is played: where the lanes stand, and what was made."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from clew.cli.day.asked import DayAsked
from clew.cli.day.lots import LotTested
from clew.cli.day.run_play import RunPlay, Settings
from clew.cli.day.run_story import RunDrawn
from clew.cli.play.ball_story import winder_errors

if TYPE_CHECKING:
    from clew.cli.plan.sequence import MadePlan
    from clew.ledger.shipping.consignment import Consignment
    from clew.ledger.trace.answer import BackTrace
    from clew.plan.sequence.timed_run import TimedRun


@dataclass(frozen=True, slots=True)
class RunMade:
    """A run that was played.

    Attributes
    ----------
    timed : TimedRun
        As it was planned.
    play : RunPlay
        As it was played.
    start, ended : datetime
        From when to when.
    tested : LotTested or None
        The decision on its lot; None where the run goes on in the next shift.
    pallets : tuple of str
        What its cases stand on.
    left : Consignment or tuple of str
        What left for its order, or why it may not; empty where nothing was to leave.
    """

    timed: TimedRun
    play: RunPlay
    start: datetime
    ended: datetime
    tested: LotTested | None = None
    pallets: tuple[str, ...] = ()
    left: Consignment | tuple[str, ...] = ()


@dataclass(slots=True)
class LanesNow:
    """Where the lanes stand between two runs.

    Attributes
    ----------
    errors : dict of int to float
        How much longer than set each lane's winder winds [1].
    ball : dict of int to int
        Number of each lane's next ball.
    fed_m : dict of int to float
        What each lane's feed counter shows [m, before steam].
    settings : Settings
        What winders are set to over their cards.
    made : dict of str to dict of int to int
        By dye lot and lane: cones that were put up.
    """

    errors: dict[int, float]
    ball: dict[int, int]
    fed_m: dict[int, float]
    settings: Settings
    made: dict[str, dict[int, int]]

    @classmethod
    def at_first(cls, lanes: int, seed: int) -> LanesNow:
        """Give the lanes of a line as its day begins."""
        every = range(1, lanes + 1)
        errors = winder_errors(every, random.Random(f"{seed} winders"))
        return cls(errors, dict.fromkeys(every, 1), dict.fromkeys(every, 0.0), Settings(), {})

    def cones_of(self, lot: str) -> dict[int, int]:
        """Count the cones of a dye lot that each lane had."""
        return dict(self.made.get(lot) or dict.fromkeys(self.ball, 0))

    def after(self, drawn: RunDrawn, lot: str) -> None:
        """Go on to where a run leaves them."""
        cones = self.cones_of(lot)
        for story in drawn.stories:
            self.fed_m[story.lane] += max(
                (one.upto_m for one in story.cones if one.ran), default=0.0
            )
            cones[story.lane] += len(story.cones)
        self.made[lot], self.ball = cones, drawn.next_balls()


@dataclass(slots=True)
class DayMade:
    """A day that was played.

    Attributes
    ----------
    asked : DayAsked
        Which day.
    made : MadePlan
        The plan.
    runs : list of RunMade
        What was made.
    put_off : list of TimedRun
        Planned for the shift, and not begun in it.
    returned : tuple of (str, int, BackTrace) or None
        The ball that came back: what its band says, its joins, where it came from.
    papers : list of (str, Path)
        What was written, and where.
    """

    asked: DayAsked
    made: MadePlan
    runs: list[RunMade] = field(default_factory=list)
    put_off: list[TimedRun] = field(default_factory=list)
    returned: tuple[str, int, BackTrace] | None = None
    papers: list[tuple[str, Path]] = field(default_factory=list)
