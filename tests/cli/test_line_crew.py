"""The command of crews and what to change: words first, fixed keys, faults by option."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clew.cli.line.crew import crew
from clew.cli.line.simulate import simulate
from clew.cli.line.sweep import sweep
from clew.faults import BadInput

QUICK = ("--line", "Line 1", "--ball", "Querl 200", "--replications", "10", "--seed", "7")


def run(mill: Path, *arguments: object) -> Result:
    return CliRunner().invoke(crew, ["--mill", str(mill), *QUICK, *map(str, arguments)])


def run_json(mill: Path, *arguments: object) -> dict[str, Any]:
    result = run(mill, *arguments, "--json")
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def simulated(mill: Path, *arguments: str) -> dict[str, Any]:
    result = CliRunner().invoke(simulate, ["--mill", str(mill), *QUICK, *arguments, "--json"])
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
    assert lines[0] == ("Line 1, Querl 200, yarn as spun: 6 lanes, 2 hands now, a shift of 8 h.")
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
    result = run(mill_dir, "--no-changes", "--most-hands", 2, "--wanted", 1600)
    assert result.exit_code == 0, result.output
    found = run_json(mill_dir, "--no-changes", "--most-hands", 2, "--wanted", 1600)
    feed, buffer = found["targets"]["feed"], found["targets"]["buffer"]
    least, at = feed["feed_surely_misses_m_per_s"], feed["feed_m_per_s"]
    assert least < at <= feed["feed_surely_reaches_m_per_s"]
    assert buffer["gives"]["mean"] >= 1600
    for option, setting in (("--feed", "A feed of"), ("--buffer", "A buffer of")):
        (line,) = (one for one in result.stdout.splitlines() if one.startswith(setting))
        printed = line.removeprefix(setting).split(" reaches ")[0].strip()
        assert simulated(mill_dir, option, printed)["balls_mean"] >= 1600
    # a buffer in JSON is of strand after steam, as --buffer is
    assert f"A buffer of {buffer['buffer_steamed_m']:.4g} m reaches" in result.stdout
    assert buffer["buffer_now_steamed_m"] == 900.0


def test_the_same_words_and_waits_as_sweep_and_simulate(mill_dir: Path) -> None:
    crews = run_json(mill_dir, "--no-changes", "--most-hands", 2)["crews"]
    swept = CliRunner().invoke(
        sweep, ["--mill", str(mill_dir), *QUICK, "--over", "hands=1,2", "--json"]
    )
    points = json.loads(swept.stdout)["points"]
    for row, point in zip(crews, points, strict=True):
        alone = simulated(mill_dir, "--hands", str(row["hands"]))["winder_share"]
        assert row["doff_wait_frac"]["mean"] == pytest.approx(point["winder_waiting_share"])
        assert row["doff_wait_frac"]["mean"] == pytest.approx(alone["waiting_for_doff"])
        assert alone["resting"] > 0.0
    printed = run(mill_dir, "--no-changes", "--most-hands", 2).stdout
    table = CliRunner().invoke(sweep, ["--mill", str(mill_dir), *QUICK, "--over", "hands=1,2"])
    words = "Waits: of the winders' time, waiting for a doff; waiting while every hand rests is"
    waits = []
    for text in (printed, table.stdout):
        assert words in text
        lines = text.splitlines()
        head = next(place for place, one in enumerate(lines) if one.startswith("hands  "))
        end = lines[head].index("waits") + len("waits")
        waits.append([one[:end].split("  ")[-1].strip() for one in lines[head + 1 : head + 3]])
    assert waits[0] == waits[1]


def test_a_feed_beyond_rollers_or_dryer_is_told(mill_dir: Path) -> None:
    fast = ("--hands", 6, "--wind", "600 m/min", "--feed", "390 m/min", "--most-hands", 1)
    now = simulated(mill_dir, *map(str, fast[:-2]))["balls_mean"]
    result = run(mill_dir, *fast, "--wanted", f"{1.05 * now:.0f}")
    assert "is beyond the feed rollers, which can 400 m/min." in result.stdout
    assert "is too fast for the dryer" in result.stdout
    assert "Not tried, feed 5 % up: 409.5 m/min" in result.stdout
    found = run_json(mill_dir, *fast, "--wanted", f"{1.05 * now:.0f}")
    above = found["targets"]["feed"]["above_limits_of"]
    assert {one["station"] for one in above} == {"feed", "dryer"}
    assert all(one["feed_m_per_s"] < found["targets"]["feed"]["feed_m_per_s"] for one in above)
    assert [one["key"] for one in found["what_to_change"]["left_out"]] == ["faster_feed"]
    near = run(mill_dir, "--feed", "350 m/min", "--most-hands", 1)
    assert "A feed of 367.5 m/min (feed 5 % up) is too fast for the dryer" in near.stdout
    slow = run(mill_dir, "--most-hands", 1, "--wanted", 1000)
    assert "too fast" not in slow.stdout
    assert "beyond" not in slow.stdout


def test_the_formula_and_the_caution_of_a_small_table(mill_dir: Path) -> None:
    one, six = (
        run_json(mill_dir, "--no-changes", "--most-hands", most)["closed_form"] for most in (1, 6)
    )
    assert one == six
    assert one["hands"] > 1
    said = run(mill_dir, "--no-changes", "--most-hands", 1).stdout
    assert f"rest or quality, says {one['hands']} hands." in said
    assert "1 hand is the largest crew tried" in said


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
    assert "spent a ball" not in result.stdout
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
