"""What a habit makes of the strand under a limit: counted on drawn strands, or exact by the law.

The same drawn strands serve every limit and every break rate. They are drawn at the highest rate;
each re-tie carries a number between 0 and 1 and is there at a lower rate when its number is small
enough. So differences between limits and rates are not blurred by drawing anew.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clew.knots.complaints import complaints_at
from clew.knots.cutting import CuttingPlan, FirstRule, plan_cuts
from clew.knots.knot_map import NM_PER_M, KnotMap, whole_nm
from clew.knots.law import knot_law
from clew.knots.pieces import no_piece_under
from clew.knots.price_question import STRANDS, LimitQuestion
from clew.knots.strand_draw import draw_strand

Array = NDArray[np.float64]

FIRST, SECOND, WASTE_M, PARTINGS, LOST, COMPLAINTS, LENGTH_M = range(7)
"""Columns of the totals of a strand. Lost: money short of every ball being first-quality.
Complaints: the sum over first-quality balls, per 10 000."""

PIECES_ONLY = -1
"""Key of the totals under the shortest-piece rule with any number of joins."""


@dataclass(frozen=True, slots=True)
class MarkedStrand:
    """A strand drawn at the highest break rate, with what thins it.

    Attributes
    ----------
    knots : KnotMap
        The strand and its joins.
    mark : array, shape (joins,)
        Uniform numbers of the re-ties; 0 for joins that are there at any rate [1].
    """

    knots: KnotMap
    mark: Array

    def at_rate(self, share: float) -> KnotMap:
        """Give the strand with this share of its breaks on the cone left [1]."""
        kept = self.mark <= share if share > 0.0 else self.mark == 0.0
        words = self.knots.kinds
        return KnotMap(
            self.knots.positions_nm[kept],
            tuple(words[one] for one in np.flatnonzero(kept).tolist()),
            self.knots.strand_nm,
        )


def draw_marked(question: LimitQuestion) -> tuple[MarkedStrand, ...]:
    """Draw the strands on which a question is answered.

    Parameters
    ----------
    question : LimitQuestion
        The question, checked.

    Returns
    -------
    tuple of MarkedStrand
        Independent strands, a whole number of balls long and a part of one more, which goes evenly
        from nothing to a ball over the strands.

    Notes
    -----
    The odd parts keep the end out of the answer: a plan that drops so much yarn loses, on the
    average over them, just so many balls; without, the first metre dropped would cost a whole one.
    They do not depend on the limit, nor on the share of breaks that is left. Leaving each re-tie
    out with one chance turns a gamma-mixed Poisson process into another with all rates lower by
    that factor. Source: thinning of Poisson processes, MEMORY.
    """
    top = max(1.0, question.breaks_band[1])
    sources = replace(question.sources, breaks_per_m=question.sources.breaks_per_m * top)
    ball_nm = whole_nm(question.rule.ball_length_m, "ball length", positive=True)
    balls_nm = int(question.strand_m * NM_PER_M) // ball_nm * ball_nm
    seeds = np.random.SeedSequence(question.seed).generate_state(2 * STRANDS)
    found = []
    for one in range(STRANDS):
        strand_nm = balls_nm + (2 * one + 1) * ball_nm // (2 * STRANDS)
        knots = draw_strand(sources, strand_nm / NM_PER_M, seed=int(seeds[one]))
        mark = 1.0 - np.random.default_rng(int(seeds[STRANDS + one])).random(len(knots.kinds))
        mark[np.array([kind != "re-tie" for kind in knots.kinds], dtype=np.bool_)] = 0.0
        found.append(MarkedStrand(knots, mark))
    return tuple(found)


def totals_drawn(
    question: LimitQuestion, strands: tuple[MarkedStrand, ...], factor: float
) -> dict[int | None, Array]:
    """Count what the habit makes of drawn strands at one break rate, under each limit.

    Parameters
    ----------
    question : LimitQuestion
        The question, checked.
    strands : tuple of MarkedStrand
        From `draw_marked`.
    factor : float
        Factor on today's breaks on the cone [1].

    Returns
    -------
    dict of int or None to array, shape (strands, 7)
        Totals of each strand, by limit; under `PIECES_ONLY` with the shortest piece alone.
    """
    share = factor / max(1.0, question.breaks_band[1])
    maps = [strand.at_rate(share) for strand in strands]
    free = np.array([_all_first(question, knots) for knots in maps])
    found: dict[int | None, Array] = {None: free}
    for limit in sorted(set(question.limits)):
        allowed = question.joins_allowed(limit)
        found[limit] = (
            free
            if allowed is None
            else np.array([_cut(question, knots, allowed) for knots in maps])
        )
    if question.pieces_matter:
        # No limit at all: as many joins as the strand has.
        found[PIECES_ONLY] = np.array(
            [_cut(question, knots, len(knots.kinds) + 1) for knots in maps]
        )
    return found


def _joins_in(knots: KnotMap, starts: NDArray[np.int64], rule: FirstRule) -> NDArray[np.int64]:
    """Joins that touch each ball."""
    ball = whole_nm(rule.ball_length_m, "ball length", positive=True)
    join = whole_nm(rule.join_length_m, "join length", positive=True)
    left = knots.positions_nm
    before = np.searchsorted(left, starts + ball, side="left")
    return np.asarray(before - np.searchsorted(left + join, starts, side="right"))


def _complaints(question: LimitQuestion, knots: KnotMap, starts: NDArray[np.int64]) -> float:
    if not question.complaints_per_10000:
        return 0.0
    joins = _joins_in(knots, starts, question.rule)
    return float(complaints_at(joins, question.complaints_per_10000, question.join_counts).sum())


def _all_first(question: LimitQuestion, knots: KnotMap) -> list[float]:
    """No rule at all: wound straight through, every ball first-quality."""
    ball = whole_nm(question.rule.ball_length_m, "ball length", positive=True)
    starts = np.arange(knots.strand_nm // ball, dtype=np.int64) * ball
    complaints = _complaints(question, knots, starts)
    wound_m = int(starts.size) * ball / NM_PER_M
    return [float(starts.size), 0.0, 0.0, 0.0, 0.0, complaints, wound_m]


def _cut(question: LimitQuestion, knots: KnotMap, allowed: int) -> list[float]:
    """One strand under one limit.

    The tail that no ball can use, even wound straight through, is neither waste nor length.
    """
    rule = replace(question.rule, limit=allowed)
    answer = plan_cuts(knots, rule, question.prices)
    plans: dict[str, CuttingPlan] = {
        "straight": answer.straight,
        "part_every": answer.part_every,
        "best": answer.best,
    }
    plan = plans[question.habit]
    most_balls = math.floor(knots.strand_m / rule.ball_length_m + 1e-9)
    length_m = most_balls * rule.ball_length_m
    tail_m = knots.strand_m - length_m
    most = question.prices.first * most_balls - question.prices.waste_per_m * tail_m
    lost = most - plan.value
    starts = np.rint(plan.starts_m[plan.is_first] * NM_PER_M).astype(np.int64)
    return [
        float(plan.first),
        float(plan.second),
        max(plan.waste_m - tail_m, 0.0),
        float(plan.partings),
        # Rounding in the last place must not show where nothing is lost.
        lost if lost > 1e-12 * abs(most) else 0.0,
        _complaints(question, knots, starts),
        length_m,
    ]


def totals_straight(question: LimitQuestion, factor: float) -> dict[int | None, Array]:
    """Work out winding straight through at one break rate, under each limit, without drawing.

    Parameters
    ----------
    question : LimitQuestion
        The question, checked.
    factor : float
        Factor on today's breaks on the cone [1].

    Returns
    -------
    dict of int or None to array, shape (1, 7)
        Expected totals of one ball, by limit; under `PIECES_ONLY` with the shortest piece alone.

    Notes
    -----
    A join that takes w along the strand touches a ball of L from L + w places, so joins are counted
    in a window of L + w; a piece of m then needs m + w of it. Exact as far as `knot_law` and
    `no_piece_under` are: with uneven cones, or two ties in a ball, the share with no piece too
    short is an approximation. Source: DERIVED.
    """
    rule, prices = question.rule, question.prices
    sources = replace(question.sources, breaks_per_m=question.sources.breaks_per_m * factor)
    window_m = rule.ball_length_m + rule.join_length_m
    pmf = knot_law(sources, window_m).pmf
    joins = np.arange(pmf.size, dtype=np.int64)
    long_enough = np.ones(pmf.size)
    if rule.min_piece_m > rule.ball_length_m:
        long_enough = np.zeros(pmf.size)
    elif rule.min_piece_m > 0.0:
        long_enough = no_piece_under(
            joins.astype(np.float64), window_m, rule.min_piece_m + rule.join_length_m
        )
    table = question.complaints_per_10000
    complaint = complaints_at(joins, table, question.join_counts) if table else np.zeros(pmf.size)

    whole = pmf / pmf.sum()

    def totals(passes: Array) -> Array:
        # What fails is summed itself, so that a small share of it keeps its digits.
        second = min(float(whole @ (1.0 - passes)), 1.0)
        lost = second * (prices.first - prices.second)
        told = float((whole * passes) @ complaint)
        return np.array([[1.0 - second, second, 0.0, 0.0, lost, told, rule.ball_length_m]])

    free = totals(np.ones(pmf.size))
    found: dict[int | None, Array] = {None: free}
    for limit in sorted(set(question.limits)):
        allowed = question.joins_allowed(limit)
        found[limit] = free if allowed is None else totals(long_enough * (joins <= allowed))
    if question.pieces_matter:
        found[PIECES_ONLY] = totals(long_enough)
    return found
