"""Where to start each ball on a strand whose joins are known, so that money is greatest."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.knot_map import NM_PER_M, KnotMap, whole_nm
from clew.languages import say

MOST_BALLS = 20_000_000
_LARGEST_TOTAL_BITS = 61


@dataclass(frozen=True, slots=True)
class FirstRule:
    """When a ball is first-quality.

    Attributes
    ----------
    ball_length_m : float
        Length of a ball [m].
    limit : int
        Most joins that may touch it.
    min_piece_m : float
        Shortest piece allowed in it, end pieces included [m].
    join_length_m : float
        What a join takes along the strand [m], above zero.
    """

    ball_length_m: float
    limit: int
    min_piece_m: float
    join_length_m: float


@dataclass(frozen=True, slots=True)
class CutPrices:
    """What balls bring and cuts cost, in the mill's own money.

    Attributes
    ----------
    first, second : float
        Price of a ball of either grade [money/ball].
    waste_per_m : float
        Handling of dropped yarn [money/m]; the yarn itself is paid for either way.
    parting : float
        Cost of each gap before a ball [money].
    """

    first: float
    second: float
    waste_per_m: float = 0.0
    parting: float = 0.0


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """Where balls start, and what that brings.

    Attributes
    ----------
    starts_m : array of float, shape (balls,)
        Start of each ball from the head of the strand [m].
    is_first : array of bool, shape (balls,)
        Whether each is first-quality.
    first, second : int
        Balls of either grade.
    waste_m : float
        Strand dropped, tail included [m].
    partings : int
        Gaps before a ball; each is one parting more than winding straight on. For parting at every
        offence each parting counts, also those with no ball between them.
    value : float
        Prices less handling of waste and partings [money].
    """

    starts_m: NDArray[np.float64]
    is_first: NDArray[np.bool_]
    first: int
    second: int
    waste_m: float
    partings: int
    value: float


@dataclass(frozen=True, slots=True)
class CuttingAnswer:
    """The best plan and what two plain habits bring on the same strand.

    Attributes
    ----------
    best : CuttingPlan
        No plan brings more.
    straight : CuttingPlan
        Winding straight through, ball after ball.
    part_every : CuttingPlan
        Parting at every offending join and dropping what was wound.
    most_steps : int
        Most steps of the value's staircase held at once while planning.
    """

    best: CuttingPlan
    straight: CuttingPlan
    part_every: CuttingPlan
    most_steps: int


@dataclass(frozen=True, slots=True)
class _Lengths:
    strand: int
    ball: int
    piece: int
    join: int


def _check_numbers(rule: FirstRule, prices: CutPrices) -> None:
    faults = [
        Fault(
            say("no such price or cost"), say("a number, zero or more"), key=key, value=f"{value:g}"
        )
        for key, value in (
            ("price of first-quality", prices.first),
            ("price of second-quality", prices.second),
            ("waste per m", prices.waste_per_m),
            ("parting", prices.parting),
        )
        if not (math.isfinite(value) and 0 <= value <= 1e12)
    ]
    if rule.limit < 0:
        faults.append(
            Fault(say("no such limit"), say("0 or more"), key="limit", value=str(rule.limit))
        )
    if not faults and prices.second > prices.first:
        faults.append(
            Fault(
                say("second-quality dearer than first-quality"),
                say("at most {first:g}", first=prices.first),
                key="price of second-quality",
                value=f"{prices.second:g}",
            )
        )
    if faults:
        raise BadInput(faults)


def _lengths(knots: KnotMap, rule: FirstRule) -> _Lengths:
    lengths = _Lengths(
        strand=knots.strand_nm,
        ball=whole_nm(rule.ball_length_m, "ball length", positive=True),
        piece=whole_nm(rule.min_piece_m, "min piece", positive=False),
        join=whole_nm(rule.join_length_m, "join length", positive=True),
    )
    if lengths.strand // lengths.ball > MOST_BALLS:
        raise BadInput(
            Fault(
                say("too many balls"),
                say("at most {most} on a strand", most=MOST_BALLS),
                key="ball length",
                value=f"{rule.ball_length_m:g} m",
            )
        )
    return lengths


def _first_stretches(
    knots: KnotMap, lengths: _Lengths, limit: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First and last start [nm] of each stretch of first-quality starts, ascending.

    The other starts are a union of open intervals, each from one join or two: too many joins,
    a head or tail piece too short, two joins too near each other.
    """
    none = np.empty(0, dtype=np.int64)
    last_start = lengths.strand - lengths.ball
    if last_start < 0 or lengths.piece > lengths.ball:
        return none, none
    left = knots.positions_nm
    right = left + lengths.join
    after, until = [none], [none]  # open intervals of starts that are not first-quality
    if limit < left.size:
        after.append(left[limit:] - lengths.ball)
        until.append(right[: left.size - limit])
    if lengths.piece > 0:
        after += [left - lengths.piece, left - lengths.ball]
        until += [right, right + lengths.piece - lengths.ball]
        near = np.flatnonzero(left[1:] - right[:-1] < lengths.piece)
        after.append(left[near + 1] - lengths.ball)
        until.append(right[near])
    opened, closed = np.concatenate(after), np.concatenate(until)
    some = closed - opened > 1
    opened, closed = opened[some], closed[some]
    order = np.argsort(opened, kind="stable")
    opened = opened[order]
    reach = np.maximum.accumulate(closed[order])
    # Between what lies behind and the next interval stand closed stretches of good starts.
    start = np.maximum(np.concatenate(([0], reach)), 0)
    end = np.minimum(np.concatenate((opened, [last_start])), last_start)
    good = start <= end
    return start[good], end[good]


