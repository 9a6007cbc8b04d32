"""What the played shift tells, before it becomes messages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Told:
    """One true thing, on the clock of the shift.

    Attributes
    ----------
    at_s : float
        When it happened, from the start of the run; before it where negative [s].
    kind : str
        A kind of `clew.ledger.events.kinds.KINDS`.
    source : str
        The machine or tablet that tells it.
    lane : int
        Lane, from 1; 0 for the line.
    author : str
        Hand who vouches; empty for a machine.
    says : mapping of str to value
        The names it carries and the fields of its kind.
    """

    at_s: float
    kind: str
    source: str
    lane: int = 0
    author: str = ""
    says: Mapping[str, Any] = field(default_factory=dict)


@dataclass(slots=True)
class Cone:
    """A cone of the played shift.

    Attributes
    ----------
    name, lot, spinner : str
        What it is called, its dye lot, who spun it.
    lane, place : int
        Where on the creel, from 1.
    loaded_s : float
        When it was put up [s].
    joins : int
        Joins known to be on it.
    count_error_frac : float
        Its count against the lot's mean [1].
    from_m, upto_m : float
        What the lane's feed counter showed at its head and where it ended [m, before steam].
    left_m : float
        What was left on it then [m].
    ran : bool
        Whether any of it was fed.
    hand : str
        Who put it up; empty where not told.
    """

    name: str
    lot: str
    spinner: str
    lane: int
    place: int
    loaded_s: float
    joins: int
    count_error_frac: float
    from_m: float = 0.0
    upto_m: float = 0.0
    left_m: float = 0.0
    ran: bool = True
    hand: str = ""

    def mass_g(self, count_tex: float) -> float:
        """Yarn that was on it [g], at a lot's mean count [tex]."""
        length_m = self.upto_m - self.from_m + self.left_m
        return length_m * count_tex * (1.0 + self.count_error_frac) / 1000.0


@dataclass(frozen=True, slots=True)
class Wound:
    """A ball as it came off the winder.

    Attributes
    ----------
    lane, number : int
        Whose, and its number on that lane's winder.
    from_s, full_s, off_s : float
        When it was begun, was full and was taken off [s].
    from_m, upto_m : float
        Strand that went into it, by the lane's feed counter [m, before steam].
    whole : bool
        False for the part ball pulled at a change of colour.
    hand : str
        Who took it off.
    """

    lane: int
    number: int
    from_s: float
    full_s: float
    off_s: float
    from_m: float
    upto_m: float
    whole: bool
    hand: str
