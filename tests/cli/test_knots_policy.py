"""The command that says when to part."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clew.cli.knots.policy import policy
from clew.faults import BadInput

BY_HAND = (
    "--ball-length", "200 m", "--breaks-per-km", "2", "--dispersion", "2",
    "--cone-length", "3 km", "--cone-cv", "5 %", "--limit", "1", "--min-piece", "10 m",
    "--price-first", "5", "--price-second", "2.5", "--waste-per-m", "0.002", "--parting", "0.05",
)  # fmt: skip
SHORT = ("--strand-length", "60 km", "--runs", "4")


def run(*more: str, options: tuple[str, ...] = BY_HAND) -> Result:
    return CliRunner().invoke(policy, [*options, *SHORT, *more])


def run_json(*more: str, options: tuple[str, ...] = BY_HAND) -> dict[str, Any]:
    result = run(*more, "--json", options=options)
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def ways(found: dict[str, Any]) -> dict[tuple[str, float | None], dict[str, Any]]:
    return {(one["way"], one["look_ahead_m"]): one for one in found["ways"]}


def test_lengths_and_money_in_yards() -> None:
    options = ("--look-ahead", "200 m", "--exact")
    text = run(*options, "--units", "yard").stdout
    straight = ways(run_json(*options))["straight", 0.0]
    assert "part if less than 94.1 yd is on" in text
    assert "4 strands of 65617 yd" in text
    row = next(line for line in text.splitlines() if line.startswith("wind straight"))
    assert row.split()[:5] == [
        "wind", "straight", "0", "yd", f"{0.9144 * straight['value_per_km']:.3f}",
    ]  # fmt: skip
    assert "best value a 1000 yd, at least" in text
    assert "219 yd" in text
    assert "km" not in text
    assert " m " not in text


def test_the_keys_for_scripts() -> None:
    found = run_json("--look-ahead", "200 m", "--look-ahead", "0.6 km")
    assert found["ball_length_m"] == 200.0
    assert found["rule_of_thumb"]["part_before_m"] == pytest.approx(86.08, abs=0.05)
    assert found["strand_a_year_km"] is None
    rows = ways(found)
    assert [key for key in rows if key[0] == "rolling"] == [
        ("rolling", 0.0), ("rolling", 200.0), ("rolling", 600.0),
    ]  # fmt: skip
    assert rows["offline", None]["below_offline_per_km"] == 0.0
    best = rows["rolling", 600.0]
    assert best["value_low_per_km"] < best["value_per_km"] < best["value_high_per_km"]
    assert best["value_per_km"] - rows["thumb", 600.0]["value_per_km"] == pytest.approx(
        rows["thumb", 600.0]["below_solved_per_km"]
    )
    assert len(found["for_a_hand"]) == 3
    assert "exact" not in found


def test_words_for_a_hand() -> None:
    result = run("--look-ahead", "200 m")
    assert result.exit_code == 0, result.output
    verdict, first, worth, ahead = result.output.splitlines()[:4]
    assert verdict.startswith("Look ahead: 200 m in sight bring ")
    assert verdict == run_json("--look-ahead", "200 m")["verdict"]
    assert first == (
        "Nothing ahead seen: when join 2, or one that leaves a piece under 10 m, shows, part if "
        "less than 86.1 m is on (about two fifths of the ball, 43 % of its turns); later than "
        "that, wind the ball out as second-quality."
    )
    assert "a km more than winding straight through." in worth
    assert ahead.startswith("With 200 m in sight: when join 2, or one that leaves")
    assert "Parting at every offence brings" in result.output
    assert "4 strands of 60 km" in result.output
    assert "stop the winder before hands go in" in result.output.splitlines()[-1]


def test_a_limit_of_nothing_says_nothing_of_pieces() -> None:
    output = run("--limit", "0", "--look-ahead", "200 m").output
    assert "join 1 shows" in output
    assert "piece" not in output


def test_the_seed_decides() -> None:
    assert run_json("--seed", "3") == run_json("--seed", "3")
    assert run_json("--seed", "3")["ways"] != run_json("--seed", "4")["ways"]


def test_a_poor_eye() -> None:
    result = run("--finds", "80 %", "--false-alarms-per-km", "0.3")
    assert "break the rule by joins that were not seen." in result.output
    blind = run_json("--finds", "0 %")
    assert all(one["over_straight_per_km"] == 0.0 for one in blind["ways"][:-1])
    assert ways(blind)["straight", 0.0]["hidden_frac"] > 0.0


@pytest.mark.parametrize("eye", [("--finds", "80 %"), ("--false-alarms-per-km", "0.3")])
def test_what_a_poor_eye_makes_one_believe_is_called_that(eye: tuple[str, str]) -> None:
    poor, good = run_json(*eye)["rule_of_thumb"], run_json()["rule_of_thumb"]
    assert set(good) == {
        "part_before_m", "value_per_km", "straight_per_km", "first_frac", "partings_per_km",
        "dropped_frac",
    }  # fmt: skip
    assert set(poor) == {
        key if key == "part_before_m" else f"believed_{key}" for key in good
    }  # fmt: skip


def test_a_splice_that_counts_nothing_spoils_no_ball(mill_dir: Path) -> None:
    mill = mill_dir / "mill.toml"
    text = mill.read_text(encoding="utf-8")
    text = text.replace('made_as = "knot"', 'made_as = "splice"')
    mill.write_text(text.replace("splice_counts = 0.5", "splice_counts = 0.0"), encoding="utf-8")
    of_mill = ("--ball", "Querl 200", "--mill", str(mill_dir))
    output = run("--exact", options=of_mill).output
    assert output.startswith("No join makes a ball second-quality: wind straight through.\n")
    assert "101" not in output
    found = run_json(options=of_mill)
    assert found["for_a_hand"] == [found["verdict"]] == [output.splitlines()[0]]
    assert found["limit_joins"] is None
    assert found["rule_of_thumb"]["part_before_m"] == 0.0
    for way in found["ways"]:
        assert (way["partings_per_km"], way["first_frac"]) == (0.0, 1.0)


def test_where_second_quality_is_as_good_as_first() -> None:
    result = run("--price-second", "5")
    assert "wind straight through; no parting pays." in result.output


def test_the_exact_table_and_what_is_too_large_for_it() -> None:
    found = run_json("--exact", "--look-ahead", "100 m", "--look-ahead", "800 m")
    small, half, large = found["exact"]
    assert small["low_per_km"] <= small["high_per_km"] < half["low_per_km"]
    assert (small["states"], half["states"]) == (34, 34 * 2**5)
    assert (large["states"], large["low_per_km"]) == (34 * 2**40, None)
    assert run_json("--exact", "--look-ahead", "1200 m")["exact"][1]["states"] is None
    result = run("--exact", "--look-ahead", "800 m")
    assert "more than 1000000 states" in result.output


def test_a_ball_of_the_mill(mill_dir: Path) -> None:
    found = run_json(options=("--ball", "Querl 200", "--mill", str(mill_dir)))
    assert found["ball"] == "Querl 200"
    assert found["currency"]
    long = ("--strand-length", "300 km", "--runs", "8")
    result = run(*long, options=("--ball", "Querl 200", "--mill", str(mill_dir)))
    assert result.exit_code == 0, result.output
    assert "GBP a km more than winding straight through" in result.output
    assert found["strand_a_year_km"] > 0.0
    assert "GBP a year." in result.output
    for word in (" a km ", " a year"):
        said = [line for line in result.output.splitlines() if word in line and "way " not in line]
        assert said
        assert all(line.count(word) == line.count(f" GBP{word}") for line in said)


@pytest.mark.parametrize(
    ("more", "option"),
    [
        (("--look-ahead", "200"), "--look-ahead"),
        (("--look-ahead", "90 km"), "--look-ahead"),
        (("--runs", "1"), "--runs"),
        (("--strand-length", "50 m"), "--strand-length"),
        (("--finds", "120 %"), "--finds"),
        (("--false-alarms-per-km", "-1"), "--false-alarms-per-km"),
        (("--miss-cost", "-1"), "--miss-cost"),
        (("--miss-cost", "2.4"), "--miss-cost"),
        (("--price-second", "9"), "--price-second"),
        (("--min-piece", "300 m"), "--min-piece"),
        (("--limit", "500"), "--limit"),
    ],
)
def test_faults_name_their_option(more: tuple[str, ...], option: str) -> None:
    result = run(*more)
    assert isinstance(result.exception, BadInput), result.output
    assert option in [fault.key for fault in result.exception.faults], str(result.exception)
