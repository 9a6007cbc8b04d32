"""The turn-by-turn winding of a ball, compiled: lay one turn, let it slide, go on.

What is compiled here is kept with what it calls: after a change of `clew.ball.wind.sliding_kernel`
this file must be touched too.

The ball is the same north and south of its equator and the same all round, so its surface is held
as bands of equal height in latitude from the equator to one pole. Each band holds one number, the
mean of R^3 over the band, because yarn laid in the band raises exactly that: dV = (4 pi / 3) d(q)
d(sin psi), counted for both hemispheres. Nothing here is checked; `clew.ball.wind.build` does that.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from clew.ball.wind.job import Course, Floats, Job, Table, Whole, Wound
from clew.ball.wind.mandrel import Bands
from clew.ball.wind.sliding_kernel import settle


@njit(cache=True, error_model="numpy")
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


@njit(cache=True, error_model="numpy", forceinline=True)
def _slopes(radius: Floats, step_rad: float, table: Table) -> None:
    """Find the mean of (dR/(R d latitude))^2 about each band edge, and the radius on it.

    The mean is g^2 + (g_before - g)(g - g_after) where that is more than g^2. On a smooth surface
    this is g^2 to second order; on a ridge or in a valley it is the mean of the two flanks, which g
    misses. The radius is `_radius_at` half-way between two middles.
    """
    bands = radius.size
    slope, slope2, on_edge = table.edges[0], table.edges[1], table.edges[2]
    for edge in range(1, bands):
        rise = radius[edge] - radius[edge - 1]
        slope[edge] = 2.0 * rise / (step_rad * (radius[edge - 1] + radius[edge]))
        on_edge[edge] = radius[edge - 1] + 0.5 * rise
    for edge in range(2, bands - 1):
        inner = radius[edge - 1] + 0.5 * (radius[edge - 1] - radius[edge - 2])
        outer = radius[edge] - 0.5 * (radius[edge + 1] - radius[edge])
        on_edge[edge] = max(on_edge[edge], min(inner, outer))
    on_edge[0] = radius[0]
    slope2[0] = slope[1] * slope[1]
    for edge in range(1, bands):
        here = slope[edge]
        bend = (slope[edge - 1] - here) * (here - slope[edge + 1])
        slope2[edge] = here * here + max(0.0, bend)


@njit(cache=True, error_model="numpy")
def _chart(bands: Bands, tilt_rad: float, inverse: float, way: Floats) -> int:
    """Work out what a turn of one tilt is on any surface; return the band of its apex.

    On the flyer's great circle sin(psi) = sin(b) sin(theta), so the turn spends the exact time
    d(theta) in a band and crosses it four times. Rows of `way`, by edge or by band: the square of
    the speed on a sphere of radius 1, the steepness (sin^2 b - sin^2 psi)/cos^2(psi), four times
    the time, the mean of sin(psi) over theta as a share of the band, and the part that a neighbour
    is given because that mean lies off the band's middle: more than 0 up, less than 0 down.
    """
    speed2, steepness, turned, share, part = way[0], way[1], way[2], way[3], way[4]
    count = bands.bare.size
    sin_tilt = math.sin(tilt_rad)
    steady = 1.0 - 2.0 * math.cos(tilt_rad) * inverse
    s_low = 0.0
    theta_low = 0.0
    climb_low = sin_tilt
    steepness[0] = sin_tilt * sin_tilt
    speed2[0] = steady + inverse * inverse
    for band in range(count):
        s_high = bands.sin_edge[band + 1]
        apex = band == count - 1 or s_high >= sin_tilt
        if apex:
            s_high = sin_tilt
            theta_high = 0.5 * math.pi
            climb_high = 0.0
        else:
            theta_high = math.asin(s_high / sin_tilt)
            climb_high = math.sqrt(sin_tilt * sin_tilt - s_high * s_high)
        cos2 = 1.0 - s_high * s_high
        steepness[band + 1] = climb_high * climb_high / cos2
        speed2[band + 1] = steady + cos2 * inverse * inverse
        time = theta_high - theta_low
        turned[band] = 4.0 * time
        # at least half, for the sine is hollow
        risen = (s_high - s_low) * time
        share[band] = 0.5
        if risen > 0.0:
            mean = (climb_low - climb_high - s_low * time) / risen
            share[band] = min(max(mean, 0.5), 1.0)
        off = s_low + share[band] * (s_high - s_low) - bands.sin_mid[band]
        part[band] = 0.0
        if off > 0.0 and band + 1 < count:
            part[band] = off / (bands.sin_mid[band + 1] - bands.sin_mid[band])
        elif off < 0.0 and band > 0:
            part[band] = off / (bands.sin_mid[band] - bands.sin_mid[band - 1])
        if apex:
            return band
        s_low = s_high
        theta_low = theta_high
        climb_low = climb_high
    return count - 1


@njit(cache=True, error_model="numpy", forceinline=True)
def _lay(
    bands: Bands, radius: Floats, course: Course, place: tuple[int, float], table: Table
) -> float:
    """Measure one whole turn on a surface, band by band; return its length [mm].

    `place` is the turn's row in the course and its tilt [rad]. Its speed per radian of flyer turn
    is R sqrt(1 - 2 cos(b)/r + cos^2(psi)/r^2 + (dR/(R d psi))^2 (sin^2 b - sin^2 psi)/cos^2(psi)),
    without a longitude, hence without the unwrapping of an angle. Inside a band the speed is taken
    linear in sin(psi) and integrated over theta exactly, which keeps second order at the apex of
    the coil, where theta goes as the square root of the latitude still to climb. What lies off the
    middle of a band is shared with its neighbour, so that the centroid stays true.
    """
    row, tilt_rad = place
    if course.tilt_rad[row] != tilt_rad:
        course.apex[row] = _chart(bands, tilt_rad, course.inverse_ratio, course.way[row])
        course.tilt_rad[row] = tilt_rad
    way, apex = course.way[row], course.apex[row]
    speed2, steepness, turned, share, part = way[0], way[1], way[2], way[3], way[4]
    slope2, on_edge, speed = table.edges[1], table.edges[2], table.edges[3]
    length, laid_mm, up, down = table.laid[0], table.laid[1], table.laid[2], table.laid[3]
    for edge in range(apex + 1):
        steep2 = speed2[edge] + slope2[edge] * steepness[edge]
        speed[edge] = on_edge[edge] * math.sqrt(max(steep2, 0.0))
    at_apex = _radius_at(radius, tilt_rad / bands.step_rad - 0.5)
    speed[apex + 1] = at_apex * math.sqrt(max(speed2[apex + 1], 0.0))
    for band in range(apex + 1):
        mean = speed[band] + (speed[band + 1] - speed[band]) * share[band]
        length[band] = turned[band] * mean
        moved = length[band] * part[band]
        laid_mm[band] = length[band] - abs(moved)
        up[band + 1] = max(moved, 0.0)
        down[band] = max(-moved, 0.0)
    total = 0.0
    for band in range(apex + 1):
        total += length[band]
    down[apex + 1] = 0.0
    for band in range(apex + 1):
        laid_mm[band] = up[band] + laid_mm[band] + down[band + 1]
    for band in range(apex + 1, radius.size):
        laid_mm[band] = 0.0
    if apex + 1 < radius.size:
        laid_mm[apex + 1] = up[apex + 1]
    return total


@njit(cache=True, error_model="numpy", forceinline=True)
def _middle_of_turn(before: Floats, now: Floats, radius: Floats) -> None:
    """Move the radii to the middle of the coming turn, from the growth of the turn before."""
    for i in range(now.size):
        middle = 1.5 * now[i] - 0.5 * before[i]
        # Halley's cube root, twice, from the radius of the turn before
        near = radius[i]
        cube = near * near * near
        near *= (cube + 2.0 * middle) / (2.0 * cube + middle)
        cube = near * near * near
        radius[i] = near * ((cube + 2.0 * middle) / (2.0 * cube + middle))


@njit(cache=True, error_model="numpy")
def wind_turns(bands: Bands, steep: Whole, job: Job, course: Course, table: Table) -> Wound:
    """Wind until the turns or the length of the job are reached.

    Parameters
    ----------
    bands : Bands
        The bare surface.
    steep : ndarray of int, shape (2,)
        The run of it that holds no yarn; shortened in place as the ball grows.
    job : Job
        What to wind.
    course : Course
        The turns by themselves; what is not yet known of them is filled in, for the next job.
    table : Table
        Room to work in, fresh.

    Returns
    -------
    Wound
        What was wound.
    """
    count = bands.bare.size
    most = course.row.size
    turn_mm = np.zeros(most)
    across_mm = np.zeros(most)
    q, laid_mm = table.cubed, table.laid[1]
    before = bands.bare.copy()
    radius = bands.bare ** (1.0 / 3.0)
    reach = np.sqrt(1.0 - bands.sin_mid**2)
    reach[0] = 1.0  # the first band reaches the equator itself
    kept = np.empty((job.keep_at.size, count))
    kept_slid = np.empty(job.keep_at.size)
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
            kept_slid[next_keep] = slid
            next_keep += 1
        _middle_of_turn(before, q, radius)
        _slopes(radius, bands.step_rad, table)
        widest = 0.0
        for i in range(count):
            widest = max(widest, radius[i] * reach[i])
        across_mm[turn] = 2.0 * widest
        whole_mm = _lay(bands, radius, course, (course.row[turn], course.turn_rad[turn]), table)
        share = min(1.0, job.turns - wound)
        if done_mm + share * whole_mm >= job.length_mm:
            share = (job.length_mm - done_mm) / whole_mm
        for i in range(count):
            before[i] = q[i]
            table.volume[i] = bands.coef[i] * q[i] + job.area_mm2 * share * laid_mm[i]
        settle(bands, table, steep)
        if job.keep_at.size > 0:
            for i in range(count):
                slid += 0.5 * abs(bands.coef[i] * q[i] - table.volume[i])
        turn_mm[turn] = share * whole_mm
        wound += share
        # after a part of a turn the end is reached, whatever the last digit of the sum says
        done_mm = done_mm + whole_mm if share == 1.0 else math.inf
    while next_keep < job.keep_at.size and job.keep_at[next_keep] <= begun:
        kept[next_keep] = q
        kept_slid[next_keep] = slid
        next_keep += 1
    return Wound(
        wound, turn_mm[:begun], across_mm[:begun], q, slid, kept[:next_keep], kept_slid[:next_keep]
    )
