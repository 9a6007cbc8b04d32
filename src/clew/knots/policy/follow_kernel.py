"""Policies followed along a strand, compiled; positions in whole nanometres."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)
def _keeps_rule(
    start: int,
    end: int,
    left: NDArray[np.int64],
    right: NDArray[np.int64],
    known: int,
    limit: int,
    piece: int,
) -> bool:
    """Whether a ball is first-quality as far as the first `known` joins say."""
    one = np.searchsorted(right, start, side="right")
    joins, before = 0, start
    while one < known and left[one] < end:
        joins += 1
        if joins > limit or max(left[one] - before, 0) < piece:
            return False
        before = right[one]
        one += 1
    return max(end - before, 0) >= piece


@njit(cache=True)
def keep_rule(
    starts: NDArray[np.int64],
    left: NDArray[np.int64],
    right: NDArray[np.int64],
    ball: int,
    limit: int,
    piece: int,
) -> NDArray[np.bool_]:
    """Which balls are first-quality.

    Parameters
    ----------
    starts : array of int, shape (balls,)
        Starts of the balls [nm].
    left, right : array of int, shape (n,)
        Where joins begin and end [nm], ascending.
    ball, piece : int
        Lengths of ball and least piece [nm].
    limit : int
        Most joins in a first-quality ball.

    Returns
    -------
    array of bool, shape (balls,)
        Whether each is.
    """
    good = np.empty(starts.shape[0], dtype=np.bool_)
    for one in range(starts.shape[0]):
        start = starts[one]
        good[one] = _keeps_rule(start, start + ball, left, right, left.shape[0], limit, piece)
    return good


@njit(cache=True)
def _unseen(
    start: int,
    seen_to: int,
    ball: int,
    left: NDArray[np.int64],
    right: NDArray[np.int64],
    known: int,
    limit: int,
    piece: int,
    cell: float,
    winding_on: NDArray[np.float64],
) -> float:
    """Worth of winding on a ball of which only what lies before `seen_to` is known."""
    one = np.searchsorted(right, start, side="right")
    joins, before, spoilt = 0, start, False
    while one < known and left[one] < seen_to and not spoilt:
        joins += 1
        short = max(left[one] - before, 0) < piece or max(start + ball - right[one], 0) < piece
        spoilt = joins > limit or short
        before = right[one]
        one += 1
    row, run = winding_on.shape[1] - 1, 0
    if not spoilt:
        row = joins
        run = min(int(max(seen_to - before, 0) / cell + 1e-6), winding_on.shape[2] - 1)
    at = min(float((seen_to - start) / cell), float(winding_on.shape[0] - 1))
    below = min(int(at), winding_on.shape[0] - 2)
    part = at - below
    worth = (1.0 - part) * winding_on[below, row, run] + part * winding_on[below + 1, row, run]
    return float(worth)


@njit(cache=True)
def _starts_to_try(
    now: int,
    last: int,
    end_of_ball: int,
    ball: int,
    right: NDArray[np.int64],
    known: int,
    piece: int,
) -> NDArray[np.int64]:
    """Places a run of balls may begin at, and whole balls before and after them, ascending."""
    one = int(np.searchsorted(right, now, side="right"))
    each = (last - now) // ball + 1
    places = np.empty((2 * max(known - one, 0) + 3) * each, dtype=np.int64)
    number = 0
    for base in range(one - 1, known):
        for kind in range(2):
            if base < one:
                place = now if kind == 0 else end_of_ball
            elif kind == 1 and piece == 0:
                continue
            else:
                place = right[base] + (piece - ball if kind == 1 else 0)
            if place < now:
                continue
            place -= (place - now) // ball * ball
            while place <= last:
                places[number] = place
                number += 1
                place += ball
    return np.unique(places[:number])


@njit(cache=True)
def _part_at(
    now: int,
    start: int,
    seen_to: int,
    known: int,
    left: NDArray[np.int64],
    right: NDArray[np.int64],
    strand: int,
    ball: int,
    limit: int,
    piece: int,
    first: float,
    second: float,
    waste: float,
    parting: float,
    cell: float,
    winding_on: NDArray[np.float64],
) -> int:
    """Where the best plan over the strand in sight gives up the ball in hand; -1 for nowhere."""
    whole = seen_to == strand
    last = strand - ball if whole else seen_to
    if last < now:
        return -1
    places = _starts_to_try(now, last, start + ball, ball, right, known, piece)
    if not whole and (places.shape[0] == 0 or places[-1] != seen_to):
        places = np.append(places, seen_to)
    number = places.shape[0]
    started, onward = np.empty(number), np.empty(number)
    most = -np.inf  # best start further on, less the handling up to it
    part, part_worth = -1, -np.inf
    for one in range(number - 1, -1, -1):
        at = places[one]
        if at + ball <= seen_to:
            good = _keeps_rule(at, at + ball, left, right, known, limit, piece)
            after = np.searchsorted(places, at + ball)
            tail = -waste * (strand - at - ball)
            started[one] = (first if good else second) + (onward[after] if after < number else tail)
        elif at == seen_to:
            started[one] = 0.0
        else:
            started[one] = max(
                _unseen(at, seen_to, ball, left, right, known, limit, piece, cell, winding_on),
                -parting - waste * (seen_to - at),
            )
        onward[one] = max(started[one], most + waste * (at - now) - parting)
        if whole:
            onward[one] = max(onward[one], -waste * (strand - at))
        most = max(most, started[one] - waste * (at - now))
        given_up = started[one] - waste * (at - start) - parting
        if at > start and given_up > part_worth:
            part, part_worth = at, given_up
    end = start + ball
    if end <= seen_to:
        good = _keeps_rule(start, end, left, right, known, limit, piece)
        after = np.searchsorted(places, end)
        wound = (first if good else second) + (
            onward[after] if after < number else -waste * (strand - end)
        )
    else:
        wound = _unseen(start, seen_to, ball, left, right, known, limit, piece, cell, winding_on)
        if seen_to > now:
            wound = max(wound, -parting - waste * (seen_to - start))
    return part if part_worth > wound + 1e-12 * (first + parting) else -1


@njit(cache=True)
def roll(
    left: NDArray[np.int64],
    right: NDArray[np.int64],
    strand: int,
    ball: int,
    limit: int,
    piece: int,
    look_ahead: int,
    first: float,
    second: float,
    waste: float,
    parting: float,
    cell: float,
    winding_on: NDArray[np.float64],
) -> tuple[NDArray[np.int64], int, int]:
    """Starts of a winder that solves the strand in sight whenever a join shows.

    Parameters
    ----------
    left, right : array of int, shape (n,)
        Where seen joins begin and end [nm], ascending.
    strand, ball, piece, look_ahead : int
        Lengths of strand, ball, least piece and belt before the winder [nm].
    limit : int
        Most joins in a first-quality ball.
    first, second, parting : float
        Prices and the cost of a parting [money].
    waste : float
        Handling of what is dropped [money/nm].
    cell : float
        Cell of the table [nm].
    winding_on : array of float, shape (cells + 1, limit + 2, piece cells + 1)
        Worth of winding on unseen [money].

    Returns
    -------
    starts : array of int, shape (balls,)
        Starts of the balls [nm].
    partings : int
        Times that what was wound was dropped.
    solved : int
        Times the strand in sight was solved.
    """
    starts = np.empty(strand // ball, dtype=np.int64)
    balls, partings, solved, start, now = 0, 0, 0, 0, 0
    while start + ball <= strand:
        seen_to = min(now + look_ahead, strand)
        if seen_to < strand:
            known = int(np.searchsorted(right, seen_to, side="right"))
        else:
            known = int(np.searchsorted(left, strand))
        part = -1
        if now > start or seen_to > now:
            part = _part_at(
                now, start, seen_to, known, left, right, strand, ball, limit, piece,
                first, second, waste, parting, cell, winding_on,
            )  # fmt: skip
            solved += 1
        if part == now:
            partings += 1
            start = now
            continue
        ahead = start + ball
        if part >= 0:
            ahead = min(ahead, part)
        if seen_to < strand:
            # What happens next: a join shows, or the strand's end does.
            shows = strand if known == right.shape[0] else min(right[known], strand)
            ahead = min(ahead, shows - look_ahead)
            # Behind a join stands the next place to part at, and more is in sight by then.
            passed = np.searchsorted(right, now, side="right")
            if passed < known:
                ahead = min(ahead, right[passed])
        now = ahead
        if now == start + ball:
            starts[balls] = start
            balls += 1
            start = now
    return starts[:balls].copy(), partings, solved


@njit(cache=True)
def follow_thumb(
    left: NDArray[np.int64],
    right: NDArray[np.int64],
    strand: int,
    ball: int,
    limit: int,
    piece: int,
    look_ahead: int,
    drop_most: int,
) -> tuple[NDArray[np.int64], int]:
    """Starts of a winder that parts when a join offends, unless that drops too much.

    Parameters
    ----------
    left, right : array of int, shape (n,)
        Where seen joins begin and end [nm], ascending.
    strand, ball, piece, look_ahead : int
        Lengths of strand, ball, least piece and belt before the winder [nm].
    limit : int
        Most joins in a first-quality ball.
    drop_most : int
        Most to drop at a parting [nm]; negative: never part.

    Returns
    -------
    starts : array of int, shape (balls,)
        Starts of the balls [nm].
    partings : int
        Times that what was wound was dropped.
    """
    starts = np.empty(strand // ball, dtype=np.int64)
    balls, partings, at, join = 0, 0, 0, 0
    while at + ball <= strand:
        while join < left.shape[0] and right[join] <= at:
            join += 1
        offence, before, one = -1, at, join
        while one < left.shape[0] and left[one] < at + ball:
            short = max(left[one] - before, 0) < piece or max(at + ball - right[one], 0) < piece
            if one - join + 1 > limit or short:
                offence = one
                break
            before = right[one]
            one += 1
        start = at
        if offence >= 0:
            shown = max(at, min(right[offence], strand) - look_ahead)
            start = right[offence]
            # Short of that: behind an earlier join, or so that the last piece is just long enough.
            for earlier in range(join, offence + 1):
                behind = right[earlier] if earlier < offence else right[offence] + piece - ball
                other = max(behind, shown)
                if at < other < start and _keeps_rule(
                    other, other + ball, left, right, offence + 1, limit, piece
                ):
                    start = other
        if start > at and start - at <= drop_most:
            partings += 1
            at = start
        else:
            starts[balls] = at
            balls += 1
            at += ball
    return starts[:balls].copy(), partings
