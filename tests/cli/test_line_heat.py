"""The commands of steam, dryer and speed limits: words first, fixed keys, faults by option."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from clew.cli.line.heat import heat
from clew.cli.line.limits import limits
from clew.faults import BadInput

BY_HAND = (
    *("--fibres", "100 % acrylic", "--lanes", "12", "--count", "14 Nm", "--shrink", "20 %"),
    *("--regain-in", "1.5 %", "--regain-wanted", "2 %", "--feed", "600 m/min"),
    *("--belt-speed", "1 m/min", "--belt-width", "400 mm", "--steamer", "0.8 m"),
    *("--dryer", "4 m", "--dryer-temperature", "95 °C", "--draws", "20"),
)


def run(command: click.Command, *arguments: object) -> Result:
    return CliRunner().invoke(command, [str(one) for one in arguments])


def run_json(command: click.Command, *arguments: object) -> dict[str, Any]:
    found = json.loads(run(command, *arguments, "--json").stdout)
    assert isinstance(found, dict)
    return found


def faults(command: click.Command, *arguments: object) -> set[str]:
    result = run(command, *arguments)
    assert isinstance(result.exception, BadInput), result.output
    return {fault.key for fault in result.exception.faults}


def test_a_ball_of_the_mill(mill_dir: Path) -> None:
    result = run(heat, "--mill", mill_dir, "--line", "Line 1", "--ball", "Querl 100", "--draws", 20)
    assert result.exit_code == 0, result.output
    first = result.stdout.splitlines()[0]
    assert first.startswith("Querl 100, as spun: perhaps dry enough, but ")
    assert " in 10 too damp. 8.58 % regain once cooled (" in first and "9.5 % wanted" in first
    for words in ("condensed on the yarn", "kWh a kg of water", "authorised inspector", "gauge"):
        assert words in result.stdout
    assert " in boiler and heater, at an efficiency of 80 %" in result.stdout
    assert "£21.96 a tonne of yarn" in result.stdout and "95p an hour" in result.stdout
    assert "superheat              none" in result.stdout
    lot = run(heat, "--mill", mill_dir, "--ball", "Querl 100", "--lot", "SL-207", "--draws", 20)
    assert lot.stdout.startswith("Querl 100, SL-207: perhaps dry enough")


def test_keys_that_programs_rest_on(mill_dir: Path) -> None:
    found = run_json(heat, "--mill", mill_dir, "--ball", "Querl 100", "--draws", 20, "--seed", 7)
    assert set(found) >= {"steam", "regain", "dryer", "heat", "doubt", "warnings", "cautions"}
    assert found["doubt"]["seed"] == 7
    assert found["steam"]["condensed_kg_per_kg_dry"] == pytest.approx(0.0539, abs=2e-4)
    regain = found["regain"]
    assert regain["after_dryer_low_frac"] < regain["after_dryer_frac"]
    assert found["heat"]["fuel_money_per_kg_yarn"] > 0.0


def test_everything_by_hand() -> None:
    """The worked line of the facts: 30.857 kg/h of acrylic, 0.0471 kg/kg without sorption."""
    found = run_json(heat, *BY_HAND)
    assert found["yarn_kg_per_h"] == pytest.approx(30.857, abs=2e-3)
    assert 0.044 < found["steam"]["condensed_kg_per_kg_dry"] < 0.0471
    assert found["steam"]["dwell_s"] == pytest.approx(48.0)
    assert found["heat"]["fuel_money_per_h"] is None


def test_a_short_dryer_is_a_no(mill_dir: Path) -> None:
    result = run(heat, "--mill", mill_dir, "--ball", "Querl 100", "--dryer", "3 m", "--draws", 20)
    assert result.exit_code == 1
    assert result.stdout.startswith("Querl 100, as spun: not dry enough. ")
    assert "Look: The dryer is short" in result.stdout


def test_a_measured_regain(mill_dir: Path) -> None:
    found = run_json(
        heat, "--mill", mill_dir, "--ball", "Querl 100", "--measured-regain", "12 %", "--draws", 20
    )
    assert found["calibrated"] is True
    assert found["regain"]["after_dryer_frac"] == pytest.approx(0.12, abs=1e-6)


def test_a_belt_that_lays_too_thin_is_refused_by_its_option(mill_dir: Path) -> None:
    mill = ("--mill", mill_dir, "--ball", "Querl 100")
    assert faults(heat, *mill, "--belt-speed", "100 m/min") == {"--belt-speed"}
    assert run(heat, *mill, "--belt-speed", "4.1 m/min", "--draws", 20).exit_code == 0
    assert faults(limits, *mill, "--belt-speed", "100 m/min") == {"--belt-speed"}


def test_by_hand_the_answer_begins_with_the_verdict() -> None:
    assert run(heat, *BY_HAND).stdout.startswith("Drier than it need be. 0.369 % regain")


def test_faults_name_the_options(mill_dir: Path) -> None:
    assert faults(heat) >= {"--fibres", "--count", "--feed", "--dryer"}
    assert faults(heat, "--line", "Line 1") == {"--ball"}
    mill = ("--mill", mill_dir, "--ball", "Querl 100")
    assert faults(heat, *mill, "--dryer-temperature", "400 °C", "--air-speed", "90 m/s") == {
        "--dryer-temperature", "--air-speed",
    }  # fmt: skip
    assert faults(heat, *mill, "--measured-regain", "40 %") == {"--measured-regain"}
    assert faults(heat, *mill, "--fibres", "100 % moonlight") == {"--fibres"}
    assert faults(limits, *BY_HAND[:-2]) == {"--ball"}


def test_limits_in_words_and_in_order(mill_dir: Path) -> None:
    result = run(limits, "--mill", mill_dir, "--ball", "Querl 100")
    assert result.exit_code == 1, result.output
    assert result.stdout.startswith("The hands limit the line: 270 m/min of feed.")
    assert result.stdout.endswith(
        "Hands may hold the line up below both.\n"
        "The shift knows queues and the buffer: clew line simulate.\n"
    )
    slower = run(limits, "--mill", mill_dir, "--ball", "Querl 100", "--feed", "265 m/min")
    assert slower.exit_code == 0
    found = run_json(limits, "--mill", mill_dir, "--ball", "Querl 100")
    speeds = [one["feed_m_per_min"] for one in found["limits"]]
    assert speeds == sorted(speeds)
    assert {one["station"] for one in found["limits"]} == {
        "steamer", "dryer", "winder", "hands", "feed",
    }  # fmt: skip


def test_a_line_run_above_a_limit_is_a_no(mill_dir: Path) -> None:
    result = run(limits, "--mill", mill_dir, "--ball", "Dunnow 50", "--lanes", 3)
    assert result.exit_code == 1
    assert result.stdout.startswith("The winder limits the line")
    slow = run(limits, "--mill", mill_dir, "--ball", "Querl 100", "--longest-dwell", "60 s")
    assert slow.exit_code == 1
    assert "too long in" in slow.stdout
