"""A better order, and a proof how good it is, from the constraint solver CP-SAT."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from clew.plan.sequence.assignment_bound import (
    NEVER,
    arc_costs,
    assignment_bound,
    first_wait_min,
    lateness_bound,
)
from clew.plan.sequence.free_part import free_part
from clew.plan.sequence.judge import Found, judge
from clew.plan.sequence.problem import NEVER_MIN, Judged, Order, SequenceProblem, Wholes

WORKERS = 2

BUILD_S_PER_ARC = 2e-4
"""What building and presolving takes on a busy machine, COMPUTED, generously [s]."""

SOLVER_SHARE = 0.9
"""The solver is told this share of what is left: it ends a little late [1]."""


def cp_sat(
    problem: SequenceProblem,
    hint: Judged,
    within_s: float,
    seed: int,
    *,
    bound: int = 0,
    timed: bool = True,
    warm: bool = True,
) -> Found:
    """Look for a better order and a bound with CP-SAT.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.
    hint : Judged
        The order to begin from; it is given back when none better is found.
    within_s : float
        Time for building and solving the model [s]; where it would not do, nothing is begun.
    seed : int
        The solver's seed.
    bound : int
        A bound known already [1/1000 money].
    timed : bool
        With every run's time; without, lateness is priced by the soonest end of the run before.
        The model without is smaller, its bound holds all the same.
    warm : bool
        Whether the solver is told the hint and the bounds.

    Returns
    -------
    Found
        The better order and the better bound.

    Notes
    -----
    Source: DERIVED; OR-Tools, CP-SAT, a closed way through every line's runs. With two workers and
    a limit in seconds neither the order nor the bound is the same each time; that the order costs
    what is said, and that the bound holds, is.
    What a line waits is when its last run ends, less when it is free, less the minutes of its
    changes and runs: a run put later than need be makes that more, so the least is the true wait.
    Without times only the wait for a line's first run counts; the rest costs 0 at least.
    """
    from ortools.sat.python import cp_model

    ends = time.monotonic() + within_s
    free = free_part(problem)
    if not free.problem.runs:
        return Found(hint, hint.cost)
    known = max(bound, assignment_bound(problem))
    arcs = len(problem.lines) * free.problem.runs**2
    if arcs * BUILD_S_PER_ARC > within_s:
        return Found(hint, min(hint.cost, known))
    model = _Model(free.problem, timed=timed)
    if warm:
        model.tell(free.part(hint.order), hint.cost - free.frozen_cost, known - free.frozen_cost)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = seed
    solver.parameters.linearization_level = 2
    solver.parameters.max_time_in_seconds = max(0.01, SOLVER_SHARE * (ends - time.monotonic()))
    status = solver.solve(model.model)
    best = hint
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        found = judge(problem, free.whole(model.order(solver.boolean_value)))
        best = found if found.cost < best.cost else best
    if status == cp_model.INFEASIBLE:
        # Only orders below the hint were asked for, and there is none.
        return Found(best, best.cost)
    # The bound is a float; the objective is whole, so the next whole number holds as well.
    reached = free.frozen_cost + int(np.ceil(solver.best_objective_bound - 1e-6))
    return Found(best, min(best.cost, max(known, reached)))


@dataclass(frozen=True, slots=True)
class _Arc:
    """A run behind another, or a line's end, on a line.

    Attributes
    ----------
    line, before, run : int
        Run ``n`` stands for the line's start and end.
    chosen : Any
        The solver's yes or no.
    """

    line: int
    before: int
    run: int
    chosen: Any


class _Model:
    """The problem in the solver's words."""

    def __init__(self, problem: SequenceProblem, *, timed: bool) -> None:
        from ortools.sat.python import cp_model

        self.problem = problem
        self.model = cp_model.CpModel()
        self.costs: Wholes = arc_costs(problem, late=True)
        self.plain: Wholes = arc_costs(problem, late=False)
        self.arcs: list[_Arc] = []
        self.on: dict[tuple[int, int], Any] = {}
        self.end: list[Any] = []
        self.late: list[Any] = []
        self.last: dict[int, Any] = {}
        self.wait: dict[int, Any] = {}
        for line in range(len(problem.lines)):
            self._ring(line)
        for run in range(problem.runs):
            lines = range(len(problem.lines))
            self.model.add_exactly_one(
                self.on[line, run] for line in lines if (line, run) in self.on
            )
        behind = [arc for arc in self.arcs if arc.run < problem.runs]
        if timed:
            self._times(behind)
            self.spent = sum(int(self.plain[a.line, a.before, a.run]) * a.chosen for a in behind)
            weights = problem.late_cost_per_min.tolist()
            lateness = sum(w * late for w, late in zip(weights, self.late, strict=True))
            self.model.add(lateness >= lateness_bound(problem))
            rates = problem.wait_cost_per_min.tolist()
            self.by_time = lateness + sum(rates[line] * wait for line, wait in self.wait.items())
        else:
            self.spent = sum(int(self.costs[a.line, a.before, a.run]) * a.chosen for a in behind)
            self.by_time = 0
        self.model.minimize(self.spent + self.by_time)

    def _ring(self, line: int) -> None:
        """One closed way through the runs of a line, from its start to its end."""
        runs = self.problem.runs
        ring: list[tuple[int, int, Any]] = []
        unused = self.model.new_bool_var("")
        ring.append((runs, runs, unused))
        for run in range(runs):
            if self.costs[line, runs, run] >= NEVER:
                continue
            on = self.model.new_bool_var("")
            self.on[line, run] = on
            ring.append((run, run, on.negated()))
            self.model.add_implication(on, unused.negated())
            last = self.model.new_bool_var("")
            ring.append((run, runs, last))
            self.arcs.append(_Arc(line, run, runs, last))
        for before, run in zip(*np.nonzero(self.costs[line] < NEVER), strict=True):
            chosen = self.model.new_bool_var("")
            ring.append((int(before), int(run), chosen))
            self.arcs.append(_Arc(line, int(before), int(run), chosen))
        self.model.add_circuit(ring)

    def _times(self, behind: list[_Arc]) -> None:
        """When each run ends, behind the one before it, and by how much that is late."""
        problem = self.problem
        runs = problem.runs
        made = self.plain[:, runs] < NEVER
        longest = problem.run_min + problem.change_min.max(axis=1)
        span = int(np.where(made, longest, 0).max(axis=0).sum())
        span += max(int(np.where(made, problem.ready_min, 0).max()), int(problem.free_min.max()))
        self.end = [self.model.new_int_var(0, span, "") for _ in range(runs)]
        most_late = max(0, span - int(problem.due_min.min()))
        self.late = [self.model.new_int_var(0, most_late, "") for _ in range(runs)]
        least_late: list[list[Any]] = [[] for _ in range(runs)]
        for arc in behind:
            line, before, run = arc.line, arc.before, arc.run
            takes = int(problem.change_min[line, before, run] + problem.run_min[line, run])
            soonest = int(max(problem.ready_min[line, run], problem.free_min[line])) + takes
            self.model.add(self.end[run] >= soonest).only_enforce_if(arc.chosen)
            if before < runs:
                self.model.add(self.end[run] >= self.end[before] + takes).only_enforce_if(
                    arc.chosen
                )
            late = int(self.costs[line, before, run] - self.plain[line, before, run])
            if late:
                minutes = late // int(problem.late_cost_per_min[run])
                least_late[run].append(minutes * arc.chosen)
        change = np.where(self.plain < NEVER, problem.change_min, NEVER).min(axis=1)
        for line in range(len(problem.lines)):
            spans = []
            for run in range(runs):
                if not made[line, run]:
                    continue
                on = self.on[line, run]
                due = int(problem.due_min[line, run])
                self.model.add(self.late[run] >= self.end[run] - due).only_enforce_if(on)
                takes = int(change[line, run] + problem.run_min[line, run])
                spans.append(
                    self.model.new_optional_interval_var(
                        self.end[run] - takes, takes, self.end[run], on, ""
                    )
                )
            self.model.add_no_overlap(spans)
        for run in range(runs):
            if least_late[run]:
                self.model.add(self.late[run] >= sum(least_late[run]))
        self._waits(behind, span)

    def _waits(self, behind: list[_Arc], span: int) -> None:
        """How long each line waits behind its first run, where it can; the first wait is priced."""
        problem = self.problem
        first_wait = first_wait_min(problem)
        made = problem.run_min < NEVER_MIN
        for line, rate in enumerate(problem.wait_cost_per_min.tolist()):
            if not rate or not first_wait[line][made[line]].any():
                continue
            free = int(problem.free_min[line])
            self.last[line] = self.model.new_int_var(free, span, "")
            self.wait[line] = self.model.new_int_var(0, span - free, "")
            used = []
            for arc in behind:
                if arc.line != line:
                    continue
                takes = (
                    problem.change_min[line, arc.before, arc.run] + problem.run_min[line, arc.run]
                )
                if arc.before == problem.runs:
                    takes += first_wait[line, arc.run]
                used.append(int(takes) * arc.chosen)
            for run in np.flatnonzero(made[line]).tolist():
                self.model.add(self.last[line] >= self.end[run]).only_enforce_if(self.on[line, run])
            self.model.add(self.wait[line] >= self.last[line] - free - sum(used))

    def tell(self, order: Order, cost: int, bound: int) -> None:
        """Tell the solver an order that can be had, what it costs and what none costs less than."""
        runs = self.problem.runs
        follows = set()
        for line, of_line in enumerate(order):
            way = (runs, *of_line, runs)
            follows |= {(line, way[at], way[at + 1]) for at in range(len(way) - 1)}
            for run in range(runs):
                if (line, run) in self.on:
                    self.model.add_hint(self.on[line, run], run in of_line)
        for arc in self.arcs:
            self.model.add_hint(arc.chosen, (arc.line, arc.before, arc.run) in follows)
        if self.end:
            from clew.plan.sequence.judge import judge

            last, waited = self.problem.free_min.tolist(), [0] * len(order)
            for one in judge(self.problem, order).timed:
                due = int(self.problem.due_min[one.line, one.run])
                self.model.add_hint(self.end[one.run], one.upto_min)
                self.model.add_hint(self.late[one.run], max(0, one.upto_min - due))
                last[one.line] = one.upto_min
                if one.run != order[one.line][0]:
                    waited[one.line] += one.wait_min
            for line in self.wait:
                self.model.add_hint(self.last[line], last[line])
                self.model.add_hint(self.wait[line], waited[line])
            self.model.add(self.spent + self.by_time >= bound)
        self.model.add(self.spent + self.by_time <= cost)

    def order(self, chosen: Callable[[Any], bool]) -> Order:
        """Read the order off the chosen arcs."""
        runs = self.problem.runs
        after: list[dict[int, int]] = [{} for _ in self.problem.lines]
        for arc in self.arcs:
            if chosen(arc.chosen):
                after[arc.line][arc.before] = arc.run
        order = []
        for ways in after:
            way, at = [], ways.get(runs, runs)
            while at != runs:
                way.append(at)
                at = ways[at]
            order.append(tuple(way))
        return tuple(order)
