"""The best cutting plan as one compiled sweep along the strand, in whole numbers.

Positions are whole nanometres and money is a whole number of very small coins, so that ties are
ties and nothing depends on rounding. The value still to be had from a place on the strand is a
staircase; the sweep walks its steps from the strand's end to its head and keeps only the steps of
one ball length, and one link of a chain for every place that a gap may lead to.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

FIRST_ROOM = 1024


@njit(cache=True)
def _with_link(
    links: NDArray[np.int64], linked: int, at: int, run: int, after: int
) -> NDArray[np.int64]:
    """Write one more link, in a longer table when this one is full."""
    if linked == links.shape[0]:
        longer = np.empty((2 * linked, 3), dtype=np.int64)
        longer[:linked] = links
        links = longer
    links[linked, 0], links[linked, 1], links[linked, 2] = at, run, after
    return links


@njit(cache=True)
def _with_room(steps: NDArray[np.int64], ahead: int, last: int) -> NDArray[np.int64]:
    """Steps still needed moved to the front, in a longer table when most still are."""
    kept = last + 1 - ahead
    room = steps.shape[1]
    moved = np.empty((4, room if 2 * kept <= room else 2 * room), dtype=np.int64)
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
) -> tuple[int, int, int, NDArray[np.int64], int]:
    """Value of the best plan and the plan as runs of balls, joined by gaps.

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
    run : int
        Balls wound back to back from the head of the strand.
    link : int
        Link that follows this run; -1 for none.
    links : array of int, shape (g, 3)
        Per gap: where it ends [nm], balls back to back from there, the link after them.
    most_steps : int
        Most steps of the staircase kept at once.

    Notes
    -----
    Source: DERIVED (see the manual, "The cutting plan"). F(s) = max(b(s), G(s) - parting), with
    b(s) = reward(s) + F(s + ball) and G(s) the largest b from s on; F = 0 where no ball fits.
    """
    # lowest place, worth, run, link of each step; the newest is kept aside, until it ends
    steps = np.empty((4, FIRST_ROOM), dtype=np.int64)
    links = np.empty((FIRST_ROOM, 3), dtype=np.int64)
    # The step past the last start: nothing more can be wound.
    steps[0, 0], steps[1, 0], steps[2, 0], steps[3, 0] = strand - ball + 1, 0, 0, -1
    ahead, last, linked, most_steps, room = 0, 0, 0, 1, FIRST_ROOM
    low, ahead_worth, ahead_run, ahead_link = strand - ball + 1, 0, 0, -1
    new_worth, new_run, new_link = 0, 0, -1
    stretch = first_from.shape[0] - 1
    begin, end = (first_from[stretch], first_to[stretch]) if stretch >= 0 else (-1, -1)
    best, best_at, best_run, best_after, best_link = -1, 0, 0, -1, -1
    top = strand - ball
    while top >= 0:
        # Down to `bottom` neither the grade nor the step one ball further on changes.
        while begin > top:
            stretch -= 1
            begin, end = (first_from[stretch], first_to[stretch]) if stretch >= 0 else (-1, -1)
        good = end >= top
        bottom = max(low - ball, begin if good else end + 1)
        worth = ahead_worth + (reward_first if good else reward_second)
        run, link = ahead_run + 1, ahead_link
        if worth > best:
            best, best_at, best_run, best_after, best_link = worth, bottom, run, link, -1
        elif worth < best - parting:
            if best_link < 0:
                links = _with_link(links, linked, best_at, best_run, best_after)
                best_link = linked
                linked += 1
            worth, run, link = best - parting, 0, best_link
        if worth != new_worth or run != new_run or link != new_link:
            if last + 1 == room:
                steps = _with_room(steps, ahead, last)
                ahead, last, room = 0, last - ahead, steps.shape[1]
            last += 1
            steps[1, last], steps[2, last], steps[3, last] = worth, run, link
            new_worth, new_run, new_link = worth, run, link
            most_steps = max(most_steps, last - ahead + 1)
        steps[0, last] = bottom
        if low - ball == bottom:
            ahead += 1
            low, ahead_worth = steps[0, ahead], steps[1, ahead]
            ahead_run, ahead_link = steps[2, ahead], steps[3, ahead]
        elif ahead == last:
            low = bottom
        top = bottom - 1
    return new_worth, new_run, new_link, links[:linked].copy(), most_steps


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
