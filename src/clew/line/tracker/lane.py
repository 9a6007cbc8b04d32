"""One lane, followed: what was fed, what was wound, and the ties between."""

from __future__ import annotations

from dataclasses import dataclass

from clew.line.tracker.clocks import RunClock
from clew.line.tracker.events import Event
from clew.line.tracker.feeding import Feeding
from clew.line.tracker.winding import Winding


@dataclass(frozen=True, slots=True)
class FedTie:
    """A tie in the strand of a lane.

    Attributes
    ----------
    event : Event
        The message.
    fed_m, sd_m : float
        Where the feed's log stood when it passed, and how unsure that is [m, raw]; counted from
        the winder's first report.
    seen_s : float or None
        When it was seen at the winder [s].
    seen_wound_m, seen_sd_m : float
        Metres wound by then, and how unsure that is [m]; used where it was seen.
    """

    event: Event
    fed_m: float
    sd_m: float
    seen_s: float | None = None
    seen_wound_m: float = 0.0
    seen_sd_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Lane:
    """A lane, followed.

    Attributes
    ----------
    number : int
        Lane.
    feeding : Feeding
        What was fed.
    start_fed_m : float
        What the feed's log showed at the winder's first report [m].
    winding : Winding
        What was wound.
    belt : RunClock
        When the belt ran.
    ties : tuple of FedTie
        In the order in which they passed the feed.
    """

    number: int
    feeding: Feeding
    start_fed_m: float
    winding: Winding
    belt: RunClock
    ties: tuple[FedTie, ...]

    def fed(self, at_s: float) -> tuple[float, float]:
        """Metres fed since the winder's first report, and how unsure that is [m, raw]."""
        fed, sd = self.feeding.fed(at_s)
        return fed - self.start_fed_m, sd
