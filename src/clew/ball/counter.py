"""A winder's own counter: what it shows, and how many turns of the flyer that is.

A turn is one revolution of the flyer. Some counters sit on the flyer, others on the mandrel that
carries the ball, and either may show a count for several revolutions or several counts for one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from clew.faults import BadInput, Fault
from clew.languages import say

_ROUNDING = 1e-9
"""Share of a count that is rounding of the computer, not yarn."""


@dataclass(frozen=True, slots=True)
class CountSetting:
    """What to set on a counter, and what it then winds.

    Attributes
    ----------
    counts : int
        Whole counts to set.
    turns : float
        Turns of the flyer that these counts really give.
    """

    counts: int
    turns: float


@dataclass(frozen=True, slots=True)
class Counter:
    """A winder's counter.

    Attributes
    ----------
    counter_on : {"flyer", "ball"}
        The shaft whose revolutions it counts: the flyer, or the mandrel that turns the ball.
    turns_per_count : float
        Revolutions of that shaft for each count shown; 0.5 when it shows two counts a revolution.
    wind_ratio : float
        Turns of the flyer for one revolution of the ball; used only by a counter on the ball.

    Raises
    ------
    BadInput
        If the shaft is unknown or a number is not finite and above zero.
    """

    counter_on: Literal["flyer", "ball"]
    turns_per_count: float = 1.0
    wind_ratio: float = 1.0

    def __post_init__(self) -> None:
        faults = []
        if self.counter_on not in ("flyer", "ball"):
            faults.append(
                Fault(
                    say("an unknown place for a counter"),
                    expected=say('"flyer" or "ball"'),
                    key="counter_on",
                    value=repr(self.counter_on),
                )
            )
        for key in ("turns_per_count", "wind_ratio"):
            value = getattr(self, key)
            if not (math.isfinite(value) and value > 0.0):
                faults.append(
                    Fault(
                        say("not a usable ratio"),
                        expected=say("a number above 0"),
                        key=key,
                        value=str(value),
                    )
                )
        if faults:
            raise BadInput(faults)

    @property
    def flyer_turns_per_count(self) -> float:
        """Turns of the flyer for one count shown [-]."""
        return self.turns_per_count * (self.wind_ratio if self.counter_on == "ball" else 1.0)

    def turns_of_counts(self, counts: float) -> float:
        """Turns of the flyer for a number of counts.

        Parameters
        ----------
        counts : float
            Counts shown [-], not below zero.

        Returns
        -------
        float
            Turns of the flyer [-].

        Raises
        ------
        BadInput
            If the counts are not a finite number of zero or more.

        Notes
        -----
        turns = counts × turns_per_count for a counter on the flyer, and × wind_ratio besides for
        one on the ball. Source: DERIVED, from what the words mean.
        """
        _check_amount("counts", counts)
        return counts * self.flyer_turns_per_count

    def counts_for_turns(self, turns: float) -> CountSetting:
        """Fewest whole counts that wind at least the given turns.

        Parameters
        ----------
        turns : float
            Turns of the flyer wanted [-], not below zero.

        Returns
        -------
        CountSetting
            The counts, and the turns that they really give.

        Raises
        ------
        BadInput
            If the turns are not a finite number of zero or more.

        Notes
        -----
        Rounds up, because a ball must not fall short of its declaration; a remainder below one
        part in a thousand million of the whole is taken for rounding. Source: DERIVED.
        """
        _check_amount("turns", turns)
        wanted = turns / self.flyer_turns_per_count
        nearest = round(wanted)
        exact = abs(wanted - nearest) <= _ROUNDING * max(1.0, wanted)
        counts = nearest if exact else math.ceil(wanted)
        return CountSetting(counts=counts, turns=self.turns_of_counts(counts))


def _check_amount(key: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0.0):
        raise BadInput(
            Fault(
                say("not an amount"),
                expected=say("a number of 0 or more"),
                key=key,
                value=str(value),
            )
        )
