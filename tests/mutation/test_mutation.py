"""The runner itself: it must find a weak test, and must leave texts and hints alone."""

from __future__ import annotations

import ast
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from tests.mutation.__main__ import interval
from tests.mutation.changes import changes
from tests.mutation.ground import Ground, Reach, callers, holders

ROOT = Path(__file__).resolve().parents[2]
TOY = '''"""A toy."""


def doff_at(length_m: float, full_m: float) -> bool:
    """Say whether a ball is full; 1 < 2."""
    return length_m >= full_m
'''
WEAK = """from toy.room.doff import doff_at


def test_doff():
    assert doff_at(90.0, 85.0)
    assert not doff_at(80.0, 85.0)
"""
STRONG = WEAK + "    assert doff_at(85.0, 85.0)\n"


def changes_of(source: str) -> list[tuple[str, str, str]]:
    return [(change.kind, change.before, change.after) for change in changes(ast.parse(source))]


def survivors(folder: Path, test: str) -> list[tuple[str, str]]:
    room = folder / "src" / "toy" / "room"
    room.mkdir(parents=True)
    (folder / "tests" / "room").mkdir(parents=True)
    (folder / "pyproject.toml").write_text("[tool.pytest.ini_options]\n", encoding="utf-8")
    (folder / "src" / "toy" / "__init__.py").touch()
    (room / "__init__.py").touch()
    (room / "doff.py").write_text(TOY, encoding="utf-8")
    (folder / "tests" / "room" / "test_doff.py").write_text(test, encoding="utf-8")
    out = folder / "out.json"
    words = ["-m", "tests.mutation", "room", "--plain", "--ground", str(folder), "--out", str(out)]
    done = subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    rows = json.loads(out.read_text(encoding="utf-8"))["rows"]
    assert len(rows) == 3
    assert (room / "doff.py").read_text(encoding="utf-8") == TOY
    return [(row["kind"], row["after"]) for row in rows if row["verdict"] == "survived"]


@pytest.mark.long
def test_a_weak_test_lets_the_moved_limit_through(tmp_path: Path) -> None:
    assert survivors(tmp_path, WEAK) == [("boundary", "length_m > full_m")]


@pytest.mark.long
def test_a_strong_test_lets_nothing_through(tmp_path: Path) -> None:
    assert survivors(tmp_path, STRONG) == []


def test_each_kind_of_change() -> None:
    source = """
def f(a: int, b: int = 3) -> int:
    while not a:
        a += 1
    if a < b and g(a, b):
        raise ValueError("no")
    return a * b
"""
    assert changes_of(source) == [
        ("constant", "3", "4"),
        ("constant", "3", "2"),
        ("boolean", "not a", "a"),
        ("left out", "a += 1", "pass"),
        ("arithmetic", "a += 1", "a -= 1"),
        ("constant", "1", "2"),
        ("constant", "1", "0"),
        ("condition", "a < b and g(a, b)", "not (a < b and g(a, b))"),
        ("boolean", "a < b and g(a, b)", "a < b or g(a, b)"),
        ("comparison", "a < b", "a >= b"),
        ("boundary", "a < b", "a <= b"),
        ("swapped", "g(a, b)", "g(b, a)"),
        ("left out", "raise ValueError('no')", "pass"),
        ("return", "return a * b", "return a * b + 1"),
        ("arithmetic", "a * b", "a / b"),
    ]


@pytest.mark.parametrize(
    "source",
    [
        '"""A docstring with 1 < 2."""',
        '__all__ = ["a", "b"]',
        "if TYPE_CHECKING:\n    x = 1",
        "def f(a: Literal[1, 2]) -> Literal[3]: ...",
        "@njit(cache=True)\ndef f(): ...",
        "text = 'a' + 'b' + str(x)",
        'fault = Fault(f"{a + 1} of {b}", "at most 3", row=number)',
        "pairs = zip(a, strict=True)",
    ],
)
def test_words_and_hints_are_left_alone(source: str) -> None:
    assert changes_of(source) == []


def test_a_kernel_within_a_kernel_is_reached_by_those_that_call_the_outer_one(
    tmp_path: Path,
) -> None:
    room = tmp_path / "src" / "toy" / "room"
    room.mkdir(parents=True)
    (room.parent / "__init__.py").touch()
    (room / "inner.py").write_text("@njit\ndef settle(): ...\n", encoding="utf-8")
    (room / "outer.py").write_text(
        "from toy.room.inner import settle\n@njit\ndef wind():\n    settle()\n", encoding="utf-8"
    )
    (room / "other.py").write_text("@njit\ndef cover(): ...\n", encoding="utf-8")
    (room / "ball.py").write_text(
        "from toy.room.outer import wind\n\ndef ball():\n    wind()\n", encoding="utf-8"
    )
    tests = tmp_path / "tests" / "room"
    tests.mkdir(parents=True)
    (tests / "test_ball.py").write_text("from toy.room.ball import ball\n", encoding="utf-8")
    (tests / "test_outer.py").write_text("from toy.room.outer import wind\n", encoding="utf-8")
    ball, own = "tests/room/test_ball.py::test_ball", "tests/room/test_outer.py::test_wind"
    ground = Ground(tmp_path, "room")
    reach = Reach({ball: 0.2, own: 0.1}, {"src/toy/room/ball.py": {4: [ball]}}, [])
    assert holders(ground, room / "inner.py") == [room / "outer.py"]
    assert holders(ground, room / "outer.py") == []
    assert callers(ground, reach, room / "inner.py") == [own, ball]
    assert callers(ground, reach, room / "other.py") == []


def test_the_interval_is_wilsons() -> None:
    """Wilson's limits solve (p - share)² = z² p (1 - p) / n."""
    for noticed, tried in ((0, 10), (7, 10), (10, 10), (131, 150)):
        for limit in interval(noticed, tried):
            apart = (limit - noticed / tried) ** 2
            assert apart == pytest.approx(1.959964**2 * limit * (1 - limit) / tried)
