"""`clew lot trace` and `clew lot recall`: words first, the same as JSON, files, exit codes."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from tests.ledger.trace.truth import LINE, KeptInList, Truth, live, messages_of

from clew.ledger.store.opening import open_ledger, url_of
from clew.ledger.trace.band_code import write_band_code
from clew.ledger.trace.tracing import Tracing
from clew.mill import read_mill

Run = Callable[..., Result]
ZONE = "Europe/London"


@pytest.fixture
def told(mill_dir: Path) -> Truth:
    """A ledger in the mill folder, with some hours of Line 1 in it."""
    mill = read_mill(mill_dir)
    way = Tracing(mill, KeptInList([])).transit(mill.line[0], "Querl 100")[0]
    truth = live(way, ball_name="Querl 100", hours=1.5, seed=2)
    ledger = open_ledger(url_of(mill_dir))
    ledger.append(messages_of(truth.messages))
    ledger.close()
    return truth


def test_a_band_is_traced_in_words(clew: Run, mill_dir: Path, told: Truth) -> None:
    ball = told.balls[25]
    code = write_band_code("SL-207", LINE, ball.lane, ball.banded_us, ZONE)
    done = clew("lot", "trace", *code.split(), "--mill", mill_dir)
    assert done.exit_code == 0, done.output
    assert done.output.startswith(f"The ball of Line 1, winder {ball.lane}, banded 2025-11-24")
    for words in (f"lane {ball.lane} ball {ball.number}", "spun by Harle", "Run R-1 of SL-207",
                  "Lot SL-207: release", f"{ball.case}: sure, shipped to"):  # fmt: skip
        assert words in done.output


def test_the_same_ball_by_options_and_as_json(
    clew: Run, clew_json: Callable[..., dict[str, Any]], mill_dir: Path, told: Truth
) -> None:
    ball = told.balls[25]
    moment = write_band_code("x", "y", 1, ball.banded_us, ZONE).split()[-1]
    at = f"20{moment[:2]}-{moment[2:4]}-{moment[4:6]} {moment[7:9]}:{moment[9:11]}"
    found = clew_json("lot", "trace", "--winder", ball.lane, "--at", at, "--mill", mill_dir)
    assert found["size"] == len(found["balls"]) >= 1
    assert ball.number in {one["number"] for one in found["balls"]}
    assert found["balls"][0]["doffed_utc"].endswith("Z")
    by_number = clew_json(
        "lot", "trace", "--winder", ball.lane, "--ball", ball.number, "--mill", mill_dir
    )
    assert [one["number"] for one in by_number["balls"]] == [ball.number]
    of_case = clew_json("lot", "trace", "--case", ball.case, "--mill", mill_dir)
    assert of_case["cases"][0]["case"] == ball.case


def test_a_cone_is_followed_and_written_as_events(
    clew: Run, mill_dir: Path, told: Truth, tmp_path: Path
) -> None:
    out = tmp_path / "cone.json"
    done = clew("lot", "trace", "--cone", "C1-001", "--epcis", out, "--mill", mill_dir)
    assert done.exit_code == 0, done.output
    assert done.output.startswith("Cone C1-001: in ")
    assert f"wrote {out}" in done.output
    document = json.loads(out.read_text(encoding="utf-8"))
    assert document["type"] == "EPCISDocument"
    classes = {
        one["childQuantityList"][0]["epcClass"]
        for one in document["epcisBody"]["eventList"]
        if "childQuantityList" in one
    }
    assert classes == {"https://mill.example/class/Querl%20100.SL-207"}


def test_a_recall_is_a_table_and_a_paper_at_once(
    clew: Run, mill_dir: Path, told: Truth, tmp_path: Path
) -> None:
    table, paper = tmp_path / "r.csv", tmp_path / "r.pdf"
    done = clew(
        "lot", "recall", "--cone", "C1-001", "--csv", table, "--pdf", paper, "--by", "Ansa",
        "--mill", mill_dir,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    assert done.output.startswith("Recall of cone C1-001. ")
    assert paper.read_bytes().startswith(b"%PDF")
    with table.open(encoding="utf-8", newline="") as file:
        names = {one["name"] for one in csv.DictReader(file)}
    assert {one.case for one in told.balls if "C1-001" in one.cones} <= names


def test_what_is_not_there_is_said(clew: Run, mill_dir: Path, told: Truth, tmp_path: Path) -> None:
    table = tmp_path / "r.csv"
    done = clew("lot", "recall", "--cone", "none", "--csv", table, "--mill", mill_dir)
    assert done.exit_code == 1
    assert done.output.startswith("Nothing to fetch back of cone none")
    assert not table.exists()
    done = clew("lot", "trace", "--dye-lot", "SL-999", "--mill", mill_dir)
    assert (done.exit_code, "no record says" in done.output) == (1, True)
    empty = clew("lot", "trace", "SL-207", "Line_1", "W2", "010101-0101", "--mill", mill_dir)
    assert (empty.exit_code, "no ball is found" in empty.output) == (1, True)


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("--cone", "a", "--dye-lot", "b"),
        ("SL-207",),
        ("--winder", "2"),
        ("--winder", "77", "--at", "2025-11-24 17:26"),
        ("--token", "none"),
        ("--case", "none"),
        ("--cone", "C1-001", "--epcis", "x.json", "--gtin", "12", "--prefix", "4012345"),
    ],
)
def test_a_question_that_is_none_is_one_line(
    clew: Run, mill_dir: Path, told: Truth, words: tuple[str, ...]
) -> None:
    done = clew("lot", "trace", *words, "--mill", mill_dir)
    assert done.exit_code == 2, done.output
    assert "Traceback" not in done.output


def test_without_a_ledger_it_says_so(clew: Run, mill_dir: Path) -> None:
    done = clew("lot", "trace", "--cone", "C1", "--mill", mill_dir)
    assert done.exit_code == 2
    assert not (mill_dir / "mill.db").exists()


def test_a_pallet_is_traced_case_by_case(
    clew: Run, clew_json: Callable[..., dict[str, Any]], mill_dir: Path, told: Truth
) -> None:
    done = clew("lot", "trace", "--pallet", "PAL-1", "--mill", mill_dir)
    assert done.exit_code == 0, done.output
    cases = sorted({one.case for one in told.balls if int(one.case[5:]) <= 6})
    assert done.output.startswith(f"Pallet PAL-1: {len(cases)} cases, ")
    found = clew_json("lot", "trace", "--pallet", "PAL-1", "--mill", mill_dir)
    assert sorted(one["case"] for one in found["cases"]) == cases
    assert {one["customer"] for one in found["cases"]} == {told.sent["CASE-1"]}
    for case, trace in zip(found["cases"], found["traces"], strict=True):
        true = [one for one in told.balls if one.case == case["case"]]
        names = {(one["lane"], one["number"]) for one in trace["balls"]}
        assert {(one.lane, one.number) for one in true} <= names
        assert {cone for one in true for cone in one.cones} <= {
            one["cone"] for one in trace["cones"]
        }
    for words in (("--pallet", "none"), ("--pallet", "PAL-1", "--epcis", mill_dir / "x.json")):
        assert clew("lot", "trace", *words, "--mill", mill_dir).exit_code == 2


def test_a_case_that_was_stacked_anew_is_where_it_was_put_last(
    clew: Run, mill_dir: Path, told: Truth
) -> None:
    last = max(one["at"] for one in told.messages)
    ledger = open_ledger(url_of(mill_dir))
    ledger.append(
        messages_of(
            [
                {"kind": "pallet closed", "package": "PAL-9", "cases": ["CASE-1", "CASE-X"],
                 "at": last, "key": "p9"},
                {"kind": "shipped", "package": "PAL-9", "customer": "Moss", "at": last,
                 "key": "s9"},
            ]
        )
    )  # fmt: skip
    ledger.close()
    done = clew("lot", "trace", "--case", "CASE-1", "--mill", mill_dir)
    assert "CASE-1: sure, shipped to Moss, pallet PAL-9" in done.output
    done = clew("lot", "trace", "--pallet", "PAL-9", "--mill", mill_dir)
    assert "Case CASE-X: no such case was closed." in done.output
    done = clew("lot", "trace", "--pallet", "PAL-1", "--mill", mill_dir)
    assert "Case CASE-1 went onto pallet PAL-9 after it." in done.output
