"""The best cutting plan as one compiled sweep along the strand, in whole numbers.

Positions are whole nanometres and money is a whole number of very small coins, so that ties are
ties and nothing depends on rounding. The value still to be had from a place on the strand is a
staircase; the sweep walks its steps from the strand's end to its head and keeps only the steps of
one ball length, and the stretches from which a gap is best, with the place each leads to. Where
there is no gap there is a ball, so that the plan is read off them from the head on.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

FIRST_ROOM = 1024


@njit(cache=True)
def _with_gap(
    gaps: NDArray[np.int64], found: int, low: int, high: int, to: int
) -> NDArray[np.int64]:
    """Write one more stretch of gaps, in a longer table when this one is full."""
    if found == gaps.shape[0]:
        longer = np.empty((2 * found, 3), dtype=np.int64)
        longer[:found] = gaps
        gaps = longer
    gaps[found, 0], gaps[found, 1], gaps[found, 2] = low, high, to
    return gaps


@njit(cache=True)
def _with_room(steps: NDArray[np.int64], ahead: int, last: int) -> NDArray[np.int64]:
    """Steps still needed moved to the front, in a longer table when most still are."""
    kept = last + 1 - ahead
    room = steps.shape[1]
    moved = np.empty((2, room if 2 * kept <= room else 2 * room), dtype=np.int64)
    moved[:, :kept] = steps[:, ahead : last + 1]
    return moved


@njit(cache=True)
def sweep(
    first_from: NDArray[np.int64],
    first_to: NDArray[np.int64],
    strand: int,
    ball: int,
    reward_first: int,
    reward_second: int,
    parting: int,
) -> tuple[int, NDArray[np.int64], int]:
    """Value of the best plan, and where in it a gap is best.

    Parameters
    ----------
    first_from, first_to : array of int, shape (a,)
        First and last start of each stretch of first-quality starts [nm], ascending.
    strand, ball : int
        Lengths of strand and ball [nm], ball not above strand.
    reward_first, reward_second : int
        What a ball of either grade brings over dropping its yarn [coins], not negative.
    parting : int
        Cost of a gap before a ball [coins], not negative.

    Returns
    -------
    value : int
        Best total [coins].
    gaps : array of int, shape (g, 3)
        Stretches of places from which a gap is best, from the strand's end to its head: lowest and
        highest place, and where the gap ends [nm].
    most_steps : int
        Most steps of the staircase kept at once.

    Notes
    -----
    Source: DERIVED (see the manual, "The cutting plan"). F(s) = max(b(s), G(s) - parting), with
    b(s) = reward(s) + F(s + ball) and G(s) the largest b from s on; F = 0 where no ball fits.
    """
    steps = np.empty((2, FIRST_ROOM), dtype=np.int64)  # lowest place, worth
    gaps = np.empty((FIRST_ROOM, 3), dtype=np.int64)
    # The step past the last start: nothing more can be wound.
    low, ahead_worth, new_worth = strand - ball + 1, 0, -1
    steps[0, 0], steps[1, 0] = low, 0
    ahead, last, found, most_steps, room = 0, 0, 0, 1, FIRST_ROOM
    stretch = first_from.shape[0] - 1
    begin, end = (first_from[stretch], first_to[stretch]) if stretch >= 0 else (-1, -1)
    best, best_at, gapping = -1, 0, False
    top = strand - ball
    while top >= 0:
        # Down to `bottom` neither the grade nor the step one ball further on changes.
        while begin > top:
            stretch -= 1
            begin, end = (first_from[stretch], first_to[stretch]) if stretch >= 0 else (-1, -1)
        good = end >= top
        bottom = max(low - ball, begin if good else end + 1)
        worth = ahead_worth + (reward_first if good else reward_second)
        if worth > best:
            best, best_at, gapping = worth, bottom, False
        elif worth < best - parting:
            if gapping and gaps[found - 1, 2] == best_at:
                gaps[found - 1, 0] = bottom
            else:
                gaps = _with_gap(gaps, found, bottom, top, best_at)
                found += 1
            worth, gapping = best - parting, True
        else:
            gapping = False
        if worth != new_worth:
            if last + 1 == room:
                steps = _with_room(steps, ahead, last)
                ahead, last, room = 0, last - ahead, steps.shape[1]
            last += 1
            steps[1, last] = new_worth = worth
            most_steps = max(most_steps, last - ahead + 1)
        steps[0, last] = bottom
        if ahead == last:
            # worth has not changed for a ball's length: the step looked at is the one being made
            low = bottom
        elif low - ball == bottom:
            ahead += 1
            low, ahead_worth = steps[0, ahead], steps[1, ahead]
        top = bottom - 1
    return new_worth, gaps[:found].copy(), most_steps


@njit(cache=True)
def starts_of(gaps: NDArray[np.int64], strand: int, ball: int) -> NDArray[np.int64]:
    """Read the best plan off its gaps.

    Parameters
    ----------
    gaps : array of int, shape (g, 3)
        As `sweep` gives them [nm].
    strand, ball : int
        Lengths of strand and ball [nm].

    Returns
    -------
    array of int, shape (balls,)
        Starts of the balls [nm], ascending.
    """
    starts = np.empty(strand // ball, dtype=np.int64)
    balls, at, gap = 0, 0, gaps.shape[0] - 1
    while at + ball <= strand:
        while gap >= 0 and gaps[gap, 1] < at:
            gap -= 1
        if gap >= 0 and gaps[gap, 0] <= at:
            at = gaps[gap, 2]
        starts[balls] = at
        balls += 1
        at += ball
    return starts[:balls].copy()


@njit(cache=True)
def part_at_offences(
    left: NDArray[np.int64],
    right: NDArray[np.int64],
    strand: int,
    ball: int,
    limit: int,
    piece: int,
) -> tuple[NDArray[np.int64], int]:
    """Starts of a winder that parts at every offending join and drops what is wound.

    Parameters
    ----------
    left, right : array of int, shape (n,)
        Where joins begin and end [nm], ascending.
    strand, ball, piece : int
        Lengths of strand, ball and shortest allowed piece [nm].
    limit : int
        Most joins in a first-quality ball.

    Returns
    -------
    array of int, shape (balls,)
        Starts of the balls [nm].
    int
        How often the strand was parted; offences one after another are a parting each.
    """
    starts = np.empty(strand // ball, dtype=np.int64)
    balls, cuts, at, join = 0, 0, 0, 0
    while at + ball <= strand:
        while join < left.shape[0] and right[join] <= at:
            join += 1
        offence, before = -1, at
        one = join
        while one < left.shape[0] and left[one] < at + ball:
            short = max(left[one] - before, 0) < piece or max(at + ball - right[one], 0) < piece
            if one - join + 1 > limit or short:
                offence = one
                break
            before = right[one]
            one += 1
        if offence >= 0:
            at = right[offence]
            cuts += 1
        else:
            starts[balls] = at
            balls += 1
            at += ball
    return starts[:balls].copy(), cuts
