"""When a moment of the shift is due on the real clock, and when the shift is said to have begun."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast a shift is played.

    Fast play is of hours past: the shift is said to have begun so long ago that play catches up
    with the clock after ``fast_s`` of it, and from then on it runs as the clock does. No message is
    ever ahead of the clock.

    Attributes
    ----------
    speed : float
        Seconds of the shift in a second of play until it has caught up, from 1 [1].
    fast_s : float
        How much of the shift is played so [s].
    goes_on : bool
        Whether the shift goes on after it; where not, what comes later is only what was late, and
        is sent as fast.
    """

    speed: float = 1.0
    fast_s: float = 0.0
    goes_on: bool = True

    def __post_init__(self) -> None:
        if self.speed < 1.0 or self.fast_s < 0.0:
            raise ValueError(f"speed {self.speed}, {self.fast_s} s; from 1, from 0")

    def due_s(self, at_s: float) -> float:
        """Say how long after the player's start a moment of the shift is due.

        Parameters
        ----------
        at_s : float
            The moment, from the start of the run [s].

        Returns
        -------
        float
            Time until then [s]; before 0 for what came before the run, which is due at once.
        """
        if at_s <= self.fast_s or not self.goes_on:
            return at_s / self.speed
        return self.fast_s / self.speed + (at_s - self.fast_s)

    def start(self, now: datetime) -> datetime:
        """Say when the run began, if the player starts now.

        Parameters
        ----------
        now : datetime
            The real clock.

        Returns
        -------
        datetime
            Now where the speed is 1; else so much earlier that the play catches up.
        """
        return now - timedelta(seconds=self.fast_s * (1.0 - 1.0 / self.speed))
