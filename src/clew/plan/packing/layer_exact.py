"""Settling by search whether a layer can hold more: boxes at normal points, none over another."""

from __future__ import annotations

from clew.plan.packing.layer_blocks import Spot
from clew.plan.packing.layer_points import normal_points

MOST_PLACES = 6_000
"""Places of a box above which the search is not begun."""


def search_layer(
    length: int, width: int, a: int, b: int, *, known: int, bound: int, effort: float
) -> tuple[list[Spot] | None, int]:
    """Look for more boxes than are known, up to a bound.

    One yes-or-no for every place a box can have, and for every normal point at most one box over
    it: where two boxes overlap, the lower left corner of what they share is such a point.

    Parameters
    ----------
    length, width, a, b : int
        Sides of the rectangle and of the box, in one unit of length.
    known, bound : int
        Boxes of a packing that is known, and the most there can be.
    effort : float
        When to give up, by the solver's own clock, the same on every machine [deterministic s].

    Returns
    -------
    list of Spot or None
        A packing of more boxes than known; None where none was found.
    int
        The most there can be, as far as is proven now.

    Source: J. E. Beasley 1985, An exact two-dimensional non-guillotine cutting tree search
    procedure (MEMORY), solved by CP-SAT of OR-Tools.
    """
    from ortools.sat.python import cp_model

    xs, ys = normal_points(length, a, b), normal_points(width, a, b)
    places = [
        (x, y, turned)
        for turned, wide, deep in ((False, a, b), (True, b, a))[: 1 if a == b else 2]
        for x in xs
        if x + wide <= length
        for y in ys
        if y + deep <= width
    ]
    if len(places) > MOST_PLACES:
        return None, bound
    model = cp_model.CpModel()
    over: dict[tuple[int, int], list[cp_model.IntVar]] = {}
    put = []
    for x, y, turned in places:
        one = model.new_bool_var("")
        put.append(one)
        wide, deep = (b, a) if turned else (a, b)
        for point_x in xs:
            if not x <= point_x < x + wide:
                continue
            for point_y in ys:
                if y <= point_y < y + deep:
                    over.setdefault((point_x, point_y), []).append(one)
    for ones in over.values():
        if len(ones) > 1:
            model.add_at_most_one(ones)
    model.add(sum(put) >= known + 1)
    model.add(sum(put) <= bound)
    model.maximize(sum(put))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None, known
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, bound
    found = [place for place, one in zip(places, put, strict=True) if solver.boolean_value(one)]
    most = (
        len(found) if status == cp_model.OPTIMAL else min(bound, int(solver.best_objective_bound))
    )
    return found, most
