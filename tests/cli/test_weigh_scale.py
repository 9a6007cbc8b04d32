"""`clew weigh scale`: keys programs rely on, words, exit codes, one clear line for bad input."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from clew.checks.packages.plan import RULE_KEYS

Run = Callable[..., Result]
Json = Callable[..., dict[str, Any]]

MASSES = (100.6, 101.9, 99.4, 100.2, 102.3)
HANDS = {"Ada": 0.0, "Ben": 0.1, "Cy": -0.1}


def study_text(*, skip: int = 0, column: str = "value_g") -> str:
    rows = [
        f"{part},{hand},{trial},{mass + shift + 0.1 * ((part + trial) % 2):.1f}"
        for part, mass in enumerate(MASSES, 1)
        for hand, shift in HANDS.items()
        for trial in (1, 2, 3)
    ]
    return f"part,hand,trial,{column}\n" + "\n".join(rows[skip:]) + "\n"


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str], Path]:
    def put(text: str) -> Path:
        path = tmp_path / "data.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return put


def one_line(result: Result) -> str:
    assert result.exit_code == 2, result.output
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 1, result.stderr
    assert "Traceback" not in result.output
    return lines[0]


def test_study_has_the_keys_programs_rely_on(clew_json: Json, write) -> None:
    found = clew_json("weigh", "scale", "study", write(study_text()), "--deficiency", "4.5 g")
    assert (found["parts"], found["hands"], found["trials"]) == (5, 3, 3)
    assert found["tolerance_g"] == 9.0
    assert set(found["components"]) == {"EV", "AV", "GRR", "PV", "TV"}
    grr = found["components"]["GRR"]
    assert grr["sd_g_interval"][0] < grr["sd_g"] < grr["sd_g_interval"][1]
    assert found["grr_share_frac"] == pytest.approx(grr["tolerance_frac"])
    assert found["ranges"]["k1"] == pytest.approx(0.5855, abs=1e-4)


def test_study_says_what_it_found_and_how(clew: Run, write) -> None:
    shown = clew("weigh", "scale", "study", write(study_text()), "--tolerance", "9 g")
    assert shown.exit_code == 0
    assert shown.stdout.startswith("Scale and hands take ")
    assert "By averages and ranges" in shown.stdout
    assert "seed 1" in shown.stdout


def test_the_seed_decides_the_intervals(clew_json: Json, write) -> None:
    path = write(study_text())
    first, again, other = (
        clew_json("weigh", "scale", "study", path, "--seed", seed)["components"]
        for seed in (3, 3, 4)
    )
    assert first == again
    assert first["GRR"]["sd_g"] == other["GRR"]["sd_g"]
    assert first["GRR"]["sd_g_interval"] != other["GRR"]["sd_g_interval"]


def test_a_poor_scale_is_exit_code_one(clew: Run, write) -> None:
    shown = clew("weigh", "scale", "study", write(study_text()), "--tolerance", "0.5 g")
    assert shown.exit_code == 1
    assert "not good enough" in shown.stdout


def test_a_reel_whose_hands_reel_their_own_balls(clew_json: Json, clew: Run, write) -> None:
    rows = [f"{hand}{ball},{hand},{200 + place + 0.3 * ball}" for place, hand in enumerate("ABC")
            for ball in range(4)]  # fmt: skip
    path = write("part,hand,value_m\n" + "\n".join(rows))
    found = clew_json("weigh", "scale", "study", path, "--deficiency", "20 m")
    assert (found["design"], found["unit"], found["ndc"]) == ("nested", "m", None)
    assert "PV" not in found["components"]
    assert found["ranges"] is None
    assert "Reel" in clew("weigh", "scale", "study", path).stdout


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty file"),
        ("part,hand,trial,value_g\n", "no rows"),
        (study_text(skip=1), "not balanced"),
        ("part,hand,trial,value_g\n1,A,1,100\n", "too few parts"),
        (study_text().replace("101.9", "nan", 1), "not a number"),
        (study_text().replace("101.9", '"101,9"', 1), "a comma in a number"),
        (study_text() + "1,Ada,1,100.6\n", "given twice"),
        (study_text(column="value_kg"), "unknown column"),
        ("part,hand,trial\n1,A,1\n", "no readings"),
        ("part,hand,value_g,value_m\n1,A,1,1\n", "both value_g and value_m"),
        ("part,hand,value_g\n1,A,5\n1,A,5\n2,A,5\n2,A,5\n", "alike"),
        ("part,hand,value_g\n1,A,5\n2,A,6\n", "one hand who read each part once"),
    ],
)
def test_a_bad_study_is_one_clear_line(clew: Run, write, text: str, said: str) -> None:
    assert said in one_line(clew("weigh", "scale", "study", write(text)))


def test_a_study_that_is_not_there(clew: Run, tmp_path: Path) -> None:
    assert "cannot be read" in one_line(clew("weigh", "scale", "study", tmp_path / "no.csv"))


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--tolerance", "9 g", "--deficiency", "4.5 g"), "one of them"),
        (("--tolerance", "9 m"), "a length, not a mass"),
        (("--tolerance", "0 g"), "more than 0"),
    ],
)
def test_bad_options_of_a_study(clew: Run, write, options: tuple[str, ...], said: str) -> None:
    assert said in one_line(clew("weigh", "scale", "study", write(study_text()), *options))


def test_budget_from_the_mill(clew_json: Json, clew: Run, mill_dir: Path) -> None:
    arguments = ("weigh", "scale", "budget", "Querl", "100", "--mill", mill_dir)
    found = clew_json(*arguments, "--division", "0.1 g", "--deficiency", "4.5 g")
    assert found["mass"]["value_g"] == pytest.approx(100.0)
    assert found["mass"]["condition"] == "as weighed"
    assert found["mass"]["rows"][0]["key"] == "gross"
    assert found["mass"]["budget_valid"] is True
    assert found["length"]["value_m"] == pytest.approx(200.0)
    assert found["allowed"]["allowed"] is True
    shown = clew(*arguments)
    assert "What counts most" in shown.stdout
    assert "Not given, and left out: division" in shown.stdout


def test_budget_from_options_alone(clew_json: Json) -> None:
    found = clew_json(
        "weigh", "scale", "budget", "--net", "100 g", "--scale-sd", "0.3 g", "--tare", "2 g",
        "--tare-sd", "0.4 g", "--seed", 2,
    )  # fmt: skip
    assert found["mass"]["u_g"] == pytest.approx(0.5)
    assert found["mass"]["df"] is None
    assert found["mass"]["monte_carlo"]["seed"] == 2
    assert "length" not in found


def test_budget_with_check_weights(clew_json: Json, clew: Run, write) -> None:
    common = ("weigh", "scale", "budget", "--net", "99 g", "--scale-sd", "0.1 g", "--standards")
    path = write("standard_g,shown_g\n0,0\n50,49.5\n100,99.0\n200,198.0\n")
    assert clew_json(*common, path)["mass"]["value_g"] == pytest.approx(100.0)
    assert "three or more" in one_line(clew(*common, write("standard_g,shown_g\n0,0\n50,49\n")))


def test_a_ball_that_is_not_sure_enough_is_exit_code_one(clew: Run) -> None:
    shown = clew(
        "weigh", "scale", "budget", "--net", "100 g", "--scale-sd", "0.6 g",
        "--deficiency", "4.5 g",
    )  # fmt: skip
    assert shown.exit_code == 1
    assert "NOT enough" in shown.stdout


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ((), "nothing to make a budget of"),
        (("--net", "100 g"), "repeatability"),
        (("--net", "0 g", "--scale-sd", "0.1 g"), "net mass"),
        (("--net", "100 g", "--scale-sd", "0.1 g", "--regain", "10 %"), "one regain"),
        (("--length", "200 m", "--tension", "40 cN"), "without a modulus"),
        (("--length", "200 m", "--deficiency", "4.5 g"), "without a mass"),
        (("No such ball",), "mill.toml"),
    ],
)
def test_bad_budgets_are_one_clear_line(
    clew: Run, tmp_path: Path, options: tuple[str, ...], said: str
) -> None:
    line = one_line(clew("weigh", "scale", "budget", *options, "--mill", tmp_path))
    assert said in line


def test_an_error_of_more_than_a_fifth_is_not_allowed(clew: Run) -> None:
    shown = clew("weigh", "scale", "allowed", "--declared", "100 g", "--error", "1.2 g")
    assert shown.exit_code == 1
    assert "may NOT be used for 100 g balls under eu-average" in shown.stdout
    assert "error 1.2 g, at most 0.9 g" in shown.stdout
    assert "weights-and-measures office decides" in shown.stdout


def test_allowed_by_rule_set(clew_json: Json) -> None:
    found = clew_json(
        "weigh", "scale", "allowed", "--declared", "100 g", "--division", "0.1 g",
        "--error", "0.1 g", "--uncertainty", "0.3 g",
    )  # fmt: skip
    assert found["allowed"] is True and found["complete"] is True
    assert set(found["rules"]) == {*RULE_KEYS} - {"us-thread-states"}
    assert found["rules"]["us-category-a"]["deficiency_g"] == pytest.approx(7.2)
    assert found["rules"]["us-category-a"]["confirmed"] is False
    assert found["rules"]["eu-average"]["deficiency_g"] == pytest.approx(4.5)


def test_a_table_not_checked_is_said(clew: Run) -> None:
    shown = clew(
        "weigh", "scale", "allowed", "--declared", "100 g", "--division", "1 g",
        "--rule", "us-category-a",
    )  # fmt: skip
    assert shown.exit_code == 0
    assert "Table not checked against the source" in shown.stdout
    assert "As far as it is known" in shown.stdout


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ((), "nothing is known of the scale"),
        (("--error", "0.1 g", "--rule", "us-category-a"), "no division"),
        (("--division", "0 g"), "division"),
        (("--error", "0.1 g", "--deficiency", "0 g"), "no deficiency"),
        (("--division", "0.1 g", "--capacity", "50 g"), "heavier than the scale weighs"),
    ],
)
def test_bad_questions_are_one_clear_line(clew: Run, options: tuple[str, ...], said: str) -> None:
    line = one_line(clew("weigh", "scale", "allowed", "--declared", "100 g", *options))
    assert said in line


def test_tare_says_which_and_how_many_more(clew: Run, clew_json: Json, write) -> None:
    path = write("tare_g\n2.1\n2.2\n2.1\n2.0\n2.2\n")
    common = ("weigh", "scale", "tare", path, "--division", "0.1 g")
    found = clew_json(*common, "--limit", "0.2 g")
    assert (found["handbook_tare_g"], found["handbook_used"]) == (pytest.approx(2.12), 5)
    assert found["enough"] is True
    shown = clew(*common, "--declared", "100 g")
    assert shown.exit_code == 1
    assert "weigh about 6 in all" in shown.stdout


def test_two_tares_that_differ_need_three_more(clew: Run, write) -> None:
    path = write("tare_g\n2.1\n2.3\n")
    result = clew("weigh", "scale", "tare", path, "--division", "0.1 g", "--limit", "9 g", "--json")
    assert result.exit_code == 1
    assert json.loads(result.stdout)["handbook_more"] == 3


@pytest.mark.parametrize(
    ("text", "options", "said"),
    [
        ("tare_g\n", ("--limit", "1 g"), "no rows"),
        ("tare_g\n2.1\n", ("--limit", "1 g"), "one tare says nothing"),
        ("tare_g\n-2.1\n2\n", ("--limit", "1 g"), "too small a number"),
        ("tare_g\nx\n2\n", ("--limit", "1 g"), "not a number"),
        ("tare_g\n2.1\n2.1\n", (), "nothing to hold the doubt against"),
        ("tare_g\n2.1\n2.1\n", ("--limit", "1 g", "--declared", "100 g"), "one of them"),
        ("tare_g\n2.1\n2.2\n", ("--limit", "1 g", "--used-dry"), "no package errors"),
        ("tare_g,error_g\n2,-1\n3,1\n", ("--limit", "1 g", "--used-dry"), "Rc/Rt is 2;"),
    ],
)
def test_bad_tares_are_one_clear_line(
    clew: Run, write, text: str, options: tuple[str, ...], said: str
) -> None:
    line = one_line(clew("weigh", "scale", "tare", write(text), "--division", "0.1 g", *options))
    assert said in line


def test_help_names_the_verbs(clew: Run) -> None:
    shown = clew("weigh", "scale", "--help")
    assert all(verb in shown.stdout for verb in ("study", "budget", "allowed", "tare"))


def test_a_regain_whose_doubt_is_not_given_is_named(clew_json: Json) -> None:
    found = clew_json(
        "weigh", "scale", "budget", "--net", "100 g", "--scale-sd", "0.1 g",
        "--regain", "9.5 %", "--stated-regain", "11 %",
    )  # fmt: skip
    assert any("doubt of the regain" in note for note in found["mass"]["notes"])


def test_a_scale_of_coarse_steps_is_not_allowed_under_any_rule(clew: Run) -> None:
    shown = clew("weigh", "scale", "allowed", "--declared", "100 g", "--division", "0.1 kg")
    assert shown.exit_code == 1
    assert shown.stdout.count("may NOT be used") == len(RULE_KEYS) - 1


def test_where_the_budget_fails_the_drawn_interval_is_the_answer(
    clew: Run, clew_json: Json
) -> None:
    """Two tares know their spread on one degree of freedom: budget 0.4 g, drawn 1.25 g."""
    asked = (
        "weigh", "scale", "budget", "--net", "100 g", "--scale-sd", "0.1 g", "--division", "0.1 g",
        "--tare", "2 g", "--tare-sd", "0.08 g", "--tares", "2", "--deficiency", "4.5 g",
    )  # fmt: skip
    shown = clew(*asked)
    assert shown.exit_code == 1
    assert shown.stdout.startswith("One ball: mass 100.00 g as weighed, 98.")
    assert "NOT enough" in shown.stdout


def test_check_weights_lighter_than_the_ball_are_named(clew_json: Json, write) -> None:
    path = write("standard_g,shown_g\n20,20\n50,50\n100,100.1\n")
    found = clew_json(
        "weigh", "scale", "budget", "--net", "500 g", "--scale-sd", "0.1 g", "--standards", path
    )
    assert any("show 20 to 100.1 g" in note for note in found["mass"]["notes"])
