"""`clew lot shade` as it is typed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]
Json = Callable[..., dict[str, Any]]

HEAD = "lot,cone,lightness,a,b\n"
NEAR = "".join(f"SL-207,{k},{24 + d},8.5,-19\n" for k, d in enumerate((-0.2, 0.1, 0.0, 0.1)))
FAR = "".join(f"SL-211,{k},{21.9 + d},9.6,-18.5\n" for k, d in enumerate((-0.1, 0.1, 0.0, 0.0)))
SLOE = ("--standard", "24,8.5,-19")


@pytest.fixture
def readings(tmp_path: Path) -> Callable[[str], Path]:
    def write(text: str) -> Path:
        path = tmp_path / "readings.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_a_lot_that_passes(clew: Run, clew_json: Json, readings: Callable[[str], Path]) -> None:
    path = readings(HEAD + NEAR)
    told = clew("lot", "shade", path, *SLOE)
    assert told.exit_code == 0
    assert told.output.startswith("SL-207 is 0.0 from the standard, no difference to be seen;")
    assert "CIEDE2000" in told.output
    found = clew_json("lot", "shade", path, *SLOE)
    assert found["pass"] is True
    assert found["lots"][0]["decision"] == "pass"
    assert len(found["lots"][0]["cones"]) == 4
    assert found["limit_de00"] == 1.0


def test_a_lot_that_fails_and_may_not_be_mixed(clew: Run, readings: Callable[[str], Path]) -> None:
    path = readings(HEAD + NEAR + FAR)
    told = clew("lot", "shade", path, *SLOE)
    assert told.exit_code == 1
    assert "SL-211 is 1.9 from the standard, darker and redder; above 1.0." in told.output
    assert "Do not mix with SL-207: 1.9 apart." in told.output
    found = clew("lot", "shade", path, *SLOE, "--json")
    assert found.exit_code == 1
    answer = json.loads(found.stdout)
    assert answer["pass"] is False
    assert answer["pairs"][0]["may_mix"] is False


def test_only_one_lot_and_wider_limits(clew: Run, readings: Callable[[str], Path]) -> None:
    path = readings(HEAD + NEAR + FAR)
    assert clew("lot", "shade", path, *SLOE, "--lot", "SL-207").exit_code == 0
    wide = clew("lot", "shade", path, *SLOE, "--limit", 2, "--between", 2)
    assert wide.exit_code == 0
    assert "SL-207 and SL-211 may be mixed: 1.9" in wide.output
    assert clew("lot", "shade", path, *SLOE, "--weights", "2:1:1").exit_code == 1


def test_the_standards_of_a_mill(
    clew: Run, clew_json: Json, mill_dir: Path, readings: Callable[[str], Path]
) -> None:
    """Lots of two colours are held against their own standards and not against each other."""
    path = readings(HEAD + NEAR + "BR-088,1,41,19,33\nBR-088,2,41.1,19,33\n")
    found = clew_json("lot", "shade", path, "--mill", mill_dir)
    assert [one["standard_lab"][0] for one in found["lots"]] == [24.0, 41.0]
    assert found["pairs"] == []
    assert found["between_de00"] == 0.8
    unknown = clew("lot", "shade", readings(HEAD + "XX-1,1,50,0,0\n"), "--mill", mill_dir)
    assert unknown.exit_code == 2
    assert "a dye lot that no colour of the mill names" in unknown.output


def test_the_readings_of_the_demo_mill(clew: Run, mill_dir: Path) -> None:
    import importlib.resources

    source = importlib.resources.files("clew.mill") / "demo" / "shade-readings.csv"
    with importlib.resources.as_file(source) as path:
        told = clew("lot", "shade", path, "--mill", mill_dir)
    assert told.exit_code == 0, told.output
    assert told.output.count("Do not mix with SL-2") == 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "an empty file"),
        (HEAD, "no rows"),
        (HEAD + "A,1,101,0,0\n", "readings.csv:2: lightness: not a value of lightness"),
        (HEAD + "A,1,nan,0,0\n", "not a value of lightness"),
        (HEAD + 'A,1,"24,5",0,0\n', "a comma in a number"),
        (HEAD + "A,,24,0,0\n", "an empty cell"),
        (HEAD + "A,1,24,0\n", "an empty cell"),
        ("lot,cone,lightness,a\nA,1,24,0\n", "a column is missing"),
        ("lot;cone;lightness;a;b\n", "no rows"),
    ],
)
def test_bad_files(clew: Run, readings: Callable[[str], Path], text: str, words: str) -> None:
    told = clew("lot", "shade", readings(text), *SLOE)
    assert told.exit_code == 2
    assert words in told.output
    assert "Traceback" not in told.output


def test_every_bad_cell_is_named(clew: Run, readings: Callable[[str], Path]) -> None:
    told = clew("lot", "shade", readings(HEAD + "A,1,x,0,y\nB,1,24,999,0\n"), *SLOE)
    assert len(told.output.splitlines()) == 3


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "no standard"),
        (("--standard", "24,8.5"), "not a standard"),
        (("--standard", "24,8.5,x"), "--standard: not a value of b"),
        ((*SLOE, "--limit", "0"), "--limit"),
        ((*SLOE, "--between", "nan"), "--between"),
        ((*SLOE, "--weights", "1:1"), "--weights"),
        ((*SLOE, "--lot", "QQ"), "no readings of it"),
    ],
)
def test_one_clear_line(
    clew: Run, readings: Callable[[str], Path], arguments: tuple[str, ...], words: str
) -> None:
    told = clew("lot", "shade", readings(HEAD + NEAR), *arguments)
    assert told.exit_code == 2
    assert words in told.output
    assert len(told.output.splitlines()) == 1
