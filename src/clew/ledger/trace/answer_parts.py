"""What a trace answers is made of: plain values, each with the records it rests on.

Moments are UTC, microseconds since 1970. ``sure`` means: by the records it cannot be otherwise;
what is not sure is possible. None is unknown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from clew.languages import joined, say

Identity = Literal["token", "tray", "rack", "none"]
"""How a ball keeps its name between doff and band: `clew.mill.lines.Line.ball_identity`."""


@dataclass(frozen=True, slots=True)
class Rest:
    """A record that an answer rests on.

    Attributes
    ----------
    line : str
        Line whose chain it stands in; empty for the mill's own.
    seq : int
        Its place there.
    kind : str
        What it tells.
    at_us : int
        When that happened, corrections taken in [us].
    """

    line: str
    seq: int
    kind: str
    at_us: int

    @property
    def name(self) -> str:
        """``line·seq``, such as ``L1·2051``; ``mill·17`` in the mill's own chain."""
        return f"{self.line or 'mill'}·{self.seq}"


def called(line: str, lane: int, number: int | None, rests: Sequence[Rest]) -> str:
    """Name a ball: by its number, by its doff where it has none, or as one that nobody told."""
    if number is not None:
        return say("{line} lane {lane} ball {number}", line=line, lane=lane, number=number)
    if rests:
        return say(
            "{line} lane {lane} ball of {record}", line=line, lane=lane, record=rests[0].name
        )
    return say("{line} lane {lane} ball without a record", line=line, lane=lane)


@dataclass(frozen=True, slots=True)
class ConeIn:
    """A cone that a ball's strand comes from, or may come from.

    Attributes
    ----------
    cone : str
        Its name; empty where a tie names none.
    lot, spinner : str
        Its dye lot and who spun it; empty where no record says it.
    sure : bool
        Whether some of it is in the ball by all records; False: it may be.
    from_us, upto_us : int or None
        Earliest moment it may have begun to pass the feed and latest it may have ended [us]; None
        where nothing bounds it.
    why : str
        Why it is named, in words.
    rests : tuple of Rest
        The records.
    """

    cone: str
    lot: str
    spinner: str
    sure: bool
    from_us: int | None
    upto_us: int | None
    why: str
    rests: tuple[Rest, ...]


@dataclass(frozen=True, slots=True)
class JoinIn:
    """A join that is in a ball, or may be.

    Attributes
    ----------
    kind : {"tie", "retie", "colour"}
        A cone's tail to the next one's head; the strand parted; the next dye lot tied on.
    name : str
        The tie's own name; empty where it has none.
    at_us : int
        When it was made or passed the feed [us].
    sure : bool
        Whether it is in this ball and no other.
    rests : tuple of Rest
        The records.
    """

    kind: str
    name: str
    at_us: int
    sure: bool
    rests: tuple[Rest, ...]


@dataclass(frozen=True, slots=True)
class BallFound:
    """One ball, or one of the balls that it may be.

    Attributes
    ----------
    line : str
        Line that made it.
    lane, winder : int
        Where it was wound.
    number : int or None
        Its number on that lane's winder, where a record says it.
    token : str
        Its own token, or its tray's; empty where it has none.
    begun_us : int or None
        Earliest moment its winding can have begun: the doff before [us]; None at the log's start.
    doffed_us : int or None
        When it was doffed [us]; None where that message is missing.
    mass_g : float or None
        Its mass [g], where it was weighed under its own name.
    joins : tuple of JoinIn
        Joins in it.
    cones : tuple of ConeIn
        Cones it comes or may come from, in order.
    pulled_to : str
        Where it went when it was pulled out of first quality; empty otherwise.
    rests : tuple of Rest
        The records.
    trial : bool
        Whether it was made in a trial run: not for sale.
    """

    line: str
    lane: int
    winder: int
    number: int | None
    token: str
    begun_us: int | None
    doffed_us: int | None
    mass_g: float | None
    joins: tuple[JoinIn, ...]
    cones: tuple[ConeIn, ...]
    pulled_to: str
    rests: tuple[Rest, ...]
    trial: bool = False

    @property
    def name(self) -> str:
        """What it is called: ``L1 lane 4 ball 118``, or by its doff where it has no number."""
        return called(self.line, self.lane, self.number, self.rests)


