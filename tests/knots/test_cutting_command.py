"""The command that cuts a plan from a map in a file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clew.cli.knots.cut import cut
from clew.faults import BadInput

FIXED = (
    "--ball-length", "200 m", "--limit", "2", "--min-piece", "5 m",
    "--price-first", "6", "--price-second", "3", "--waste-per-m", "0.01", "--parting", "0.02",
    "--join-length", "0.1 m",
)  # fmt: skip


@pytest.fixture
def map_file(tmp_path: Path) -> Path:
    """A map whose second ball takes three joins, and a strand with room to spare."""
    path = tmp_path / "map.csv"
    path.write_text(
        "position,kind\n201 m,tie\n250 m,re-tie\n300 m,re-tie\n350 m,tie\n", encoding="utf-8"
    )
    return path


def run(path: Path, *more: str, strand: str = "0.7 km") -> Result:
    return CliRunner().invoke(cut, [str(path), *FIXED, "--strand-length", strand, *more])


def run_json(path: Path, strand: str = "0.7 km") -> dict[str, Any]:
    result = run(path, "--json", strand=strand)
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def faults(result: Result) -> str:
    assert isinstance(result.exception, BadInput), result.output
    return str(result.exception)


def test_the_keys_for_scripts(map_file: Path) -> None:
    """The second ball leaves out one of its three joins and starts where that join ends."""
    found = run_json(map_file)
    assert found["starts_m"] == [0.0, 250.1, 450.1]
    assert (found["first"], found["second"], found["partings"]) == (3, 0, 1)
    assert found["waste_m"] == pytest.approx(100.0)
    assert found["value"] == pytest.approx(18 - 1.0 - 0.02)
    assert found["straight_through"]["value"] == pytest.approx(15 - 1.0)
    assert found["part_at_every_offending_join"]["value"] <= found["value"]
    assert (found["joins"], found["strand_m"], found["notes"]) == (4, 700.0, [])


def test_words_for_people(map_file: Path) -> None:
    result = run(map_file)
    assert "Part once and drop 100 m, tail included: 3 of 3" in result.output
    assert "after ball 1  200 m  250.1 m  50.1 m" in result.output
    assert "tail to drop  49.9 m" in result.output
    assert "part at each offence" in result.output
    assert any(
        line.split() == ["drop", "from", "to", "long"] for line in result.output.splitlines()
    )
    assert "stop the winder before hands go in" in result.output.splitlines()[-1]


def test_often_is_counted(tmp_path: Path) -> None:
    """The join at 1 m must go, but not the whole way to behind 610 m: 204 m must stay out."""
    path = tmp_path / "twice.csv"
    rows = [f"{place} m,tie" for place in (1, 100, 150, 204, 610, 650, 700)]
    path.write_text("\n".join(["position,kind", *rows]), encoding="utf-8")
    result = run(path, "--min-piece", "0 m", strand="1.256 km")
    assert "Part 2 times and drop 56 m, tail included: 6 of 6" in result.output


def test_a_join_in_the_head_is_dropped_first(tmp_path: Path) -> None:
    path = tmp_path / "map.csv"
    path.write_text("position,kind\n3 m,tie\n", encoding="utf-8")
    assert "at the head   0 m  3.1 m" in run(path, strand="210 m").output


def test_a_strand_that_is_too_short_says_so(tmp_path: Path) -> None:
    path = tmp_path / "map.csv"
    path.write_text("position,kind\n20 m,tie\n", encoding="utf-8")
    assert "longer than the strand" in run(path, strand="150 m").output


def test_a_map_without_joins_is_wound_straight_through(tmp_path: Path) -> None:
    path = tmp_path / "map.csv"
    path.write_text("position,kind\n", encoding="utf-8")
    assert run_json(path)["starts_m"] == [0.0, 200.0, 400.0]
    assert "Wind straight through" in run(path).output
    assert " from" not in run(path).output


def test_unsorted_rows_are_sorted_with_a_note(map_file: Path, tmp_path: Path) -> None:
    head, *rows = map_file.read_text(encoding="utf-8").splitlines()
    turned = tmp_path / "turned.csv"
    turned.write_text("\n".join([head, *reversed(rows)]), encoding="utf-8")
    found = run_json(turned)
    assert "sorted" in found.pop("notes")[0]
    expected = run_json(map_file)
    assert expected.pop("notes") == []
    assert found == expected


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("12.5,tie", "a number without a unit"),
        ("-3 m,tie", "cannot be negative"),
        ("nan m,tie", "not a number"),
        ('"12,5 m",tie', "a comma in a number"),
        ("12,5 m,tie", "a point and not a comma"),
        ("900 m,tie", "beyond the strand"),
        ("250000 mm,tie", "the same place as line 3"),
        ("12 kg,tie", "kg is a mass"),
        ("12 m,7", "not a word"),
        ("12 m,", "an empty cell"),
    ],
)
def test_a_bad_row_is_named_by_file_and_line(map_file: Path, row: str, said: str) -> None:
    text = map_file.read_text(encoding="utf-8")
    map_file.write_text(f"{text}{row}\n", encoding="utf-8")
    message = faults(run(map_file))
    assert "map.csv:6" in message
    assert said in message


def test_every_bad_row_is_said_at_once(map_file: Path) -> None:
    text = map_file.read_text(encoding="utf-8")
    map_file.write_text(f"{text}800 m,tie\n900 m,tie\n", encoding="utf-8")
    assert len(faults(run(map_file)).splitlines()) == 2
