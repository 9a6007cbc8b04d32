"""A shift of twenty thousand balls from its file to charts, components, corrections and target.

The four commands run in this process after each has run once, so that starting is not counted. The
baseline reads the same file with pandas and finds means and spreads by winder, dye lot and cone:
what a spreadsheet would tell of the shift.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from click.testing import CliRunner

from clew.cli.main import main as clew

ROWS = 20_000
BALLS_PER_CONE = 15
ROUNDS = 3
MOST_TIMES = 270.0
"""Two seconds where the summary takes 7.4 ms."""

Row = tuple[str, str, float, float | None]


def write_shift(path: Path, rows: int = ROWS, seed: int = 1) -> None:
    """Six winders, two dye lots, cones of fifteen balls, every fortieth ball reeled."""
    rng = np.random.default_rng(seed)
    cone = np.arange(rows) // BALLS_PER_CONE
    winder, lot = cone % 6, cone * 2 // (cone[-1] + 1)
    mass = 101.6 + rng.normal(0, 1.2, cone[-1] + 1)[cone] + rng.normal(0, 0.9, rows)
    mass += np.array([0.0, 0.2, -0.1, 1.8, 0.1, -0.2])[winder] + 0.9 * lot
    length = 202.0 + 3.6 * (winder == 3) + rng.normal(0, 1.4, rows)
    lines = ["lot,cone,lane,winder,mass_g,length_m"]
    lines += [
        f"L{lot[k]},C{cone[k]},{winder[k] + 1},{winder[k] + 1},{mass[k]:.1f},"
        + (f"{length[k]:.1f}" if k % 40 == 0 else "")
        for k in range(rows)
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def commands(data: Path, mill: Path) -> list[list[str]]:
    file, of_mill = str(data), ["--mill", str(mill), "--ball", "Querl 100"]
    return [
        ["weigh", "charts", file, "--chart", "xbar-s", "--by", "winder", "--json"],
        ["weigh", "components", file, "--json"],
        ["weigh", "correct", file, *of_mill, "--json"],
        ["weigh", "target", file, *of_mill, "--lot-size", "10000", "--json"],
    ]


def run(command: list[str]) -> float:
    started = time.perf_counter()
    done = CliRunner().invoke(clew, command)
    took = time.perf_counter() - started
    if done.exit_code not in (0, 1):
        raise SystemExit(f"{' '.join(command)}: {done.output}")
    return took


def plain(data: Path) -> float:
    import pandas as pd

    pd.options.mode.string_storage = "python"  # the same baseline, whether pyarrow is there or not
    started = time.perf_counter()
    frame = pd.read_csv(data)
    for name in ("winder", "lot", "cone"):
        frame.groupby(name)["mass_g"].agg(["mean", "std", "count"])
    return time.perf_counter() - started


def _median(one: Callable[[], float]) -> float:
    return statistics.median(one() for _ in range(ROUNDS))


def measured() -> list[Row]:
    """Time of the four commands over that of the plain summary."""
    with tempfile.TemporaryDirectory() as folder:
        mill, data = Path(folder) / "mill", Path(folder) / "shift.csv"
        CliRunner().invoke(clew, ["demo", "--mill", str(mill), "--no-serve"])
        write_shift(data)
        asked = commands(data, mill)
        each = []
        for command in asked:
            run(command)  # imports and compiled parts
            each.append(_median(lambda command=command: run(command)))
        plain(data)
        base = _median(lambda: plain(data))
    words = "pandas: read, means by winder, lot, cone"
    found: list[Row] = [
        (f"  of it weigh {command[1]}", words, took / base, None)
        for command, took in zip(asked, each, strict=True)
    ]
    return [("20 000 balls: charts to target", words, sum(each) / base, MOST_TIMES), *found]


if __name__ == "__main__":
    for what, against, found, _ in measured():
        print(f"{what:<42}{against:<44}{found:>7.2f}")
