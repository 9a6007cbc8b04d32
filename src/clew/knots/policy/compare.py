"""Policies side by side on the same drawn strands: what seeing ahead is worth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.cutting import CutPrices, FirstRule, plan_cuts
from clew.knots.knot_map import KnotMap, whole_nm
from clew.knots.policy.rolling import Followed, SeenStrand, follow_rule, roll_ahead
from clew.knots.policy.thumb import ThumbRule, check_terms, thumb_rule
from clew.knots.policy.unseen import unseen_worth
from clew.knots.policy.watch import Detector, check_detector, seen_joins
from clew.knots.policy.words import rule_in_words
from clew.knots.sources import Sources
from clew.knots.strand_draw import draw_strand
from clew.quantities import UnitSystem

MOST_BALLS = 5_000_000
_TRIED_LENGTHS = 40
_TRIAL_STRANDS = 6


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mean over drawn strands.

    Attributes
    ----------
    mean : float
        The mean [money/km].
    standard_error : float
        Its standard error [money/km].
    low, high : float
        95 % interval of the mean, by Student's t [money/km].
    """

    mean: float
    standard_error: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Way:
    """What one policy brings.

    Attributes
    ----------
    name : str
        ``straight``, ``part_every``, ``thumb``, ``rolling`` or ``offline``.
    look_ahead_m : float
        Strand in sight before the winder [m].
    drop_most_m : float or None
        Most to drop at a parting [m], for ``thumb``.
    value_per_km : Estimate
        Value [money/km].
    over_straight : Estimate
        What it brings over winding straight through, strand by strand [money/km].
    over_short : Estimate
        What it brings over the rule of thumb with nothing ahead [money/km].
    below_offline : Estimate
        What it lacks to the best plan of one who knows the whole strand [money/km].
    below_solved : Estimate or None
        For ``thumb``: what it lacks to solving the same strand in sight [money/km].
    first_frac : float
        Share of its balls that truly are first-quality [1].
    first_per_km : float
        Truly first-quality balls [1/km].
    hidden_frac : float
        Share of the balls sold as first-quality that are not [1].
    partings_per_km : float
        Partings [1/km].
    dropped_frac : float
        Share of the strand that is dropped [1].
    """

    name: str
    look_ahead_m: float
    drop_most_m: float | None
    value_per_km: Estimate
    over_straight: Estimate
    over_short: Estimate
    below_offline: Estimate
    below_solved: Estimate | None
    first_frac: float
    first_per_km: float
    hidden_frac: float
    partings_per_km: float
    dropped_frac: float


@dataclass(frozen=True, slots=True)
class PolicyComparison:
    """Policies side by side.

    Attributes
    ----------
    seen_per_km : float
        Joins seen, true and false [1/km].
    rule : FirstRule
        When a ball is first-quality.
    thumb : ThumbRule
        The rule without look-ahead, and what it brings where joins fall anywhere.
    ways : tuple of Way
        Straight through, part at every offence, the rule of thumb, and for each look-ahead the
        rule and the rolling horizon; the offline plan last.
    strand_length_m : float
        Length of each strand [m].
    runs, seed : int
        Strands drawn, and their seed.
    """

    seen_per_km: float
    rule: FirstRule
    thumb: ThumbRule
    ways: tuple[Way, ...]
    strand_length_m: float
    runs: int
    seed: int

    def way(self, name: str, look_ahead_m: float = 0.0) -> Way:
        """Find one of the ways by its name and look-ahead [m]."""
        return next(
            one for one in self.ways if (one.name, one.look_ahead_m) == (name, look_ahead_m)
        )

    def for_a_hand(self, look_ahead_m: float = 0.0, units: UnitSystem = "metric") -> str:
        """Say what a hand should do with so much in sight [m]."""
        most_m = self.way("thumb", look_ahead_m).drop_most_m if look_ahead_m > 0.0 else None
        return rule_in_words(
            self.rule, look_ahead_m, self.thumb.before_m if most_m is None else most_m, units
        )


def _estimate(values: NDArray[np.float64]) -> Estimate:
    from scipy.special import stdtrit

    mean = float(np.mean(values))
    error = float(np.std(values, ddof=1)) / math.sqrt(values.size)
    reach = float(stdtrit(values.size - 1, 0.975)) * error
    return Estimate(mean, error, mean - reach, mean + reach)


