"""What must be known of a line to follow ties on it, and how unsure that is."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault

Floats = NDArray[np.float64]
MOST_CV = 0.1
"""Meters more than 10 % wrong cannot be followed: nothing could be said of any ball."""


@dataclass(frozen=True, slots=True)
class TrackTerms:
    """A line as the tracker sees it. Before steam, metres are called raw.

    Attributes
    ----------
    lanes : int
        How many strands run side by side.
    feed_m_per_s : float
        Raw strand laid while the feed runs [m/s].
    wind_m_per_s : float
        Strand a turning winder takes, as wound: steamed and stretched [m/s].
    shrink_frac : float
        Length lost in steam [-].
    strain_frac : float
        Stretch under winding tension [-].
    passage_s : float
        Belt time from lay-down to the belt's end [s].
    buffer_m : float
        Raw strand that the buffer holds at most [m]: more than the steamed metres of a mill file.
    knot_turns, knot_laid_m : ndarray, shape (n,)
        Turns of a ball and the metres laid in them [m], increasing from (0, 0).
    full_turns : mapping of int to float
        Turns at which each lane's winder stops.
    winder_of : mapping of int to int
        Number of each lane's winder; a lane that is left out has its own number.
    stations : tuple of (str, float)
        What the belt passes, and the belt time each takes [s]; they add up to the passage.
    content_m : float
        Raw strand between creel and winder when the log begins [m].
    cone_m : float
        Raw length of a cone [m]; 0 where not known.
    first_ball : int
        Number of the ball on a winder when the log begins, where no event tells it.
    """

    lanes: int
    feed_m_per_s: float
    wind_m_per_s: float
    shrink_frac: float
    strain_frac: float
    passage_s: float
    buffer_m: float
    knot_turns: Floats
    knot_laid_m: Floats
    full_turns: Mapping[int, float]
    content_m: float
    winder_of: Mapping[int, int] = field(default_factory=dict)
    stations: tuple[tuple[str, float], ...] = ()
    cone_m: float = 0.0
    first_ball: int = 1

    def __post_init__(self) -> None:
        faults = [
            Fault("not a usable number", "above 0", key=key, value=str(getattr(self, key)))
            for key in ("lanes", "feed_m_per_s", "wind_m_per_s")
            if not (math.isfinite(getattr(self, key)) and getattr(self, key) > 0)
        ]
        faults += [
            Fault("not a usable number", "0 or more", key=key, value=str(getattr(self, key)))
            for key in ("passage_s", "buffer_m", "content_m", "strain_frac", "cone_m")
            if not (math.isfinite(getattr(self, key)) and getattr(self, key) >= 0)
        ]
        if not 0.0 <= self.shrink_frac < 1.0:
            faults.append(Fault("no shrink", "0 to below 1", key="shrink_frac"))
        if not (
            self.knot_turns.size >= 2
            and self.knot_turns.shape == self.knot_laid_m.shape
            and np.all(np.diff(self.knot_turns) > 0)
            and np.all(np.diff(self.knot_laid_m) > 0)
        ):
            faults.append(Fault("no table of turns and metres", "both increasing", key="knots"))
        if faults:
            raise BadInput(faults)

    @property
    def raw_per_laid(self) -> float:
        """Raw metres in a metre as wound: 1/((1 - shrink)(1 + strain)) [-]. Source: DERIVED."""
        return 1.0 / ((1.0 - self.shrink_frac) * (1.0 + self.strain_frac))

    def laid_m(self, turns: float) -> float:
        """Metres laid in the first so many turns of a ball [m]; beyond the table the last slope."""
        return _along(turns, self.knot_turns, self.knot_laid_m)

    def turns_of(self, laid_m: float) -> float:
        """Turns that lay so many metres [-], the other way round."""
        return _along(laid_m, self.knot_laid_m, self.knot_turns)

    def full_m(self, lane: int) -> float:
        """Metres in a full ball of a lane [m], as wound."""
        return self.laid_m(self.full_turns[lane])


def _along(x: float, xs: Floats, ys: Floats) -> float:
    if x <= xs[-1]:
        return float(np.interp(x, xs, ys))
    slope = (ys[-1] - ys[-2]) / (xs[-1] - xs[-2])
    return float(ys[-1] + slope * (x - xs[-1]))


@dataclass(frozen=True, slots=True)
class TrackDoubt:
    """How unsure the inputs are; what is not a mill's own is assumed. All 0: inputs are exact.

    Attributes
    ----------
    content_sd_m : float
        Of the raw strand in a lane when the log begins [m].
    feed_cv : float
        Slip of a lane's feed against its counter or speed, the same all day [-].
    feed_walk_m : float
        Slip that comes and goes: its standard deviation after a kilometre fed [m]; it grows with
        the root of the length.
    shrink_cv : float
        Raw metres in a metre wound, of the whole run [-]; all lanes share it.
    turn_cv : float
        Length in a turn, winder by winder [-].
    wind_walk_m : float
        Balls unlike one another: its standard deviation after a raw kilometre wound [m].
    tie_sd_s : float
        Time between a tie passing the feed and the message about it [s].
    seen_sd_m : float
        Where a hand who reports a tie at the winder saw it [m, raw].
    sensor_sd_m : float
        What a dry or full buffer says of the strand in a lane [m, raw].
    unannounced_frac : float
        Ties of which no message came, as a share [-].
    """

    content_sd_m: float = 0.0
    feed_cv: float = 0.0
    feed_walk_m: float = 0.0
    shrink_cv: float = 0.0
    turn_cv: float = 0.0
    wind_walk_m: float = 0.0
    tie_sd_s: float = 0.0
    seen_sd_m: float = 0.0
    sensor_sd_m: float = 0.0
    unannounced_frac: float = 0.0

    def __post_init__(self) -> None:
        faults = [
            Fault("not a usable spread", "0 or more", key=key, value=str(getattr(self, key)))
            for key in self.__slots__
            if not (math.isfinite(getattr(self, key)) and getattr(self, key) >= 0)
        ]
        faults += [
            Fault("too unsure to follow anything", f"at most {100.0 * MOST_CV:g} %", key=key)
            for key in ("feed_cv", "shrink_cv", "turn_cv")
            if getattr(self, key) > MOST_CV
        ]
        if self.unannounced_frac >= 1.0:
            faults.append(Fault("no share", "below 1", key="unannounced_frac"))
        if faults:
            raise BadInput(faults)
