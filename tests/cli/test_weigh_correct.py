"""`clew weigh correct`: who drifted, whole counts, and when to leave a winder alone."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from clew.cli.main import main
from clew.cli.weigh.correct import correct
from clew.faults import BadInput

BARE = ("--target-mass", "100 g", "--turns", "700", "--target-length", "200 m")


def write(path: Path, *, mass: float = 100.3, long_4: float = 0.0, heavy_2: float = 0.0) -> Path:
    rng = np.random.default_rng(6)
    rows = ["lot,cone,winder,mass_g,length_m"]
    cones = rng.normal(0, 0.003, 300)
    for k in range(1200):
        winder = k % 6
        cone = k // 6 // 8 * 6 + winder
        winds = long_4 * (winder == 3)
        ball = mass * np.exp(winds + heavy_2 * (winder == 1) + cones[cone] + rng.normal(0, 0.004))
        length = 201.0 * np.exp(winds + rng.normal(0, 0.003))
        reeled = f"{length:.1f}" if k // 6 % 20 == 0 else ""
        rows.append(f"L1,L1-{cone},{winder + 1},{ball:.2f},{reeled}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def long_four(tmp_path: Path) -> Path:
    return write(tmp_path / "shift.csv", long_4=0.018)


def as_json(file: Path, *options: str) -> dict[str, Any]:
    result = CliRunner().invoke(correct, [str(file), "--json", *options])
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def winders(found: dict[str, Any]) -> dict[str, Any]:
    return {one["winder"]: one for one in found["winders"]}


def test_a_winder_that_winds_long_gives_up_whole_counts(long_four: Path) -> None:
    found = as_json(long_four, *BARE, "--price-per-kg", "14", "--balls-ahead", "3000")
    four = winders(found)["4"]
    assert four["make"] and four["signature"]["cause"] == "winds"
    assert four["offset_g"] == pytest.approx(2.1, abs=0.5)
    assert four["counts"] == -int(four["offset_g"] * 7)
    assert four["gain_g"] == pytest.approx(-four["counts"] / 7)
    assert four["gain_money"] == pytest.approx(four["gain_g"] * 3 * 14)
    assert four["words"].startswith("Winder 4 runs ")
    assert "it winds long; take off" in four["words"]
    assert found["lot"] == "L1"


def test_a_heavy_count_is_told_from_winding_long(tmp_path: Path) -> None:
    found = as_json(write(tmp_path / "heavy.csv", heavy_2=0.02), *BARE)
    two = winders(found)["2"]
    assert two["signature"]["cause"] == "count"
    assert "its count is heavy" in two["words"]


def test_length_holds_a_winder_that_is_heavy_by_its_count(tmp_path: Path) -> None:
    """Taking turns off a heavy yarn would leave its balls short."""
    found = as_json(write(tmp_path / "heavy.csv", heavy_2=0.02), *BARE)
    two = winders(found)["2"]
    assert two["offset_g"] > 1.5
    assert -two["counts"] <= 201.5 / 200 * 700 - 700 + 1


def test_words_come_first_and_the_funnel_is_told(long_four: Path) -> None:
    result = CliRunner().invoke(correct, [str(long_four), *BARE])
    assert result.exit_code == 0, result.output
    assert result.output.startswith("Winder 1")
    flat = " ".join(result.output.split())
    assert "Moving a winder by the full deviation of every ball" in flat
    assert "unreel" in flat
    assert "not corrected for moisture" in flat


def test_a_mill_file_says_targets_counters_and_prices(long_four: Path, tmp_path: Path) -> None:
    mill = tmp_path / "mill"
    assert CliRunner().invoke(main, ["mill", "init", str(mill)]).exit_code == 0
    options = ("--mill", str(mill), "--ball", "Querl 100", "--balls-ahead", "3000")
    found = as_json(long_four, *options)
    four = winders(found)["4"]
    assert found["currency"]
    assert four["make"] and four["counts"] < 0 and four["gain_money"] > 0
    assert found["unreel"]["cost_money"] > 0
    assert "The last turn of Querl 100" in found["counts_from"]
    result = CliRunner().invoke(correct, [str(long_four), *options])
    assert found["currency"] in result.output


def test_the_demo_shift_names_its_stated_faults(tmp_path: Path) -> None:
    """Winder 4 winds 1.8 % long, winder 2's balls draw back 1 %, the others are as they should."""
    mill = tmp_path / "mill"
    assert CliRunner().invoke(main, ["mill", "init", str(mill)]).exit_code == 0
    file = mill / "shift-weighings.csv"
    found = as_json(file, "--mill", str(mill), "--ball", "Querl 100")
    causes = {name: one["signature"]["cause"] for name, one in winders(found).items()}
    assert causes == {
        "1": "none",
        "2": "drew_back",
        "3": "none",
        "4": "winds",
        "5": "none",
        "6": "none",
    }
    assert "Length at rest" in found["condition"]
    assert winders(found)["5"]["counts"] == 0  # one of its counts is too coarse