def _check(
    rule: FirstRule,
    prices: CutPrices,
    strand_length_m: float,
    runs: int,
    look_aheads_m: Sequence[float],
    detector: Detector,
    miss_cost: float | None,
) -> None:
    check_terms(rule, prices)
    faults = check_detector(detector)
    if not 2 <= runs <= 10_000:
        faults.append(Fault("no such number", "2 to 10000", key="runs", value=str(runs)))
    balls = strand_length_m / rule.ball_length_m
    if not 1.0 <= balls <= MOST_BALLS / max(runs, 1):
        faults.append(
            Fault(
                "too short or too long",
                f"a ball or more, at most {MOST_BALLS} balls in all runs",
                key="strand length",
                value=f"{strand_length_m:g} m",
            )
        )
    faults += [
        Fault("no such length", "zero or more", key="look-ahead", value=f"{look:g} m")
        for look in look_aheads_m
        if not (math.isfinite(look) and look >= 0.0)
    ]
    # For less, hiding a ball would bring more than its grade does, and a policy beat the best plan.
    least = prices.first - prices.second
    sound = miss_cost is None or (
        math.isfinite(miss_cost) and miss_cost >= least - 1e-9 * prices.first
    )
    if not sound:
        faults.append(
            Fault(
                "no such cost",
                f"{least:g} or more: price of first-quality less that of second-quality",
                key="miss cost",
                value=f"{miss_cost:g}",
            )
        )
    if faults:
        raise BadInput(faults)


def _best_length(
    strands: Sequence[SeenStrand],
    rule: FirstRule,
    prices: CutPrices,
    look_ahead_m: float,
    miss_cost: float | None,
) -> float:
    """Length for the rule with look-ahead, tried on strands of their own [m]."""
    tried = rule.ball_length_m * np.arange(_TRIED_LENGTHS + 1) / _TRIED_LENGTHS
    values = [
        sum(
            follow_rule(
                strand, rule, prices,
                drop_most_m=most, look_ahead_m=look_ahead_m, miss_cost=miss_cost,
            ).value
            for strand in strands
        )
        for most in tried.tolist()
    ]  # fmt: skip
    return float(tried[int(np.argmax(values))])


def _offline(
    knots: KnotMap, rule: FirstRule, prices: CutPrices, others: Sequence[Followed]
) -> Followed:
    """The best plan of one who knows every join, up to where it brings most per km.

    Up to the end of the last ball of each other policy it brings no less than that policy. On the
    whole strand alone it would drop for nothing what the tail loses anyway, and seem worse per km.
    """
    used_m = [_used_m(one, rule) for one in others if one.starts_m.size]
    ends_nm = {whole_nm(end_m, "end", positive=True) for end_m in used_m}
    plans = []
    for end_nm in sorted({*ends_nm, knots.strand_nm}):
        inside = int(np.searchsorted(knots.positions_nm, end_nm))
        shorter = KnotMap(knots.positions_nm[:inside], knots.kinds[:inside], end_nm)
        best = plan_cuts(shorter, rule, prices).best
        plans.append(
            Followed(
                best.starts_m, best.first, best.second, best.first, 0, best.partings, best.waste_m,
                best.value,
            )
        )  # fmt: skip
    return max(plans, key=lambda one: _per_km(one, rule, prices))


