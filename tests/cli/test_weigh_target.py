"""`clew weigh target`, as a person and a script use it."""

from __future__ import annotations

import json
import re
import shlex
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from clew.cli.main import main

SPREAD = ["--within-sd", "1.0 g", "--cone-sd", "1.2 g", "--balls-per-cone", "16",
          "--winder-sd", "0.7 g", "--winders", "6", "--lot-sd", "0.5 g"]  # fmt: skip
USUAL = ["--rule", "eu-average", "--declared", "100 g", "--lot-size", "900", *SPREAD]


def run(*words: str) -> Result:
    return CliRunner().invoke(main, ["weigh", "target", *words])


def answer(*words: str) -> dict[str, Any]:
    found = run(*words, "--json")
    assert found.exit_code == 0, found.output
    said = json.loads(found.output)
    assert isinstance(said, dict)
    return said


def test_words_first_then_the_tables() -> None:
    found = run(*USUAL, "--mean", "102 g", "--price", "17.5", "--balls-a-year", "90000")
    assert found.exit_code == 0
    lines = found.output.splitlines()
    assert lines[0].startswith("Aim at 10")
    assert "higher than the law needs" in lines[1]
    assert "kg a year" in lines[1]
    assert lines[2].startswith("What binds: eu-average, mass, average")
    assert "95 % sure" in lines[3]
    assert found.output.rstrip().endswith("your weights-and-measures office decides.")


def test_json_is_stable_and_keeps_the_risk() -> None:
    said = answer(*USUAL, "--mean", "102 g", "--price", "17.5", "--balls-a-year", "90000")
    assert said["declared_mass_g"] == 100.0
    assert 100.3 < said["target_mass_g"] < 101.6
    assert said["present_over_g"] == pytest.approx(102.0 - said["target_mass_g"])
    assert said["money_a_year"] == pytest.approx(said["present_over_g"] * 90 * 17.5)
    assert said["fails"]["upper_95_frac"] <= 0.01
    assert said["confirmed"] is True
    risks = {one["risk_frac"]: one["mass_g"] for one in said["other_risks"]}
    assert risks[0.001] > said["target_mass_g"] > risks[0.05]
    assert {one["level"] for one in said["gram_worth"]} == {"lot", "cone", "winder", "within"}
    assert said["target_length_m"] is None
    assert said == answer(*USUAL, "--mean", "102 g", "--price", "17.5", "--balls-a-year", "90000")
    other = answer(*USUAL, "--seed", "2")
    assert other["target_mass_g"] != said["target_mass_g"]
    assert other["target_mass_g"] == pytest.approx(said["target_mass_g"], abs=0.05)


def test_a_smaller_risk_and_doubts_ask_for_more() -> None:
    plain = answer(*USUAL)["target_mass_g"]
    assert answer(*USUAL, "--risk", "0.1 %")["target_mass_g"] > plain + 0.05
    assert answer(*USUAL, "--tare-doubt", "0.4 g")["target_mass_g"] > plain + 0.05
    wide = [*USUAL, "--lot-sd", "0.25 to 1 g"]
    assert answer(*wide)["target_mass_g"] > plain + 0.05
    drier = answer(*USUAL, "--regain-weighed", "12 %", "--regain-inspection", "11 %")
    assert drier["target_mass_g"] == pytest.approx(plain * 1.12 / 1.11, rel=1e-6)


def test_mass_and_length_together_and_several_markets() -> None:
    said = answer(
        "--rule", "oiml-r87", "--rule", "us-category-a", "--declared", "100 g",
        "--declared", "200 m", "--length-sd", "2 m", "--lot-size", "900", *SPREAD,
    )  # fmt: skip
    kinds = {(one["rule"], one["quantity"]) for one in said["needs"]}
    assert ("oiml-r87", "length") in kinds
    assert ("us-category-a", "mass") in kinds
    assert said["target_length_m"] == pytest.approx(2.0 * said["target_mass_g"])
    assert said["confirmed"] is False
    words = run("--rule", "us-category-a", "--declared", "100 g", "--lot-size", "900", *SPREAD)
    assert "TABLE UNCONFIRMED" in words.output


