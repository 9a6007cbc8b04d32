"""The strand in all lanes as one normal distribution, corrected by all that was seen of it.

Let D be the raw metres between the strand that had been fed when the feed's log stood at a, and the
strand taken when the winder's log stood at w:

    D(a, w) = a (1 + f) + F(a) + c - k w (1 + g + t) - T(w)

with the content c when the log began, slip f of the lane's feed, error g of the run's shrink and t
of the winder's turns, k raw metres in a metre as wound, and F, T two walks that start at 0. A tie
fed at a is D raw metres before the winder, and lands where D(a, w) = 0. D is normal for each (a, w)
and all of them together, so whatever is seen of D at one place and time corrects it everywhere.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.line.tracker.terms import TrackDoubt

Floats = NDArray[np.float64]
FLOOR_M = 0.01
"""Least standard deviation of what was seen [m]: a strand is not seen to the millimetre."""


@dataclass(frozen=True, slots=True)
class Sight:
    """Something seen of the strand: so many raw metres were between two places of it.

    Attributes
    ----------
    lane : int
        Lane.
    fed_m, wound_m : float
        Where the feed's and the winder's log stood: a [m, raw] and w [m, as wound].
    between_m, sd_m : float
        What was seen of D(a, w), and its standard deviation [m, raw].
    by : str
        What saw it, where that is off by the same every time in a lane; empty where not.
    off_sd_m : float
        Standard deviation of what it is off by [m, raw].
    """

    lane: int
    fed_m: float
    wound_m: float
    between_m: float
    sd_m: float
    by: str = ""
    off_sd_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Joint:
    """The distribution of D in all lanes, given what was seen.

    Attributes
    ----------
    content_m, raw_per_laid : float
        Expected content c when the log begins [m], and k [-].
    doubt : TrackDoubt
        Spreads beforehand.
    lanes, fed_m, wound_m : ndarray, shape (n,)
        Where something was seen.
    weights : ndarray, shape (n,)
        Inverse of the covariance of what was seen, times what was seen beyond expectation.
    unroot : ndarray, shape (n, n)
        Inverse of the lower Cholesky factor of that covariance.
    """

    content_m: float
    raw_per_laid: float
    doubt: TrackDoubt
    lanes: Floats
    fed_m: Floats
    wound_m: Floats
    weights: Floats
    unroot: Floats

    def between(
        self, lane: int, fed_m: float, wound_m: float, own_sd_m: float = 0.0
    ) -> tuple[float, float]:
        """Raw metres between a place in the strand and the winder: mean and standard deviation.

        Parameters
        ----------
        lane : int
            Lane.
        fed_m, wound_m : float
            a [m, raw] and w [m, as wound].
        own_sd_m : float
            What the place itself is unsure by [m, raw].

        Returns
        -------
        (float, float)
            Mean and standard deviation of D [m, raw].

        Notes
        -----
        mean = a + c - k w + q' (Q + R)^-1 (y - E y), variance = v - q' (Q + R)^-1 q, with Q, q, v
        the covariances of D beforehand and R what each sight is unsure by. Source: the conditional
        normal distribution, MEMORY.
        """
        k, doubt = self.raw_per_laid, self.doubt
        raw = k * wound_m
        mean = fed_m + self.content_m - raw
        var = (
            (doubt.shrink_cv**2 + doubt.turn_cv**2) * raw**2
            + doubt.content_sd_m**2
            + (doubt.feed_cv * fed_m) ** 2
            + doubt.feed_walk_m**2 * abs(fed_m) / 1000.0
            + doubt.wind_walk_m**2 * abs(raw) / 1000.0
        )
        if self.lanes.size:
            one = np.array([float(lane)]), np.array([fed_m]), np.array([wound_m])
            seen = (self.lanes, self.fed_m, self.wound_m)
            across = covariance(seen, one, doubt, k)[:, 0]
            mean += float(across @ self.weights)
            whitened = self.unroot @ across
            var = max(var - float(whitened @ whitened), 0.0)
        return mean, math.sqrt(var + own_sd_m**2)

    def slip(self, lane: int) -> tuple[float, float]:
        """What was learned of feed slip less winding error, f - g - t: mean and sd [-].

        Notes
        -----
        Strand goes missing, or is too much, with this share; which of the two meters is wrong the
        ties cannot tell. Source: the conditional normal distribution, MEMORY.
        """
        doubt, k = self.doubt, self.raw_per_laid
        var = doubt.feed_cv**2 + doubt.shrink_cv**2 + doubt.turn_cv**2
        if not self.lanes.size:
            return 0.0, float(np.sqrt(var))
        same = self.lanes == lane
        across = np.where(same, doubt.feed_cv**2 * self.fed_m, 0.0) + k * self.wound_m * (
            doubt.shrink_cv**2 + np.where(same, doubt.turn_cv**2, 0.0)
        )
        whitened = self.unroot @ across
        left = max(var - float(whitened @ whitened), 0.0)
        return float(across @ self.weights), float(np.sqrt(left))


Places = tuple[Floats, Floats, Floats]


def covariance(one: Places, other: Places, doubt: TrackDoubt, raw_per_laid: float) -> Floats:
    """Covariance of D between places (lane, a, w) before anything was seen [m2].

    Parameters
    ----------
    one, other : tuple of ndarray
        Lanes, a [m, raw] and w [m, as wound].
    doubt : TrackDoubt
        Spreads.
    raw_per_laid : float
        k [-].

    Returns
    -------
    ndarray, shape (n, m)
        k2 g2 w w' + [same lane] (c2 + f2 a a' + k2 t2 w w' + F2 walk(a, a') + T2 walk(k w, k w')),
        where walk is the shorter of two lengths on one side of the origin, and 0 across it.
    """
    same = one[0][:, None] == other[0][None, :]
    fed = one[1][:, None], other[1][None, :]
    raw = raw_per_laid * one[2][:, None], raw_per_laid * other[2][None, :]
    within = (
        doubt.content_sd_m**2
        + doubt.feed_cv**2 * fed[0] * fed[1]
        + doubt.turn_cv**2 * raw[0] * raw[1]
        + doubt.feed_walk_m**2 * _walk(*fed)
        + doubt.wind_walk_m**2 * _walk(*raw)
    )
    found: Floats = doubt.shrink_cv**2 * raw[0] * raw[1] + np.where(same, within, 0.0)
    return found


def _walk(x: Floats, y: Floats) -> Floats:
    """Kilometres that two walks from 0 have in common."""
    common: Floats = np.where(x * y > 0.0, np.minimum(np.abs(x), np.abs(y)), 0.0) / 1000.0
    return common


def joint_of(content_m: float, raw_per_laid: float, doubt: TrackDoubt, seen: list[Sight]) -> Joint:
    """Work out the distribution given everything seen, in all lanes.

    Parameters
    ----------
    content_m, raw_per_laid : float
        Expected content when the log begins [m], and raw metres in a metre as wound [-].
    doubt : TrackDoubt
        Spreads beforehand.
    seen : list of Sight
        What was seen.

    Returns
    -------
    Joint
        The distribution.
    """
    lanes = np.array([float(one.lane) for one in seen])
    fed = np.array([one.fed_m for one in seen])
    wound = np.array([one.wound_m for one in seen])
    beyond = np.array([one.between_m for one in seen]) - (fed + content_m - raw_per_laid * wound)
    places = (lanes, fed, wound)
    noise = np.array([max(one.sd_m, FLOOR_M) ** 2 for one in seen])
    both = covariance(places, places, doubt, raw_per_laid) + np.diag(noise)
    for lane, by in {(one.lane, one.by) for one in seen if one.by}:
        off = np.array([one.off_sd_m if (one.lane, one.by) == (lane, by) else 0.0 for one in seen])
        both += np.outer(off, off)
    root = np.linalg.cholesky(both)
    unroot = np.linalg.inv(root)
    weights = unroot.T @ (unroot @ beyond)
    return Joint(content_m, raw_per_laid, doubt, lanes, fed, wound, weights, unroot)
