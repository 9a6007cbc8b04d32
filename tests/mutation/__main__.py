"""Put small faults into a room, one at a time, and see whether its tests notice.

    python -m tests.mutation strand --sample 150 --seed 1

Draws that many changes of the room's code by the seed, runs each against the tests that reach its
line (the room's own and those against outside sources), and prints what was noticed, with a 95 %
interval of the score for the whole room. The sources on the disk are not touched.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

from tests.mutation.attempt import attempt, warm
from tests.mutation.changes import changed, changes
from tests.mutation.ground import Ground, Reach, callers, compiled, enter, measure, unmeasured

HERE = Path(__file__).resolve().parents[2]


def main() -> int:
    asked = _asked()
    kept = Path(tempfile.mkdtemp(prefix="mutation-"))
    os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = str(kept)
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    try:
        return _tried(asked, Ground(asked.ground.resolve(), asked.room), kept)
    finally:
        shutil.rmtree(kept)


def _asked() -> argparse.Namespace:
    asking = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    asking.add_argument("room")
    asking.add_argument("--sample", type=int, default=150, help="changes to draw")
    asking.add_argument("--seed", type=int, default=1, help="of the draw")
    asking.add_argument("--most", type=float, default=10.0, help="CPU seconds of tests a change")
    asking.add_argument("--reach", type=Path, help="a kept table of tests and lines")
    asking.add_argument(
        "--near", action="store_true", help="only files of tests that import a changed module"
    )
    asking.add_argument("--out", type=Path, help="keep outcomes here (JSON), or go on from it")
    asking.add_argument("--again", type=Path, help="only what survived in this earlier --out")
    asking.add_argument("--plain", action="store_true", help="files of tests by import, unmeasured")
    asking.add_argument("--ground", type=Path, default=HERE, help="folder of src and tests")
    return asking.parse_args()


def _tried(asked: argparse.Namespace, ground: Ground, kept: Path) -> int:
    drawn, of_all = _drawn(asked, ground)
    reach = None if asked.plain else _reach(asked, ground, kept, drawn)
    enter(ground)
    warm(ground.imports())
    print(f"{ground.room}: {len(drawn)} changes of {of_all}, seed {asked.seed}", flush=True)
    rows = _done(asked, drawn)
    for number, (name, at) in enumerate(drawn[len(rows) :], len(rows) + 1):
        row = _one(asked, ground, reach, name, at)
        rows.append(row)
        mark = f"{number}/{len(drawn)} {row['verdict']:9} {row['seconds']:5.1f} s"
        print(f"{mark}  {name}:{row['line']}  {row['before']}  ->  {row['after']}", flush=True)
        if asked.out:
            whole = {"room": ground.room, "of": of_all, "seed": asked.seed, "rows": rows}
            asked.out.write_text(json.dumps(whole, indent=1), encoding="utf-8")
    _say(rows)
    return 0


def _done(asked: argparse.Namespace, drawn: list[tuple[str, int]]) -> list[dict[str, Any]]:
    """Rows of an earlier run that was broken off, where it drew the same."""
    if not asked.out or not asked.out.exists():
        return []
    rows: list[dict[str, Any]] = json.loads(asked.out.read_text(encoding="utf-8"))["rows"]
    same = [(row["file"], row["number"]) for row in rows] == drawn[: len(rows)]
    return rows if same else []


def _reach(
    asked: argparse.Namespace, ground: Ground, kept: Path, drawn: list[tuple[str, int]]
) -> Reach:
    path: Path = asked.reach.resolve() if asked.reach else kept / "reach.json"
    if not path.exists():
        print("running the tests once, unchanged, to see which reach which line", flush=True)
        tests = ground.tests()
        if asked.near:
            tests = ground.naming(tests, sorted({ground.folder / name for name, _ in drawn}))
        child = os.fork()
        if child == 0:
            try:
                measure(ground, tests, path)
            finally:
                sys.stdout.flush()
                os._exit(0)
        os.waitpid(child, 0)
    return Reach.read(path)


def _drawn(asked: argparse.Namespace, ground: Ground) -> tuple[list[tuple[str, int]], int]:
    """Files and numbers of the changes to try, and how many there are in all."""
    if asked.again:
        before = json.loads(asked.again.read_text(encoding="utf-8"))
        rows = [row for row in before["rows"] if row["verdict"] == "survived"]
        return [(row["file"], row["number"]) for row in rows], before["of"]
    every = [
        (ground.name(path), number)
        for path in ground.sources()
        for number in range(len(changes(ast.parse(path.read_text(encoding="utf-8")))))
    ]
    return random.Random(asked.seed).sample(every, min(asked.sample, len(every))), len(every)


def _one(
    asked: argparse.Namespace, ground: Ground, reach: Reach | None, name: str, at: int
) -> dict[str, Any]:
    path = ground.folder / name
    source = path.read_text(encoding="utf-8")
    tree, change = changed(source, at)
    if reach is None:
        tests, expected_s = ground.near(path), asked.most
    else:
        tests = _tests(ground, reach, path, source, change.line)
        tests, expected_s = _within(reach, tests, asked.most)
        if asked.again and (new := unmeasured(ground, reach, path)):
            tests, expected_s = [*new, *tests], expected_s + asked.most
    row = {"file": name, "number": at, "line": change.line, "kind": change.kind}
    row |= {"before": change.before, "after": change.after, "tests": len(tests)}
    if not tests:
        return row | {"verdict": "survived", "seconds": 0.0}
    outcome = attempt(ground, path, tree, tests, expected_s)
    return row | {"verdict": outcome.verdict, "seconds": round(outcome.seconds, 2)}


def _tests(ground: Ground, reach: Reach, path: Path, source: str, line: int) -> list[str]:
    if compiled(source):
        return callers(ground, reach, path)
    name = ground.name(path)
    first, last, inside = _statement(ast.parse(source), line)
    tests = reach.of(name, first, last) if inside else []
    return tests or reach.of_module(ground, path)


def _statement(tree: ast.Module, line: int) -> tuple[int, int, bool]:
    """First and last line of the smallest statement that holds a line; whether in a function."""
    first, last, inside = line, line, False
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.body[0].lineno <= line <= node.end_lineno:
            inside = True
        if isinstance(node, ast.stmt) and node.lineno <= line <= node.end_lineno:
            body = getattr(node, "body", None)
            end = body[0].lineno - 1 if body else node.end_lineno
            first, last = node.lineno, max(line, end)
    return first, last, inside


def _within(reach: Reach, tests: list[str], most_s: float) -> tuple[list[str], float]:
    """The cheapest tests that fit in the time, at least one."""
    spent_s, fit = 0.0, []
    for test in tests:
        if fit and spent_s + reach.seconds[test] > most_s:
            break
        fit.append(test)
        spent_s += reach.seconds[test]
    return fit, spent_s


def interval(noticed: int, tried: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a share."""
    z, share = 1.959964, noticed / tried
    middle = (share + z * z / (2 * tried)) / (1 + z * z / tried)
    half = z / (1 + z * z / tried) * (share * (1 - share) / tried + (z / (2 * tried)) ** 2) ** 0.5
    return middle - half, middle + half


def _say(rows: list[dict[str, Any]]) -> None:
    if not rows:
        print("nothing to try")
        return
    count = Counter(row["verdict"] for row in rows)
    noticed = len(rows) - count["survived"]
    low, high = interval(noticed, len(rows))
    print(f"tried {len(rows)}, " + ", ".join(f"{name} {count[name]}" for name in sorted(count)))
    print(f"score {noticed / len(rows):.1%}, 95 % interval {low:.1%} to {high:.1%}")
    for row in rows:
        if row["verdict"] == "survived":
            print(f"  {row['file']}:{row['line']}  {row['before']}  ->  {row['after']}")


if __name__ == "__main__":
    begun = time.monotonic()
    code = main()
    print(f"{time.monotonic() - begun:.0f} s")
    sys.exit(code)