def test_a_mill_gives_turns_counts_and_money(mill_dir: Path) -> None:
    said = answer("--mill", str(mill_dir), "--ball", "Querl 100", "--lot-size", "900")
    assert said["turns"] > 700
    assert said["counts"]["5"] < said["turns"] / 9
    assert said["currency"] == "GBP"
    words = run("--mill", str(mill_dir), "--ball", "Querl 100", "--lot-size", "900").output
    assert f"Set {said['turns']} turns on every winder" in words


def test_mass_is_judged_at_the_condition_the_mill_file_means(mill_dir: Path) -> None:
    """Agreed regain where the ball is sold on it; no other blend's regain at an inspection."""
    mill = ["--mill", str(mill_dir), "--ball"]
    said = answer(*mill, "Dunnow 50")
    seen = said["target_mass_g"] * (1 + 0.1825) / (1 + 0.135)
    assert said["target_as_inspected_g"] == pytest.approx(seen, rel=1e-3)
    assert said["giveaway_g"] == pytest.approx(said["target_as_inspected_g"] - 50.0)
    assert any("judged at the agreed regain" in note for note in said["notes"])
    cotton = answer(*mill, "Sallowe 100")
    assert cotton["target_as_inspected_g"] == pytest.approx(cotton["target_mass_g"])
    assert any("at the regain of weighing" in note for note in cotton["notes"])
    mixed = answer(*mill, "Querl 100")
    ratio = mixed["target_as_inspected_g"] / mixed["target_mass_g"]
    assert ratio == pytest.approx(1.09 / 1.095)
    assert {one["rule"] for one in mixed["needs"]} == {"eu-average", "uk-2006"}


def test_a_file_of_balls(mill_dir: Path) -> None:
    data = mill_dir.parent / "shift.csv"
    demo = resources.files("clew.mill") / "demo" / "shift-weighings.csv"
    data.write_text(demo.read_text(encoding="utf-8"), encoding="utf-8")
    said = answer(str(data), "--rule", "eu-average", "--declared", "100 g", "--lot-size", "900")
    assert said["winders"] == 6
    assert said["balls_per_cone"] > 5
    assert any("lots" in note for note in said["notes"])
    less = answer(
        str(data), "--rule", "eu-average", "--declared", "100 g", "--lot-size", "900",
        "--lot-sd", "0 g",
    )  # fmt: skip
    assert less["target_mass_g"] < said["target_mass_g"]


def test_the_thread_laws_do_not_pull_the_target_under_the_band() -> None:
    said = answer(
        "--rule", "us-thread-states", "--declared", "100 g", "--lot-size", "900",
        "--within-sd", "1 g",
    )  # fmt: skip
    assert said["by_declaration"] is True
    assert said["binds"] == "declaration"
    assert said["target_mass_g"] == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "no lot size"),
        (["--lot-size", "900"], "no rule set"),
        (["--rule", "eu-average", "--lot-size", "900"], "nothing declared"),
        (["--rule", "eu-average", "--declared", "200 m", "--lot-size", "900"], "nothing declared"),
        (["--rule", "eu-average", "--declared", "100 g", "--lot-size", "900"], "no spread"),
        ([*USUAL[:6], "--cone-sd", "1 g"], "--balls-per-cone"),
        ([*USUAL[:6], "--winder-sd", "1 g"], "--winders"),
        ([*USUAL, "--risk", "0 %"], "a risk out of reach"),
        ([*USUAL, "--lot-size", "0"], "no such lot"),
        ([*USUAL, "--within-sd", "-1 g"], "--within-sd"),
        ([*USUAL, "--within-sd", "80 g"], "--within-sd"),
        ([*USUAL, "--within-sd", "2 to 1 g"], "--within-sd"),
        ([*USUAL, "--within-sd", "2 m"], "--within-sd"),
        ([*USUAL, "--mean", "0 g"], "not a ball"),
        ([*USUAL, "--regain-inspection", "11 %"], "--regain-weighed"),
        ([*USUAL[:2], "--declared", "0 g", *USUAL[4:]], "--declared"),
        (["no-such-file.csv", *USUAL], "no-such-file.csv"),
        (["--ball", "No such", "--mill", "nowhere"], "nowhere"),
    ],
)
def test_nonsense_is_one_clear_line(words: list[str], said: str) -> None:
    found = run(*words)
    assert found.exit_code == 2
    assert said in found.output
    assert "Traceback" not in found.output


