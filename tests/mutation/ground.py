"""Where the changed modules and their tests stand, and which tests reach which line."""

from __future__ import annotations

import ast
import json
import os
import re
import sys
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

CHEAP = (
    *("-q", "-x", "--tb=no", "-p", "no:cacheprovider"),
    *("-p", "no:unraisableexception", "-p", "no:threadexception"),
)
QUIET = (
    *("-W", "ignore::pytest.PytestAssertRewriteWarning", "-m", "not browser and not services"),
    *("-o", "python_files=test_*.py"),  # else pytest itself loads a source named reference_test.py
)


@dataclass(frozen=True, slots=True)
class Ground:
    """A tree of sources and tests: ``src/<package>/<room>`` and ``tests/<room>``."""

    folder: Path
    room: str

    @property
    def package(self) -> Path:
        """The one package in ``src``."""
        return next(
            path for path in (self.folder / "src").iterdir() if (path / "__init__.py").exists()
        )

    def sources(self) -> list[Path]:
        """The room's files, in the order of their names."""
        return sorted((self.package / self.room).rglob("*.py"))

    def tests(self) -> list[str]:
        """The room's own tests, and those against outside sources that import the room."""
        imported = f"{self.package.name}.{self.room}"
        outside = [
            path
            for path in sorted((self.folder / "tests" / "published").glob("test_*.py"))
            if re.search(rf"\b{re.escape(imported)}\b", path.read_text(encoding="utf-8"))
        ]
        own = sorted((self.folder / "tests" / self.room).rglob("test_*.py"))
        return [self.name(path) for path in [*own, *outside]]

    def naming(self, tests: Iterable[str], modules: Iterable[Path]) -> list[str]:
        """Those of some files of tests that import from one of the modules."""
        names = [re.escape(self.module(path)).rpartition(r"\.") for path in modules]
        imported = re.compile(
            "|".join(rf"\b{home}(\.| import .*\b){name}\b" for home, _, name in names) or "$^"
        )
        return [
            test
            for test in tests
            if imported.search((self.folder / test).read_text(encoding="utf-8"))
        ]

    def near(self, path: Path, most: int = 10) -> list[str]:
        """Files of tests that import a module, or one that does, and so on; nearest first."""
        found: list[str] = []
        level, seen = [path], {path}
        while level and len(found) < most:
            found += [test for test in self.naming(self.tests(), level) if test not in found]
            left = [self.name(source) for source in self.sources() if source not in seen]
            level = [self.folder / name for name in self.naming(left, level)]
            seen.update(level)
        return found[:most]

    def imports(self) -> list[str]:
        """Every module that a source or a test of the ground imports by name."""
        line = re.compile(r"^\s*(?:from|import) ([\w.]+)", re.MULTILINE)
        files = [*self.package.rglob("*.py"), *map(self.folder.joinpath, self.tests())]
        return sorted({name for path in files for name in line.findall(path.read_text("utf-8"))})

    def module(self, path: Path) -> str:
        """The dotted name a file is imported by."""
        parts = path.relative_to(self.folder / "src").with_suffix("").parts
        return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)

    def name(self, path: Path) -> str:
        """A file as it is named in reports."""
        return path.relative_to(self.folder).as_posix()


@dataclass(frozen=True, slots=True)
class Reach:
    """Which passing tests run a line, and what they cost."""

    seconds: dict[str, float]
    lines: dict[str, dict[int, list[str]]]
    failing: list[str]

    def of(self, file: str, line: int, last: int) -> list[str]:
        """The tests that run a line (of a statement that ends at `last`), the cheapest first.

        After them the others of the same files: what a file's tests share is only seen to run in
        the first of them.
        """
        rows = self.lines.get(file, {})
        found = {test for at in range(line, last + 1) for test in rows.get(at, [])}
        files = {test.split("::")[0] for test in found}
        beside = {test for test in self.seconds if test.split("::")[0] in files} - found
        return [
            test
            for tests in (found, beside)
            for test in sorted(tests, key=lambda test: (self.seconds[test], test))
        ]

    def of_module(self, ground: Ground, path: Path) -> list[str]:
        """The tests that run anything of a file or stand in a file that imports from it."""
        rows = self.lines.get(ground.name(path), {})
        found = {test for tests in rows.values() for test in tests}
        naming = ground.naming({test.split("::")[0] for test in self.seconds}, [path])
        found |= {test for test in self.seconds if test.split("::")[0] in naming}
        return sorted(found, key=lambda test: (self.seconds[test], test))

    @classmethod
    def read(cls, path: Path) -> Reach:
        """Take one that was kept."""
        kept = json.loads(path.read_text(encoding="utf-8"))
        names = list(kept["seconds"])
        lines = {
            file: {int(line): [names[at] for at in tests] for line, tests in rows.items()}
            for file, rows in kept["lines"].items()
        }
        return cls(kept["seconds"], lines, kept["failing"])

    def keep(self, path: Path) -> None:
        """Write it down for another run on the same tree."""
        at = {test: number for number, test in enumerate(self.seconds)}
        lines = {
            file: {line: [at[test] for test in tests] for line, tests in rows.items()}
            for file, rows in self.lines.items()
        }
        kept = {"seconds": self.seconds, "lines": lines, "failing": self.failing}
        path.write_text(json.dumps(kept), encoding="utf-8")


