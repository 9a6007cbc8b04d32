"""The command of a ball's cost: words first, fixed keys, one line for each fault."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from clew.cli.plan.cost import cost
from clew.faults import BadInput
from clew.mill.model import Mill
from clew.plan.costing.ball_cost import ball_cost

QUICK = ("--replications", "10", "--seed", "7")


def run(mill: Path, *arguments: object) -> Result:
    return CliRunner().invoke(cost, ["--mill", str(mill), *QUICK, *map(str, arguments)])


def test_words_stand_before_numbers(mill_dir: Path, demo_mill: Mill) -> None:
    result = run(mill_dir, "Querl", "100")
    assert result.exit_code == 0, result.output
    first = result.stdout.splitlines()[0]
    expected = ball_cost(demo_mill, "Querl 100", seed=7, replications=10)
    assert first.startswith(f"A ball of Querl 100 costs {expected.total:.2f} GBP, between ")
    for words in (
        "yarn in the declared ball", "what it costs", "one break a km more on the cone",
        "the mill's own guess", "kg of yarn to landfill", "Not counted", "10 shifts, seed 7.",
    ):  # fmt: skip
        assert words in result.stdout


def test_keys_that_programs_rest_on(mill_dir: Path, demo_mill: Mill) -> None:
    result = run(mill_dir, "Querl 100", "--lot", "SL-207", "--balls", 500, "--json")
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    expected = ball_cost(
        demo_mill, "Querl 100", "SL-207", "Line 1", run_balls=500, seed=7, replications=10
    )
    assert found["money_per_ball"] == expected.total
    assert (found["ball"], found["lot"], found["line"]) == ("Querl 100", "SL-207", "Line 1")
    assert found["run_balls"] == 500
    assert found["currency"] == "GBP"
    keys = {one["key"] for one in found["sensitivities"]}
    assert keys == {"yarn_price", "giveaway", "breaks", "shrink", "pace", "change", "spread"}
    assert found["emissions"]["factors"] == "the mill's own"
    assert found["emissions"]["carbon_kg_per_ball"] > 0.0


def test_sensitivities_can_be_left_out(mill_dir: Path) -> None:
    found = json.loads(run(mill_dir, "Sallowe 100", "--no-sensitivities", "--json").stdout)
    assert found["sensitivities"] is None
    assert "what it costs" not in run(mill_dir, "Sallowe 100", "--no-sensitivities").stdout


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (("Nettle 50",), "no such ball"),
        (("Querl 100", "--line", "Line 9"), "no such line"),
        (("Querl 100", "--lot", "BR-091"), "is of Dunnow"),
    ],
)
def test_faults_are_named(mill_dir: Path, arguments: tuple[str, ...], word: str) -> None:
    result = run(mill_dir, *arguments)
    assert isinstance(result.exception, BadInput)
    assert word in str(result.exception)
    assert result.stdout == ""


def test_a_run_of_no_balls_is_refused(mill_dir: Path) -> None:
    assert run(mill_dir, "Querl 100", "--balls", 0).exit_code == 2


def test_a_mill_where_nothing_costs_anything(mill_dir: Path) -> None:
    """Shares of a cost of nothing are left empty, and no division by it ends in a traceback."""
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8")
    for key in (
        "yarn_per_kg", "hand_per_hour", "band_each", "weigh_each", "waste_per_kg", "fuel_per_kwh",
        "power_per_kwh", "overhead_per_hour", "bag_price", "price",
    ):  # fmt: skip
        text = re.sub(rf"\b{key} = [0-9.]+", f"{key} = 0.0", text)
    file.write_text(text, encoding="utf-8")
    result = run(mill_dir, "Querl 100", "--no-sensitivities")
    assert result.exit_code == 0, result.exception
    assert result.stdout.startswith("A ball of Querl 100 costs 0.00 GBP")
    assert "nan" not in result.stdout and "100.0 %" not in result.stdout.split("a first-quality")[1]


def test_cheap_looking_spoiling_is_called_no_saving(mill_dir: Path) -> None:
    file = mill_dir / "mill.toml"
    assert "It is none" in run(mill_dir, "Querl 100").stdout
    text = file.read_text(encoding="utf-8")
    cheap = text.replace('second_quality_share = "45 %"', 'second_quality_share = "10 %"')
    assert cheap != text
    file.write_text(cheap, encoding="utf-8")
    said = run(mill_dir, "Querl 100").stdout
    assert "do not add them up" in said and "It is none" not in said