@pytest.mark.parametrize(
    "rows", ["", "mass_g\n", "mass_g\n100\n", "mass_g\n100\n100\n100\n", "mass_g\nnan\n1\n"]
)
def test_files_that_say_nothing(tmp_path: Path, rows: str) -> None:
    data = tmp_path / "balls.csv"
    data.write_text(rows, encoding="utf-8")
    found = run(str(data), *USUAL[:6])
    assert found.exit_code == 2
    assert "Traceback" not in found.output


def test_levels_that_nothing_speaks_of_are_said_to_be_taken_as_alike(tmp_path: Path) -> None:
    """A file of one dye lot says nothing of lots, which cost most: the answer must not hide it."""
    masses = np.random.default_rng(5).normal(101, 1, 60)
    file = tmp_path / "bare.csv"
    file.write_text("mass_g\n" + "\n".join(f"{one:.2f}" for one in masses) + "\n")
    asked = ["weigh", "target", str(file), "--rule", "eu-average", "--declared", "100 g",
             "--lot-size", "900", "--inspections", "5000"]  # fmt: skip
    printed = CliRunner().invoke(main, asked)
    assert printed.exit_code == 0, printed.output
    flat = " ".join(printed.stdout.split())
    assert "dye lots, cones, winders taken as alike, the mildest case: --lot-sd" in flat
    said = CliRunner().invoke(
        main, [*asked, "--lot-sd", "0.5 g", "--cone-sd", "1 g", "--balls-per-cone", "16",
               "--winder-sd", "0.5 g", "--winders", "6"]
    )  # fmt: skip
    assert said.exit_code == 0, said.output
    assert "taken as alike" not in said.stdout


def test_lots_not_set_by_first_balls_are_said_to_be_so(mill_dir: Path, tmp_path: Path) -> None:
    """The mill's habit counts; without one the answer says that no first ball is reckoned with."""
    other = tmp_path / "mill.toml"
    file = (mill_dir / "mill.toml").read_text(encoding="utf-8")
    other.write_text(re.sub(r"(?m)^first_balls = .*$", "", file), encoding="utf-8")
    words = ["--ball", "Querl 100", "--inspections", "15000"]
    with_habit = CliRunner().invoke(main, ["weigh", "target", "--mill", str(mill_dir), *words])
    asked = ["weigh", "target", "--mill", str(other), *words]
    first_balls = "--first-balls says how many do"
    assert "each lot set by 12 first balls" in with_habit.stdout
    assert first_balls in CliRunner().invoke(main, asked).stdout
    assert first_balls not in CliRunner().invoke(main, [*asked, "--first-balls", "6"]).stdout


def test_a_wrong_unit_in_a_row_is_one_clear_line(tmp_path: Path) -> None:
    file = tmp_path / "unit.csv"
    rows = [f"{101 + k % 3}" for k in range(40)]
    file.write_text("\n".join(["mass_g", *rows, "10150"]) + "\n")
    found = CliRunner().invoke(
        main, ["weigh", "target", str(file), "--rule", "eu-average", "--declared", "100 g",
               "--lot-size", "900"]
    )  # fmt: skip
    assert found.exit_code == 2
    assert "balls that spread too far to be of one kind" in found.output
    assert "value_frac" not in found.output


def test_the_manual_shows_what_the_command_prints(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = (Path(__file__).parents[2] / "docs" / "weigh_target.md").read_text(encoding="utf-8")
    blocks = [block.split("\n```")[0].strip("\n") for block in page.split("```text\n")[1:]]
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    Path("my-mill").symlink_to(Path(str(resources.files("clew.mill") / "demo")))
    assert len(blocks) == 6
    for command, words in zip(blocks[::2], blocks[1::2], strict=True):
        printed = CliRunner().invoke(main, shlex.split(command)[1:]).stdout
        assert [line.rstrip() for line in printed.splitlines()] == words.splitlines()
