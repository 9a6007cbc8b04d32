"""Ratios against named baselines, measured in one run: `make bench`.

Each command is timed as a whole process, in turn with its baseline, so that a busy machine slows
both; the median of the ratios is printed beside the most that is allowed. The cutting plan, the
law of knots and the line in time are timed inside this process; files of up to ten million
weighings are read in processes of their own; the ledger's speed is a share of the bare database
module's; every page and every slider's drag is held against the server's empty page; events are
followed to the page that shows them; a hundred thousand random lines run last.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import components
import cutting
import law
import ledger_append
import ledger_trace
import line_random
import line_simulate
import line_sweep
import live_update
import pages
import sequence
import weigh_shift
import weighings

BIN = Path(sys.executable).parent
ROUNDS = 9
TRACED = 1_000_000
"""Events traced here; `python benchmarks/ledger_trace.py` takes ten million."""

LONG_BALL = """
[[ball]]
name = "Long 1000"
yarn = "Querl"
declared_mass = "495 g"
declared_length = "1000 m"
rule_set = "eu-average"
mandrel_diameter = "36 mm"
mandrel_width = "110 mm"
wind_ratio = 22.62
tilt = [{ turn = 0, tilt = "24°" }, { turn = 220, tilt = "48°" }, { turn = 440, tilt = "24°" }]
tilt_repeats = true
pack_density = "150 kg/m3"
pack_density_cv = "3 %"
tension = "40 cN"
tension_sd = "3 cN"
turn_length_cv = "0.8 %"
knot_limit = 3
packing = { balls_per_bag = 2, bags_per_case = 8 }
"""


@dataclass(frozen=True)
class Ratio:
    what: str
    command: list[str]
    baseline_words: str
    baseline: list[str]
    most: float


def seconds(command: list[str]) -> float:
    started = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return time.perf_counter() - started


def measure(ratio: Ratio) -> float:
    for command in (ratio.command, ratio.baseline):
        seconds(command)
    return statistics.median(
        seconds(ratio.command) / seconds(ratio.baseline) for _ in range(ROUNDS)
    )


def ratios(mill: Path) -> list[Ratio]:
    python, clew = str(BIN / "python"), str(BIN / "clew")
    return [
        Ratio(
            "clew --help",
            [clew, "--help"],
            "python -c 'import click'",
            [python, "-c", "import click"],
            3.0,
        ),
        Ratio(
            "clew ball turns, 1000 m, with intervals",
            [clew, "ball", "turns", "Long 1000", "--mill", str(mill), "--json"],
            "python -c 'import numpy, scipy.optimize'",
            [python, "-c", "import numpy, scipy.optimize"],
            10.0,
        ),
    ]


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        mill = Path(folder) / "mill"
        subprocess.run(
            [str(BIN / "clew"), "mill", "init", str(mill)], check=True, stdout=subprocess.DEVNULL
        )
        file = mill / "mill.toml"
        file.write_text(file.read_text(encoding="utf-8") + LONG_BALL, encoding="utf-8")
        failed = False
        print(f"{'what':<42}{'against':<44}{'ratio':>7}{'most':>7}")
        for ratio in ratios(mill):
            found = measure(ratio)
            failed |= found >= ratio.most
            print(f"{ratio.what:<42}{ratio.baseline_words:<44}{found:>7.2f}{ratio.most:>7.1f}")
        for what, against, found, most in (
            *components.measured(),
            *components.growth(),
            *cutting.measured(),
            *law.measured(),
            *line_simulate.measured(),
            *line_sweep.measured(),
            *sequence.measured(),
            *weigh_shift.measured(),
            *weighings.measured(),
        ):
            failed |= most is not None and found >= most
            allowed = "any" if most is None else f"{most:.1f}"
            print(f"{what:<42}{against:<44}{found:>7.2f}{allowed:>7}")
        for what, against, speed, least in ledger_append.measured():
            failed |= speed < least
            print(f"{what:<42}{against:<44}{speed:>7.2f}{f'>= {least}':>7}")
        failed |= not ledger_trace.run(TRACED)
        failed |= pages.main() > 0
        failed |= live_update.main([]) > 0
        failed |= line_random.main() > 0
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
