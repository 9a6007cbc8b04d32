"""The house itself: small files, documented functions, units in every docstring."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SOURCES = sorted((ROOT / "src" / "clew").rglob("*.py"))
MOST_LINES = 420


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_file_holds_one_subject(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES


def public_functions(body: list[ast.stmt]) -> Iterator[ast.FunctionDef]:
    """Functions of a module and methods of its classes; not what stands inside a function."""
    for node in body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from public_functions(node.body)
        elif isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_public_functions_with_units_in_their_arguments_say_them(path: Path) -> None:
    """A documented parameter that is a float carries its unit in brackets."""
    for node in public_functions(ast.parse(path.read_text(encoding="utf-8")).body):
        text = ast.get_docstring(node)
        assert text, f"{path.name}: {node.name} has no docstring"
        if "Parameters\n----------" not in text:
            continue
        section = (
            text.split("Parameters\n----------")[1].split("\nReturns\n")[0].split("\nRaises\n")[0]
        )
        entries = re.split(r"\n(?=\S)", section.strip("\n"))
        for entry in entries:
            head = entry.splitlines()[0]
            if re.search(r":\s*float\b", head) and not re.search(r"float or None$", head):
                assert re.search(r"\[[^\]]+\]", entry), (
                    f"{path.name}: {node.name}: no unit for {head}"
                )
