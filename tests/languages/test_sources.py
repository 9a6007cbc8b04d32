"""Every message is a literal, so that a translator sees it."""

from __future__ import annotations

import ast
import string

from clew.languages.gather import SOURCE

_SILENT = ("cli", "languages")


def test_messages_are_literals_with_named_places() -> None:
    wrong, seen = [], 0
    for path in sorted(SOURCE.rglob("*.py")):
        if path.relative_to(SOURCE).parts[0] in _SILENT:
            continue
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
                continue
            if node.func.id not in ("say", "say_many"):
                continue
            seen += 1
            for arg in node.args[: 2 if node.func.id == "say_many" else 1]:
                where = f"{path.relative_to(SOURCE)}:{node.lineno}"
                if not isinstance(arg, ast.Constant) or not isinstance(arg.value, str):
                    wrong.append(f"{where}: not a literal")
                    continue
                places = [
                    name
                    for _, name, _, _ in string.Formatter().parse(arg.value)
                    if name is not None
                ]
                given = {one.arg for one in node.keywords} | (
                    {"n"} if node.func.id == "say_many" else set()
                )
                if None not in given and not set(places) <= given:
                    wrong.append(f"{where}: {set(places) - given} is not filled")
    assert not wrong
    assert seen > 100
