"""What a lane's winder took, and in which ball each metre of it lies.

A metre here is one as wound, by the winder's own counter: turns through the table of turns and
metres. Balls that were taken off without a message are found from turns that go back to zero.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from clew.languages import say
from clew.line.tracker.events import Event
from clew.line.tracker.terms import TrackTerms

FASTER = 1.02
"""A winder is taken to run no more than 2 % above its stated speed: assumed."""
SLACK_S = 3.0
"""A hand's clock and the winder's may differ by so much [s]: assumed."""
_SAME_DOFF_SHARE = 0.5
"""A doff reported within half a ball's time of the turns' going back is the one they showed."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of strand at the winder: in a ball, or waste.

    Attributes
    ----------
    from_m, to_m : float
        Where it begins and ends, in metres wound since the log began [m].
    ball : int
        Number of its ball; of the ball on the winder where it is waste.
    in_ball_m : float
        Metres already in the ball where it begins [m].
    waste : bool
        Whether it went past the ball.
    """

    from_m: float
    to_m: float
    ball: int
    in_ball_m: float
    waste: bool = False


@dataclass(frozen=True, slots=True)
class Winding:
    """What a lane's winder took against time.

    Attributes
    ----------
    lane : int
        The lane.
    at_s, wound_m : tuple of float
        When the winder was heard of [s], and metres taken by then [m].
    stretches : tuple of Stretch
        All of what was wound, in order; the last one is the ball on the winder so far.
    ball : int
        Number of the ball on the winder.
    in_ball_m : float
        What it held when the winder was last heard of [m].
    doffs_s : tuple of (float, int)
        When each ball was taken off [s], and its number.
    notes : tuple of str
        What had to be assumed, in words.
    """

    lane: int
    at_s: tuple[float, ...]
    wound_m: tuple[float, ...]
    stretches: tuple[Stretch, ...]
    ball: int
    in_ball_m: float
    doffs_s: tuple[tuple[float, int], ...]
    notes: tuple[str, ...]

    def wound(self, at_s: float, terms: TrackTerms) -> tuple[float, float]:
        """Metres wound by a time and how unsure that is [m].

        Parameters
        ----------
        at_s : float
            The time [s].
        terms : TrackTerms
            The line.

        Returns
        -------
        (float, float)
            Mean and standard deviation, metres wound since the log began [m].

        Notes
        -----
        The winder turns at its speed or stands, and mostly stands once, for its doff or for strand:
        all before that time or all after it. So it took the least it can have taken by then or the
        most, not something between: the middle, and half the width. After the last report it is
        taken to go on at its late pace until the ball is full. Source: DERIVED.
        """
        fastest = FASTER * terms.wind_m_per_s
        place = max(bisect_right(self.at_s, at_s) - 1, 0)
        since = self.wound_m[place] + fastest * max(at_s - self.at_s[place], 0.0)
        if place == len(self.at_s) - 1:
            full = self.wound_m[place] + max(terms.full_m(self.lane) - self.in_ball_m, 0.0)
            pace = self.pace_m_per_s(terms)
            likely = self.wound_m[place] + pace * max(at_s - self.at_s[place], 0.0)
            # it waits for its doff when full; but that may have come, and not been told yet
            return min(likely, full), 0.5 * (since - self.wound_m[place])
        before = self.wound_m[place + 1] - fastest * (self.at_s[place + 1] - at_s)
        low, high = max(self.wound_m[place], before), min(self.wound_m[place + 1], since)
        return 0.5 * (low + high), 0.5 * max(high - low, 0.0)

    def wound_at_turns(
        self, at_s: float, turns: float, ball: int | None, terms: TrackTerms
    ) -> float | None:
        """Metres wound when a ball had so many turns [m].

        Parameters
        ----------
        at_s : float
            When that was seen [s], about.
        turns : float
            Flyer turns of the ball [-].
        ball : int or None
            Its number; where not told, the one ball that can have had so many turns then.
        terms : TrackTerms
            The line.

        Returns
        -------
        float or None
            Metres wound since the log began [m]; None where more than one ball, or none, can be it.
        """
        laid = terms.laid_m(turns)
        places: dict[int, float] = {}
        for one in self.stretches:
            if not one.waste and (one.in_ball_m <= laid or one.ball not in places):
                places[one.ball] = one.from_m + laid - one.in_ball_m
        end_m = self.stretches[-1].to_m
        if self.ball not in places:
            places[self.ball] = end_m + laid
        if at_s > self.at_s[-1]:
            left = max(terms.full_m(self.lane) - self.in_ball_m, 0.0)
            places[self.ball + 1] = end_m + left + laid
        if ball is not None:
            return places.get(ball)
        middle, half = self.wound(at_s, terms)
        slack = half + SLACK_S * terms.wind_m_per_s
        fits: list[float] = [at for at in places.values() if abs(at - middle) <= slack]
        return fits[0] if len(fits) == 1 else None

    def pace_m_per_s(
        self, terms: TrackTerms, window_s: float = 600.0, least_s: float = 120.0
    ) -> float:
        """Mean speed of late, stops and doffs within it [m/s]; the line's own until it is known.

        Parameters
        ----------
        terms : TrackTerms
            The line.
        window_s : float
            How far back to look from the last report [s].
        least_s : float
            Shorter than that nothing can be said [s]: the lesser of winder's and feed's speed.

        Returns
        -------
        float
            Metres wound a second [m/s]; 0 where it stood all the while.
        """
        end_s = self.at_s[-1]
        place = bisect_right(self.at_s, end_s - window_s) - 1
        place = max(place, 0)
        took_s = end_s - self.at_s[place]
        if took_s < least_s:
            return min(terms.wind_m_per_s, terms.feed_m_per_s / terms.raw_per_laid)
        return (self.wound_m[-1] - self.wound_m[place]) / took_s


@dataclass(slots=True)
class _Log:
    """A winder's log while it is read."""

    terms: TrackTerms
    lane: int
    ball: int
    full_m: float
    wound_m: float = 0.0
    in_ball_m: float = 0.0
    back_s: float = -math.inf
    started: bool = False
    at_s: list[float] = field(default_factory=list)
    wound: list[float] = field(default_factory=list)
    stretches: list[Stretch] = field(default_factory=list)
    doffs: list[tuple[float, int]] = field(default_factory=list)
    notes: list[tuple[int, str]] = field(default_factory=list)
    numbered: bool = False
    shift: int = 0

    def heard(self, at_s: float) -> None:
        self.at_s.append(at_s)
        self.wound.append(self.wound_m)

    def grow(self, to_m: float) -> None:
        """Wind the ball up to so many metres in it."""
        more = to_m - self.in_ball_m
        if more > 0.0:
            self.stretches.append(
                Stretch(self.wound_m, self.wound_m + more, self.ball, self.in_ball_m)
            )
            self.wound_m += more
            self.in_ball_m = to_m

    def begin(self, in_ball_m: float) -> None:
        """Take the first report: what the ball holds already was wound before the log."""
        if not self.started:
            self.started = True
            self.in_ball_m = in_ball_m
            self.stretches.append(Stretch(-in_ball_m, 0.0, self.ball, 0.0))

    def next_ball(self, at_s: float) -> None:
        self.doffs.append((at_s, self.ball))
        self.ball += 1
        self.in_ball_m = 0.0


