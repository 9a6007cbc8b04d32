"""`clew mill`: make, check, show, carry over."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from click.testing import Result

from clew.mill import read_mill

Run = Callable[..., Result]
Json = Callable[..., dict[str, Any]]


def test_init_writes_a_mill_that_is_well(clew: Run, tmp_path: Path) -> None:
    made = clew("mill", "init", tmp_path / "new")
    assert made.exit_code == 0
    checked = clew("mill", "check", "--mill", tmp_path / "new")
    assert checked.exit_code == 0
    assert "Nothing is wrong with it" in checked.stdout


def test_init_leaves_a_mill_that_is_there(clew: Run, mill_dir: Path) -> None:
    before = (mill_dir / "mill.toml").read_bytes()
    again = clew("mill", "init", mill_dir)
    assert again.exit_code == 2
    assert (mill_dir / "mill.toml").read_bytes() == before


def test_show_prints_the_mill_whole(clew_json: Json, mill_dir: Path) -> None:
    found = clew_json("mill", "show", "--mill", mill_dir)
    assert found["ball"][0]["declared_mass_g"] == 100.0
    assert len(found["colour"]) == 5
    assert [len(colour["dye_lot"]) for colour in found["colour"]] == [2] * 5
    assert len(found["yarn"]) == 3
    assert len(found["ball"]) == 4
    assert found["line"][0]["lanes"] == len(found["line"][0]["winder"]) == 6


def test_show_for_people_names_every_value(clew: Run, mill_dir: Path) -> None:
    shown = clew("mill", "show", "--mill", mill_dir)
    assert 'ball "Querl 100".declared_mass_g' in shown.stdout


def test_export_and_import_give_the_same_mill(clew: Run, mill_dir: Path, tmp_path: Path) -> None:
    out = tmp_path / "mill.json"
    assert clew("mill", "export", "--mill", mill_dir, "--out", out).exit_code == 0
    assert json.loads(out.read_text(encoding="utf-8"))["ball"][0]["declared_mass"] == "100 g"
    assert clew("mill", "import", out, tmp_path / "copy").exit_code == 0
    assert read_mill(tmp_path / "copy") == read_mill(mill_dir)


def test_import_refuses_a_mill_with_faults_and_writes_nothing(
    clew: Run, mill_dir: Path, tmp_path: Path
) -> None:
    out = tmp_path / "mill.json"
    clew("mill", "export", "--mill", mill_dir, "--out", out)
    out.write_text(out.read_text(encoding="utf-8").replace('"100 g"', '"100"'), encoding="utf-8")
    result = clew("mill", "import", out, tmp_path / "copy")
    assert result.exit_code == 2
    assert not (tmp_path / "copy").exists() or not list((tmp_path / "copy").iterdir())


def test_every_fault_is_a_line_with_file_and_line(clew: Run, mill_dir: Path) -> None:
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8")
    text = text.replace('declared_mass = "100 g"', 'declared_mass = "100"', 1).replace(
        'fibre = "acrylic"', 'fibre = "acrilic"'
    )
    file.write_text(text, encoding="utf-8")
    result = clew("mill", "check", "--mill", mill_dir)
    assert result.exit_code == 2
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 2
    for line, key in zip(lines, ("fibre", "declared_mass"), strict=True):
        number = (
            text.splitlines().index(
                next(
                    row
                    for row in text.splitlines()
                    if (key in row and ("acrilic" in row or '"100"' in row))
                )
            )
            + 1
        )
        assert f"mill.toml:{number}:" in line
        assert key in line
        assert "expected" in line


def test_no_mill_is_one_line(clew: Run, tmp_path: Path) -> None:
    result = clew("mill", "check", "--mill", tmp_path)
    assert result.exit_code == 2
    assert len(result.stderr.strip().splitlines()) == 1
