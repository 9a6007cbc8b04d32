"""The cutting plan against a constraint solver: a packing of balls over all whole starts."""

from __future__ import annotations

import random

import pytest
from ortools.sat.python import cp_model

from clew.knots.cutting import CutPrices, FirstRule, grade_plan, plan_cuts
from clew.knots.knot_map import knot_map

STRANDS = [
    # joins, balls on the strand, limit, shortest piece, join, parting
    (20, 20, 0, 0, 1, 0),
    (20, 25, 0, 0, 1, 3),
    (24, 22, 1, 0, 2, 9),
    (28, 24, 1, 2, 1, 2),
    (30, 30, 0, 4, 1, 30),
    (34, 26, 2, 1, 2, 5),
    (36, 32, 1, 3, 1, 14),
    (40, 36, 0, 0, 2, 45),
    (44, 40, 2, 2, 1, 1),
    (50, 44, 1, 4, 2, 6),
    (55, 50, 1, 0, 1, 20),
    (60, 60, 2, 3, 1, 8),
]


def is_first(start: int, joins: list[int], rule: FirstRule) -> bool:
    """The rule as it is spoken, metre by metre."""
    end, here = start + round(rule.ball_length_m), start
    touching = [
        (one, one + round(rule.join_length_m))
        for one in joins
        if one < end and one + round(rule.join_length_m) > start
    ]
    for left, right in touching:
        if max(left - here, 0) < rule.min_piece_m:
            return False
        here = right
    return len(touching) <= rule.limit and max(end - here, 0) >= rule.min_piece_m


def solved(joins: list[int], strand: int, rule: FirstRule, prices: CutPrices) -> int:
    """Best value of a packing with one choice a start, money whole, proven by the solver."""
    ball = round(rule.ball_length_m)
    model = cp_model.CpModel()
    starts = range(strand - ball + 1)
    wound = [model.new_bool_var(f"ball {one}") for one in starts]
    gap = [model.new_bool_var(f"gap before {one}") for one in starts]
    # Of the starts within one ball length, at most one is wound: no two balls overlap.
    for one in starts:
        model.add_at_most_one(wound[max(one - ball + 1, 0) : one + 1])
    for one in starts[1:]:
        # A ball begins where another ends, or there is a gap before it.
        before = [wound[one - ball]] if one >= ball else []
        model.add(wound[one] <= gap[one] + sum(before))
    worth = [
        round(prices.first if is_first(one, joins, rule) else prices.second)
        + round(prices.waste_per_m) * ball
        for one in starts
    ]
    model.maximize(
        sum(worth[one] * wound[one] for one in starts)
        - round(prices.parting) * sum(gap[one] for one in starts)
    )
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = 20.0
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value) - round(prices.waste_per_m) * strand


@pytest.mark.outside(
    document="OR-Tools, CP-SAT",
    edition="9.15",
    section="optimum, proven, of a packing over every start",
    mark="COMPUTED",
)
@pytest.mark.kernel
@pytest.mark.parametrize("seed", [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11])
def test_the_best_plan_is_the_solvers_optimum(seed: int) -> None:
    number, balls, limit, piece, join, parting = STRANDS[seed]
    rng = random.Random(seed)
    ball = rng.randint(9, 14)
    strand = balls * ball + rng.randrange(ball)
    joins = sorted(rng.sample(range(strand + 1), number))
    rule = FirstRule(float(ball), limit, float(piece), float(join))
    prices = CutPrices(60.0, float(rng.choice([0, 20, 45])), float(rng.choice([0, 1])), parting)
    knots = knot_map([float(one) for one in joins], float(strand))
    best = plan_cuts(knots, rule, prices).best
    assert best.value == solved(joins, strand, rule, prices)
    assert best.value == grade_plan(knots, best.starts_m, rule, prices).value
