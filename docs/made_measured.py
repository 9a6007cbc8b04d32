"""Where the manual's measured tables come from: every program that measures, and who quotes it."""

from __future__ import annotations

import ast
from pathlib import Path

from made_outside import ROOT

MEASURING = ("benchmarks/*.py", "docs/tables.py", "tests/models/calibrate_*.py")


def _first_line(path: Path) -> str:
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    return " ".join(text.split("\n\n")[0].split()).replace("``", "`").replace("|", "\\|")


def measured_page() -> str:
    """Make the table of the programs that measure."""
    pages = {
        path.stem: path.read_text(encoding="utf-8") for path in sorted((ROOT / "docs").glob("*.md"))
    }
    lines = [
        "# What was measured, and how", "",
        "What it answers: **which program makes a table that no command of `clew` prints?** Times"
        " are of one machine on one day; in `make bench` they are ratios to a named baseline,"
        " measured in the same run. Commands of `clew` shown in the manual are run again by"
        " `pytest tests/test_manual.py`; with `CLEW_MANUAL=all` in the environment the long ones"
        " too. Made from the program by `make docs`.", "",
        "| program | what it does | quoted in |", "|---|---|---|",
    ]  # fmt: skip
    for pattern in MEASURING:
        for path in sorted(ROOT.glob(pattern)):
            name = path.relative_to(ROOT).as_posix()
            quoted = [f"{{doc}}`../{page}`" for page, text in pages.items() if name in text]
            lines.append(f"| `python {name}` | {_first_line(path)} | {', '.join(quoted)} |")
    lines.append("| `make bench` | all of them that are compared with a bound | |")
    lines.append("| `make soak` | {doc}`../ledger_soak` | {doc}`../ledger_soak` |")
    return "\n".join([*lines, ""])