def compare_policies(
    sources: Sources,
    rule: FirstRule,
    prices: CutPrices,
    *,
    look_aheads_m: Sequence[float],
    strand_length_m: float = 400_000.0,
    runs: int = 10,
    seed: int = 1,
    detector: Detector | None = None,
    miss_cost: float | None = None,
) -> PolicyComparison:
    """Follow every policy along the same strands, drawn at random.

    Parameters
    ----------
    sources : Sources
        Where joins come from, per metre after steam.
    rule : FirstRule
        When a ball is first-quality.
    prices : CutPrices
        What balls bring and cuts cost.
    look_aheads_m : sequence of float
        Lengths of belt between detector and winder to compare [m].
    strand_length_m : float
        Length of each strand [m].
    runs : int
        Strands to draw, each independent of the others.
    seed : int
        Seed of the random numbers.
    detector : Detector or None
        How well joins are seen; all of them and no other when left out.
    miss_cost : float or None
        What a ball costs that was sold as first-quality and is not, off the price of
        first-quality [money]; at least the difference of the prices, and that when left out.

    Returns
    -------
    PolicyComparison
        Value per km of each way with its standard error, and paired differences.

    Raises
    ------
    BadInput
        When a number cannot be meant.

    Notes
    -----
    What is decided uses what is seen, taken as true; what is counted is the truth. A ball is sold
    as what it looks: first price is paid for one that looks first-quality and is. Each parting
    is paid, two in one gap too; the offline plan pays its gaps. All ways wind the same strands, so
    their differences are far surer than their values (common random numbers, common practice).
    Values are per km of strand up to the end of the last ball: with the tail counted, the first
    metre dropped would seem to cost a whole ball at the end. The length of the rule without
    look-ahead comes from `thumb_rule`, the lengths with look-ahead from six strands of their own.
    Source: DERIVED.
    """
    eye = detector if detector is not None else Detector()
    _check(rule, prices, strand_length_m, runs, look_aheads_m, eye, miss_cost)
    looks = sorted({float(look) for look in look_aheads_m} - {0.0})
    seen_per_m = eye.seen_per_m(sum(sources.intensities_per_m.values()))
    thumb = thumb_rule(seen_per_m, rule, prices)
    worth = unseen_worth(seen_per_m, rule, prices)
    seeds = np.random.SeedSequence(seed).generate_state(2 * (runs + _TRIAL_STRANDS)).tolist()

    def strand(number: int) -> SeenStrand:
        knots = draw_strand(sources, strand_length_m, seed=seeds[2 * number])
        return SeenStrand(knots, seen_joins(knots, eye, seed=seeds[2 * number + 1]))

    trials = [strand(runs + number) for number in range(_TRIAL_STRANDS)]
    lengths = {0.0: thumb.before_m + rule.join_length_m if thumb.before_m > 0 else -1.0}
    lengths |= {look: _best_length(trials, rule, prices, look, miss_cost) for look in looks}
    habits = [("straight", 0.0, -1.0), ("part_every", 0.0, math.inf)]
    habits += [("thumb", look, most) for look, most in lengths.items()]
    table: dict[tuple[str, float], list[Followed]] = {}
    for number in range(runs):
        one = strand(number)
        for name, look, most in habits:
            table.setdefault((name, look), []).append(
                follow_rule(
                    one, rule, prices, drop_most_m=most, look_ahead_m=look, miss_cost=miss_cost
                )
            )
        for look in lengths:
            table.setdefault(("rolling", look), []).append(
                roll_ahead(one, rule, prices, worth, look_ahead_m=look, miss_cost=miss_cost)
            )
        others = [found[number] for found in table.values() if len(found) > number]
        best = _offline(one.knots, rule, prices, others)
        table.setdefault(("offline", strand_length_m), []).append(best)
    ways = _ways(table, lengths, rule, prices)
    return PolicyComparison(1000.0 * seen_per_m, rule, thumb, ways, strand_length_m, runs, seed)


def _used_m(one: Followed, rule: FirstRule) -> float:
    """Strand up to the end of the last ball [m]."""
    return float(one.starts_m[-1]) + rule.ball_length_m if one.starts_m.size else 0.0


def _per_km(one: Followed, rule: FirstRule, prices: CutPrices) -> float:
    """Value over the strand that is used; the tail's handling is given back."""
    used_m = _used_m(one, rule)
    if used_m == 0.0:
        return 0.0
    whole_m = one.starts_m.size * rule.ball_length_m + one.waste_m
    return 1000.0 * (one.value + prices.waste_per_m * (whole_m - used_m)) / used_m


def _ways(
    table: dict[tuple[str, float], list[Followed]],
    lengths: dict[float, float],
    rule: FirstRule,
    prices: CutPrices,
) -> tuple[Way, ...]:
    values = {
        key: np.array([_per_km(one, rule, prices) for one in found]) for key, found in table.items()
    }
    straight = values["straight", 0.0]
    offline = next(reversed(values.values()))
    ways = []
    for (name, look), found in table.items():
        own = values[name, look]
        used_km = max(sum(_used_m(one, rule) for one in found) / 1000.0, 1e-9)
        first = sum(one.first for one in found)
        balls = first + sum(one.second for one in found)
        sold = sum(one.looks_first for one in found)
        ways.append(
            Way(
                name=name,
                look_ahead_m=look,
                drop_most_m=lengths[look] if name == "thumb" else None,
                value_per_km=_estimate(own),
                over_straight=_estimate(own - straight),
                over_short=_estimate(own - values["thumb", 0.0]),
                below_offline=_estimate(offline - own),
                below_solved=_estimate(values["rolling", look] - own) if name == "thumb" else None,
                first_frac=first / balls if balls else 0.0,
                first_per_km=first / used_km,
                hidden_frac=sum(one.hidden for one in found) / sold if sold else 0.0,
                partings_per_km=sum(one.partings for one in found) / used_km,
                dropped_frac=max(1.0 - balls * rule.ball_length_m / (1000.0 * used_km), 0.0),
            )
        )
    return tuple(ways)
