"""The yarn that slides, compiled: from volumes just laid to the surface on which nothing moves.

Bands are those of `clew.ball.wind.kernel`; each holds the mean of R^3 over it. Where the slope is
over the limit of the slide rule yarn goes to the lower neighbour, and no further than it must.
"""

from __future__ import annotations

import math

from numba import njit

from clew.ball.wind.job import Floats, Table, Whole
from clew.ball.wind.mandrel import Bands


@njit(cache=True, error_model="numpy")
def _seek(bands: Bands, table: Table, run: tuple[int, int, int]) -> None:
    """Find, along a run of bands, each band's best R^3 given only those before it in the run.

    The least of the sum over the run so far has, as a function of the last band's R^3, a derivative
    made of straight pieces that rises through zero. Between bands it is split at its zero, and the
    two sides are moved apart by the limit. `knots` holds where a piece ends and by how much slope
    and offset change there: rows 0-2 left of the zero, nearest last, rows 3-5 right of it; the
    stretching of each side is kept in one number, a power of the limit. `best` has the zeros of
    the bands alone at first.
    """
    knots, powers, best = table.knots, table.powers, table.best
    first, step, size = run
    n_left = 0
    n_right = 0
    for k in range(size):
        i = first + step * k
        left, right = powers[0, k], powers[1, k]  # one over each other
        slope, offset, zero = bands.coef[i], table.given[i], best[i]
        if n_right > 0 and zero > knots[3, n_right - 1] * right:
            while n_right > 0 and zero > knots[3, n_right - 1] * right:
                n_right -= 1
                d_slope = knots[4, n_right] * left
                slope += d_slope
                offset += knots[5, n_right]
                zero = offset / slope
                knots[0, n_left] = knots[3, n_right] * right * right
                knots[1, n_left] = d_slope * left
                knots[2, n_left] = knots[5, n_right]
                n_left += 1
        elif n_left > 0 and zero < knots[0, n_left - 1] * left:
            while n_left > 0 and zero < knots[0, n_left - 1] * left:
                n_left -= 1
                d_slope = knots[1, n_left] * right
                slope -= d_slope
                offset -= knots[2, n_left]
                zero = offset / slope
                knots[3, n_right] = knots[0, n_left] * left * left
                knots[4, n_right] = d_slope * right
                knots[5, n_right] = knots[2, n_left]
                n_right += 1
        best[i] = zero
        knots[0, n_left], knots[1, n_left], knots[2, n_left] = zero * right, -slope * left, -offset
        knots[3, n_right], knots[4, n_right], knots[5, n_right] = zero * left, slope * right, offset
        n_left += 1
        n_right += 1


@njit(cache=True, error_model="numpy")
def _relax(bands: Bands, table: Table, run: tuple[int, int, int], cap: float) -> float:
    """Slide the yarn of a run of bands until no slope is over the limit; return what runs over.

    `run` is its first band, the step to the next, 1 or -1, and how many there are. The settled
    surface is the one minimum of sum(coef q^2 / 2 - given q) under q[i] <= limit q[i +- 1]: its
    multipliers are the volumes that cross from band to band, which are downhill only, and only
    where the slope stands at its limit. It is found exactly, in one pass along the run and one
    back. `cap` bounds the last band, beyond which yarn falls over the mandrel's edge.
    """
    given, coef, limit = table.given, bands.coef, bands.limit
    first, step, size = run
    inverse = 1.0 / limit
    last = first + step * (size - 1)
    low = min(first, last)
    best = table.best[low : low + size]
    q = table.cubed[low : low + size]
    amount, room = given[low : low + size], coef[low : low + size]
    for i in range(size):
        best[i] = amount[i] / room[i]
    steep = 0
    for i in range(size - 1):
        steep += (best[i + 1] > limit * best[i]) | (best[i] > limit * best[i + 1])
    at_last = table.best[last]
    if steep == 0 and at_last <= cap:
        for i in range(size):
            q[i] = best[i]
        return 0.0
    _seek(bands, table, run)
    at_last = table.best[last]
    way, found = table.best[first::step], table.cubed[first::step]
    after = min(at_last, cap)
    found[size - 1] = after
    for k in range(size - 2, -1, -1):
        after = min(max(way[k], after * inverse), after * limit)
        found[k] = after
    if at_last <= cap:
        return 0.0
    lost = 0.0
    for k in range(size - 1, -1, -1):
        i = first + step * k
        lost += given[i] - coef[i] * table.cubed[i]
    return max(lost, 0.0)