class _Watch:
    """Says to the coverage measurement which test is running, and times it."""

    def __init__(self, cover: object) -> None:
        self.cover = cover
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        test = item.nodeid.split("[")[0]
        self.cover.switch_context(test)
        begun = time.process_time()
        try:
            return (yield)
        finally:
            spent = time.process_time() - begun
            self.seconds[test] = self.seconds.get(test, 0.0) + spent
            self.cover.switch_context("")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.add(report.nodeid.split("[")[0])


def enter(ground: Ground) -> None:
    """Make this process run the ground's tests on the ground's sources."""
    os.chdir(ground.folder)
    sys.path.insert(0, str(ground.folder / "src"))


def measure(ground: Ground, tests: list[str], path: Path) -> None:
    """Run the tests once, unchanged, and keep which ran which line; for a process of its own."""
    import coverage

    enter(ground)
    cover = coverage.Coverage(
        data_file=None, config_file=False, source=[str(ground.package / ground.room)]
    )
    watch = _Watch(cover)
    cover.start()
    pytest.main([*(word for word in CHEAP if word != "-x"), *QUIET, *tests], [watch])
    cover.stop()
    data = cover.get_data()
    passing = {test for test in watch.seconds if test not in watch.failed}
    lines = {
        ground.name(Path(file)): {
            line: [test for test in tests if test in passing]
            for line, tests in data.contexts_by_lineno(file).items()
        }
        for file in data.measured_files()
    }
    seconds = {test: spent for test, spent in watch.seconds.items() if test in passing}
    Reach(seconds, lines, sorted(watch.failed)).keep(path)
    print(f"{len(seconds)} tests pass; left aside as failing: {sorted(watch.failed) or 'none'}")


def compiled(source: str) -> bool:
    """Whether numba compiles something of the module: its lines run unseen by coverage."""
    return "@njit" in source


def callers(ground: Ground, reach: Reach, kernel: Path) -> list[str]:
    """The tests that run a line naming a function of a compiled module, or stand in a file that
    imports it, the cheapest first.

    A compiled module is called by those that call the compiled modules which hold it within.
    """
    kernels = [kernel, *holders(ground, kernel)]
    direct = ground.naming({test.split("::")[0] for test in reach.seconds}, kernels)
    found = {test for test in reach.seconds if test.split("::")[0] in direct}
    for one in kernels:
        called = _calls(one)
        for path in ground.sources():
            text = path.read_text(encoding="utf-8")
            if path == one or not called.search(text):
                continue
            rows = reach.lines.get(ground.name(path), {})
            for line, words in enumerate(text.splitlines(), 1):
                if called.search(words):
                    found.update(rows.get(line, []))
    return sorted(found, key=lambda test: (reach.seconds[test], test))


def holders(ground: Ground, kernel: Path) -> list[Path]:
    """Compiled modules that call a compiled module, or one that does: they must be compiled too."""
    found: list[Path] = []
    asked = [kernel]
    while asked:
        one = asked.pop()
        above = [
            path
            for path in ground.sources()
            if path not in (kernel, *found)
            and compiled(text := path.read_text(encoding="utf-8"))
            and re.search(rf"\bfrom {re.escape(ground.module(one))} import\b", text)
            and _calls(one).search(text)
        ]
        found += above
        asked += above
    return found


def _calls(kernel: Path) -> re.Pattern[str]:
    tree = ast.parse(kernel.read_text(encoding="utf-8"))
    names = [node.name for node in tree.body if isinstance(node, ast.FunctionDef)]
    return re.compile(r"\b(" + "|".join(names) + r")\(")


def unmeasured(ground: Ground, reach: Reach, path: Path) -> list[str]:
    """Tests written since the measurement, in the files nearest to a module."""
    known = {*reach.seconds, *reach.failing}
    return [
        f"{file}::{node.name}"
        for file in ground.near(path)
        for node in ast.parse((ground.folder / file).read_text(encoding="utf-8")).body
        if isinstance(node, ast.FunctionDef)
        and node.name.startswith("test_")
        and f"{file}::{node.name}" not in known
    ]
