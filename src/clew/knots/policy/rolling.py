"""Policies followed along one strand of which a detector sees the next few metres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.knot_map import NM_PER_M, KnotMap, whole_nm
from clew.knots.policy.unseen import UnseenWorth

MOST_BALLS_AHEAD = 100


@dataclass(frozen=True, slots=True)
class SeenStrand:
    """A strand as it is, and as it is seen.

    Attributes
    ----------
    knots : KnotMap
        Its joins.
    seen_nm : array of int, shape (seen,)
        Where a detector sees joins begin [nm], ascending.
    """

    knots: KnotMap
    seen_nm: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Followed:
    """What a policy made of a strand, graded on its true joins.

    Attributes
    ----------
    starts_m : array of float, shape (balls,)
        Start of each ball [m].
    first, second : int
        Balls that truly are of either grade.
    looks_first : int
        Balls that look first-quality to the detector, and are sold as that.
    hidden : int
        Those among them that are not.
    partings : int
        Times that what was wound was dropped.
    waste_m : float
        Strand dropped, tail included [m].
    value : float
        Prices less handling, partings and what hidden balls cost beyond their grade [money]. First
        price is paid for balls that look first-quality and are; all others bring second.
    """

    starts_m: NDArray[np.float64]
    first: int
    second: int
    looks_first: int
    hidden: int
    partings: int
    waste_m: float
    value: float


@dataclass(frozen=True, slots=True)
class _Whole:
    """What a kernel is given [nm]."""

    left: NDArray[np.int64]
    right: NDArray[np.int64]
    ball: int
    join: int
    piece: int
    look: int


def _whole(strand: SeenStrand, rule: FirstRule, look_ahead_m: float) -> _Whole:
    join = whole_nm(rule.join_length_m, "join length", positive=True)
    return _Whole(
        left=strand.seen_nm,
        right=strand.seen_nm + join,
        ball=whole_nm(rule.ball_length_m, "ball length", positive=True),
        join=join,
        piece=whole_nm(rule.min_piece_m, "min piece", positive=False),
        look=whole_nm(look_ahead_m, "look-ahead", positive=False),
    )


def _graded(
    strand: SeenStrand,
    whole: _Whole,
    starts: NDArray[np.int64],
    partings: int,
    limit: int,
    prices: CutPrices,
    miss_cost: float | None,
) -> Followed:
    """Grade the balls of a policy on the truth; they are sold as what they look."""
    from clew.knots.policy.follow_kernel import keep_rule

    true = strand.knots.positions_nm
    is_first = keep_rule(starts, true, true + whole.join, whole.ball, limit, whole.piece)
    looks_first = keep_rule(starts, whole.left, whole.right, whole.ball, limit, whole.piece)
    first = int(np.count_nonzero(is_first))
    hidden = int(np.count_nonzero(looks_first & ~is_first))
    sold_first = int(np.count_nonzero(looks_first & is_first))
    waste_m = (strand.knots.strand_nm - starts.size * whole.ball) / NM_PER_M
    drop = prices.first - prices.second
    beyond = (drop if miss_cost is None else miss_cost) - drop
    value = (
        prices.second * starts.size
        + drop * sold_first
        - prices.waste_per_m * waste_m
        - prices.parting * partings
        - beyond * hidden
    )
    return Followed(
        starts_m=starts / NM_PER_M,
        first=first,
        second=int(starts.size) - first,
        looks_first=int(np.count_nonzero(looks_first)),
        hidden=hidden,
        partings=partings,
        waste_m=waste_m,
        value=value,
    )


def follow_rule(
    strand: SeenStrand,
    rule: FirstRule,
    prices: CutPrices,
    *,
    drop_most_m: float,
    look_ahead_m: float = 0.0,
    miss_cost: float | None = None,
) -> Followed:
    """Follow the rule of thumb: when a join offends, part if that drops little enough.

    Parameters
    ----------
    strand : SeenStrand
        The strand, as it is and as it is seen.
    rule : FirstRule
        When a ball is first-quality.
    prices : CutPrices
        What balls bring and cuts cost.
    drop_most_m : float
        Most to drop at a parting, the join included [m]; negative: wind straight through; infinite:
        part at every offending join.
    look_ahead_m : float
        Strand in sight before the winder [m]. The next ball then starts at the first place that
        mends the ball: behind a join that is still on the belt, or just so far on that its last
        piece is long enough. With 0 that is behind the join that offends.
    miss_cost : float or None
        What a hidden ball costs, off the price of first-quality [money]; when left out the
        difference of the prices: it is worth what it truly is.

    Returns
    -------
    Followed
        Grades, waste and value.

    Raises
    ------
    BadInput
        When a number cannot be meant.
    """
    from clew.knots.policy.follow_kernel import follow_thumb

    whole = _whole(strand, rule, look_ahead_m)
    strand_nm = strand.knots.strand_nm
    most = min(max(drop_most_m, -1.0), 2.0 * strand.knots.strand_m)
    starts, partings = follow_thumb(
        whole.left, whole.right, strand_nm, whole.ball,
        min(rule.limit, whole.left.size), whole.piece, whole.look, round(most * NM_PER_M),
    )  # fmt: skip
    return _graded(strand, whole, starts, int(partings), rule.limit, prices, miss_cost)


def roll_ahead(
    strand: SeenStrand,
    rule: FirstRule,
    prices: CutPrices,
    worth: UnseenWorth,
    *,
    look_ahead_m: float,
    miss_cost: float | None = None,
) -> Followed:
    """Solve the strand in sight whenever a join shows, and do what that says now.

    Parameters
    ----------
    strand : SeenStrand
        The strand, as it is and as it is seen.
    rule : FirstRule
        When a ball is first-quality.
    prices : CutPrices
        What balls bring and cuts cost.
    worth : UnseenWorth
        What a ball in the making is worth where the strand in sight ends.
    look_ahead_m : float
        Strand in sight before the winder [m]; a join is known once all of it is in sight.
    miss_cost : float or None
        What a hidden ball costs, off the price of first-quality [money]; when left out the
        difference of the prices: it is worth what it truly is.

    Returns
    -------
    Followed
        Grades, waste and value.

    Raises
    ------
    BadInput
        When a number cannot be meant, or more than 100 balls are in sight of a longer strand.

    Notes
    -----
    The strand in sight is solved exactly at the starts proved enough for the whole strand (see the
    manual, "The cutting plan"); where it ends, the ball in the making counts at its worth unseen.
    A ball in hand may be given up at any time. With all the strand in sight the plan is a best
    one. Source: rolling horizon, common practice; form DERIVED. Beyond that it is no optimum: what
    is seen later is not foreseen.
    """
    from clew.knots.policy.follow_kernel import roll

    whole = _whole(strand, rule, look_ahead_m)
    strand_nm = strand.knots.strand_nm
    if min(whole.look, strand_nm) > MOST_BALLS_AHEAD * whole.ball:
        raise BadInput(
            Fault(
                "too far ahead",
                f"at most {MOST_BALLS_AHEAD} balls; the whole strand: `clew knots cut`",
                key="look-ahead",
                value=f"{look_ahead_m:g} m",
            )
        )
    starts, partings, _ = roll(
        whole.left, whole.right, strand_nm, whole.ball, rule.limit, whole.piece, whole.look,
        prices.first, prices.second, prices.waste_per_m / NM_PER_M, prices.parting,
        worth.cell_m * NM_PER_M, worth.winding_on,
    )  # fmt: skip
    return _graded(strand, whole, starts, int(partings), rule.limit, prices, miss_cost)
