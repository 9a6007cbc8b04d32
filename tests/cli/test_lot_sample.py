"""`clew lot sample` as it is typed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]
Json = Callable[..., dict[str, Any]]

TWO_POINTS = ("--good", "1 %", "--bad", "6 %")


def test_a_plan_from_two_points(clew: Run, clew_json: Json) -> None:
    told = clew("lot", "sample", "--lot-size", 3000, *TWO_POINTS)
    assert told.exit_code == 0
    assert told.output.startswith("Draw 109 balls: accept at 3 bad or fewer, reject at 4.\n")
    found = clew_json("lot", "sample", "--lot-size", 3000, *TWO_POINTS)
    assert found["stages"] == [{"drawn": 109, "accept": 3, "reject": 4}]
    assert found["risks"]["producer_frac"] <= 0.05
    assert found["risks"]["consumer_frac"] <= 0.10
    assert found["aoql_frac"] == pytest.approx(0.0174, abs=5e-5)
    assert {"bad_frac", "accepted_frac", "drawn_mean", "outgoing_frac", "inspected_mean"} <= set(
        found["curve"][0]
    )


def test_an_endless_lot_has_no_total_inspection(clew_json: Json) -> None:
    found = clew_json("lot", "sample", *TWO_POINTS, "--kind", "double")
    assert found["lot_size"] is None
    assert len(found["stages"]) == 2
    assert found["curve"][0]["inspected_mean"] is None


def test_zero_acceptance_needs_no_good_point(clew_json: Json) -> None:
    found = clew_json("lot", "sample", "--bad", "5 %", "--beta", "5 %", "--kind", "zero")
    assert found["stages"] == [{"drawn": 59, "accept": 0, "reject": 1}]


def test_the_points_of_a_mill(clew_json: Json, mill_dir: Path) -> None:
    found = clew_json("lot", "sample", "--lot-size", 3000, "--mill", mill_dir)
    assert found["stages"] == [{"drawn": 109, "accept": 3, "reject": 4}]


def test_a_standard_plan(clew: Run, clew_json: Json) -> None:
    found = clew_json("lot", "sample", "--lot-size", 3500, "--aql", "1.5")
    assert found["standard"]["letter"] == "L"
    assert (found["standard"]["n"], found["standard"]["accept"]) == (200, 7)
    assert "MEMORY" in found["standard"]["source"]
    told = clew("lot", "sample", "--lot-size", 3500, "--aql", "1.5", "--severity", "reduced").output
    assert "Above 3 bad it passes, but the next lot is inspected normally." in told
    whole = clew("lot", "sample", "--lot-size", 40, "--aql", "0.25").output
    assert whole.startswith("Look at all 40 balls: accept at no bad ball, reject at 1.")


def test_the_lots_before_lead_to_a_severity(clew: Run, clew_json: Json) -> None:
    base = ("lot", "sample", "--lot-size", 3500, "--aql", "1.5", "--history")
    found = clew_json(*base, "aarar")
    assert found["switching"]["state"] == "tightened"
    assert "MEMORY" in found["switching"]["mark"]
    assert found["standard"]["severity"] == "tightened"
    assert found["stages"] == [{"drawn": 200, "accept": 5, "reject": 6}]
    assert clew_json(*base, "t" * 10)["standard"]["severity"] == "reduced"
    told = clew(*base, "aarar").output
    assert told.startswith("This lot is under tightened inspection")
    stopped = clew(*base, "rrrrrrr")
    assert stopped.exit_code == 2
    assert "inspection is stopped" in stopped.output


def test_what_was_found_is_judged(clew: Run, clew_json: Json) -> None:
    base = ("lot", "sample", "--lot-size", 3000, "--n", 80, "--accept", 2)
    good = clew_json(*base, "--found", "knots=80,2", "--found", "band=80,0")
    assert good["accepted"] is True
    assert [one["outcome"] for one in good["faults"]] == ["accept", "accept"]
    bad = clew(*base, "--found", "80,3")
    assert bad.exit_code == 1
    assert bad.output.startswith("fault: reject. 3 of 80 balls bad; in the lot at most ")
    unfinished = clew(*base, "--found", "79,0", "--json")
    assert unfinished.exit_code == 1
    assert json.loads(unfinished.stdout)["faults"][0]["draw_more"] == 1
    whole = ("lot", "sample", "--lot-size", 40, "--aql", "0.25")
    assert clew(*whole, "--found", "40,0").exit_code == 0
    assert clew(*whole, "--found", "40,1").exit_code == 1


def test_a_plan_of_ones_own_with_two_drawings(clew_json: Json) -> None:
    found = clew_json(
        *("lot", "sample", "--n", 50, "--accept", 1, "--reject", 4),
        *("--n2", 50, "--accept2", 4, "--at", "2 %,5 %"),
    )
    assert [one["bad_frac"] for one in found["curve"]] == [0.02, 0.05]
    assert found["kind"] == "double"


def test_balls_that_come_in_cones(clew_json: Json) -> None:
    found = clew_json(
        *("lot", "sample", "--n", 80, "--accept", 2, "--at", "8 %"),
        *("--intraclass", 0.2, "--per-cone", 4),
    )
    clumped = found["clumped"]
    assert (clumped["cones"], clumped["n_needed"]) == (20, 128)
    assert clumped["accepted_frac"][0] > found["curve"][0]["accepted_frac"]


def test_which_balls_to_draw(clew: Run, clew_json: Json) -> None:
    base = ("lot", "sample", "--lot-size", 600, "--n", 30, "--accept", 1, "--winders", 6, "--draw")
    found = clew_json(*base)["draw"]
    assert len(found) == 30
    assert [sum(ball["winder"] == str(one) for ball in found) for one in range(1, 7)] == [5] * 6
    assert all(1 <= ball["number"] <= 100 for ball in found)
    assert clew_json(*base)["draw"] == found
    assert clew_json(*base, "--seed", 2)["draw"] != found
    assert "Draw these 30" in clew(*base).output


def test_a_listing_of_the_lot(clew: Run, clew_json: Json, tmp_path: Path) -> None:
    path = tmp_path / "lot.csv"
    rows = [f"{k % 3 + 1},B{k},C{k // 5}" for k in range(90)]
    path.write_text("\n".join(["winder,ball,cone", *rows]), encoding="utf-8")
    found = clew_json("lot", "sample", "--n", 9, "--accept", 0, "--listing", path)
    assert found["lot_size"] == 90
    drawn = found["draw"]
    assert len({ball["cone"] for ball in drawn}) == 9
    for ball in drawn:
        place = int(ball["ball"][1:])
        assert ball["winder"] == str(place % 3 + 1)
        assert ball["number"] == place // 3 + 1
        assert ball["line"] == place + 2
    wrong = clew("lot", "sample", "--n", 9, "--accept", 0, "--listing", path, "--lot-size", 80)
    assert wrong.exit_code == 2
    assert "a listing that is not the lot" in wrong.output


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "no plan asked for"),
        (("--aql", "1.5", "--n", 80, "--accept", 2), "two plans at once"),
        (("--aql", "1.5"), "no size of the lot"),
        (("--aql", "3", "--lot-size", 100), "--aql: not an AQL"),
        (("--aql", "1.5", "--lot-size", 1), "balls in the lot"),
        (("--good", "1 %"), "half of the two points"),
        (("--good", "6 %", "--bad", "1 %"), "no better than a bad one"),
        (("--good", "1", "--bad", "6 %"), "--good"),
        (("--good", "1 %", "--bad", "1.01 %"), "tells such lots apart"),
        (("--n", 80), "no number of bad balls"),
        (("--n", 80, "--accept", 2, "--n2", 80), "half a second drawing"),
        (("--n", 80, "--accept", 2, "--lot-size", 60), "more balls than the lot has"),
        (("--n", 80, "--accept", 2, "--lot-size", -3), "balls in the lot"),
        (("--n", 80, "--accept", 2, "--lot-size", 10**20), "too large a lot"),
        (("--bad", "6 %", "--kind", "zero", "--lot-size", 10**20), "too large a lot"),
        (("--n", 80, "--accept", 2, "--found", "two"), "--found"),
        (("--n", 80, "--accept", 2, "--found", "81,0"), "more balls looked at than"),
        (("--n", 80, "--accept", 2, "--found", "80,81"), "more bad balls"),
        (("--n", 80, "--accept", 2, "--at", "5"), "--at"),
        (("--n", 80, "--accept", 2, "--draw"), "no lot to draw from"),
        (("--n", 8, "--accept", 2, "--lot-size", 9, "--winders", 10), "--winders"),
        (("--n", 80, "--accept", 2, "--intraclass", 2), "intraclass"),
        (("--n", 80, "--accept", 2, "--intraclass", 0.1, "--per-cone", 0), "--per-cone"),
        (("--n", 80, "--accept", 2, "--history", "aa"), "without a standard plan"),
        (("--aql", "1.5", "--lot-size", 90, "--history", "xyz"), "not a history"),
        (("--aql", "1.5", "--lot-size", 90, "--history", "g"), "lot 1: a lot in the gap"),
    ],
)
def test_one_clear_line(clew: Run, arguments: tuple[object, ...], words: str) -> None:
    told = clew("lot", "sample", *arguments)
    assert told.exit_code == 2, told.output
    assert words in told.output
    assert told.output.startswith("clew: ")
    assert len(told.output.splitlines()) == 1
