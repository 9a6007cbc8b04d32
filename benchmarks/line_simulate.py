"""Shifts of a line: the compiled loop against the same model in simpy, start-up, and memory.

The second model is that of tests/models; tests/line/simulate holds the two equal event for event.
Rows are (what, against, ratio, most allowed); a row without a most is for information.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import models  # noqa: F401 -- makes the tests' models importable
import simpy_line
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import shift_answer
from clew.line.simulate.shifts import shifts
from clew.mill import mill_from_text

Row = tuple[str, str, float, float | None]

ROUNDS = 11
GATE = 150
"""Shifts on one core in the time of one in simpy: at least."""
WISH = 300
"""The same on two cores, for information: a busy second core is nobody's fault."""
SHIFTS = 160
FEW, MANY = 500, 5000


def eight_lanes() -> Layout:
    """The demo line with eight lanes and two hands, for eight hours and none before them."""
    text = (files("clew.mill") / "demo" / "mill.toml").read_text(encoding="utf-8")
    line = layout_of(mill_from_text(text), "Line 1", "Querl 100")
    return replace(line, lanes=8, hands=2, warm_up_s=0.0)


def seconds(work: Callable[[], object]) -> float:
    """Time one piece of work."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def drawn(layout: Layout, cores: int) -> Callable[[], object]:
    """Draw shifts as a user does, books and all."""

    def draw() -> object:
        return sum(
            len(one.lanes) for one in shifts(layout, replications=SHIFTS, seed=7, cores=cores)
        )

    return draw


def in_simpy(layout: Layout, number: int) -> object:
    """Draw one shift in simpy, with the chance of Python's own library, which is its fastest."""
    return simpy_line.simulate(layout, 7, number, source="python")


def against_simpy(layout: Layout) -> list[Row]:
    """Shifts in the time of one in simpy."""
    alone, together = drawn(layout, 1), drawn(layout, 2)
    alone()
    one, two = [], []
    for number in range(ROUNDS):
        theirs = seconds(
            lambda number=number: simpy_line.simulate(layout, 7, number, source="python")
        )
        one.append(SHIFTS * theirs / seconds(alone))
        two.append(SHIFTS * theirs / seconds(together))
    on_one, on_two = statistics.median(one), statistics.median(two)
    return [
        ("one shift in simpy", "one shift, compiled, one core", on_one, None),
        (f"{GATE} shifts, compiled, one core", "one shift in simpy", GATE / on_one, 1.0),
        ("one shift in simpy", f"one shift on two cores (wish {WISH})", on_two, None),
    ]


def what_is_left(layout: Layout) -> list[Row]:
    """What a shift's time is spent on: chance, and the rest."""
    steady = replace(layout, service_cv=0.0, cone_cv=0.0)
    with_chance, without = drawn(layout, 1), drawn(steady, 1)
    ratios = [seconds(without) / seconds(with_chance) for _ in range(ROUNDS)]
    return [("a shift of services without spread", "a shift", statistics.median(ratios), None)]


def start_up() -> list[Row]:
    """The first answer of a process, cold and warm, in imports of numpy, scipy and numba."""
    clew, python = (str(Path(sys.executable).parent / name) for name in ("clew", "python"))
    with tempfile.TemporaryDirectory() as folder:
        mill = Path(folder) / "mill"
        subprocess.run([clew, "mill", "init", str(mill)], check=True, stdout=subprocess.DEVNULL)
        environment = os.environ | {"NUMBA_CACHE_DIR": str(Path(folder) / "cache")}

        def run(*command: str) -> Callable[[], object]:
            return lambda: subprocess.run(
                command, check=True, stdout=subprocess.DEVNULL, env=environment
            )

        answer = run(clew, "line", "simulate", "--mill", str(mill), "--json")
        imports = run(python, "-c", "import numba, numpy, scipy.special")
        imports()
        cold = seconds(answer)
        pairs = [(seconds(answer), seconds(imports)) for _ in range(5)]
    warm = statistics.median(pair[0] for pair in pairs)
    against = statistics.median(pair[1] for pair in pairs)
    words = "import numba, numpy, scipy"
    return [
        (f"first answer, cold: {cold:.1f} s (bar 10)", words, cold / against, None),
        (f"first answer, warm: {warm:.2f} s (bar 1.5)", words, warm / against, None),
    ]


def memory() -> Row:
    """Ten times the shifts hold no more memory."""
    few, many = (peak_kb(replications) for replications in (FEW, MANY))
    return (f"most memory of {MANY} shifts", f"of {FEW} shifts", many / few, 1.1)


def peak_kb(replications: int) -> float:
    """Most memory of a process that answers from so many shifts [kB]."""
    done = subprocess.run(
        [sys.executable, __file__, str(replications)], check=True, capture_output=True, text=True
    )
    return float(done.stdout)


def measured() -> list[Row]:
    """Every row of the simulator."""
    layout = eight_lanes()
    return [*against_simpy(layout), *what_is_left(layout), *start_up(), memory()]


def main(replications: int) -> None:
    """Print the most memory that so many shifts held [kB]."""
    shift_answer(eight_lanes(), replications=replications, seed=1)
    status = Path("/proc/self/status").read_text(encoding="ascii")
    print(status.split("VmHWM:")[1].split()[0])


if __name__ == "__main__":
    main(int(sys.argv[1]))
