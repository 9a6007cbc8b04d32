"""Reading weighings: time and memory by the row as files grow, and against pandas.read_csv.

    .venv/bin/python benchmarks/weighings.py             # by itself, up to ten million rows
    .venv/bin/python benchmarks/weighings.py 1000000     # up to so many

Each file is read in a process of its own, so that its peak memory is its own. pandas reads the
same file in a process beside it: it does not look at times, does not refuse a faulty cell and does
not know on which line one stands. Rows are (what, against, ratio, most allowed).
"""

from __future__ import annotations

import json
import random
import statistics
import subprocess
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

Row = tuple[str, str, float, float | None]

SIZES = (100_000, 1_000_000, 10_000_000)
ROUNDS = 3
A_DAY = 50_000
"""Balls in a day of the made-up file."""

READ = """
import json, sys, time
from pathlib import Path
{start}
def peak_bytes():  # of this program alone: getrusage would count the one that started it
    status = Path("/proc/self/status").read_text()
    return 1024 * int(status.split("VmHWM:")[1].split()[0])
before = peak_bytes()
started = time.perf_counter()
{read}
took = time.perf_counter() - started
print(json.dumps({{"s": took, "bytes": peak_bytes() - before, "rows": rows}}))
"""
CLEW = READ.format(
    start="from clew.ledger.intake.weighings import read_weighings\n",
    read="rows = read_weighings(Path(sys.argv[1])).rows",
)
PANDAS = READ.format(
    # the same baseline, whether pyarrow is there or not
    start="import pandas\npandas.options.mode.string_storage = 'python'\n",
    read="rows = len(pandas.read_csv(sys.argv[1]))",
)


def make(path: Path, rows: int) -> None:
    """Write a file of weighings: six winders, cones of fifteen balls, every twentieth reeled."""
    rng = random.Random(11)
    day = "".join(
        f"@DT{step * 86_400 // A_DAY // 3600:02d}:{step * 86_400 // A_DAY // 60 % 60:02d}:"
        f"{step * 86_400 // A_DAY % 60:02d},L-@D,@D-{step // 90},{step % 6 + 1},"
        f"{rng.gauss(101.0, 1.5):.1f},{'' if step % 20 else f'{rng.gauss(201.0, 1.0):.1f}'}\n"
        for step in range(A_DAY)
    )
    start = date(2026, 1, 1)
    with path.open("w", encoding="utf-8", newline="\n") as out:
        out.write("time,lot,cone,winder,mass_g,length_m\n")
        for number in range(rows // A_DAY):
            out.write(day.replace("@D", (start + timedelta(days=number)).isoformat()))


def read_apart(program: str, path: Path, rows: int) -> tuple[float, float]:
    """Seconds and bytes beyond the start-up's that a process of its own takes for a file."""
    told = json.loads(
        subprocess.run(
            [sys.executable, "-c", program, str(path)], check=True, capture_output=True, text=True
        ).stdout
    )
    if told["rows"] != rows:
        raise SystemExit(f"{path} has {rows} rows, and {told['rows']} were read")
    return told["s"], told["bytes"]


def measured(most_rows: int = SIZES[-1]) -> list[Row]:
    """Growth by the row from the smallest file to the largest, and the ratio to pandas there."""
    sizes = [size for size in SIZES if size <= most_rows]
    seconds: dict[int, float] = {}
    memory: dict[int, float] = {}
    against: dict[int, float] = {}
    with tempfile.TemporaryDirectory() as folder:
        for rows in sizes:
            path = Path(folder) / "weighings.csv"
            make(path, rows)
            ours, theirs = [], []
            for _ in range(ROUNDS):
                ours.append(read_apart(CLEW, path, rows))
                theirs.append(read_apart(PANDAS, path, rows))
            seconds[rows] = statistics.median(one[0] for one in ours)
            memory[rows] = statistics.median(one[1] for one in ours)
            against[rows] = statistics.median(
                our[0] / their[0] for our, their in zip(ours, theirs, strict=True)
            )
    few, many = sizes[0], sizes[-1]
    name = f"{many:.0e}".replace("e+0", "e")
    small = f"{few:.0e}".replace("e+0", "e")
    return [
        (
            f"weighings, time a row, {name} rows",
            f"the same at {small} rows",
            seconds[many] / many / (seconds[few] / few),
            1.5,
        ),
        (
            f"weighings, memory a row, {name} rows",
            f"the same at {small} rows",
            memory[many] / many / (memory[few] / few),
            1.2,
        ),
        (f"weighings read, {name} rows", "pandas.read_csv of the file", against[many], 6.0),
    ]


if __name__ == "__main__":
    for what, other, ratio, most in measured(int(sys.argv[1]) if sys.argv[1:] else SIZES[-1]):
        print(f"{what:<42}{other:<44}{ratio:>7.2f}{most:>7.1f}")