@dataclass(frozen=True, slots=True)
class RunThen:
    """The run that made it, and its settings at that moment.

    Attributes
    ----------
    run, lot, ball_name : str
        The run, its dye lot and what it makes.
    started_us, ended_us : int or None
        When [us].
    settings : tuple of (str, str)
        Each setting as it stood then: field with its unit, such as ``target_g``, and its value.
    card, order : str
        Fingerprint of its run card; the order it is made for.
    trial : bool
        Whether its balls are not for sale.
    rests : tuple of Rest
        The records.
    """

    run: str
    lot: str
    ball_name: str
    started_us: int | None
    ended_us: int | None
    settings: tuple[tuple[str, str], ...]
    card: str
    order: str
    trial: bool
    rests: tuple[Rest, ...]


@dataclass(frozen=True, slots=True)
class CheckSeen:
    """A check made while the balls in question were wound: a look over the line, a weighed ball.

    Attributes
    ----------
    kind : {"weighing", "length check", "check"}
        What was done.
    words : str
        What was found, such as ``50.4 g`` or ``start-up: 5 in order, 0 not``.
    at_us : int
        When [us].
    lane : int
        Which lane; 0 for the whole line.
    rests : tuple of Rest
        The record.
    """

    kind: str
    words: str
    at_us: int
    lane: int
    rests: tuple[Rest, ...]


@dataclass(frozen=True, slots=True)
class Decision:
    """A decision on the dye lot, the latest last.

    Attributes
    ----------
    lot : str
        The dye lot.
    decision : {"release", "hold", "rework", "refuse"}
        What was decided.
    at_us : int
        When [us].
    author, certificate, why : str
        By whom, fingerprint of the certificate, the reason.
    rests : tuple of Rest
        The record.
    """

    lot: str
    decision: str
    at_us: int
    author: str
    certificate: str
    why: str
    rests: tuple[Rest, ...]


@dataclass(frozen=True, slots=True)
class CaseIn:
    """A case that a ball is in, or may be in, and where it is now.

    Attributes
    ----------
    case, lot, line : str
        Its name, the dye lot in it, the line that filled it.
    balls : int
        How many balls are in it.
    closed_us : int
        When it was closed [us].
    from_us, upto_us : int or None
        When its first and last ball were banded [us].
    sure : bool
        Whether it is this case and no other.
    pallet, customer, delivery : str
        Pallet it stands on, to whom it went, delivery note; empty where no record says it.
    shipped_us : int or None
        When it left the mill [us].
    rests : tuple of Rest
        The records.
    lots : tuple of str
        All dye lots in it where there are several; empty where ``lot`` is the only one.
    """

    case: str
    lot: str
    line: str
    balls: int
    closed_us: int
    from_us: int | None
    upto_us: int | None
    sure: bool
    pallet: str
    customer: str
    delivery: str
    shipped_us: int | None
    rests: tuple[Rest, ...]
    lots: tuple[str, ...] = ()

    @property
    def all_lots(self) -> tuple[str, ...]:
        """The dye lots in it, each once; one that is empty is not told."""
        return tuple(dict.fromkeys((self.lot, *self.lots)))

    @property
    def lot_words(self) -> str:
        """Its dye lots, in words."""
        return joined(say(" and "), self.all_lots)

    @property
    def where(self) -> str:
        """Where it is now, in words."""
        if self.customer:
            return say("shipped to {customer}", customer=self.customer)
        return (
            say("in the mill, on pallet {pallet}", pallet=self.pallet)
            if self.pallet
            else say("in the mill")
        )
