"""The command of crews and what to change: words first, fixed keys, faults by option."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from clew.cli.line_crew import crew
from clew.faults import BadInput

QUICK = ("--line", "Line 1", "--ball", "Querl 200", "--replications", "10", "--seed", "7")


def run(mill: Path, *arguments: object) -> Result:
    return CliRunner().invoke(crew, ["--mill", str(mill), *QUICK, *map(str, arguments)])


def run_json(mill: Path, *arguments: object) -> dict[str, Any]:
    result = run(mill, *arguments, "--json")
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def faults(result: Result) -> set[str]:
    assert isinstance(result.exception, BadInput), result.output
    return {fault.key for fault in result.exception.faults}


def test_crews_lanes_and_what_to_change_in_words(mill_dir: Path) -> None:
    result = run(mill_dir)
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0] == "Line 1, Querl 200: 6 lanes, 2 hands now, a shift of 8 h."
    assert "a first-quality ball cheapest" in lines[1]
    for words in (
        "most money over", "One hand can serve", "What to change", "is worth most",
        "a splicer: joins in 8 s", "cones 2 times as heavy", "Not counted", "10 shifts, seed 7.",
    ):  # fmt: skip
        assert words in result.stdout


def test_keys_that_programs_rest_on(mill_dir: Path) -> None:
    found = run_json(mill_dir, "--most-hands", 3)
    assert [one["hands"] for one in found["crews"]] == [1, 2, 3]
    assert found["least_cost_per_ball"]["hands"] in (1, 2, 3)
    assert found["one_hand"]["lanes"] >= 1
    assert found["targets"] is None
    changes = found["what_to_change"]
    assert changes["ranked_by"] == "money"
    assert {one["key"] for one in changes["changes"]} >= {"splicer", "one_more_lane"}
    assert changes["changes"][0]["money"]["low"] <= changes["changes"][0]["money"]["mean"]


def test_without_changes(mill_dir: Path) -> None:
    result = run(mill_dir, "--no-changes", "--most-hands", 2)
    assert "What to change" not in result.stdout
    assert "Not counted" in result.stdout
    assert run_json(mill_dir, "--no-changes", "--most-hands", 2)["what_to_change"] is None


def test_a_wanted_output(mill_dir: Path) -> None:
    result = run(mill_dir, "--no-changes", "--most-hands", 2, "--wanted", 1700)
    assert result.exit_code == 0, result.output
    assert "A feed of 30" in result.stdout
    found = run_json(mill_dir, "--no-changes", "--most-hands", 2, "--wanted", 1700)
    feed = found["targets"]["feed"]
    assert feed["feed_low_m_per_s"] <= feed["feed_m_per_s"] <= feed["feed_high_m_per_s"]
    assert found["targets"]["buffer"]["gives"]["mean"] >= 1700


def test_a_wanted_output_of_first_quality(mill_dir: Path) -> None:
    few = ("--no-changes", "--most-hands", 1, "--wanted", 1600)
    every, first = run_json(mill_dir, *few), run_json(mill_dir, *few, "--first-quality")
    assert first["targets"]["feed"]["output"] == "first_balls"
    assert first["targets"]["feed"]["feed_m_per_s"] > every["targets"]["feed"]["feed_m_per_s"]


def test_an_output_out_of_reach_is_a_no(mill_dir: Path) -> None:
    result = run(mill_dir, "--no-changes", "--most-hands", 1, "--wanted", 9000)
    assert result.exit_code == 1
    assert "No feed reaches 9000" in result.stdout
    assert "No buffer reaches 9000" in result.stdout


def test_a_ball_without_a_price(mill_dir: Path) -> None:
    path = mill_dir / "mill.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("price = 8.9\n", ""), encoding="utf-8")
    result = run(mill_dir, "--most-hands", 2)
    assert result.exit_code == 0, result.output
    assert "no price in the mill file" in result.stdout
    assert "cost a ball" not in result.stdout
    assert run_json(mill_dir, "--most-hands", 2)["least_cost_per_ball"] is None


def test_what_is_tried_on_the_line_goes_into_it(mill_dir: Path) -> None:
    found = run_json(mill_dir, "--lanes", 2, "--hands", 3, "--no-changes")
    assert (found["lanes"], found["hands"]) == (2, 3)
    assert [one["hands"] for one in found["crews"]] == [1, 2, 3, 4]


def test_faults_name_the_options(mill_dir: Path) -> None:
    assert faults(run(mill_dir, "--replications", 1)) == {"--replications"}
    assert faults(run(mill_dir, "--may-lose", "0 %")) == {"--may-lose"}
    assert run(mill_dir, "--wanted", 0).exit_code == 2
    assert run(mill_dir, "--most-hands", 17).exit_code == 2
    unknown = CliRunner().invoke(crew, ["--mill", str(mill_dir), "--ball", "Moonlight"])
    assert isinstance(unknown.exception, BadInput)