def winding_of(events: Sequence[Event], lane: int, terms: TrackTerms) -> Winding | None:
    """Follow a lane's winder through its events.

    Parameters
    ----------
    events : sequence of Event
        In order of time.
    lane : int
        The lane.
    terms : TrackTerms
        The line.

    Returns
    -------
    Winding or None
        None where the winder never reported.

    Notes
    -----
    A ball is taken to be full when it is taken off, unless its turns are told, or it can not have
    been wound so far since it was last read. Readings closer than the time one ball takes show
    every doff, told or not. Source: DERIVED.
    """
    log = _Log(terms, lane, terms.first_ball, terms.full_m(lane))
    for one in events:
        if one.lane != lane:
            continue
        if one.kind == "turns":
            _read(log, one)
        elif one.kind == "doff":
            _taken_off(log, one)
        elif one.kind == "waste" and one.value and log.started:
            log.stretches.append(
                Stretch(log.wound_m, log.wound_m + one.value, log.ball, log.in_ball_m, True)
            )
            log.wound_m += one.value
            log.heard(one.at_s)
    if not log.started:
        return None
    return Winding(
        lane, tuple(log.at_s), tuple(log.wound), tuple(log.stretches), log.ball, log.in_ball_m,
        tuple(log.doffs),
        tuple(
            say("Lane {lane}, ball {ball}: {words}", lane=lane, ball=ball, words=words)
            for ball, words in log.notes
        ),
    )  # fmt: skip


def _number(log: _Log, told: int | None, on: int) -> None:
    """Take the first number that is told for the ball that was ``on``, for all balls so far."""
    if told is None or log.numbered:
        return
    log.numbered = True
    log.shift = told - on
    log.ball += log.shift
    log.stretches = [replace(one, ball=one.ball + log.shift) for one in log.stretches]
    log.doffs = [(at_s, ball + log.shift) for at_s, ball in log.doffs]
    log.notes = [(ball + log.shift, words) for ball, words in log.notes]


def _read(log: _Log, one: Event) -> None:
    laid = log.terms.laid_m(one.value or 0.0)
    log.begin(laid)
    back = laid < log.in_ball_m
    _number(log, one.ball, log.ball + back)
    if one.ball is not None and (one.ball < log.ball or (one.ball == log.ball and back)):
        log.notes.append((one.ball, say("turns reported that it had passed already; not used.")))
        return
    if one.ball is not None and one.ball > log.ball:
        _missed(log, one, one.ball - log.ball)
    elif back:
        _missed(log, one, 1)
    log.grow(laid)
    log.heard(one.at_s)


def _missed(log: _Log, one: Event, balls: int) -> None:
    """Take balls off that no message told of; each was full."""
    for _ in range(balls):
        log.notes.append((log.ball, say("came off without a message; taken as full.")))
        log.grow(log.full_m)
        log.next_ball(one.at_s)
    log.back_s = one.at_s


def _taken_off(log: _Log, one: Event) -> None:
    fastest = FASTER * log.terms.wind_m_per_s
    log.begin(log.full_m if one.value is None else log.terms.laid_m(one.value))
    same_s = _SAME_DOFF_SHARE * log.full_m / fastest
    late = (
        one.value is None
        and log.in_ball_m < _SAME_DOFF_SHARE * log.full_m
        and one.at_s - log.back_s < same_s
    )
    _number(log, one.ball, log.ball - late)
    if late and one.ball in (None, log.ball - 1):
        log.back_s = -math.inf
        log.notes.pop()
        return
    if one.ball is not None and one.ball < log.ball:
        log.notes.append((one.ball, say("reported off when it was off already; not used.")))
        return
    if one.ball is not None and one.ball > log.ball:
        _missed(log, one, one.ball - log.ball)
    if one.value is not None:
        log.grow(log.terms.laid_m(one.value))
    else:
        most = log.full_m
        if log.at_s:
            most = log.in_ball_m + fastest * (one.at_s - log.at_s[-1])
        log.grow(min(log.full_m, most))
        if most < log.full_m and log.in_ball_m < log.full_m:
            log.notes.append((log.ball, say("came off before it was full.")))
    log.heard(one.at_s)
    log.next_ball(one.at_s)
