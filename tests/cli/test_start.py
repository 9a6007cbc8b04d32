"""The bare command starts quickly: it imports next to nothing."""

from __future__ import annotations

import subprocess
import sys

ALLOWED = {"clew", "click"}
"""Packages from outside the standard library that `clew --help` may import."""


def test_help_imports_only_what_it_needs() -> None:
    program = (
        "import sys\n"
        "from clew.cli.main import main\n"
        "try: main(['--help'])\n"
        "except SystemExit: pass\n"
        "names = {name.split('.')[0] for name in sys.modules}\n"
        "print(sorted(names - set(sys.stdlib_module_names)), file=sys.stderr)\n"
    )
    found = subprocess.run(
        [sys.executable, "-I", "-c", program], capture_output=True, text=True, check=True
    )
    names = {name.strip(" '") for name in found.stderr.strip().strip("[]").split(",")}
    loaded = {
        name
        for name in names
        if not name.startswith("_")
        and name not in {"__main__", "distutils-precedence", "sitecustomize"}
    }
    assert loaded <= ALLOWED, loaded - ALLOWED
    assert "Commands:" in found.stdout


def test_an_unknown_noun_is_a_usage_error() -> None:
    found = subprocess.run(
        [sys.executable, "-m", "clew.cli", "sheep"], capture_output=True, text=True, check=False
    )
    assert found.returncode == 2
    assert "Traceback" not in found.stderr
