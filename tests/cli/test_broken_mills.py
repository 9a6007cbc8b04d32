"""Every broken mill file, given to the command: a line a fault, exit code 2, never a traceback."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

MILLS = Path(__file__).parent.parent / "mill"
SOUND = (MILLS / "sound.toml").read_text(encoding="utf-8")
CHANGES = tomllib.loads((MILLS / "broken_changes.toml").read_text(encoding="utf-8"))["case"]
FILES = tomllib.loads((MILLS / "broken_files.toml").read_text(encoding="utf-8"))


def assert_all_faults_and_code_2(result: Result, file: Path, table: str) -> None:
    lines = result.stderr.splitlines()
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    assert all(str(file) in line for line in lines)
    for row in table.splitlines():
        number, _, _, _, what, _ = row.split(" | ")
        place = f"{file}:{number}:" if number != "-" else f"{file}: "
        assert any(place in line and what in line for line in lines), row


@pytest.mark.parametrize("name", sorted(FILES))
def test_a_broken_file_is_named_fault_by_fault(clew: Callable[..., Result], name: str) -> None:
    path = MILLS / "broken" / name
    assert_all_faults_and_code_2(clew("mill", "check", "--mill", path), path, FILES[name])


@pytest.mark.parametrize("case", CHANGES, ids=[case["name"] for case in CHANGES])
def test_a_changed_file_is_named_fault_by_fault(
    clew: Callable[..., Result], case: dict[str, Any], tmp_path: Path
) -> None:
    text = SOUND
    for before, after in case["changes"]:
        text = text.replace(before, after)
    path = tmp_path / "mill.toml"
    path.write_text(text, encoding="utf-8")
    assert_all_faults_and_code_2(clew("mill", "check", "--mill", path), path, case["faults"])


def test_fifty_megabytes_are_refused_before_they_are_read(
    clew: Callable[..., Result], tmp_path: Path
) -> None:
    path = tmp_path / "mill.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    result = clew("ball", "turns", "Querl 100", "--mill", path)
    assert result.exit_code == 2
    assert result.stderr.count("\n") == 1
    assert "at most 2 MB" in result.stderr
