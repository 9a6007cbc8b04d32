"""Shrink against steaming time and temperature, fitted to a mill's own trials.

No published source was found for how fast a bulking yarn shrinks in steam. What stands here is a
form fitted to trial points, S = S_inf(T) (1 - exp(-(t - t_lag)/tau)), which answers inside the
trials and refuses outside them. The final shrink S_inf is taken as a straight line in temperature:
trials lie at two to four temperatures within a few degrees, over which any smooth law is nearly
straight, and a third constant could not be told from so few.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from clew.faults import BadInput, Fault
from clew.strand.given import level_between
from clew.strand.trial_hull import Point, convex_hull, inside

_Floats = NDArray[np.float64]

_LEAST_TIMES = 3
_TIMES_FOR_LAG = 4
_SPARE_POINTS = 2
_LOOSEST_LN_TAU_SD = 1.0


@dataclass(frozen=True, slots=True)
class ShrinkEstimate:
    """Mean shrink at one time and temperature, with its confidence band.

    Attributes
    ----------
    shrink_frac : float
        Mean shrink [1].
    low_frac, high_frac : float
        Confidence band of that mean [1], cut off at 0 and 1.
    level : float
        Confidence of the band [1].
    """

    shrink_frac: float
    low_frac: float
    high_frac: float
    level: float


@dataclass(frozen=True, slots=True)
class ShrinkCurve:
    """A fitted shrink curve.

    Attributes
    ----------
    final_shrink_frac : float
        Final shrink S_inf at the middle temperature [1].
    slope_per_c : float
        Change of the final shrink with temperature [1/°C]; 0 where trials have one temperature.
    lag_s : float
        Time before the strand begins to shrink [s].
    time_constant_s : float
        Time constant tau [s].
    middle_c : float
        Middle (mean) temperature of the trials [°C].
    covariance : tuple of tuple of float, shape (4, 4)
        Covariance of final shrink, slope, lag and ln tau; rows of 0 for what was not fitted.
    residual_sd_frac : float
        Standard deviation of a trial about the curve [1].
    spare_points : int
        Trials beyond the constants fitted: the degrees of freedom [1].
    slope_fitted, lag_fitted : bool
        Whether the trials allowed the slope and the lag to be fitted.
    corners : tuple of (float, float)
        Corners of the region of the trials: time [s], temperature [°C].
    """

    final_shrink_frac: float
    slope_per_c: float
    lag_s: float
    time_constant_s: float
    middle_c: float
    covariance: tuple[tuple[float, ...], ...]
    residual_sd_frac: float
    spare_points: int
    slope_fitted: bool
    lag_fitted: bool
    corners: tuple[Point, ...]

    def at(self, time_s: float, temperature_c: float, *, level: float = 0.95) -> ShrinkEstimate:
        """Read the curve at a time and temperature inside the trials.

        Parameters
        ----------
        time_s : float
            Steaming time [s].
        temperature_c : float
            Steam temperature [°C].
        level : float
            Confidence of the band for the mean, between 0 and 1 [1].

        Returns
        -------
        ShrinkEstimate
            Mean shrink and its band, by the delta method and Student's t.

        Raises
        ------
        BadInput
            When the point lies outside the convex hull of the trials, or the level is not between
            0 and 1.

        Notes
        -----
        The band is for the mean of the yarn tried, not for a single cone or another dye lot.
        """
        level = level_between(level)
        if not inside((time_s, temperature_c), self.corners):
            times, temperatures = zip(*self.corners, strict=True)
            raise BadInput(
                Fault(
                    "outside the trials: the curve does not extrapolate",
                    expected=(
                        f"a point among the trials, within {min(times):g} to {max(times):g} s and "
                        f"{min(temperatures):g} to {max(temperatures):g} °C; or new trials there"
                    ),
                    key="steaming",
                    value=f"{time_s:g} s at {temperature_c:g} °C",
                )
            )
        from scipy.special import stdtrit

        constants = np.array(
            [self.final_shrink_frac, self.slope_per_c, self.lag_s, math.log(self.time_constant_s)]
        )
        time = np.array([time_s])
        above = np.array([temperature_c - self.middle_c])
        mean = float(_shrink(constants, time, above)[0])
        slope = _sensitivity(constants, time, above)[0]
        spread = math.sqrt(max(0.0, float(slope @ np.array(self.covariance) @ slope)))
        reach = float(stdtrit(self.spare_points, 0.5 + level / 2.0)) * spread
        return ShrinkEstimate(mean, max(0.0, mean - reach), min(1.0, mean + reach), level)


def _shrink(constants: _Floats, time_s: _Floats, above_c: _Floats) -> _Floats:
    """Shrink by the law, for times and temperatures above the middle one."""
    final, slope, lag, ln_tau = constants
    waited = np.maximum(time_s - lag, 0.0) / np.exp(ln_tau)
    return np.asarray((final + slope * above_c) * -np.expm1(-waited), dtype=np.float64)


def _sensitivity(constants: _Floats, time_s: _Floats, above_c: _Floats) -> _Floats:
    """Derivatives of the law by final shrink, slope, lag and ln tau, shape (n, 4)."""
    final, slope, lag, ln_tau = constants
    tau = np.exp(ln_tau)
    waited = np.maximum(time_s - lag, 0.0) / tau
    risen = -np.expm1(-waited)
    still = np.where(time_s > lag, np.exp(-waited), 0.0)
    height = final + slope * above_c
    return np.column_stack(
        (risen, above_c * risen, -height * still / tau, -height * still * waited)
    )


def _trials(
    time_s: ArrayLike, temperature_c: ArrayLike, shrink_frac: ArrayLike
) -> tuple[_Floats, _Floats, _Floats]:
    """Take the trials as arrays, or say every fault in them at once."""
    columns = []
    for column in (time_s, temperature_c, shrink_frac):
        try:
            columns.append(np.atleast_1d(np.asarray(column, dtype=np.float64)))
        except (TypeError, ValueError):
            raise BadInput(Fault("trials must be numbers", key="trials")) from None
    time, temperature, shrink = columns
    if time.ndim != 1 or not time.shape == temperature.shape == shrink.shape:
        raise BadInput(
            Fault(
                "trials of unequal length", "a time, a temperature and a shrink each", key="trials"
            )
        )
    faults = []
    for number, (t, c, s) in enumerate(zip(time, temperature, shrink, strict=True), start=1):
        where = f"trial {number}"
        if not 0.0 <= t < math.inf:
            faults.append(
                Fault("a time that cannot be meant", "0 s or more", key=where, value=f"{t:g} s")
            )
        if not math.isfinite(c):
            faults.append(Fault("a temperature that is not a number", key=where, value=f"{c:g} °C"))
        if not 0.0 <= s < 1.0:
            faults.append(
                Fault(
                    "a shrink that cannot be meant",
                    "a fraction from 0 to below 1",
                    key=where,
                    value=f"{s:g}",
                )
            )
    if faults:
        raise BadInput(faults)
    return time, temperature, shrink


def _check_enough(points: int, times: int, fitted: int) -> None:
    if times < _LEAST_TIMES:
        raise BadInput(
            Fault(
                "too few steaming times to fit a curve",
                expected=f"{_LEAST_TIMES} times or more above 0 s",
                key="trials",
                value=str(times),
            )
        )
    if points < fitted + _SPARE_POINTS:
        raise BadInput(
            Fault(
                "too few trials to fit a curve and see its spread",
                expected=f"{fitted + _SPARE_POINTS} or more for {fitted} constants",
                key="trials",
                value=str(points),
            )
        )


def _best_fit(time: _Floats, above: _Floats, shrink: _Floats, free: list[int]) -> _Floats:
    """Least squares over the free constants, from several starts; the others stay at 0."""
    from scipy.optimize import least_squares

    shortest, longest = float(time[time > 0.0].min()), float(time.max())
    low = np.array([1e-6, -np.inf, 0.0, math.log(shortest / 1e3)])[free]
    high = np.array([1.0, np.inf, shortest, math.log(longest * 1e3)])[free]
    top = min(max(float(shrink.max()), 1e-3) * 1.02, 0.999)

    def _whole(part: _Floats) -> _Floats:
        constants = np.zeros(4)
        constants[free] = part
        return constants

    def _misfit(part: _Floats) -> _Floats:
        return _shrink(_whole(part), time, above) - shrink

    def _slope(part: _Floats) -> _Floats:
        return _sensitivity(_whole(part), time, above)[:, free]

    found = [
        least_squares(
            _misfit,
            np.array([top, 0.0, shortest * 0.3, math.log(start_s)])[free],
            jac=_slope,
            bounds=(low, high),
            x_scale="jac",
            xtol=1e-12,
            ftol=1e-12,
            gtol=1e-12,
        )
        for start_s in (shortest / 2.0, math.sqrt(shortest * longest), longest)
    ]
    return _whole(min(found, key=lambda fit: float(fit.cost)).x)


def _unclear(what: str, expected: str) -> BadInput:
    return BadInput(Fault(what, expected=expected, key="trials"))


def fit_shrink(time_s: ArrayLike, temperature_c: ArrayLike, shrink_frac: ArrayLike) -> ShrinkCurve:
    """Fit shrink against steaming time and temperature to a mill's own trials.

    Parameters
    ----------
    time_s : array_like of float, shape (n,)
        Steaming time of each trial [s].
    temperature_c : array_like of float, shape (n,)
        Steam temperature of each trial [°C].
    shrink_frac : array_like of float, shape (n,)
        Shrink found, as a fraction of the length that came [1].

    Returns
    -------
    ShrinkCurve
        The fitted constants with their covariance; read it with `ShrinkCurve.at`.

    Raises
    ------
    BadInput
        When trials are too few, too alike to tell the constants, or cannot be meant.

    Notes
    -----
    Needs three times above 0 s and two trials more than constants. One temperature: no slope is
    fitted and the curve answers at that temperature alone. Fewer than four times, or a lag that
    fits best at 0: no lag. A time constant known worse than by a factor e is refused.
    Validity: one yarn, one dye lot family, saturated steam, trials of equal worth; the shortest
    trial must lie after the lag. Source: the form is ours; steam bulking kinetics have no published
    source. Covariance s^2 (J'J)^-1 at the least-squares point (textbook, MEMORY).
    """
    time, temperature, shrink = _trials(time_s, temperature_c, shrink_frac)
    times = len(np.unique(time[time > 0.0]))
    slope_fitted = len(np.unique(temperature)) > 1
    lag_fitted = times >= _TIMES_FOR_LAG
    free = [0, *([1] if slope_fitted else []), *([2] if lag_fitted else []), 3]
    _check_enough(len(time), times, len(free))
    middle = float(temperature.mean())
    above = temperature - middle
    constants = _best_fit(time, above, shrink, free)
    shortest = float(time[time > 0.0].min())
    if lag_fitted and constants[2] <= 1e-4 * shortest:
        lag_fitted = False
        free.remove(2)
        constants = _best_fit(time, above, shrink, free)
    final = constants[0] + constants[1] * above
    if lag_fitted and constants[2] >= shortest * (1.0 - 1e-4):
        raise _unclear("the shortest trial ends before the yarn shrinks", "a longer shortest trial")
    if not bool(np.all((final > 0.0) & (final < 1.0))):
        raise _unclear(
            "the final shrink is not a straight line in temperature here", "nearer trials"
        )
    spare = len(time) - len(free)
    residual = _shrink(constants, time, above) - shrink
    variance = float(residual @ residual) / spare
    slope = _sensitivity(constants, time, above)[:, free]
    scale = np.linalg.norm(slope, axis=0)
    if not bool(np.all(scale > 0.0)) or np.linalg.cond(slope / scale) > 1e7:
        raise _unclear(
            "the trials are too alike to tell the constants", "more times, further apart"
        )
    inverse = np.linalg.inv((slope / scale).T @ (slope / scale)) / np.outer(scale, scale)
    covariance = np.zeros((4, 4))
    covariance[np.ix_(free, free)] = variance * inverse
    if math.sqrt(covariance[3, 3]) > _LOOSEST_LN_TAU_SD:
        raise _unclear(
            "the trials do not tell how fast the yarn shrinks", "shorter and longer times"
        )
    return ShrinkCurve(
        final_shrink_frac=float(constants[0]),
        slope_per_c=float(constants[1]),
        lag_s=float(constants[2]),
        time_constant_s=math.exp(float(constants[3])),
        middle_c=middle,
        covariance=tuple(tuple(float(value) for value in row) for row in covariance),
        residual_sd_frac=math.sqrt(variance),
        spare_points=spare,
        slope_fitted=slope_fitted,
        lag_fitted=lag_fitted,
        corners=convex_hull(list(zip(time.tolist(), temperature.tolist(), strict=True))),
    )
