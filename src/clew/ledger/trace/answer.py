"""What a trace answers: plain values, each with the records it rests on.

Moments are UTC, microseconds since 1970. ``sure`` means: by the records it cannot be otherwise;
what is not sure is possible. None is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass

from clew.ledger.trace.answer_parts import (
    BallFound,
    CaseIn,
    CheckSeen,
    ConeIn,
    Decision,
    Identity,
    JoinIn,
    Rest,
    RunThen,
    called,
)

__all__ = [
    "BackTrace",
    "BallFound",
    "BallMaybe",
    "CaseIn",
    "CheckSeen",
    "ConeIn",
    "ConeStint",
    "Decision",
    "ForwardTrace",
    "Identity",
    "JoinIn",
    "Rest",
    "RunThen",
]


@dataclass(frozen=True, slots=True)
class BackTrace:
    """The answer to: what do we know of this ball.

    Attributes
    ----------
    asked : str
        The question, in words.
    line : str
        The line.
    winder, lane : int
        Where it was wound.
    lot : str
        Dye lot the question names, or that of the run; empty where unknown.
    banded_us : tuple of (int, int)
        Spans of time in which the band was put on, first and last moment of each [us]; two where
        the clock showed the time twice; none where no band was asked for.
    identity : {"token", "tray", "rack", "none"}
        How the ball kept its name up to the band.
    balls : tuple of BallFound
        The ball, or each ball that it may be, in order of doff; empty when none is found.
    why : str
        Why so many, in words.
    cones : tuple of ConeIn
        Cones of all those balls: sure only if sure for each of them.
    run : RunThen or None
        The run.
    checks : tuple of CheckSeen
        Checks nearest to it.
    decisions : tuple of Decision
        On its dye lot.
    cases : tuple of CaseIn
        Cases it is or may be in.
    missing : tuple of str
        What is missing, and what that leaves open, in words.
    """

    asked: str
    line: str
    winder: int
    lane: int
    lot: str
    banded_us: tuple[tuple[int, int], ...]
    identity: Identity
    balls: tuple[BallFound, ...]
    why: str
    cones: tuple[ConeIn, ...]
    run: RunThen | None
    checks: tuple[CheckSeen, ...]
    decisions: tuple[Decision, ...]
    cases: tuple[CaseIn, ...]
    missing: tuple[str, ...]

    @property
    def size(self) -> int:
        """How many balls it may be: 1 is the ball itself, 0 none found."""
        return len(self.balls)


@dataclass(frozen=True, slots=True)
class ConeStint:
    """One cone's time at the feed of one lane, with its interval.

    Attributes
    ----------
    line, cone, lot, spinner : str
        Which cone; lot and spinner empty where no record says them.
    lane : int
        Lane whose creel it stood on.
    from_earliest_us, from_latest_us : int or None
        It began to pass the feed within these [us]; alike when its tie was told; None: unbounded.
    upto_earliest_us, upto_latest_us : int or None
        It ended within these [us]; None while it may still run.
    why : str
        What the interval comes from, in words; empty when both ties were told.
    rests : tuple of Rest
        The records.
    """

    line: str
    cone: str
    lot: str
    spinner: str
    lane: int
    from_earliest_us: int | None
    from_latest_us: int | None
    upto_earliest_us: int | None
    upto_latest_us: int | None
    why: str
    rests: tuple[Rest, ...]


@dataclass(frozen=True, slots=True)
class BallMaybe:
    """A ball that has, or may have, some of what is traced in it.

    Attributes
    ----------
    line : str
        Line that made it.
    lane, winder : int
        Where it was wound.
    number : int or None
        Its number on that lane's winder.
    token : str
        Its token or tray.
    doffed_us : int or None
        When it was doffed [us]; None where that message is missing.
    sure : bool
        Whether some of it is in there by all records.
    banded_us : tuple of (int, int) or None
        Earliest and latest moment its band was put on [us]; None when it never was.
    cases : tuple of str
        Cases it may be in.
    pulled_to : str
        Where it went when it was pulled out of first quality.
    cones : tuple of str
        Which of the traced cones.
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
    doffed_us: int | None
    sure: bool
    banded_us: tuple[int, int] | None
    cases: tuple[str, ...]
    pulled_to: str
    cones: tuple[str, ...]
    rests: tuple[Rest, ...]
    trial: bool = False

    @property
    def name(self) -> str:
        """What it is called: ``L1 lane 4 ball 118``, or by its doff where it has no number."""
        return called(self.line, self.lane, self.number, self.rests)


@dataclass(frozen=True, slots=True)
class ForwardTrace:
    """The answer to: where may this cone or dye lot be.

    Attributes
    ----------
    asked : str
        The question, in words.
    cones : tuple of ConeStint
        Each time one of the cones was at a feed; empty when none is found.
    balls : tuple of BallMaybe
        Every ball it is or may be in, by line, lane and doff.
    cases : tuple of CaseIn
        Every case, in order of closing; sure where a ball that is sure is surely in it.
    missing : tuple of str
        What is missing, and how far that widens the answer, in words.
    """

    asked: str
    cones: tuple[ConeStint, ...]
    balls: tuple[BallMaybe, ...]
    cases: tuple[CaseIn, ...]
    missing: tuple[str, ...]

    @property
    def sure(self) -> int:
        """Balls that have it in them by all records."""
        return sum(one.sure for one in self.balls)

    @property
    def possible(self) -> int:
        """Balls that may have it in them besides."""
        return len(self.balls) - self.sure
