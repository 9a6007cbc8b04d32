"""How long strand is on its way from creel to winder, and so what was fed when a ball was wound.

Two things are sure of strand that passes the feed: it reaches the winder no sooner than the belt
carries it there; and what lies before it fits on the belt and in a full buffer, so it is wound by
the time the winder has taken that much. Both hold through stops, doffs and nights.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import accumulate

from clew.ledger.state.known import Effective

TIE_US = 60_000_000
"""A tie is told so much before or after it passes the feed, at most [us]: assumed."""
DOUBT = 0.05
"""What belt time, buffer and metres of a ball may be off by, either way: assumed."""
_US = 1_000_000


@dataclass(frozen=True, slots=True)
class Transit:
    """The way of one line's strand.

    Attributes
    ----------
    least_s : float
        Belt time from feed to belt's end [s].
    most_laid_m : float
        Strand that belt and full buffer hold, as wound [m].
    full_m : float
        Strand in a full ball, as wound [m].
    wind_m_per_s : float
        Strand that a turning winder takes, as wound [m/s].
    cone_s : float
        How long a full cone lasts at the feed [s]; 0 where not known.
    full_counts : mapping of int to float
        What each lane's counter shows at a full ball; empty where not known.
    winder_of : mapping of int to int
        Winder of each lane.
    """

    least_s: float
    most_laid_m: float
    full_m: float
    wind_m_per_s: float
    cone_s: float = 0.0
    full_counts: Mapping[int, float] = field(default_factory=dict)
    winder_of: Mapping[int, int] = field(default_factory=dict)

    @property
    def least_us(self) -> int:
        """Least time on the way, doubt taken off [us]."""
        return int(self.least_s * (1.0 - DOUBT) * _US)

    @property
    def balls(self) -> int:
        """Full balls that the strand on the way makes at most, doubt added."""
        return int(self.most_laid_m * (1.0 + DOUBT) / self.full_m) + 1

    @property
    def ball_us(self) -> int:
        """Least time in which a ball is wound [us]."""
        return int(self.full_m / self.wind_m_per_s * (1.0 - DOUBT) * _US)


@dataclass(frozen=True, slots=True)
class Wound:
    """A ball between two doffs of its lane.

    Attributes
    ----------
    lane : int
        Its lane.
    number : int or None
        Its number, where told.
    begun_us : int or None
        Earliest moment its winding began [us]; None where no doff before it is known.
    begun_latest_us : int
        Latest moment that was [us].
    ended_us : int
        Latest moment its winding ended [us].
    record : Effective or None
        Its doff; None where that message is missing and a gap in the numbers shows it.
    held_m : float
        Metres in it, at least [m]; 0 for one whose doff is missing.
    """

    lane: int
    number: int | None
    begun_us: int | None
    begun_latest_us: int
    ended_us: int
    record: Effective | None
    held_m: float

    @property
    def doffed_us(self) -> int | None:
        """When it was doffed [us]; None where that is not told."""
        return None if self.record is None else self.record.at_us


MOST_GAP = 200
"""A gap in the numbers larger than that is a counter set anew, not missing messages."""


def wound_of(doffs: Sequence[Effective], transit: Transit) -> tuple[Wound, ...]:
    """Make the balls of one lane of its doffs.

    Parameters
    ----------
    doffs : sequence of Effective
        Doffs of one lane, in order of time.
    transit : Transit
        The line.

    Returns
    -------
    tuple of Wound
        In order; balls that a gap in the numbers shows stand between.
    """
    found: list[Wound] = []
    for place, one in enumerate(doffs):
        before = doffs[place - 1] if place else None
        begun = None if before is None else before.at_us
        missing = 0
        if before is not None and before.ball is not None and one.ball is not None:
            missing = one.ball - before.ball - 1
            missing = missing if 0 < missing <= MOST_GAP else 0
            numbered = one.ball > before.ball
        else:
            numbered = False
        for step in range(missing):
            assert before is not None and before.ball is not None
            found.append(
                Wound(one.lane, before.ball + 1 + step, begun, one.at_us, one.at_us, None, 0.0)
            )
        # two balls cannot have been wound in less than twice the time of one
        room = begun is not None and one.at_us - begun < 2 * transit.ball_us
        exact = begun is not None and missing == 0 and (numbered or room)
        latest = begun if exact and begun is not None else one.at_us
        held = _held_m(one, transit)
        if begun is not None:
            held = min(held, transit.wind_m_per_s * (1.0 + DOUBT) * (one.at_us - begun) / _US)
        found.append(Wound(one.lane, one.ball, begun, latest, one.at_us, one, held))
    return tuple(found)


def _held_m(doff: Effective, transit: Transit) -> float:
    """Metres in a ball, at least: a part ball's first turns are its shortest."""
    full = transit.full_counts.get(doff.lane, 0.0)
    counts = doff.body.get("counts")
    share = 1.0
    if full > 0.0 and isinstance(counts, (int, float)) and counts < 0.97 * full:
        share = max(float(counts) / full, 0.0) ** 2
    return (1.0 - DOUBT) * share * transit.full_m


class WoundLane:
    """The balls of one lane in order, and when the strand in them was fed.

    Parameters
    ----------
    balls : sequence of Wound
        As `wound_of` gives them.
    transit : Transit
        The line.
    """

    def __init__(self, balls: Sequence[Wound], transit: Transit) -> None:
        self.balls, self.transit = tuple(balls), transit
        self._ends = [one.ended_us for one in balls]
        self._begins = [-1 if one.begun_us is None else one.begun_us for one in balls]
        self._total = [0.0, *accumulate(one.held_m for one in balls)]
        self._wanted = transit.most_laid_m * (1.0 + DOUBT)

    def fed_earliest_us(self, wound_us: int) -> int | None:
        """Say when strand that is wound at a moment was fed, at the earliest.

        Parameters
        ----------
        wound_us : int
            The moment [us].

        Returns
        -------
        int or None
            [us]; None where the doffs do not reach back far enough.
        """
        upto = bisect_right(self._ends, wound_us)
        # the latest ball from which on at least so much was wound
        first = bisect_right(self._total, self._total[upto] - self._wanted) - 1
        if first < 0 or first >= upto or self.balls[first].begun_us is None:
            return None
        return self._begins[first] - TIE_US

    def fed_latest_us(self, wound_us: int) -> int:
        """Say when strand that is wound at a moment was fed, at the latest [us]."""
        return wound_us - self.transit.least_us + TIE_US

    def lands_earliest_us(self, fed_us: int) -> int:
        """Say when strand fed at a moment is wound, at the earliest [us]."""
        return fed_us + self.transit.least_us - TIE_US

    def lands_latest_us(self, fed_us: int) -> int | None:
        """Say when strand fed at a moment is wound, at the latest [us]; None: not told yet."""
        first = bisect_left(self._begins, fed_us + TIE_US)
        last = bisect_left(self._total, self._total[first] + self._wanted)
        return self._ends[last - 1] if first < last <= len(self.balls) else None
