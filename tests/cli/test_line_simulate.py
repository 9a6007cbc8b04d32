"""`clew line simulate`: the keys that scripts rest on, words first, faults by their option."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]
RunJson = Callable[..., dict[str, Any]]

SHORT = ("--line", "Line 1", "--shift", "2 h", "--replications", "10", "--seed", "7")
FIXED = ("--line", "Line 1", "--shift", "8 h", "--replications", "200", "--seed", "7")
"""What the command is fixed for."""


def test_keys_that_scripts_rest_on(clew_json: RunJson, mill_dir: Path) -> None:
    found = clew_json("line", "simulate", "--mill", mill_dir, *FIXED)
    low, high = found["balls_interval"]
    assert 0.0 < low < found["balls_mean"] < high
    assert high - low < 0.01 * found["balls_mean"]
    share = found["winder_share"]
    assert list(share) == [
        *("winding", "waiting_for_doff", "doffing", "starved", "broken", "changing", "resting")
    ]
    assert sum(share.values()) == pytest.approx(1.0, abs=1e-9)
    assert 0.0 < found["feed_stop_share"] < 1.0
    assert 0.0 < found["hand_busy_frac"] < 1.0
    came_m = found["yarn_books_m"]["initial"] + found["yarn_books_m"]["fed"]
    per_lane_m = came_m / (found["lane_count"] * found["replications"])
    assert abs(found["yarn_balance_m"]) < 1e-6 * per_lane_m
    assert (found["replications"], found["seed"], found["shift_s"]) == (200, 7, 28_800.0)


def test_the_same_seed_gives_the_same_text_on_any_number_of_cores(
    clew: Run, mill_dir: Path
) -> None:
    texts = {
        clew("line", "simulate", "--mill", mill_dir, *SHORT, "--cores", cores, "--json").stdout
        for cores in (1, 2, 3)
    }
    assert len(texts) == 1
    assert clew(
        "line", "simulate", "--mill", mill_dir, *SHORT, "--seed", 8, "--json"
    ).stdout not in (texts)


def test_words_first(clew: Run, mill_dir: Path) -> None:
    result = clew("line", "simulate", "--mill", mill_dir, *SHORT)
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0].startswith("Line 1, Querl 100, yarn as spun: 6 lanes, 2 hands, a shift of 2 h.")
    assert "balls a shift" in lines[1]
    assert "hold" in lines[2]
    assert "10 shifts, seed 7" in result.stdout
    assert "your own safety rules" in lines[-1]
    for words in ("winders", "of the time", "feed stands", "a shift's calls", "doffs"):
        assert words in result.stdout


def test_one_shift_has_no_interval(clew_json: RunJson, mill_dir: Path) -> None:
    found = clew_json(
        "line", "simulate", "--mill", mill_dir, "--line", "Line 1", "--replications", 1
    )
    assert found["balls_interval"] is None
    assert found["balls_sd"] is None
    assert set(found["winder_share_interval"].values()) == {None}
    assert found["replications"] == 1


def test_the_only_line_and_the_first_ball_need_no_name(clew_json: RunJson, mill_dir: Path) -> None:
    named = clew_json("line", "simulate", "--mill", mill_dir, *SHORT, "--ball", "Querl 100")
    assert named == clew_json("line", "simulate", "--mill", mill_dir, *SHORT[2:])


@pytest.mark.parametrize(
    ("tried", "key", "more"),
    [
        (("--hands", 4), "balls_mean", True),
        (("--hands", 1), "balls_mean", False),
        (("--doff", "20 s"), "balls_mean", False),
        (("--feed", "4 m/s"), "feed_stop_share", False),
        (("--buffer", "10 m"), "feed_stop_share", True),
        (("--cones", 1), "feed_stop_share", True),
        (("--walk", "0.4 m/s"), "hand_busy_frac", True),
        (("--colour-changes", 2), "ties_mean", True),
    ],
)
def test_what_is_tried_tells(
    clew_json: RunJson, mill_dir: Path, tried: tuple[str, object], key: str, more: bool
) -> None:
    as_is = clew_json("line", "simulate", "--mill", mill_dir, *SHORT)
    other = clew_json("line", "simulate", "--mill", mill_dir, *SHORT, *tried)
    assert (other[key] > as_is[key]) is more


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("--shift", "8 parsec"),
        ("--shift", "0 h"),
        ("--shift", "2 d"),
        ("--replications", "0"),
        ("--replications", "10000001"),
        ("--seed", "-1"),
        ("--feed", "1000 m/s"),
        ("--walk", "0 m/s"),
        ("--buffer", "1 mm"),
        ("--cone", "1 mm"),
        ("--colour-changes", "-1"),
    ],
)
def test_bad_input_is_one_line_with_the_option(
    clew: Run, mill_dir: Path, option: str, value: str
) -> None:
    result = clew("line", "simulate", "--mill", mill_dir, "--line", "Line 1", option, value)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith(f"clew: {option}: ")
    assert len(result.stderr.splitlines()) == 1


@pytest.mark.parametrize(("option", "value"), [("--rule", "fast"), ("--hands", "17")])
def test_words_that_an_option_does_not_know(
    clew: Run, mill_dir: Path, option: str, value: str
) -> None:
    result = clew("line", "simulate", "--mill", mill_dir, option, value)
    assert result.exit_code == 2
    assert f"'{option}'" in result.stderr


@pytest.mark.parametrize(
    ("option", "known"), [("--line", "Line 1"), ("--ball", "Querl 100"), ("--lot", "SL-207")]
)
def test_an_unknown_name_is_told_those_that_are_known(
    clew: Run, mill_dir: Path, option: str, known: str
) -> None:
    result = clew("line", "simulate", "--mill", mill_dir, option, "nowhere")
    assert result.exit_code == 2
    assert result.stdout == ""
    (line,) = result.stderr.splitlines()
    assert "nowhere" in line
    assert known in line


def test_several_faults_are_all_told(clew: Run, mill_dir: Path) -> None:
    result = clew("line", "simulate", "--mill", mill_dir, "--seed", -1, "--replications", 0)
    assert result.exit_code == 2
    assert "--seed" in result.stderr
    assert "--replications" in result.stderr
    assert "Traceback" not in result.stderr
