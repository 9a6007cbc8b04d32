"""The cutting plan: how its time and memory grow with the strand, at five joins a kilometre.

Rows are (what, against, ratio, most allowed); a row without a most is for information.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from clew.knots.cutting import CutPrices, FirstRule, plan_cuts
from clew.knots.knot_map import KnotMap, knot_map

JOINS_PER_KM = 5
RULE = FirstRule(ball_length_m=200.0, limit=2, min_piece_m=5.0, join_length_m=0.1)
PRICES = CutPrices(first=6.0, second=3.0, waste_per_m=0.01, parting=0.02)
GROWTH_KM = (10, 100, 1000, 10_000)
PLAIN_KM = 100
MEMORY_KM = (10_000, 100_000)
ROUNDS = 25

Row = tuple[str, str, float, float | None]


def strand(km: int) -> KnotMap:
    """Give a strand with joins anywhere."""
    rng = np.random.default_rng(km)
    return knot_map(np.unique(rng.uniform(0.0, km * 1000.0, JOINS_PER_KM * km)), km * 1000.0)


def ratio(work: Callable[[], object], baseline: Callable[[], object]) -> float:
    """Ratio of the least times, measured in turn.

    Work of some milliseconds is interrupted on a busy machine where shorter work is not; the least
    time of many rounds is the one without an interruption.
    """

    def seconds(one: Callable[[], object]) -> float:
        started = time.perf_counter()
        one()
        return time.perf_counter() - started

    rounds = [(seconds(work), seconds(baseline)) for _ in range(ROUNDS)]
    return min(took for took, _ in rounds) / min(took for _, took in rounds)


def growth() -> list[Row]:
    """Ten times the strand takes some ten times as long, and holds no more steps at once."""
    maps = [strand(km) for km in GROWTH_KM]
    plans = [lambda knots=knots: plan_cuts(knots, RULE, PRICES) for knots in maps]
    rows: list[Row] = []
    for number in range(1, len(maps)):
        what, against = (f"plan of {GROWTH_KM[place]} km" for place in (number, number - 1))
        rows.append((what, against, ratio(plans[number], plans[number - 1]), 15.0))
    steps = plans[-1]().most_steps / plans[0]().most_steps
    rows.append((f"steps held, {GROWTH_KM[-1]} km", f"steps held, {GROWTH_KM[0]} km", steps, 4.0))
    return rows


def against_a_sort() -> Row:
    """A thousand kilometres with five thousand joins, against a sort that every library has."""
    knots = strand(1000)
    numbers = np.random.default_rng(1).uniform(size=1_000_000)
    found = ratio(lambda: plan_cuts(knots, RULE, PRICES), lambda: np.sort(numbers))
    return "plan of 1000 km, 5000 joins", "numpy sorts 1 000 000 random numbers", found, 6.0


def alone(km: int, *, compiled: bool = True) -> tuple[float, float]:
    """Seconds and growth of the process [kB] for one strand planned in a process of its own."""
    # Freed arrays go back at once, so that the plan cannot hide in what reading left behind.
    environment = os.environ | {"MALLOC_MMAP_THRESHOLD_": "65536"}
    if not compiled:
        environment["NUMBA_DISABLE_JIT"] = "1"
    done = subprocess.run(
        [sys.executable, __file__, str(km)],
        check=True,
        capture_output=True,
        text=True,
        env=environment,
    )
    seconds, grown_kb = done.stdout.split()
    return float(seconds), float(grown_kb)


def without_the_compiler() -> Row:
    """The same sweep as plain Python."""
    plain, compiled = alone(PLAIN_KM, compiled=False)[0], alone(PLAIN_KM)[0]
    return (
        f"plan of {PLAIN_KM} km in plain Python",
        "the same code, compiled",
        plain / compiled,
        None,
    )


def memory() -> list[Row]:
    """Ten times the joins take some ten times the memory, so many bytes for each."""
    few, many = (alone(km)[1] for km in MEMORY_KM)
    joins = JOINS_PER_KM * MEMORY_KM[1]
    return [
        (f"memory for {MEMORY_KM[1]} km", f"memory for {MEMORY_KM[0]} km", many / few, 15.0),
        (f"memory for {MEMORY_KM[1]} km", "one byte a join", 1024.0 * many / joins, 400.0),
    ]


def measured() -> list[Row]:
    """Every row of the cutting plan."""
    return [*growth(), against_a_sort(), *memory(), without_the_compiler()]


def resident_kb(key: str) -> float:
    """Memory of this process [kB] as Linux counts it: VmRSS now, VmHWM at most."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return float(status.split(f"{key}:")[1].split()[0])


def main(km: int) -> None:
    """Print seconds and growth of this process [kB] for one strand, after a first small one."""
    plan_cuts(strand(10), RULE, PRICES)
    knots = strand(km)
    Path("/proc/self/clear_refs").write_text("5", encoding="ascii")  # the peak starts anew
    before = resident_kb("VmRSS")
    started = time.perf_counter()
    plan_cuts(knots, RULE, PRICES)
    seconds = time.perf_counter() - started
    print(seconds, resident_kb("VmHWM") - before)


if __name__ == "__main__":
    main(int(sys.argv[1]))
