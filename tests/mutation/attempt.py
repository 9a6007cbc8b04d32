"""One changed module against its tests, in a process split off from a warm one.

The changed module never touches the disk: the split-off process compiles the edited tree and gives
it out when the module is imported. A compiled kernel is compiled anew there, past numba's store.
"""

from __future__ import annotations

import ast
import gc
import importlib
import importlib.abc
import importlib.util
import os
import resource
import signal
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from types import CodeType, ModuleType
from typing import Any

import pytest
from tests.mutation.ground import CHEAP, QUIET, Ground, compiled, holders

WARM = ("numpy", "scipy", "numba", "llvmlite", "hypothesis", "click", "pydantic", "tomllib")
SPARE_S = 10.0
TIMES = 4.0


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the tests made of a change: `killed`, `timed out` or `survived`; CPU time [s]."""

    verdict: str
    seconds: float


class _Loader(SourceFileLoader):
    def __init__(self, name: str, path: str, code: CodeType) -> None:
        super().__init__(name, path)
        self.code = code

    def get_code(self, fullname: str) -> CodeType:
        return self.code


class _Finder(importlib.abc.MetaPathFinder):
    def __init__(self, given: dict[str, tuple[Path, CodeType]]) -> None:
        self.given = given

    def find_spec(
        self, name: str, path: Any = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if name not in self.given:
            return None
        file, code = self.given[name]
        loader = _Loader(name, str(file), code)
        return importlib.util.spec_from_file_location(name, file, loader=loader)


class _Settled:
    """Property tests draw the same examples each time and do not shrink what fails."""

    @pytest.hookimpl(trylast=True)
    def pytest_configure(self, config: pytest.Config) -> None:
        from hypothesis import Phase, settings

        settings.register_profile(
            "settled",
            parent=settings.default,
            phases=[Phase.explicit, Phase.generate],
            derandomize=True,
            database=None,
            deadline=None,
        )
        settings.load_profile("settled")


def warm(modules: list[str]) -> None:
    """Import what the tests import of others' packages, so that no attempt pays for it."""
    for name in modules:
        if name.split(".")[0] in WARM:
            with suppress(Exception):
                importlib.import_module(name)
    gc.collect()
    gc.freeze()


def attempt(
    ground: Ground, path: Path, tree: ast.Module, tests: list[str], expected_s: float
) -> Outcome:
    """Run the tests on the changed module; a test that fails kills it.

    More CPU time than four times what the tests took unchanged and ten seconds is a time-out.
    """
    most_s = SPARE_S + TIMES * expected_s
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        _run(ground, path, tree, tests, most_s)
    ended, status, used = _wait(child, 20 * most_s)
    spent = used.ru_utime + used.ru_stime
    if not ended or (os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGXCPU):
        return Outcome("timed out", spent)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status) == pytest.ExitCode.OK:
        return Outcome("survived", spent)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status) == pytest.ExitCode.NO_TESTS_COLLECTED:
        raise RuntimeError(f"no such tests: {tests}")
    return Outcome("killed", spent)


def _wait(child: int, wall_s: float) -> tuple[bool, int, resource.struct_rusage]:
    """Wait for a process; one that sleeps past the wall time is ended with all it started."""
    begun = time.monotonic()
    while True:
        pid, status, used = os.wait4(child, os.WNOHANG)
        if pid:
            return True, status, used
        if time.monotonic() - begun > wall_s:
            os.killpg(child, signal.SIGKILL)
            _, status, used = os.wait4(child, 0)
            return False, status, used
        time.sleep(0.02)


def _run(ground: Ground, path: Path, tree: ast.Module, tests: list[str], most_s: float) -> None:
    os.setsid()
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nowhere, stream)
    resource.setrlimit(resource.RLIMIT_CPU, (int(most_s) + 1, int(most_s) + 5))
    code: int = pytest.ExitCode.INTERNAL_ERROR
    try:
        trees = {path: tree}
        if compiled(path.read_text(encoding="utf-8")):
            trees |= {one: ast.parse(one.read_text("utf-8")) for one in holders(ground, path)}
        given = {ground.module(one): (one, _built(one, tree)) for one, tree in trees.items()}
        sys.meta_path.insert(0, _Finder(given))
        code = pytest.main([*CHEAP, *QUIET, *tests], [_Settled()])
    finally:
        os._exit(code)


def _built(path: Path, tree: ast.Module) -> CodeType:
    """Compile a module whose kernels are not taken from numba's store."""
    for part in ast.walk(tree):
        if isinstance(part, ast.keyword) and part.arg == "cache":
            part.value = ast.Constant(False)
    return compile(ast.fix_missing_locations(tree), str(path), "exec")
