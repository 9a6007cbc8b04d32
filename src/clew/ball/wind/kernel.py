"""The turn-by-turn winding of a ball, compiled: lay one turn, let it slide, go on.

The ball is the same north and south of its equator and the same all round, so its surface is held
as bands of equal height in latitude from the equator to one pole. Each band holds one number, the
mean of R^3 over the band, because yarn laid in the band raises exactly that: dV = (4 pi / 3) d(q)
d(sin psi), counted for both hemispheres. Nothing here is checked; `clew.ball.wind.build` does that.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from clew.ball.wind.job import Job, Wound
from clew.ball.wind.mandrel import Bands

Floats = NDArray[np.float64]


class _Table(NamedTuple):
    """Arrays to work on, one value a band: volume laid and kept, R^3, and those of the sliding."""

    volume: Floats
    cubed: Floats
    given: Floats
    best: Floats
    knots: Floats


@njit(cache=True)
def _radius_at(radius: Floats, place: float) -> float:
    """Read the radius at a place counted in bands from the first band's middle, true on a ridge.

    A straight line between two middles cuts a ridge off, and a coil turns back on a ridge of its
    own making. The slopes on either side, carried on, meet at its top.
    """
    bands = radius.size
    place = min(max(place, 0.0), bands - 1.0)
    i = min(int(place), bands - 2)
    line: float = radius[i] + (place - i) * (radius[i + 1] - radius[i])
    if i < 1 or i > bands - 3:
        return line
    inner: float = radius[i] + (place - i) * (radius[i] - radius[i - 1])
    outer: float = radius[i + 1] + (place - i - 1) * (radius[i + 2] - radius[i + 1])
    return max(line, min(inner, outer))


@njit(cache=True)
def _squared_slopes(radius: Floats, step_rad: float, slope2: Floats) -> None:
    """Find the mean of (dR/(R d latitude))^2 about each band edge.

    It is g^2 + (g_before - g)(g - g_after) where that is more than g^2. On a smooth surface this is
    g^2 to second order; on a ridge or in a valley it is the mean of the two flanks, which g misses.
    """
    bands = radius.size
    before = 0.0
    here = 2.0 * (radius[1] - radius[0]) / (step_rad * (radius[0] + radius[1]))
    slope2[0] = here * here
    for edge in range(1, bands):
        after = 0.0
        if edge + 1 < bands:
            both = radius[edge] + radius[edge + 1]
            after = 2.0 * (radius[edge + 1] - radius[edge]) / (step_rad * both)
        slope2[edge] = here * here + max(0.0, (before - here) * (here - after))
        before = here
        here = after
    slope2[bands] = 0.0


@njit(cache=True)
def _lay(
    bands: Bands, radius: Floats, slope2: Floats, pose: tuple[float, float], laid_mm: Floats
) -> float:
    """Measure one whole turn on a surface, band by band; return its length [mm].

    `pose` is the tilt [rad] and the inverse wind ratio. On the flyer's great circle
    sin(psi) = sin(b) sin(theta), so the turn spends the exact time d(theta) in a band and crosses
    it four times. Its speed per radian of flyer turn is
    R sqrt(1 - 2 cos(b)/r + cos^2(psi)/r^2 + (dR/(R d psi))^2 (sin^2 b - sin^2 psi)/cos^2(psi)),
    without a longitude, hence without the unwrapping of an angle. Inside a band the speed is taken
    linear in sin(psi) and integrated over theta exactly, which keeps second order at the apex of
    the coil, where theta goes as the square root of the latitude still to climb. What lies off the
    middle of a band is shared with its neighbour, so that the centroid stays true.
    """
    tilt_rad, inverse = pose
    sin_tilt = math.sin(tilt_rad)
    steady = 1.0 - 2.0 * math.cos(tilt_rad) * inverse
    count = radius.size
    laid_mm[:] = 0.0
    total = 0.0
    s_low = 0.0
    theta_low = 0.0
    climb_low = sin_tilt
    square = steady + inverse * inverse + slope2[0] * sin_tilt * sin_tilt
    speed_low = radius[0] * math.sqrt(max(square, 0.0))
    for band in range(count):
        s_high = bands.sin_edge[band + 1]
        apex = band == count - 1 or s_high >= sin_tilt
        if apex:
            s_high = sin_tilt
            theta_high = 0.5 * math.pi
            climb_high = 0.0
            r_high = _radius_at(radius, tilt_rad / bands.step_rad - 0.5)
        else:
            theta_high = math.asin(s_high / sin_tilt)
            climb_high = math.sqrt(sin_tilt * sin_tilt - s_high * s_high)
            r_high = _radius_at(radius, band + 0.5)
        cos2 = 1.0 - s_high * s_high
        square = steady + cos2 * inverse * inverse
        if not apex:
            square += slope2[band + 1] * climb_high * climb_high / cos2
        speed_high = r_high * math.sqrt(max(square, 0.0))
        turned = theta_high - theta_low
        # mean of sin(psi) over theta, as a share of the band: at least half, for the sine is hollow
        risen = (s_high - s_low) * turned
        mean = 0.5
        if risen > 0.0:
            mean = min(max((climb_low - climb_high - s_low * turned) / risen, 0.5), 1.0)
        length = 4.0 * turned * (speed_low + (speed_high - speed_low) * mean)
        total += length
        off = s_low + mean * (s_high - s_low) - bands.sin_mid[band]
        neighbour = band + 1 if off > 0.0 else band - 1
        if 0 <= neighbour < count:
            moved = length * off / (bands.sin_mid[neighbour] - bands.sin_mid[band])
            laid_mm[neighbour] += moved
            length -= moved
        laid_mm[band] += length
        if apex:
            break
        s_low = s_high
        theta_low = theta_high
        climb_low = climb_high
        speed_low = speed_high
    return total


@njit(cache=True)
def _seek(bands: Bands, table: _Table, order: NDArray[np.int64]) -> None:
    """Find, along a run of bands, each band's best R^3 given only those before it in the run.

    The least of the sum over the run so far has, as a function of the last band's R^3, a derivative
    made of straight pieces that rises through zero. Between bands it is split at its zero, and the
    two sides are moved apart by the limit. `knots` holds where a piece ends and by how much slope
    and offset change there: rows 0-2 left of the zero, nearest last, rows 3-5 right of it; the
    stretching of each side is kept in one number.
    """
    limit, knots = bands.limit, table.knots
    n_left = 0
    n_right = 0
    left = 1.0
    right = 1.0
    for i in order:
        slope = bands.coef[i]
        offset = table.given[i]
        zero = offset / slope
        if n_right > 0 and zero > knots[3, n_right - 1] * right:
            while n_right > 0 and zero > knots[3, n_right - 1] * right:
                n_right -= 1
                d_slope = knots[4, n_right] / right
                slope += d_slope
                offset += knots[5, n_right]
                zero = offset / slope
                knots[0, n_left] = knots[3, n_right] * right / left
                knots[1, n_left] = d_slope * left
                knots[2, n_left] = knots[5, n_right]
                n_left += 1
        else:
            while n_left > 0 and zero < knots[0, n_left - 1] * left:
                n_left -= 1
                d_slope = knots[1, n_left] / left
                slope -= d_slope
                offset -= knots[2, n_left]
                zero = offset / slope
                knots[3, n_right] = knots[0, n_left] * left / right
                knots[4, n_right] = d_slope * right
                knots[5, n_right] = knots[2, n_left]
                n_right += 1
        table.best[i] = zero
        left /= limit
        right *= limit
        knots[0, n_left] = zero / limit / left
        knots[1, n_left] = -slope * limit * left
        knots[2, n_left] = -offset
        n_left += 1
        knots[3, n_right] = zero * limit / right
        knots[4, n_right] = slope / limit * right
        knots[5, n_right] = offset
        n_right += 1


@njit(cache=True)
def _relax(bands: Bands, table: _Table, order: NDArray[np.int64], cap: float) -> float:
    """Slide the yarn of a run of bands until no slope is over the limit; return what runs over.

    `order` names the bands of the run one after the other, in either direction. The settled surface
    is the one minimum of sum(coef q^2 / 2 - given q) under q[i] <= limit q[i +- 1]: its multipliers
    are the volumes that cross from band to band, which are downhill only, and only where the slope
    stands at its limit. It is found exactly, in one pass along the run and one back. `cap` bounds
    the last band, beyond which yarn falls over the mandrel's edge.
    """
    q, best, limit = table.cubed, table.best, bands.limit
    settled = True
    before = -1
    for i in order:
        q[i] = table.given[i] / bands.coef[i]
        if before >= 0 and (q[i] > limit * q[before] or q[before] > limit * q[i]):
            settled = False
        before = i
    if settled and q[before] <= cap:
        return 0.0
    _seek(bands, table, order)
    after = order[order.size - 1]
    over = best[after] > cap
    q[after] = min(best[after], cap)
    lost = table.given[after] - bands.coef[after] * q[after]
    for k in range(order.size - 2, -1, -1):
        i = order[k]
        q[i] = min(max(best[i], q[after] / limit), q[after] * limit)
        lost += table.given[i] - bands.coef[i] * q[i]
        after = i
    return max(lost, 0.0) if over else 0.0


@njit(cache=True)
def _shed(bands: Bands, table: _Table, first: int, past: int) -> float:
    """Take what lies on the steep run to its feet; return what the crest may send either way."""
    given, bare, coef = table.given, bands.bare, bands.coef
    given[:] = table.volume
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


@njit(cache=True)
def _settle_sides(bands: Bands, table: _Table, first: int, past: int, on_crest: float) -> None:
    """Settle the yarn either side of the steep run, with what runs over it from side to side.

    What lies on the crest goes down the inner side until that reaches up to it, the rest down the
    outer side. A side that has grown higher than the edge by the limit runs over it.
    """
    count = table.cubed.size
    given, bare, limit = table.given, bands.bare, bands.limit
    inner = np.arange(first)
    outer = np.arange(count - 1, past - 1, -1)
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


@njit(cache=True)
def _shorten(bands: Bands, q: Floats, steep: NDArray[np.int64]) -> bool:
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


@njit(cache=True)
def _settle(bands: Bands, table: _Table, steep: NDArray[np.int64]) -> None:
    """Turn the volumes of the bands, just laid, into the settled surface.

    A bare band of the mandrel steeper than the slide rule keeps nothing: what is laid on it slides
    to its foot. Such bands form one run round the mandrel's edge. As the ball rises over the foot
    the run gets shorter, never longer; the turn is then settled again with the shorter run.
    """
    again = True
    while again:
        first, past = steep[0], steep[1]
        if first == past:
            table.given[:] = table.volume
            _relax(bands, table, np.arange(table.cubed.size), math.inf)
            return
        on_crest = _shed(bands, table, first, past)
        _settle_sides(bands, table, first, past, on_crest)
        again = _shorten(bands, table.cubed, steep)


@njit(cache=True)
def _middle_of_turn(before: Floats, now: Floats, radius: Floats) -> None:
    """Move the radii to the middle of the coming turn, from the growth of the turn before."""
    for i in range(now.size):
        middle = 1.5 * now[i] - 0.5 * before[i]
        for _ in range(2):  # Halley's cube root, from the radius of the turn before
            cube = radius[i] * radius[i] * radius[i]
            radius[i] *= (cube + 2.0 * middle) / (2.0 * cube + middle)


@njit(cache=True)
def wind_turns(bands: Bands, steep: NDArray[np.int64], job: Job) -> Wound:
    """Wind until the turns or the length of the job are reached.

    Parameters
    ----------
    bands : Bands
        The bare surface.
    steep : ndarray of int, shape (2,)
        The run of it that holds no yarn; shortened in place as the ball grows.
    job : Job
        What to wind.

    Returns
    -------
    Wound
        What was wound.
    """
    count = bands.bare.size
    most = job.tilt_rad.size
    turn_mm = np.zeros(most)
    across_mm = np.zeros(most)
    table = _Table(
        np.zeros(count),
        bands.bare.copy(),
        np.zeros(count),
        np.zeros(count),
        np.zeros((6, 2 * count)),
    )
    q = table.cubed
    before = bands.bare.copy()
    radius = bands.bare ** (1.0 / 3.0)
    reach = np.sqrt(1.0 - bands.sin_mid**2)
    reach[0] = 1.0  # the first band reaches the equator itself
    slope2 = np.zeros(count + 1)
    laid_mm = np.zeros(count)
    kept = np.zeros((job.keep_at.size, count))
    next_keep = 0
    wound = 0.0
    done_mm = 0.0
    slid = 0.0
    begun = 0
    while begun < most and wound < job.turns and done_mm < job.length_mm:
        turn = begun
        begun += 1
        while next_keep < job.keep_at.size and job.keep_at[next_keep] <= turn:
            kept[next_keep] = q
            next_keep += 1
        _middle_of_turn(before, q, radius)
        _squared_slopes(radius, bands.step_rad, slope2)
        across_mm[turn] = 2.0 * np.max(radius * reach)
        pose = (job.tilt_rad[turn], job.inverse_ratio)
        whole_mm = _lay(bands, radius, slope2, pose, laid_mm)
        share = min(1.0, job.turns - wound)
        if done_mm + share * whole_mm >= job.length_mm:
            share = (job.length_mm - done_mm) / whole_mm
        before[:] = q
        for i in range(count):
            table.volume[i] = bands.coef[i] * q[i] + job.area_mm2 * share * laid_mm[i]
        _settle(bands, table, steep)
        for i in range(count):
            slid += 0.5 * abs(bands.coef[i] * q[i] - table.volume[i])
        turn_mm[turn] = share * whole_mm
        wound += share
        # after a part of a turn the end is reached, whatever the last digit of the sum says
        done_mm = done_mm + whole_mm if share == 1.0 else math.inf
    while next_keep < job.keep_at.size:
        kept[next_keep] = q
        next_keep += 1
    return Wound(wound, turn_mm[:begun], across_mm[:begun], q, kept, slid)
