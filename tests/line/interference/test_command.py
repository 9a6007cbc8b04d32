"""`clew line interference`: its fixed keys, its words, and what it refuses."""

from __future__ import annotations

import json
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clew.cli.main import main


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["line", "interference", *arguments])


def words(*arguments: str) -> str:
    result = run(*arguments)
    assert result.exit_code == 0, result.output
    return result.stdout


def plain(*arguments: str) -> dict[str, Any]:
    found = json.loads(words(*arguments, "--json"))
    assert isinstance(found, dict)
    return found


FIVE = ("--machines", "5", "--hands", "1", "--run", "10 h", "--service", "4 h")
EIGHT = ("--machines", "8", "--run", "4 min", "--service", "25 s")


def test_the_form_fixed_for_scripts():
    found = plain(*FIVE, "--law", "exponential")
    assert found["running_mean"] == pytest.approx(5 - 2.674, abs=0.0006)
    assert found["waiting_mean"] == pytest.approx(1.744, abs=0.0006)
    assert found["efficiency"] == pytest.approx(0.465, abs=0.0006)
    assert found["hands_busy"] == pytest.approx(0.930, abs=0.0006)
    assert found["calls_per_hour"] == pytest.approx(0.930 / 4.0, abs=0.0002)
    assert found["run_s"] == 36000.0
    assert "applies" not in found


@pytest.mark.parametrize(
    ("law", "more", "keys"),
    [
        ("exponential", ("--hands", "3"), {"chance_waits"}),
        ("constant", (), {"chance_waits", "wright_wait_s"}),
        ("gamma", ("--service-cv", "0.5"), {"service_cv", "wright_wait_s"}),
        ("lognormal", ("--service-cv", "0.5"), {"service_cv", "wright_wait_s"}),
        ("patrol", ("--walk", "3 s"), {"walk_round_s", "round_s", "walking_frac"}),
        ("synchronous", ("--walk", "3 s"), {"ideal_machines", "cycle_s", "hand_idle_s"}),
    ],
)
def test_every_law_has_the_same_first_keys_and_its_own_words(law, more, keys):
    found = plain(*EIGHT, "--law", law, *more)
    assert keys <= found.keys()
    assert found["law"] == law
    assert found["running_mean"] + found["stopped_mean"] == pytest.approx(8.0)
    assert found["running_mean"] == pytest.approx(8.0 * found["efficiency"])
    assert law in words(*EIGHT, "--law", law, *more).split()
    assert ("wright_wait_s" in found) == ("wright_wait_s" in keys)


def test_a_round_is_as_many_walks_as_machines():
    assert plain(*EIGHT, "--law", "patrol", "--walk", "3 s")["walk_round_s"] == 24.0


def test_uneven_service_makes_longer_waits():
    waits = [
        plain(*EIGHT, "--law", "constant")["wait_s"],
        plain(*EIGHT, "--law", "gamma", "--service-cv", "0.5")["wait_s"],
        plain(*EIGHT, "--law", "exponential")["wait_s"],
        plain(*EIGHT, "--law", "gamma", "--service-cv", "2")["wait_s"],
    ]
    assert waits == sorted(waits)


def test_the_crew_table_of_the_textbook():
    costs = ("--cost-stopped", "60", "--cost-hand", "15")
    found = plain(*FIVE, "--law", "exponential", *costs)
    assert found["cheapest_hands"] == 2
    assert [row["hands"] for row in found["crews"]] == [1, 2, 3, 4, 5]
    assert found["crews"][1]["cost_per_hour"] == pytest.approx(129.655, abs=0.001)
    said = words(*FIVE, "--law", "exponential", *costs)
    assert said.startswith(
        "Of 5 machines under 1 hand, 2.326 run, 1.744 wait and 0.9303 are served"
    )
    assert "Cheapest: 2 hands, 129.65 an hour" in said
    assert said.splitlines()[-1].split() == [
        "5",
        "1.429",
        "0.000",
        "71.4",
        "%",
        "28.6",
        "%",
        "160.71",
    ]


def test_in_step_the_best_number_of_machines():
    case = ("--machines", "4", "--run", "4.34 min", "--service", "1.41 min", "--walk", "0.08 min")
    asked = (*case, "--stops", "doffs", "--cost-stopped", "20", "--cost-hand", "12")
    found = plain(*asked)
    assert found["law"] == "synchronous"
    assert found["ideal_machines"] == pytest.approx(3.859, abs=0.0005)
    assert [one["machines"] for one in found["cheapest_machines"]] == [4, 3]
    assert "Cheapest: 4 machines for one hand" in words(*asked)


def test_the_model_is_chosen_and_says_why():
    found = plain(*EIGHT, "--service-cv", "0.3")
    assert found["law"] == "gamma"
    assert "meet by chance" in found["applies"]["reasons"][0]
    assert plain(*EIGHT)["law"] == "exponential"
    assert plain(*EIGHT, "--walk", "3 s", "--service-cv", "0")["law"] == "patrol"
    assert plain(*EIGHT, "--stops", "both")["applies"]["exact"] is False


def test_fills_that_spread_do_not_keep_step():
    found = plain(*EIGHT, "--stops", "doffs", "--fill-cv", "0.05")
    assert found["applies"]["exact"] is False
    assert "do not keep step" in found["applies"]["reasons"][1]


def test_a_law_named_against_the_stops_is_told_so():
    said = words(*EIGHT, "--law", "constant", "--stops", "doffs")
    assert "For such stops take --law synchronous; this is constant." in said


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--law", "constant", "--hands", "2"), "law constant has a closed form for one hand only"),
        (("--law", "patrol"), "--walk: missing"),
        (("--law", "gamma"), "--service-cv: missing"),
        (("--law", "constant", "--service-cv", "0.5"), "law constant has no spread to set"),
        (("--law", "exponential", "--walk", "3 s"), "law exponential knows no walk (got 3 s)"),
        (("--fill-cv", "0.1"), "--fill-cv: only fills have it"),
        (("--cost-hand", "3"), "one without the other"),
        (
            ("--law", "constant", "--cost-hand", "3", "--cost-stopped", "3"),
            "law constant is for one hand",
        ),
        (("--cost-hand", "-3", "--cost-stopped", "3"), "--cost-hand: out of range (got -3)"),
        (("--service", "0 s"), "--service: out of range (got 0 s); expected a time above 0 s"),
        (("--run", "ten"), "--run"),
    ],
)
def test_what_cannot_be_answered_is_a_line_and_exit_2(arguments, message):
    result = run(*EIGHT, *arguments)
    assert result.exit_code == 2
    assert message in result.stderr
    assert "Traceback" not in result.output


def test_all_refusals_come_at_once():
    result = run(*EIGHT, "--law", "constant", "--hands", "2", "--walk", "3 s", "--cost-hand", "1")
    assert len(result.stderr.splitlines()) == 3
