"""`clew plan shift`: words first, fixed keys, papers, and faults in one line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

PLAN = """line,place,run,start
Line 1,1,1041,2026-11-26T06:40
Line 1,2,1042,2026-11-26T10:30
"""
QUICK = ("--date", "2026-11-26", "--shift", "06:00", "--replications", "20")
Run = Callable[..., Result]


@pytest.fixture
def plan_csv(tmp_path: Path) -> Path:
    path = tmp_path / "plan.csv"
    path.write_text(PLAN, encoding="utf-8")
    return path


def test_a_written_plan_in_words_and_on_paper(
    clew: Run, mill_dir: Path, plan_csv: Path, tmp_path: Path
) -> None:
    paper, picks = tmp_path / "out" / "shift.pdf", tmp_path / "out" / "picks.pdf"
    result = clew("plan", "shift", "--mill", mill_dir, "--plan", plan_csv, *QUICK,
                  "--pdf", paper, "--pick-list", picks)  # fmt: skip
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0].startswith("Thursday 2026-11-26, 06:00 to 14:00: 2 runs on 1 line, about")
    for words in (
        "1041: Querl 100 in Sloe, lot SL-207", "Change 06:00 to 06:40:", "If a lane is down:",
        "Crew. Querl 100:", "Rests, one hand after another", "20 shifts, seed 1",
        f"wrote {paper}", f"wrote {picks}",
    ):  # fmt: skip
        assert words in result.stdout, words
    assert paper.read_bytes().startswith(b"%PDF")
    assert picks.read_bytes().startswith(b"%PDF")


def test_keys_that_programs_rest_on(
    clew_json: Callable[..., dict[str, Any]], mill_dir: Path, plan_csv: Path
) -> None:
    found = clew_json("plan", "shift", "--mill", mill_dir, "--plan", plan_csv, *QUICK)
    assert found["shift_from"] == "2026-11-26T06:00:00+00:00"
    (line,) = found["lines"]
    first, second = line["runs"]
    assert (first["run"], second["run"]) == ("1041", "1042")
    assert first["start"]["at"] == "2026-11-26T06:40:00+00:00"
    assert first["end"]["early"] <= first["end"]["at"] <= first["end"]["late"]
    assert first["cones"]["to_fetch"][0]["first_fill"] is True
    assert first["lane_down"]["lost_s"] > 0.0
    assert second["change"]["from_lot"] == "SL-207"
    assert (found["seed"], found["replications"], found["written"]) == (1, 20, [])


def test_without_a_plan_the_orders_are_planned(
    clew_json: Callable[..., dict[str, Any]], mill_dir: Path
) -> None:
    terms = ("plan", "shift", "--mill", mill_dir, *QUICK, "--within", "1 s")
    found = clew_json(*terms)
    runs = found["lines"][0]["runs"]
    assert runs
    assert {run["order"] for run in runs} <= {"1041", "1042", "1045", "1046"}
    assert runs[0]["change"]["from"] == "2026-11-26T06:00:00+00:00"


def test_what_is_in_the_line_is_taken_off_first(
    clew_json: Callable[..., dict[str, Any]], mill_dir: Path, plan_csv: Path
) -> None:
    found = clew_json("plan", "shift", "--mill", mill_dir, "--plan", plan_csv, *QUICK,
                      "--in-line", "Line 1=Querl 100,SL-211")  # fmt: skip
    change = found["lines"][0]["runs"][0]["change"]
    assert (change["kind"], change["from_lot"]) == ("lot", "SL-211")


def test_a_shift_without_runs_is_a_no(clew: Run, mill_dir: Path, plan_csv: Path) -> None:
    result = clew("plan", "shift", "--mill", mill_dir, "--plan", plan_csv,
                  "--date", "2026-12-30", "--shift", "06:00", "--json")  # fmt: skip
    assert result.exit_code == 1
    assert json.loads(result.stdout)["lines"] == []


def test_faults_name_options_and_files(clew: Run, mill_dir: Path, tmp_path: Path) -> None:
    base = ("plan", "shift", "--mill", mill_dir)
    bad = clew(*base, "--date", "soon", "--shift", "05:00")
    assert (bad.exit_code, "--date" in bad.output, "--shift" in bad.output) == (2, True, True)
    hurried = clew(*base, "--within", "0 s")
    assert (hurried.exit_code, "--within" in hurried.output) == (2, True)
    nowhere = clew(*base, "--line", "Line 9")
    assert (nowhere.exit_code, "one of Line 1" in nowhere.output) == (2, True)
    missing = clew(*base, *QUICK, "--plan", tmp_path / "none.csv")
    assert (missing.exit_code, "none.csv: cannot be read" in missing.output) == (2, True)
    odd = tmp_path / "odd.csv"
    odd.write_text(PLAN.replace("1042", "9999"), encoding="utf-8")
    unknown = clew(*base, *QUICK, "--plan", odd, "--pdf", tmp_path / "not.pdf")
    assert (unknown.exit_code, "9999" in unknown.output) == (2, True)
    assert not (tmp_path / "not.pdf").exists()
