"""The theory part's tables: every formula's function with its page, its source and its tests.

Read off the docstrings' ``Source:`` lines and the tests' own text, so that they say no more than
these do.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from made_outside import ROOT, outside_checks

PACKAGE = ROOT / "src" / "clew"
ROOMS: Mapping[str, str] = {
    "quantities": "Quantities and units",
    "strand": "The strand",
    "ball": "The ball",
    "knots": "Knots",
    "line": "The line",
    "checks": "Checks",
    "plan": "Planning and costing",
}
PAGES: Mapping[str, str] = {
    "quantities": "mill_file",
    "strand": "strand",
    "ball.first": "first_balls",
    "ball.run_card": "run_card",
    "ball.size": "ball_shape",
    "ball.wind": "ball_wind",
    "ball": "ball_turns",
    "knots.answer": "knots_answer",
    "knots.complaints": "knots_answer",
    "knots.cone_size": "knots_cones",
    "knots.cutting": "knots_cutting",
    "knots.policy": "knots_policy",
    "knots.price": "knots_price",
    "knots.rate": "knots_rates",
    "knots": "knots_law",
    "line.heat": "line_heat",
    "line.improve": "line_crew",
    "line.interference": "line_interference",
    "line.tracker": "line_where",
    "line": "line_simulate",
    "checks.attributes.shade": "lot_shade",
    "checks.attributes": "lot_sample",
    "checks.band": "band_law",
    "checks.charts.run_length": "weigh_arl",
    "checks.charts.choose": "weigh_arl",
    "checks.charts.set_to_alarms": "weigh_arl",
    "checks.charts.false_calls": "weigh_arl",
    "checks.charts": "weigh_charts",
    "checks.components.correct": "weigh_correct",
    "checks.components.funnel": "weigh_correct",
    "checks.components": "weigh_components",
    "checks.instruments": "weigh_scale",
    "checks.packages": "lot_test",
    "checks.release": "lot_release",
    "checks.target": "weigh_target",
    "checks.condition": "lot_test",
    "checks.reel_length": "weigh_scale",
    "checks.weighings": "weigh_import",
    "plan.costing": "plan_cost",
    "plan.orders": "plan_materials",
    "plan.packing": "plan_packing",
    "plan.sequence": "plan_sequence_method",
    "plan.shift": "plan_shift",
    "plan": "plan_sequence",
}
"""Page of a module: that of the longest beginning of its name that stands here."""

_SOURCE = re.compile(r"Source:\s*(.+?)(?:\n\s*\n|\Z)", re.DOTALL)
_MOST_TESTS = 2


@dataclass(frozen=True)
class Formula:
    module: str
    name: str
    words: str
    source: str

    @property
    def page(self) -> str:
        begun = [key for key in PAGES if self.module == key or self.module.startswith(key)]
        return PAGES[max(begun, key=len)]


def formulas(room: str) -> Iterator[Formula]:
    """Read every function and constant of a room whose docstring names its source."""
    for path in sorted((PACKAGE / room).rglob("*.py")):
        module = ".".join(path.relative_to(PACKAGE).with_suffix("").parts).removesuffix(".__init__")
        for name, text in _documented(ast.parse(path.read_text(encoding="utf-8"))):
            found = _SOURCE.search(text)
            if found is None:
                continue
            words = " ".join(text.split("\n\n")[0].split())
            words = " ".join(words.partition(" Source:")[0].split())
            yield Formula(module, name, words, " ".join(found[1].split()))


def _documented(tree: ast.Module) -> Iterator[tuple[str, str]]:
    yield from ((name, text) for name, text in [("", ast.get_docstring(tree) or "")] if text)
    yield from _inside(tree.body, "")


def _inside(body: list[ast.stmt], before: str) -> Iterator[tuple[str, str]]:
    for at, node in enumerate(body):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            text = ast.get_docstring(node)
            if text:
                yield before + node.name, text
            if isinstance(node, ast.ClassDef):
                yield from _inside(node.body, f"{before}{node.name}.")
        elif isinstance(node, ast.Assign | ast.AnnAssign) and at + 1 < len(body):
            after = body[at + 1]
            target = node.targets[0] if isinstance(node, ast.Assign) else node.target
            if (
                isinstance(target, ast.Name)
                and isinstance(after, ast.Expr)
                and isinstance(after.value, ast.Constant)
                and isinstance(after.value.value, str)
            ):
                yield before + target.id, after.value.value


@cache
def _words_of_tests() -> Mapping[str, frozenset[str]]:
    """Every test file with the names that occur in its code."""
    found = {}
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        names = set()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Name):
                names.add(node.id)
            elif isinstance(node, ast.Attribute):
                names.add(node.attr)
            elif isinstance(node, ast.ImportFrom):
                names.update(alias.name for alias in node.names)
        found[str(path.relative_to(ROOT / "tests"))] = frozenset(names)
    return found


@cache
def _modules_of_tests() -> Mapping[str, frozenset[str]]:
    """Every test file with the modules of the package it imports."""
    found = {}
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        text = path.read_text(encoding="utf-8")
        found[str(path.relative_to(ROOT / "tests"))] = frozenset(
            re.findall(r"from clew\.([\w.]+) import", text)
        )
    return found


def tests_of(formula: Formula) -> list[str]:
    """Name the test files that use a formula's function; outside checks first, then its room's."""
    last = formula.name.rpartition(".")[2]
    room = formula.module.partition(".")[0]
    named = [
        path
        for path, names in _words_of_tests().items()
        if last and last in names and path.partition("/")[0] in ("published", room)
    ]
    if not named:
        named = [path for path, have in _modules_of_tests().items() if formula.module in have]
    return sorted(named, key=lambda path: (not path.startswith("published"), path))


def _cell(text: str) -> str:
    """Keep a text from being read as marks of Markdown."""
    escaped = re.sub(r"([\\`*_\[\]<>|$~{}])", r"\\\1", text.replace("``", "").replace("`", ""))
    return escaped.strip()


def room_page(room: str) -> str:
    lines = [
        f"# Formulas: {ROOMS[room].lower()}", "",
        f"Every function and constant of `clew.{room}` that says where it comes from, with the page"
        " that explains it, its source and the test files that hold it. READ: in the source or a"
        " copy of it. MEMORY: recalled, to be checked. DERIVED: worked out, and the tests work it"
        " out again. Made from the program by `make docs`.", "",
        "| what | where | page | source | held by |", "|---|---|---|---|---|",
    ]  # fmt: skip
    for one in formulas(room):
        tests = tests_of(one)
        more = f", and {len(tests) - _MOST_TESTS} more" if len(tests) > _MOST_TESTS else ""
        held = ", ".join(f"`{path}`" for path in tests[:_MOST_TESTS]) + more
        where = f"{one.module}.{one.name}".rstrip(".")
        lines.append(
            f"| {_cell(one.words)} | `{where}` | {{doc}}`../{one.page}` | {_cell(one.source)}"
            f" | {held or 'by what is built on it'} |"
        )
    return "\n".join([*lines, ""])


def index_page() -> str:
    checks = list(outside_checks(ROOT / "tests" / "published"))
    lines = [
        "# Theory", "",
        "What it answers: **where does a number come from, and what holds it?** Every formula"
        " stands in the code once, in a function that names its source; the page says how it is"
        " used, the tests work it out another way or hold it against a source outside Clew.", "",
        "| part | formulas with their source | held against sources outside | explained in |",
        "|---|---|---|---|",
    ]  # fmt: skip
    for room, title in ROOMS.items():
        found = list(formulas(room))
        outside = {path for one in found for path in tests_of(one) if path.startswith("published")}
        pages = list(dict.fromkeys(one.page for one in found))
        lines.append(
            f"| {{doc}}`{title} <theory_{room}>` | {len(found)} | {len(outside)} test files | "
            + ", ".join(f"{{doc}}`../{page}`" for page in pages)
            + " |"
        )
    return "\n".join(
        [
            *lines, "",
            f"In all {len(checks)} checks against {len({one.document for one in checks})} sources"
            " outside: {doc}`outside_checks`. A source that was only recalled is marked MEMORY"
            " there and in the tables; nothing is marked READ that was not seen.", "",
            "Made from the program and its tests by `make docs`.", "",
        ]
    )  # fmt: skip