@njit(cache=True, error_model="numpy")
def _shed(bands: Bands, table: Table, first: int, past: int) -> float:
    """Take what lies on the steep run to its feet; return what the crest may send either way."""
    given, bare, coef = table.given, bands.bare, bands.coef
    for i in range(given.size):
        given[i] = table.volume[i]
    on_crest = 0.0
    for i in range(first, past):
        extra = table.volume[i] - coef[i] * bare[i]
        given[i] = coef[i] * bare[i]
        table.cubed[i] = bare[i]
        if i == bands.crest and i == first:
            on_crest = extra
        elif i < bands.turn:
            given[first - 1] += extra
        else:
            given[past] += extra
    return on_crest


@njit(cache=True, error_model="numpy")
def _settle_sides(bands: Bands, table: Table, first: int, past: int, on_crest: float) -> None:
    """Settle the yarn either side of the steep run, with what runs over it from side to side.

    What lies on the crest goes down the inner side until that reaches up to it, the rest down the
    outer side. A side that has grown higher than the edge by the limit runs over it.
    """
    count = table.cubed.size
    given, bare, limit = table.given, bands.bare, bands.limit
    inner = (0, 1, first)
    outer = (count - 1, -1, count - past)
    outer_cap = limit * bare[past - 1] if past == bands.turn else math.inf
    if past == count or (first < bands.turn and first != bands.crest):
        given[first - 1] += on_crest
        if past < count:
            given[first - 1] += _relax(bands, table, outer, outer_cap)
        _relax(bands, table, inner, math.inf)
        return
    given[past] += on_crest
    if first > 0:
        over = _relax(bands, table, inner, limit * bare[first])
        if on_crest > 0.0 and limit * table.cubed[first - 1] < bare[first]:
            given[past] -= on_crest
            given[first - 1] += on_crest
            over = _relax(bands, table, inner, bare[first] / limit)
        given[past] += over
    back = _relax(bands, table, outer, outer_cap)
    if back > 0.0 and first > 0:
        given[first - 1] += back
        _relax(bands, table, inner, math.inf)


@njit(cache=True, error_model="numpy")
def _shorten(bands: Bands, q: Floats, steep: Whole) -> bool:
    """Take a band off an end of the steep run if the ball now reaches up to it."""
    first, past = steep[0], steep[1]
    inner_up = first == 0 or bands.bare[first] <= bands.limit * q[first - 1]
    outer_up = past == q.size or bands.bare[past - 1] <= bands.limit * q[past]
    if inner_up and first < bands.turn and first != bands.crest:
        steep[0] = first + 1
        return True
    if outer_up and past > bands.turn:
        steep[1] = past - 1
        return True
    if inner_up and outer_up and first == bands.crest and past == first + 1:
        steep[0] = past
        return True
    return False


@njit(cache=True, error_model="numpy")
def settle(bands: Bands, table: Table, steep: Whole) -> None:
    """Turn the volumes of the bands, just laid, into the settled surface.

    A bare band of the mandrel steeper than the slide rule keeps nothing: what is laid on it slides
    to its foot. Such bands form one run round the mandrel's edge. As the ball rises over the foot
    the run gets shorter, never longer; the turn is then settled again with the shorter run.
    """
    again = True
    while again:
        first, past = steep[0], steep[1]
        if first == past:
            for i in range(table.given.size):
                table.given[i] = table.volume[i]
            _relax(bands, table, (0, 1, table.cubed.size), math.inf)
            return
        on_crest = _shed(bands, table, first, past)
        _settle_sides(bands, table, first, past, on_crest)
        again = _shorten(bands, table.cubed, steep)
