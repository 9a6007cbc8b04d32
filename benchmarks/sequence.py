"""The colour sequence on stated random families: against light to dark, its bound, plain CP-SAT.

A family is so many runs on so many lines, few or many colours, loose or tight due dates. Rows are
(what, against, ratio, most allowed); `python benchmarks/sequence.py 1 2` prints
every family for seeds 1 and 2.
"""

from __future__ import annotations

import itertools
import sys
import time

import numpy as np
from numpy.typing import NDArray

from clew.plan.sequence.cp_sat import cp_sat
from clew.plan.sequence.judge import judge
from clew.plan.sequence.light_to_dark import light_to_dark
from clew.plan.sequence.problem import SequenceAnswer, SequenceProblem
from clew.plan.sequence.search import search
from clew.plan.sequence.solve import solve

SIZES = ((15, 1), (40, 1), (40, 3))
COLOURS = {"few": 6, "many": 30}
SEEDS = (1, 2, 3)
WITHIN_S = 10.0
PROVEN_WITHIN_S = 30.0

Row = tuple[str, str, float, float | None]
Drawn = tuple[SequenceProblem, NDArray[np.float64]]


def family(
    runs: int, lines: int, colours: int, *, tight: bool, seed: int, held: bool = False
) -> Drawn:
    """Draw one problem of a family, and the lightness of its runs.

    Colours lie anywhere with lightness 20 to 90 and a*, b* within 40 of grey. A change costs 4
    money, 0.12 for each unit of distance and 0.2 for each by which it grows lighter; it takes
    15 min, and after a darker colour 20 min and half a minute a unit more. Runs take 1 to 8 h.
    A minute late costs 0.005 to 0.06. Due dates lie evenly from a tenth to nine tenths of the work
    a line has (tight), or from 0.7 to 3.1 times it (loose). Half of the runs, where they are held,
    are ready only at some time within that work; a line that waits costs 1 money a minute.
    """
    rng = np.random.default_rng([seed, runs, lines, colours, int(tight)])
    of_run = rng.integers(0, colours, runs)
    lab = rng.uniform((20.0, -40.0, -40.0), (90.0, 40.0, 40.0), (colours, 3))
    now = rng.integers(0, colours, lines)
    takes = rng.integers(60, 480, runs)
    before = np.stack([np.concatenate((of_run, [one])) for one in now])
    apart = lab[before][:, :, None, :] - lab[of_run][None, None]
    distance = np.sqrt((apart**2).sum(axis=-1))
    rise = np.maximum(-apart[..., 0], 0.0)
    same = before[:, :, None] == of_run
    change_min = np.where(same, 0, 15 + (rise > 5.0) * (20 + rise / 2)).astype(np.int64)
    change_cost = np.where(same, 0, 4000 + 120 * distance + 200 * rise).astype(np.int64)
    work = (takes.sum() + 15 * runs) / lines
    low, high = (0.1, 0.9) if tight else (0.7, 3.1)
    due = np.tile((rng.uniform(low, high, runs) * work).astype(np.int64), (lines, 1))
    none = np.zeros((lines, runs), dtype=np.int64)
    later = np.random.default_rng([seed, runs, lines, 2])
    ready = np.where(later.random(runs) < 0.5, later.integers(0, int(work), runs), 0)
    problem = SequenceProblem(
        names=tuple(f"run {number}" for number in range(runs)),
        lines=tuple(f"line {number}" for number in range(lines)),
        run_min=np.tile(takes, (lines, 1)),
        run_cost=none,
        change_min=change_min,
        change_cost=change_cost,
        ready_min=np.tile(ready, (lines, 1)) if held else none,
        due_min=due,
        late_cost_per_min=rng.integers(5, 60, runs),
        free_min=np.zeros(lines, dtype=np.int64),
        wait_cost_per_min=np.full(lines, 1000, dtype=np.int64),
        frozen=((),) * lines,
    )
    return problem, lab[of_run, 0]


