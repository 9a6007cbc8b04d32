"""Whether a file of weighings writes times of day, seen in its first rows."""

from __future__ import annotations

from pathlib import Path

import pytest

from clew.ledger.intake.weighings_clocks import tells_clocks


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("time,mass_g\n2026-11-23T06:01:19,101\n", True),
        ("time,mass_g\n6:01,101\n", True),
        ("time,mass_g\n21679,101\n", False),
        ("mass_g\n101\n", False),
        ("", False),
    ],
)
def test_a_clock_in_the_first_rows_is_told(tmp_path: Path, text: str, told: bool) -> None:
    path = tmp_path / "w.csv"
    path.write_text(text, encoding="utf-8")
    assert tells_clocks(path) is told