def test_balls_ahead_are_a_winders_share_of_the_dye_lot_named(
    long_four: Path, tmp_path: Path
) -> None:
    mill = tmp_path / "mill"
    assert CliRunner().invoke(main, ["mill", "init", str(mill)]).exit_code == 0
    options = ("--mill", str(mill), "--ball", "Querl 100")
    in_file = {one["balls_ahead"] for one in winders(as_json(long_four, *options)).values()}
    assert in_file == {1200 // 6}
    of_lot = as_json(long_four, *options, "--dye-lot", "SL-207")
    share = {one["balls_ahead"] for one in winders(of_lot).values()}
    assert len(share) == 1 and share != in_file


def test_two_reeled_winders_do_not_accuse_the_right_one(tmp_path: Path) -> None:
    """Winder 4 winds long; beside it only winder 1 was reeled, whose balls are right."""
    lines = write(tmp_path / "long.csv", long_4=0.018).read_text().splitlines()
    heading = lines[0].split(",")
    at, length = heading.index("winder"), heading.index("length_m")
    rows = [line.split(",") for line in lines[1:]]
    kept = [
        ",".join("" if k == length and row[at] not in ("1", "4") else one
                 for k, one in enumerate(row))
        for row in rows
    ]  # fmt: skip
    file = tmp_path / "two.csv"
    file.write_text("\n".join([lines[0], *kept]) + "\n")
    found = winders(as_json(file, *BARE))
    assert found["1"]["signature"]["cause"] != "drew_back"
    assert "drew back" not in found["1"]["words"]


def test_cones_that_are_not_named_are_said_to_be_missed(long_four: Path, tmp_path: Path) -> None:
    bare = tmp_path / "bare.csv"
    lines = [line.split(",") for line in long_four.read_text().splitlines()]
    bare.write_text("\n".join(",".join([one[0], *one[2:]]) for one in lines) + "\n")
    assert any("cones are not named" in one for one in as_json(bare, *BARE)["cautions"])
    assert not any("cones" in one for one in as_json(long_four, *BARE)["cautions"])


def test_one_winder_alone(tmp_path: Path) -> None:
    file = tmp_path / "one.csv"
    rows = "\n".join(f"1,{100 + 0.3 * (k % 7):.1f}" for k in range(40))
    file.write_text(f"winder,mass_g\n{rows}\n", encoding="utf-8")
    found = as_json(file, "--target-mass", "100 g", "--turns", "700")
    assert len(found["winders"]) == 1
    assert found["winders"][0]["signature"] is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("winder,mass_g\n", "no rows"),
        ("winder,mass_g\n1,100\n", "too few balls"),
        ("winder,mass_g\n1,100\n1,100\n2,100\n2,100\n", "nothing varies"),
        ("winder,mass_g\n1,100\n2,101\n3,102\n", "winders cannot be told"),
        ("mass_g\n100\n101\n102\n", "winder"),
    ],
)
def test_bad_files_give_one_clear_line(tmp_path: Path, text: str, words: str) -> None:
    file = tmp_path / "bad.csv"
    file.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(correct, [str(file), *BARE])
    assert isinstance(result.exception, BadInput), result.output
    assert words in str(result.exception)


@pytest.mark.parametrize(
    "options", [(), ("--turns", "700"), (*BARE, "--sure", "1.5"), (*BARE, "--sure", "nan")]
)
def test_nothing_to_aim_at_or_no_probability(long_four: Path, options: tuple[str, ...]) -> None:
    result = CliRunner().invoke(correct, [str(long_four), *options])
    assert isinstance(result.exception, BadInput), result.output


def test_a_winder_that_is_not_on_the_line_is_named(tmp_path: Path) -> None:
    mill = tmp_path / "mill"
    CliRunner().invoke(main, ["mill", "init", str(mill)])
    file = tmp_path / "odd.csv"
    file.write_text("winder,mass_g\nA,100\nA,101\nB,102\nB,103\n", encoding="utf-8")
    result = CliRunner().invoke(correct, [str(file), "--mill", str(mill), "--ball", "Querl 100"])
    assert isinstance(result.exception, BadInput)
    assert "not a winder's number" in str(result.exception)