def _coins(lengths: _Lengths, prices: CutPrices) -> tuple[int, int, int]:
    """Rewards of both grades and a parting in whole coins, as fine as 62 bits can hold."""
    saved = prices.waste_per_m * (lengths.ball / NM_PER_M)
    total = (prices.first + saved) * (lengths.strand // lengths.ball + 1)
    # A parting dearer than all balls together is never made; how much dearer does not matter.
    parting = min(prices.parting, total)
    if total == 0.0:
        return 0, 0, 0
    bits = _LARGEST_TOTAL_BITS - math.frexp(total + parting)[1]
    return (
        round(math.ldexp(prices.first + saved, bits)),
        round(math.ldexp(prices.second + saved, bits)),
        round(math.ldexp(parting, bits)),
    )


def _graded(
    starts: NDArray[np.int64],
    stretches: tuple[NDArray[np.int64], NDArray[np.int64]],
    lengths: _Lengths,
    prices: CutPrices,
) -> CuttingPlan:
    """What a list of starts brings: grades, waste, gaps, money."""
    begin, end = stretches
    is_first = np.zeros(starts.size, dtype=np.bool_)
    if begin.size:
        stretch = np.searchsorted(begin, starts, side="right") - 1
        is_first = (stretch >= 0) & (starts <= end[np.maximum(stretch, 0)])
    first = int(np.count_nonzero(is_first))
    second = int(starts.size) - first
    waste_m = (lengths.strand - int(starts.size) * lengths.ball) / NM_PER_M
    ends_before = np.concatenate((np.zeros(1, dtype=np.int64), starts + lengths.ball))[:-1]
    partings = int(np.count_nonzero(starts > ends_before))
    value = (
        first * prices.first
        + second * prices.second
        - prices.waste_per_m * waste_m
        - prices.parting * partings
    )
    return CuttingPlan(starts / NM_PER_M, is_first, first, second, waste_m, partings, value)


def _parted(plan: CuttingPlan, cuts: int, prices: CutPrices) -> CuttingPlan:
    """Charge a plan for every parting made, where several of them fall into one gap."""
    more = cuts - plan.partings
    return replace(plan, partings=cuts, value=plan.value - prices.parting * more)


def grade_plan(
    knots: KnotMap, starts_m: NDArray[np.float64], rule: FirstRule, prices: CutPrices
) -> CuttingPlan:
    """Say what given starts would bring on a strand.

    Parameters
    ----------
    knots : KnotMap
        The strand and its joins.
    starts_m : array of float, shape (balls,)
        Start of each ball [m], ascending.
    rule : FirstRule
        When a ball is first-quality.
    prices : CutPrices
        What balls bring and cuts cost.

    Returns
    -------
    CuttingPlan
        Grades, waste, partings and value.

    Raises
    ------
    BadInput
        When balls overlap or do not lie on the strand, or a number cannot be meant.
    """
    _check_numbers(rule, prices)
    lengths = _lengths(knots, rule)
    given = np.asarray(starts_m, dtype=np.float64).reshape(-1)
    if not bool(np.all((given >= 0) & (given <= knots.strand_m))):
        raise BadInput(
            Fault(say("a start off the strand"), say("0 m to {strand:g} m", strand=knots.strand_m))
        )
    starts = np.rint(given * NM_PER_M).astype(np.int64)
    ends = starts + lengths.ball
    if bool(np.any(starts[1:] < ends[:-1])) or bool(np.any(ends > lengths.strand)):
        raise BadInput(
            Fault(say("balls overlap or pass the strand's end"), say("balls one after another"))
        )
    return _graded(starts, _first_stretches(knots, lengths, rule.limit), lengths, prices)


def plan_cuts(knots: KnotMap, rule: FirstRule, prices: CutPrices) -> CuttingAnswer:
    """Find the plan that brings most money on a strand whose joins are known.

    Parameters
    ----------
    knots : KnotMap
        The strand and its joins.
    rule : FirstRule
        When a ball is first-quality: few enough joins touch it, no piece is too short.
    prices : CutPrices
        What balls bring and cuts cost.

    Returns
    -------
    CuttingAnswer
        A best plan (there may be others of the same value), winding straight through, and parting
        at every offending join.

    Raises
    ------
    BadInput
        When a length, limit, price or cost cannot be meant.

    Notes
    -----
    A ball covers [s, s + L), a join [p, p + w). Joins that overlap count one each, with a piece of
    no length between them. A parting is a gap before a ball, one at the strand's head included;
    the tail after the last ball costs only its handling. The optimum is exact in real positions:
    proof in the manual, "The cutting plan". Time grows with joins and balls, never with metres;
    memory with joins, balls and gaps. Source: DERIVED.
    """
    from clew.knots.cutting_kernel import part_at_offences, starts_of, sweep

    _check_numbers(rule, prices)
    lengths = _lengths(knots, rule)
    stretches = _first_stretches(knots, lengths, rule.limit)
    left = knots.positions_nm
    starts = np.empty(0, dtype=np.int64)
    dropping, cuts, steps = starts, 0, 0
    if lengths.ball <= lengths.strand:
        _, gaps, steps = sweep(*stretches, lengths.strand, lengths.ball, *_coins(lengths, prices))
        starts = starts_of(gaps, lengths.strand, lengths.ball)
        # More joins than the map holds never touch one ball.
        limit = min(rule.limit, left.size)
        dropping, cuts = part_at_offences(
            left, left + lengths.join, lengths.strand, lengths.ball, limit, lengths.piece
        )
    straight = np.arange(lengths.strand // lengths.ball, dtype=np.int64) * lengths.ball
    return CuttingAnswer(
        best=_graded(starts, stretches, lengths, prices),
        straight=_graded(straight, stretches, lengths, prices),
        part_every=_parted(_graded(dropping, stretches, lengths, prices), int(cuts), prices),
        most_steps=int(steps),
    )
