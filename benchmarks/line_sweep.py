"""A sweep over a line, ten by ten points: what it costs over drawing the same shifts by hand.

Rows are (what, against, ratio, most allowed); a row without a most is for information.
"""

from __future__ import annotations

import functools
import io
import itertools
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import redirect_stderr
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

from clew.campaign.checkpoint import Checkpoint
from clew.campaign.cores import core_count
from clew.campaign.sweep import sweep
from clew.cli.line.sweep_progress import sweep_progress
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.point import ShiftPoint, point_of
from clew.mill import mill_from_text

ROUNDS = 3
BAR_S = 15.0
"""Wanted of the whole command on two cores; for information, since the machine may be busy."""
MOST = 1.3
AXES = ("hands=1..10", "feed=210 m/min..300 m/min/10")
SHIFTS = functools.partial(point_of, replications=100, seed=7)

Row = tuple[str, str, float, float | None]


class Watched(io.StringIO):
    """Standard error that somebody looks at, so that the bar is drawn."""

    def isatty(self) -> bool:
        return True


def layouts() -> list[Layout]:
    """Eight lanes for eight hours: ten crews at ten feeds."""
    text = (files("clew.mill") / "demo" / "mill.toml").read_text(encoding="utf-8")
    line = replace(layout_of(mill_from_text(text), "Line 1", "Querl 100"), lanes=8)
    return [
        replace(line, hands=hands, feed_m_per_s=(210.0 + 10.0 * step) / 60.0)
        for hands, step in itertools.product(range(1, 11), range(10))
    ]


def seconds(work: Callable[[], object]) -> float:
    """Time one piece of work."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def by_hand(points: list[Layout]) -> list[ShiftPoint]:
    """Draw the same shifts in as many threads, without a sweep."""
    with ThreadPoolExecutor(core_count()) as pool:
        return list(pool.map(SHIFTS, points))


def swept(points: list[Layout]) -> list[ShiftPoint]:
    """Sweep, each point kept on the disk when it is done, and a bar drawn."""
    with (
        tempfile.TemporaryDirectory() as folder,
        redirect_stderr(Watched()),
        sweep_progress("points") as progress,
    ):
        kept = Checkpoint.of(ShiftPoint, Path(folder) / "sweep.jsonl", seed=7)
        return list(sweep(SHIFTS, points, checkpoint=kept, progress=progress))


def over_by_hand() -> Row:
    """The sweep against the same shifts drawn by hand, in turn."""
    points = layouts()
    if repr(by_hand(points)) != repr(swept(points)):
        raise AssertionError("a sweep gives other numbers than its points")
    rounds = [
        seconds(lambda: swept(points)) / seconds(lambda: by_hand(points)) for _ in range(ROUNDS)
    ]
    return (
        "sweep of 10 x 10 points, kept and shown",
        "the same shifts, without a sweep",
        statistics.median(rounds),
        MOST,
    )


def whole_command() -> Row:
    """The command from start to end, as a process, in bars."""
    with tempfile.TemporaryDirectory() as folder:
        clew = [str(Path(sys.executable).parent / "clew")]
        mill = str(Path(folder) / "mill")
        subprocess.run([*clew, "mill", "init", mill], check=True, stdout=subprocess.DEVNULL)
        program = [sys.executable, "-c", "from clew.cli.line.sweep import sweep; sweep()"]
        line = ["--mill", mill, "--line", "Line 1", "--ball", "Querl 100", "--lanes", "8"]
        over = [part for axis in AXES for part in ("--over", axis)]
        keep = ["--keep", str(Path(folder) / "sweep.jsonl"), "--seed", "7"]

        def run() -> None:
            subprocess.run([*program, *line, *over, *keep], check=True, stdout=subprocess.DEVNULL)

        before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
        took = seconds(run)
        worked = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before
    what = f"its command: {took:.1f} s, cores' {worked:.1f} s"
    return what, f"{BAR_S:.0f} s", took / BAR_S, None


def measured() -> list[Row]:
    """Every row of the sweep."""
    return [over_by_hand(), whole_command()]


if __name__ == "__main__":
    for what, against, ratio, most in measured():
        print(f"{what:<42}{against:<44}{ratio:>7.2f}{'any' if most is None else most:>7}")
