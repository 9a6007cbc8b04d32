"""The manual's example prints what the manual says."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

PAGE = (Path(__file__).parents[2] / "docs" / "sweeps.md").read_text(encoding="utf-8")


def test_the_example_prints_what_the_page_shows(tmp_path: Path) -> None:
    function, script = re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL)
    (tmp_path / "machines.py").write_text(function)
    (tmp_path / "sweep_machines.py").write_text(script)
    shown = PAGE.split(script)[1].split("```text\n")[1].split("```")[0]
    for _first_and_from_the_checkpoint in range(2):
        found = subprocess.run(
            [sys.executable, "sweep_machines.py"],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=True,
        )
        assert found.stdout == shown
    assert (tmp_path / "machines.jsonl").read_bytes().count(b"\n") == 1 + shown.count("\n")
