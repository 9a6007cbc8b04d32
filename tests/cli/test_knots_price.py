"""The command that prices a knot limit."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clew.cli.knots.price import price
from clew.faults import BadInput

BY_HAND = (
    "--ball-length", "200 m", "--breaks-per-km", "1.0", "--dispersion", "2",
    "--cone-length", "4000 m", "--cone-cv", "5 %", "--shrink", "20 %", "--limit", "2",
    "--price-first", "6", "--price-second", "3", "--waste-per-m", "0.0005", "--parting", "0.02",
    "--ball-mass", "100 g", "--strand-length", "100 km",
)  # fmt: skip


def run(*more: str) -> Result:
    return CliRunner().invoke(price, [*BY_HAND, *more])


def run_json(*more: str) -> dict[str, Any]:
    result = run(*more, "--json")
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def test_words_first_then_the_tables() -> None:
    result = run("--breaks-band", "0.7,1.4", "--made-a-year", "1000", "--complaints", "1,2,8")
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0].startswith("Today's breaks (1.25 per km after steam), joined by knots")
    assert "A limit of 2 costs 0.0" in lines[1]
    assert "kg a year" in lines[1]
    assert "A limit of 3 instead of 2 saves" in result.stdout
    assert "A limit of 1 instead of 2 costs" in result.stdout
    assert "unsure mainly because too little strand was counted" in result.stdout
    assert "Half the band" not in result.stdout
    assert ", of which the shortest piece of 5 m alone: 0.0" in lines[1]
    assert "Half the breaks (0.625 per km" in result.stdout
    assert "the whole strand beforehand" in result.stdout
    assert "the mill's own estimate" in result.stdout


def test_lengths_masses_and_rates_in_yards() -> None:
    options = ("--no-halved", "--limits", "2", "--made-a-year", "100000")
    text = run(*options, "--units", "yard").stdout
    row = run_json(*options)["tables"][0]["rows"][0]
    assert text.startswith("Today's breaks (1.14 per 1000 yd after steam)")
    assert "the shortest piece of 5.468 yd alone" in text
    assert f"{row['landfill_kg_a_year']['value'] / 0.45359237:.0f} lb a year" in text
    first, second, third = (line for line in text.splitlines() if line.startswith("2 "))
    assert f"{row['cost_per_kg']['value'] * 0.45359237:.4f}" in first.split()
    assert second.split()[-1] == f"{0.9144 * row['partings_per_km']['value']:.3f}"
    assert third.split()[1] == f"{row['landfill_kg_a_year']['value'] / 0.45359237:.0f}"
    assert "kg" not in text
    assert "km" not in text


def test_the_words_are_the_figures_of_the_json() -> None:
    text = run("--no-halved").stdout
    table = run_json("--no-halved")["tables"][0]
    costs = {row["limit"]: row["cost_per_ball"]["value"] for row in table["rows"]}
    assert f"A limit of 2 costs {costs[2]:.4f} a ball" in text
    assert f"A limit of 1 instead of 2 costs {costs[1] - costs[2]:.4f} a ball" in text


def test_the_keys_for_programs() -> None:
    found = run_json("--limits", "0,2", "--splice-counts", "0.5", "--complaints", "1,2,8")
    assert found["complaints_are"] == "the mill's own estimate"
    assert [(one["joins"], one["breaks_left_frac"]) for one in found["tables"]] == [
        ("knot", 1.0), ("knot", 0.5), ("splice", 1.0), ("splice", 0.5),
    ]  # fmt: skip
    knots, halved, splices, _ = found["tables"]
    assert [row["limit"] for row in knots["rows"]] == [0, 2, None]
    for table in found["tables"]:
        assert table["complaints_are"] == "the mill's own estimate"
    assert halved["rows"][0]["cost_per_ball"]["value"] < knots["rows"][0]["cost_per_ball"]["value"]
    assert splices["rows"][1]["cost_per_ball"]["value"] < knots["rows"][1]["cost_per_ball"]["value"]
    assert knots["rows"][0]["landfill_kg_a_year"] is None


def test_splices_that_do_not_count_are_said_in_a_line() -> None:
    text = run("--no-halved", "--splice-counts", "0").stdout
    assert "A join that does not count meets no limit" in text


def test_few_strands_are_said_to_be_few() -> None:
    assert "unsure mainly because few strands were drawn" in run("--no-halved").stdout


def test_the_shortest_piece_is_not_charged_to_the_limit() -> None:
    """A limit that never binds costs what the shortest piece alone does."""
    table = run_json("--no-halved", "--habit", "straight", "--limits", "2,50")["tables"][0]
    two, fifty, none = (row["cost_per_ball"]["value"] for row in table["rows"])
    alone = table["piece_rule"]["cost_per_ball"]["value"]
    assert table["piece_rule"]["limit"] is None
    assert alone == pytest.approx(fifty, rel=1e-9)
    assert none < alone < two
    free = run_json("--no-halved", "--habit", "straight", "--min-piece", "0 m")["tables"][0]
    assert free["piece_rule"] is None
    text = run("--no-halved", "--habit", "straight", "--min-piece", "0 m").stdout
    assert "of which" not in text


def test_the_straight_habit_needs_no_seed() -> None:
    first = run_json("--habit", "straight", "--seed", "1")["tables"][0]
    second = run_json("--habit", "straight", "--seed", "2")["tables"][0]
    assert first["exact"] is True
    assert first["rows"] == second["rows"]
    assert "Exact, not drawn" in run("--habit", "straight").stdout


def test_a_seed_repeats_its_figures() -> None:
    assert run_json("--no-halved", "--seed", "5") == run_json("--no-halved", "--seed", "5")
    assert run_json("--no-halved", "--seed", "5") != run_json("--no-halved", "--seed", "6")


def test_a_rule_that_no_ball_meets_is_said() -> None:
    text = run("--no-halved", "--min-piece", "300 m", "--made-a-year", "10").stdout
    assert "Under a limit of 2 no ball is first-quality." in text
    assert "no bound" in text


@pytest.mark.parametrize(
    ("arguments", "option"),
    [
        (("--limits", "a"), "--limits"),
        (("--limits", "3-1"), "--limits"),
        (("--limits", ""), "--limits"),
        (("--limits", "0,-1"), "--limits"),
        (("--complaints", "8,2"), "--complaints"),
        (("--complaints", "1;2"), "--complaints"),
        (("--breaks-band", "0.7"), "--breaks-band"),
        (("--breaks-band", "2,3"), "--breaks-band"),
        (("--shelf-multiple", "-1"), "--shelf-multiple"),
        (("--strand-length", "1 km"), "--strand-length"),
        (("--price-second", "9"), "--price-second"),
        (("--price-first", "nan"), "--price-first"),
    ],
)
def test_bad_input_names_its_option(arguments: tuple[str, ...], option: str) -> None:
    result = run(*arguments)
    assert isinstance(result.exception, BadInput), result.output
    assert {fault.key for fault in result.exception.faults} == {option}


def test_a_ball_of_the_mill_brings_everything_along(tmp_path: Path) -> None:
    """Currency, complaints and splices come from the mill file; a value by hand stands in place."""
    from clew.mill import write_demo

    write_demo(tmp_path)
    of_mill = ("--mill", str(tmp_path), "--ball", "Querl 100", "--no-halved")
    short = ("--strand-length", "100 km", "--json")
    found = json.loads(CliRunner().invoke(price, [*of_mill, *short]).stdout)
    assert (found["ball"], found["currency"]) == ("Querl 100", "GBP")
    knots, splices = found["tables"]
    assert (knots["joins"], knots["limit_today"]) == ("knot", 2)
    assert splices["join_counts"] < 1.0
    assert knots["rows"][0]["landfill_kg_a_year"]["value"] > 0.0
    assert knots["rows"][0]["complaints_per_10000"] is not None
    other = CliRunner().invoke(price, [*of_mill, *short, "--limit", "1", "--complaints", "4,5"])
    by_hand = json.loads(other.stdout)["tables"][0]
    assert by_hand["limit_today"] == 1
    assert by_hand["complaints_by_joins_per_10000"] == [4.0, 5.0]


def test_a_ball_without_mass_is_asked_for_one() -> None:
    by_hand = [word for word in BY_HAND if word not in ("--ball-mass", "100 g")]
    result = CliRunner().invoke(price, by_hand)
    assert isinstance(result.exception, BadInput)
    assert result.exception.faults[0].key == "--ball-mass"
