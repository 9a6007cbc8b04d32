"""What the package says of itself: what it imports is asked for, what it asks for is used."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from importlib.metadata import distributions
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).parent.parent
SOURCE = ROOT / "src" / "clew"
PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))[
    "project"
]
EXTRAS: dict[str, list[str]] = PROJECT["optional-dependencies"]
OF_USERS = ("archive", "cluster", "postgresql")
DATA_ONLY = {"tzdata"}
"""Asked for, and read by the standard library: nothing imports it."""
NOT_THERE = {"_typeshed"}
"""Known to type checkers alone."""


def names(requirements: list[str]) -> set[str]:
    return {canonicalize_name(Requirement(one).name) for one in requirements}


def imported(tree: ast.AST) -> Iterator[str]:
    """Name the first part of every module that is imported anywhere in a file."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (one.name.partition(".")[0] for one in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield (node.module or "").partition(".")[0]
        elif (
            isinstance(node, ast.Call)
            and getattr(node.func, "attr", getattr(node.func, "id", "")) == "import_module"
            and node.args
            and isinstance(node.args[0], ast.Constant)
        ):
            yield str(node.args[0].value).partition(".")[0]


@cache
def trees() -> dict[Path, ast.Module]:
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in SOURCE.rglob("*.py")}


@cache
def strangers() -> dict[str, set[Path]]:
    """Find every module from outside that the package imports, with the files that do."""
    found: dict[str, set[Path]] = defaultdict(set)
    for path, tree in trees().items():
        for name in imported(tree):
            if name not in sys.stdlib_module_names and name not in {"clew"} | NOT_THERE:
                found[name].add(path)
    return found


@cache
def brought_by() -> dict[str, set[str]]:
    """Say which distribution brings a module."""
    found: dict[str, set[str]] = defaultdict(set)
    for one in distributions():
        name = canonicalize_name(one.metadata["Name"])
        for line in (one.read_text("RECORD") or "").splitlines():
            first, _, below = line.partition(",")[0].partition("/")
            if below or first.endswith((".py", ".so", ".pyd")):
                found[first.partition(".")[0]].add(name)
    return found


def test_what_is_imported_is_asked_for() -> None:
    asked = names(PROJECT["dependencies"])
    of_extras = {name for extra in OF_USERS for name in names(EXTRAS[extra])}
    found = strangers()
    assert len(found) > 15
    missing = {
        module: sorted(str(path.relative_to(ROOT)) for path in paths)
        for module, paths in found.items()
        if not brought_by()[module] & (asked | of_extras) and module != "pandas"
    }
    assert missing == {}


def test_what_is_asked_for_is_imported() -> None:
    used = {name for module in strangers() for name in brought_by()[module]}
    assert names(PROJECT["dependencies"]) - used == DATA_ONLY
    assert {name for extra in OF_USERS for name in names(EXTRAS[extra])} <= used


def test_an_extra_is_imported_where_it_is_used_and_nowhere_at_the_top() -> None:
    """Who has not installed it must still be able to load every module."""
    of_extras = {name for extra in OF_USERS for name in names(EXTRAS[extra])}
    of_extras -= names(PROJECT["dependencies"])
    modules = {name for name in strangers() if brought_by()[name] & of_extras}
    assert modules == {"distributed", "psycopg", "pyarrow"}
    for path, tree in trees().items():
        at_the_top = {
            name
            for node in tree.body
            if isinstance(node, (ast.Import, ast.ImportFrom))
            for name in imported(node)
        }
        assert not at_the_top & modules, path


def test_pandas_is_never_needed() -> None:
    """It is loaded where another brings it along, and done without where nobody does."""
    assert strangers()["pandas"] == {SOURCE / "web" / "drawn" / "charts.py"}
    assert "suppress(ImportError)" in (SOURCE / "web" / "drawn" / "charts.py").read_text(
        encoding="utf-8"
    )


def pinned() -> dict[str, Version]:
    lines = (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines()
    return {
        canonicalize_name(name): Version(version)
        for name, _, version in (one.partition("==") for one in lines if not one.startswith("#"))
    }


@pytest.mark.parametrize("extra", ["", *sorted(EXTRAS)])
def test_all_that_is_asked_for_is_pinned_within_what_is_asked(extra: str) -> None:
    pins = pinned()
    for text in EXTRAS[extra] if extra else PROJECT["dependencies"]:
        one = Requirement(text)
        assert one.specifier.contains(pins[canonicalize_name(one.name)]), text


def test_what_is_pinned_leads_to_what_is_pinned() -> None:
    """Nothing that is installed along comes in whatever version is newest that day."""
    pins = pinned()
    there = {canonicalize_name(one.metadata["Name"]): one for one in distributions()}
    loose = set()
    for name in pins.keys() & there.keys():
        for text in there[name].requires or []:
            one = Requirement(text)
            if one.marker is None or one.marker.evaluate({"extra": ""}):
                loose |= {canonicalize_name(one.name)} - pins.keys()
    assert loose <= {"setuptools"}


def test_the_word_on_pythons_is_one() -> None:
    """What the metadata names as tested is what the manual says was tested."""
    said = {
        one.rpartition(" ")[2]
        for one in PROJECT["classifiers"]
        if one.startswith("Programming Language :: Python :: 3.")
    }
    page = (ROOT / "docs" / "install.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| CPython (3\.\d+)[^|]*\| ([^|]+?) *\|", page, flags=re.M)
    assert {version for version, how in rows if how.startswith("tested")} == said
    least = PROJECT["requires-python"].removeprefix(">=")
    assert min(said, key=Version) == least
    assert sys.version_info >= tuple(int(one) for one in least.split("."))


def test_the_licence_and_the_types_are_inside() -> None:
    assert PROJECT["license"] == "Apache-2.0"
    for name in PROJECT["license-files"]:
        assert (ROOT / name).stat().st_size > 100
    assert (SOURCE / "py.typed").is_file()
    assert "Apache License" in (ROOT / "LICENSE").read_text(encoding="utf-8")[:200]
