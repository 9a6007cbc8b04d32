"""Fuzz every parser for a while: `make fuzz`, or `python -m tests.fuzz --minutes 60 --seed 1`.

The time is spread over the targets. With atheris installed (`pip install atheris`) inputs are
chosen by what new branches they reach; without it they are only mutated. Ends with 1 when a fault
was found; the inputs stand in the folder of `--out`, to be copied to `tests/fuzz/corpus`.
"""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.fuzz.targets import every_target

_COVERAGE = re.compile(r"cov: (\d+)")
_START_S = 120.0
"""What a process may take to import, compile and feed the sound inputs, before its time begins."""


def main() -> int:
    """Run the targets one after the other and print a line for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=60.0, help="for all targets together")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="targets whose name holds one of these, by ,")
    parser.add_argument(
        "--out",
        type=Path,
        default=Path(tempfile.gettempdir()) / "clew-fuzz",
        help="where inputs are kept",
    )
    asked = parser.parse_args()
    wanted = [one for one in asked.only.split(",") if one]
    targets = {
        name: target
        for name, target in every_target().items()
        if not wanted or any(one in name for one in wanted)
    }
    shares = sum(one.share for one in targets.values())
    print(f"seed {asked.seed}, {asked.minutes:g} minutes over {len(targets)} targets")
    print(
        f"{'target':32} {'seconds':>8} {'executions':>11} {'branches':>15} {'slowest s':>10} faults"
    )
    faults = 0
    for name, target in targets.items():
        seconds = asked.minutes * 60.0 * target.share / shares
        faults += _one(name, seconds, asked.seed, asked.out / name.replace("/", "-"))
    print(f"{faults} faults; inputs in {asked.out}")
    return 1 if faults else 0


def _one(name: str, seconds: float, seed: int, out: Path) -> int:
    out.mkdir(parents=True, exist_ok=True)
    said, log = out / "said.json", out / "log.txt"
    said.unlink(missing_ok=True)
    command = [
        sys.executable, "-m", "tests.fuzz.engine", name, "--seconds", f"{seconds:.0f}",
        "--seed", str(seed), "--out", str(out),
    ]  # fmt: skip
    began = time.monotonic()
    with log.open("wb") as stream:
        try:
            code = subprocess.run(
                command, stdout=stream, stderr=subprocess.STDOUT, check=False,
                timeout=seconds * 3.0 + _START_S,
            ).returncode  # fmt: skip
        except subprocess.TimeoutExpired:
            code = -1
    took = time.monotonic() - began
    found = json.loads(said.read_text("utf-8")) if said.exists() else {}
    coverage = _COVERAGE.findall(log.read_text("utf-8", "replace"))
    reached = f"{coverage[0]} to {coverage[-1]}" if coverage else "-"
    faults = dict(found.get("faults", {}))
    if code != 0:
        ended = "did not end in time" if code == -1 else f"ended with {code}"
        faults[f"the process {ended}; see {log}"] = ""
    print(
        f"{name:32} {took:8.0f} {found.get('executions', 0):11} {reached:>15} "
        f"{found.get('slowest_s', 0.0):10.2f} {len(faults)}",
        flush=True,
    )
    for where, kept in faults.items():
        print(f"    {where} {kept}", flush=True)
    return len(faults)


if __name__ == "__main__":
    sys.exit(main())