def solved(drawn: Drawn, within_s: float) -> tuple[SequenceAnswer, float]:
    """Give the answer and the seconds it took."""
    started = time.perf_counter()
    answer = solve(drawn[0], lightness=drawn[1], within_s=within_s)
    return answer, time.perf_counter() - started


def plain(drawn: Drawn) -> tuple[float, float]:
    """Cost and time of the search over those of CP-SAT with the same model, told nothing."""
    problem, lightness = drawn
    light = judge(problem, light_to_dark(problem, lightness))
    started = time.perf_counter()
    found = search(problem, [light.order]).cost
    searched_s = time.perf_counter() - started
    started = time.perf_counter()
    cost = cp_sat(problem, light, WITHIN_S, 1, warm=False).best.cost
    return found / cost, searched_s / (time.perf_counter() - started)


def measured() -> list[Row]:
    """Time and cost of the plans the issue names."""
    solved(family(6, 1, 6, tight=True, seed=1), 60.0)
    rows: list[Row] = []
    for dates, tight in (("loose", False), ("tight", True)):
        answer, took = solved(family(15, 1, 30, tight=tight, seed=1), PROVEN_WITHIN_S)
        what = f"15 runs on 1 line, {dates} dates, proven"
        late = took / PROVEN_WITHIN_S if answer.proven else np.inf
        rows.append((what, "30 s", float(late), 1.0))
        answer, took = solved(family(15, 1, 30, tight=tight, seed=1, held=True), PROVEN_WITHIN_S)
        late = took / PROVEN_WITHIN_S if answer.proven else np.inf
        rows.append((f"{what}, half of them held", "30 s", float(late), 1.0))
        drawn = family(40, 3, 30, tight=tight, seed=1)
        answer, took = solved(drawn, WITHIN_S)
        what = f"40 runs on 3 lines, {dates} dates"
        rows.append((f"{what}, time", "10 s", took / WITHIN_S, 1.0))
        rows.append(
            (f"{what}, cost", "light to dark", answer.best.cost / answer.light_to_dark.cost, 0.9)
        )
        rows.append((f"{what}, cost", "its bound", answer.best.cost / answer.bound, None))
        cost, seconds = plain(drawn)
        rows.append((f"{what}, search", "cost of plain CP-SAT, 10 s", cost, 1.001))
        rows.append((f"{what}, search", "time of plain CP-SAT", seconds, 1.0))
    return rows


def main(seeds: tuple[int, ...] = SEEDS) -> int:
    """Print every family: medians over the seeds."""
    solved(family(6, 1, 6, tight=True, seed=1), 60.0)
    print(
        f"{'runs':>4} {'lines':>5} {'colours':>7} {'dates':>5} {'below light to dark':>19} "
        f"{'gap':>6} {'proven':>6} {'s':>5} {'search/plain CP-SAT: cost':>25} {'time':>5}"
    )
    for (runs, lines), (word, colours), tight in itertools.product(
        SIZES, COLOURS.items(), (False, True)
    ):
        rows = []
        for seed in seeds:
            drawn = family(runs, lines, colours, tight=tight, seed=seed)
            answer, took = solved(drawn, WITHIN_S)
            saved = 1.0 - answer.best.cost / answer.light_to_dark.cost
            rows.append((saved, answer.gap_frac, answer.proven, took, *plain(drawn)))
        middle = np.median(np.array(rows, dtype=np.float64), axis=0)
        proven = sum(bool(row[2]) for row in rows)
        print(
            f"{runs:>4} {lines:>5} {word:>7} {'tight' if tight else 'loose':>5} "
            f"{middle[0]:>18.0%}  {middle[1]:>6.1%} {proven:>3}/{len(seeds)} {middle[3]:>5.1f} "
            f"{middle[4]:>25.3f} {middle[5]:>5.2f}",
            flush=True,
        )
    return 0


if __name__ == "__main__":
    sys.exit(main(tuple(int(word) for word in sys.argv[1:]) or SEEDS))
