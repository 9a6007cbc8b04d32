"""Where a metre of strand lies: in which ball, at which turn of it, and where on the belt.

The core is conservation: what was fed and is not yet wound stands between. A tie fed at a lands
when the winder has taken all that was before it.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from clew.line.tracker.clocks import RunClock
from clew.line.tracker.terms import TrackTerms
from clew.line.tracker.winding import Stretch, Winding


@dataclass(frozen=True, slots=True)
class InBall:
    """A place in a ball.

    Attributes
    ----------
    ball : int
        Number of the ball.
    turn : float
        Flyer turn of it [-].
    in_ball_m : float
        Metres of the ball before the place [m], as wound.
    waste : bool
        Whether the strand went past the ball there.
    """

    ball: int
    turn: float
    in_ball_m: float
    waste: bool = False


def landing_m(fed_m: float, content_m: float, raw_per_laid: float) -> float:
    """Where a tie lands, in metres wound since the log began, when all is exact.

    Parameters
    ----------
    fed_m : float
        Where the feed's log stood when the tie passed it [m, raw].
    content_m : float
        Strand between creel and winder when the log began [m, raw].
    raw_per_laid : float
        Raw metres in a metre as wound [-].

    Returns
    -------
    float
        (a + c)/k [m, as wound].

    Notes
    -----
    Source: DERIVED, no metre is lost.
    """
    return (fed_m + content_m) / raw_per_laid


def stretches_to(winding: Winding, terms: TrackTerms, to_m: float) -> list[Stretch]:
    """Stretches wound so far and those to come, full ball after full ball.

    Parameters
    ----------
    winding : Winding
        What was wound.
    terms : TrackTerms
        The line.
    to_m : float
        How far to go on, in metres wound since the log began [m].

    Returns
    -------
    list of Stretch
        In order, without gaps; the last one reaches beyond ``to_m``.
    """
    found = list(winding.stretches)
    full = terms.full_m(winding.lane)
    at, ball, in_ball = found[-1].to_m, winding.ball, winding.in_ball_m
    while True:
        left = max(full - in_ball, 0.0)
        if left > 0.0:
            found.append(Stretch(at, at + left, ball, in_ball))
            at += left
        ball, in_ball = ball + 1, 0.0
        if at > to_m:
            return found


def in_ball(stretches: list[Stretch], wound_m: float, terms: TrackTerms) -> InBall:
    """Find the ball and turn at which a metre of strand is wound.

    Parameters
    ----------
    stretches : list of Stretch
        As `stretches_to` gives them, far enough.
    wound_m : float
        The metre, in metres wound since the log began [m]; before the log it is held at its start.
    terms : TrackTerms
        The line.

    Returns
    -------
    InBall
        A metre where one ball ends is the next one's first.
    """
    place = bisect_right([one.from_m for one in stretches], wound_m) - 1
    one = stretches[max(place, 0)]
    beyond = 0.0 if one.waste else min(max(wound_m, one.from_m), one.to_m) - one.from_m
    laid = one.in_ball_m + beyond
    return InBall(one.ball, terms.turns_of(laid), laid, one.waste)


def station_at(laid_s: float, now_s: float, belt: RunClock, terms: TrackTerms) -> str:
    """Name the station at which strand laid down at one time lies at another.

    Parameters
    ----------
    laid_s, now_s : float
        When it was laid down, and the moment that is asked about [s].
    belt : RunClock
        When the belt ran.
    terms : TrackTerms
        The line.

    Returns
    -------
    str
        A station of the belt, or ``buffer`` beyond its end.
    """
    gone_s = belt.reading_s(now_s) - belt.reading_s(laid_s)
    for name, takes_s in terms.stations:
        if gone_s < takes_s:
            return name
        gone_s -= takes_s
    return "belt" if not terms.stations and gone_s < terms.passage_s else "buffer"
