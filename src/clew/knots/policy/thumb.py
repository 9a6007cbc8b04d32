"""The rule a hand can follow without looking ahead, and the best length to put in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.quadrature import legendre_rule

MOST_LIMIT = 100
_NODES = 24


@dataclass(frozen=True, slots=True)
class ThumbRule:
    """Part only before so many metres are on; else wind the ball out as second-quality.

    Attributes
    ----------
    before_m : float
        Part when the join that offends shows before so much is wound [m]; 0 never, the ball's
        length always.
    value_per_km : float
        What the rule brings over a long strand with joins that fall anywhere [money/km].
    straight_per_km : float
        What winding straight through brings there [money/km].
    first_frac : float
        Share of its balls that are first-quality [1].
    parts_per_km : float
        Partings [1/km].
    dropped_frac : float
        Share of the strand that is dropped [1].
    """

    before_m: float
    value_per_km: float
    straight_per_km: float
    first_frac: float
    parts_per_km: float
    dropped_frac: float


def no_offence_yet(
    wound_m: NDArray[np.float64], joins_per_m: float, rule: FirstRule
) -> NDArray[np.float64]:
    """Chance that no join has offended while so much of a fresh ball was wound.

    Parameters
    ----------
    wound_m : array of float
        Wound so far, up to the ball's length [m].
    joins_per_m : float
        Joins [1/m], Poisson.
    rule : FirstRule
        When a ball is first-quality.

    Returns
    -------
    array of float
        The chance [1].

    Notes
    -----
    With j joins, the first m from the head and each m + w from the one before, the free volume is
    (x - j m - (j - 1) w)^j / j!. Nearer than m + w to the ball's end any join offends, when it
    arrives and not at the end (for m above zero). Source: Poisson process, DERIVED.
    """
    piece, join, ball = rule.min_piece_m, rule.join_length_m, rule.ball_length_m
    late = max(ball - piece - join, 0.0) if piece > 0 else ball
    wound = np.asarray(wound_m, dtype=np.float64)
    open_m = np.minimum(wound, late)
    total = np.exp(-joins_per_m * wound)
    for joins in range(1, rule.limit + 1):
        free = open_m - joins * piece - (joins - 1) * (join if piece > 0 else 0.0)
        some = free > 0
        if joins_per_m == 0 or not bool(np.any(some)):
            break
        log = joins * np.log(np.where(some, free, 1.0) * joins_per_m) - math.lgamma(joins + 1)
        total += np.where(some, np.exp(log - joins_per_m * wound), 0.0)
    return np.asarray(total)


def _integral(from_m: float, to_m: float, joins_per_m: float, rule: FirstRule) -> float:
    """Integral of that chance; the kinks lie where one more join finds room."""
    piece, join, ball = rule.min_piece_m, rule.join_length_m, rule.ball_length_m
    kinks = [joins * piece + (joins - 1) * join for joins in range(1, rule.limit + 1)]
    inside = [kink for kink in (*kinks, ball - piece - join) if from_m < kink < to_m]
    edges = np.array([from_m, *sorted(inside), to_m])
    # Stretches of a few mean distances each, so that a fixed number of nodes is enough.
    parts = 1 + int(joins_per_m * (to_m - from_m) / 4.0)
    node, weight = legendre_rule(_NODES)
    total = 0.0
    for low, high in pairwise(edges.tolist()):
        step = (high - low) / parts
        middle = low + step * (np.arange(parts) + 0.5)
        at = middle[:, None] + 0.5 * step * node
        total += float(np.sum(0.5 * step * weight * no_offence_yet(at, joins_per_m, rule)))
    return total


@dataclass(frozen=True, slots=True)
class _Cycle:
    """From one fresh start to the next, in the mean."""

    first: float
    second: float
    parts: float
    dropped_m: float
    length_m: float

    def worth(self, prices: CutPrices) -> float:
        return (
            self.first * prices.first
            + self.second * prices.second
            - self.parts * prices.parting
            - self.dropped_m * prices.waste_per_m
        )


def _cycle(before_m: float, joins_per_m: float, rule: FirstRule) -> _Cycle:
    ball, join = rule.ball_length_m, rule.join_length_m
    at, end = no_offence_yet(np.array([before_m, ball]), joins_per_m, rule)
    parts = 1.0 - float(at)
    # E[T; T <= x] = integral of the chance up to x, less x times the chance at x.
    dropped = _integral(0.0, before_m, joins_per_m, rule) - before_m * float(at) + parts * join
    return _Cycle(float(end), float(at - end), parts, dropped, dropped + (1.0 - parts) * ball)


def check_terms(rule: FirstRule, prices: CutPrices) -> None:
    """Refuse a rule or prices that no policy can be found for.

    Parameters
    ----------
    rule : FirstRule
        When a ball is first-quality.
    prices : CutPrices
        What balls bring and cuts cost.

    Raises
    ------
    BadInput
        With every number that cannot be meant.
    """
    numbers = (
        ("ball length", rule.ball_length_m, 1e6, False),
        ("min piece", rule.min_piece_m, rule.ball_length_m, True),
        ("join length", rule.join_length_m, rule.ball_length_m, False),
        ("limit", float(rule.limit), float(MOST_LIMIT), True),
        ("price first", prices.first, 1e12, True),
        ("price second", prices.second, prices.first, True),
        ("waste per m", prices.waste_per_m, 1e12, True),
        ("parting", prices.parting, 1e12, True),
    )
    faults = [
        Fault(
            "out of range",
            f"{'zero or more' if zero else 'above zero'}, at most {most:g}",
            key=key,
            value=f"{value:g}",
        )
        for key, value, most, zero in numbers
        if not (0.0 <= value <= most) or (value == 0.0 and not zero)
    ]
    if faults:
        raise BadInput(faults)


def thumb_rule(joins_per_m: float, rule: FirstRule, prices: CutPrices) -> ThumbRule:
    """Find the best length for the rule of thumb.

    Parameters
    ----------
    joins_per_m : float
        Joins seen, from all sources [1/m].
    rule : FirstRule
        When a ball is first-quality.
    prices : CutPrices
        What balls bring and cuts cost.

    Returns
    -------
    ThumbRule
        The length, and what the rule brings where joins fall anywhere.

    Raises
    ------
    BadInput
        When a number cannot be meant.

    Notes
    -----
    Every start is a renewal. A join of length w that offends after x metres is best dropped when
    c_p + (c_w + rho)(x + w) < rho L - v2, with rho the gain per metre, which solves
    E[worth of a cycle] = rho E[its length]. Exact for Poisson joins and this kind of rule; a
    policy that also parts before a join offends may bring a little more. What of a join lies past
    a ball's end is not counted for the next ball. Source: renewal reward, MEMORY; rule DERIVED.
    """
    from scipy.optimize import brentq

    check_terms(rule, prices)
    if not 0.0 <= joins_per_m * rule.ball_length_m <= 200.0:
        raise BadInput(Fault("out of range", "0 to 200 joins a ball"))
    ball = rule.ball_length_m

    def before(gain: float) -> float:
        price = prices.waste_per_m + gain
        if price <= 0.0:
            return 0.0
        best = (gain * ball - prices.second - prices.parting) / price - rule.join_length_m
        return min(max(best, 0.0), ball)

    def surplus(gain: float) -> float:
        cycle = _cycle(before(gain), joins_per_m, rule)
        return cycle.worth(prices) - gain * cycle.length_m

    most = prices.first / ball * (1.0 + 1e-9)  # no rounding may hide the root at the end
    gain = float(brentq(surplus, 0.0, most, xtol=1e-15 * max(most, 1e-300))) if most > 0 else 0.0
    cycle, straight = (_cycle(at, joins_per_m, rule) for at in (before(gain), 0.0))
    return ThumbRule(
        before_m=before(gain),
        value_per_km=1000.0 * cycle.worth(prices) / cycle.length_m,
        straight_per_km=1000.0 * straight.worth(prices) / ball,
        first_frac=cycle.first / (cycle.first + cycle.second),
        parts_per_km=1000.0 * cycle.parts / cycle.length_m,
        dropped_frac=cycle.dropped_m / cycle.length_m,
    )
