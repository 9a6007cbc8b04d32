"""`clew plan sequence`: words, keys, files, exit codes, and what is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import Result

from clew.cli.plan.sequence import make_plan, sequence, shown_progress
from clew.plan.sequence.plan_file import COLUMNS

Run = Callable[..., Result]
NOW = ("--now", "2026-11-30 06:00")
SLOE = ("--in-line", "Line 1=Querl 100,SL-211")
HEAD = "order,customer,ball,colour,balls,due\n"


@pytest.fixture
def run(clew: Run, mill_dir: Path) -> Run:
    def run(*arguments: object) -> Result:
        return clew("plan", "sequence", *arguments, *NOW, "--within", "0.3 s", "--mill", mill_dir)

    return run


def refused(result: Result, *says: str) -> None:
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output
    for one in says:
        assert one in result.output


def test_the_demo_orders_in_words(run: Run) -> None:
    result = run(*SLOE)
    assert result.exit_code == 0, result.output
    first, second, third, *_ = result.stdout.splitlines()
    assert first.startswith("Sloe before Oatmeal before ") and "4 runs, 4 changes" in first
    assert second.startswith("Changes throw away ") and third.startswith("Against light to dark: ")
    assert "Every order ends in time on average." in result.stdout
    assert "1041: 1200 Querl 100 in Sloe SL-207" in result.stdout
    assert "before it another dye lot, 6 mixed balls: " in result.stdout
    assert "\x1b" not in result.output and "planning" not in result.output


def test_json_has_stable_keys(run: Run) -> None:
    result = run(*SLOE, "--json", "--seed", 5)
    assert result.exit_code == 0, result.output
    plain: dict[str, Any] = json.loads(result.stdout)
    assert set(plain) == {
        "mill", "now", "currency", "words", "kept", "seed", "within_s", "found_by", "bound_money",
        "bound_by", "assignment_bound_money", "gap_frac", "proven", "plan", "light_to_dark",
        "present", "lines", "late", "cannot", "unmet", "written", "left_out",
    }  # fmt: skip
    assert plain["seed"] == 5 and plain["now"] == "2026-11-30T06:00+00:00"
    runs = plain["lines"][0]["runs"]
    assert set(runs[0]) == {
        "run", "order", "customer", "ball", "yarn", "colour", "lot", "balls", "wound_balls",
        "cones", "due", "change", "change_from", "start", "end", "end_early", "end_late",
        "late_cost_money", "wait_h", "wait_money", "frozen",
    }  # fmt: skip
    cost = sum(one["change"]["cost_money"] for one in runs)
    assert cost == pytest.approx(plain["plan"]["cost_money"], abs=0.003)
    assert plain["plan"]["cost_money"] <= plain["light_to_dark"]["cost_money"]


def test_the_plan_is_written_and_read_back(run: Run, tmp_path: Path) -> None:
    """Begun again an hour later, the first run is frozen and the plan stays."""
    csv = tmp_path / "plan.csv"
    result = run(*SLOE, "--csv", csv)
    assert result.exit_code == 0 and f"wrote {csv}" in result.stdout
    lines = csv.read_text(encoding="utf-8").splitlines()
    assert lines[0] == ",".join(COLUMNS) and len(lines) == 5
    again = run(*SLOE, "--present", csv, "--json")
    assert again.exit_code == 0, again.output
    plain = json.loads(again.stdout)
    assert plain["present"]["cost_money"] == plain["plan"]["cost_money"]
    assert [one["frozen"] for one in plain["lines"][0]["runs"]] == [True, True, False, False]


def test_a_late_order_is_a_no(run: Run, tmp_path: Path) -> None:
    orders = tmp_path / "orders.csv"
    orders.write_text(HEAD + "77,Customer 9,Querl 100,Sloe,900,2026-11-27\n", encoding="utf-8")
    result = run(orders)
    assert result.exit_code == 1, result.output
    assert "77 on Line 1 ends " in result.stdout and "It is freed by " in result.stdout


def test_a_line_that_waits_says_for_what_and_what_it_costs(run: Run, tmp_path: Path) -> None:
    """The yarn is there on Tuesday; the line stands free for two shifts of 8 h, at 70 an hour."""
    orders = tmp_path / "orders.csv"
    asked = "77,Customer 9,Querl 100,Sloe,900,2026-12-02,2026-12-01\n"
    orders.write_text(HEAD.strip() + ",ready\n" + asked, encoding="utf-8")
    result = run(orders, *SLOE)
    assert result.exit_code == 0, result.output
    assert "Line 1 waits 16 h for the yarn of 77.\n" in result.stdout
    assert "Waiting costs 1120.32 GBP.\n" in result.stdout
    assert "      Line 1 waits 16 h for its yarn: 1120.32 GBP\n" in result.stdout
    plain = json.loads(run(orders, *SLOE, "--json").stdout)
    assert plain["plan"]["wait_h"] == plain["lines"][0]["runs"][0]["wait_h"] == 16.0
    # 70 / 60 in whole thousandths a minute
    assert plain["plan"]["wait_money"] == pytest.approx(960 * 1.167)


def test_an_order_without_cones_is_a_no(run: Run, tmp_path: Path) -> None:
    orders = tmp_path / "orders.csv"
    asked = (
        "77,Customer 9,Querl 100,Sloe,90000,2026-12-27",
        "78,Customer 9,Querl 100,Sloe,90,2026-12-24",
    )
    orders.write_text(HEAD + "\n".join(asked), encoding="utf-8")
    result = run(orders)
    assert result.exit_code == 1, result.output
    assert "Order 77 (90000 Querl 100, Sloe): " in result.stdout and "78: 90 " in result.stdout
    alone = run(orders, "--json")
    plain = json.loads(alone.stdout)
    assert alone.exit_code == 1 and not plain["kept"] and plain["unmet"][0]["order"] == "77"


def test_what_cannot_be_used_says_why(run: Run, clew: Run, mill_dir: Path, tmp_path: Path) -> None:
    bad = tmp_path / "plan.csv"
    bad.write_text("line,place,run,start\nLine 9,1,1041,2026-11-30\nLine 1,0,1,x\n")
    refused(run("--present", bad), "plan.csv:2: line: no such line", "plan.csv:3: place: no place",
            "plan.csv:3: start: no moment")  # fmt: skip
    refused(run("--present", tmp_path / "none.csv"), "none.csv: cannot be read")
    refused(run(tmp_path / "none.csv"), "none.csv: cannot be read")
    refused(
        run("--in-line", "Line 1", "--in-line", "Line 2=Querl 100,SL-207", "--in-line",
            "Line 1=Querl 100,ZZ", "--in-line", "Line 1=Querl 100,SL-207,soon"),
        "--in-line: not what is in a line", "--in-line: no such line",
        "--in-line: no such dye lot", "--in-line: no moment",
    )  # fmt: skip
    plain = ("plan", "sequence", "--mill", mill_dir)
    refused(clew(*plain, "--now", "yesterday"), "--now: no moment")
    refused(clew(*plain, "--within", "0 s"), "--within: no time to plan in")
    refused(clew(*plain, "--within", "2 h"), "--within: no time to plan in")
    refused(clew(*plain, "--within", "ten"), "--within")
    refused(run("--seed", "-1"), "seed")


def test_make_plan_gives_what_others_build_on(mill_dir: Path) -> None:
    told: list[str] = []
    made = make_plan(
        mill_dir, now="2026-11-30 06:00", in_line=SLOE[1:], within_s=0.3, progress=told.append
    )
    assert made.kept and made.mill.mill.name == "Ostrel Mill" and len(made.orders) == 4
    assert {one.run.name for one in made.plan.timed} == {one.name for one in made.materials.runs}
    assert told and made.plan.terms.lines_now["Line 1"].lot_name == "SL-211"


def test_progress_is_one_line_on_a_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with shown_progress(3.0) as nobody:
        assert nobody is None
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    with shown_progress(3.0) as told:
        assert told is not None
        told("search: costs 5")
    shown = capsys.readouterr()
    assert "planning, 0 of 3 s: search: costs 5" in shown.err and shown.out == ""
    assert shown.err.endswith("\x1b[K") and "\n" not in shown.err


def test_every_option_has_its_help() -> None:
    assert isinstance(sequence, click.Command)
    options = [one for one in sequence.params if isinstance(one, click.Option)]
    assert all(one.help for one in options)
