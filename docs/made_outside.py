"""The table of outside checks, read off the tests' source: it cannot say more than they do."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent


@dataclass(frozen=True, order=True)
class OutsideCheck:
    document: str
    edition: str
    section: str
    mark: str
    test: str
    cases: int


def _literal(node: ast.expr) -> object:
    try:
        return ast.literal_eval(node)
    except ValueError:
        return None


def _cases(function: ast.FunctionDef) -> int:
    """Count the rows of parametrised checks, where they stand in the decorator."""
    total = 1
    for decorator in function.decorator_list:
        if (
            isinstance(decorator, ast.Call)
            and ast.unparse(decorator.func).endswith("parametrize")
            and len(decorator.args) > 1
        ):
            rows = decorator.args[1]
            if isinstance(rows, ast.List | ast.Tuple):
                total *= len(rows.elts)
    return total


def outside_checks(folder: Path) -> Iterator[OutsideCheck]:
    """Read every `outside` marker off the test files of a folder."""
    for path in sorted(folder.glob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.FunctionDef):
                continue
            for decorator in node.decorator_list:
                if (
                    isinstance(decorator, ast.Call)
                    and ast.unparse(decorator.func) == "pytest.mark.outside"
                ):
                    words = {str(k.arg): str(_literal(k.value)) for k in decorator.keywords}
                    yield OutsideCheck(
                        words["document"],
                        words["edition"],
                        words["section"],
                        words["mark"],
                        f"{path.name}: {node.name.removeprefix('test_').replace('_', ' ')}",
                        _cases(node),
                    )


_MARKS = {
    "READ": "Printed in a source that was seen, or in a copy of it.",
    "MEMORY": "Recalled, not seen: to be checked against the source.",
    "COMPUTED": "Worked out by another program or library.",
    "DERIVED": "Worked out by hand from stated inputs, apart from Clew's own code.",
}
"""Every mark a check may carry, strongest first."""


def outside_page(folder: Path) -> str:
    checks = sorted(set(outside_checks(folder)))
    unknown = {check.mark for check in checks} - set(_MARKS)
    if unknown:
        raise ValueError(f"marks that are not in the table: {sorted(unknown)}")
    lines = [
        "# Outside checks",
        "",
        "What the numbers of Clew are held against, outside Clew. The tests make the tables.",
        f"{len(checks)} checks against {len({check.document for check in checks})} sources.",
        "",
    ]
    for mark, words in _MARKS.items():
        marked = [check for check in checks if check.mark == mark]
        lines += [
            f"## {mark}",
            "",
            f"{words} {len(marked)} checks.",
            "",
            "| source | edition | section | held by | rows |",
            "|---|---|---|---|---|",
        ]
        for one in marked:
            cells = [one.document, one.edition, one.section, one.test, str(one.cases)]
            lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
        lines.append("")
    return "\n".join(lines)
