"""`clew demo`: one played day; its ledger, its figures counted anew, its papers, its ends."""

from __future__ import annotations

import json
import math
import signal
import sqlite3
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner, Result

from clew.cli.day.asked import DayAsked, DayClock, read_mark
from clew.cli.day.keeping import DayKeeping
from clew.cli.day.progress import ctrl_c_between_steps
from clew.cli.main import main
from clew.faults import BadInput
from clew.mill import write_demo

Run = Callable[..., Result]
Day = tuple[Path, dict[str, Any]]
ORDERS = """order,customer,ball,colour,balls,due,dye_lots,priority,lines,ready
1101,Customer 12,Querl 100,Sloe,470,2026-12-02,one,2,,
1107,Customer 7,Querl 100,Bracken,80,2026-12-08,one,1,,
"""
"""Fewer balls than a day's, so that they are all made within two hours."""
OPTIONS = ("--hours", "2", "--seed", "3", "--json")


def new_mill(folder: Path) -> Path:
    write_demo(folder)
    (folder / "orders.csv").write_text(ORDERS, encoding="utf-8")
    return folder


def demo(folder: Path, *options: str) -> Result:
    return CliRunner().invoke(main, ["demo", "--mill", str(folder), *options])


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Day:
    """A played day, and what the command said of it."""
    folder = new_mill(tmp_path_factory.mktemp("day") / "mill")
    done = demo(folder, *OPTIONS)
    assert done.exit_code == 0, done.output
    return folder, json.loads(done.stdout)


def rows(folder: Path, query: str, *values: object) -> list[Any]:
    connection = sqlite3.connect(f"file:{folder / 'mill.db'}?mode=ro", uri=True)
    try:
        return connection.execute(query, values).fetchall()
    finally:
        connection.close()


def events(folder: Path, kind: str) -> list[dict[str, Any]]:
    names = ("at_us", "lane", "ball", "run", "cone", "lot", "package", "body")
    found = rows(
        folder, f"SELECT {', '.join(names)} FROM event WHERE kind = ? ORDER BY at_us", kind
    )
    return [
        {**dict(zip(names, one, strict=True)), **json.loads(one[-1])} for one in found
    ]  # fmt: skip


def spans(folder: Path) -> dict[str, tuple[int, float]]:
    starts = [(one["run"], one["at_us"]) for one in events(folder, "run start")]
    ends = [at_us for _, at_us in starts[1:]] + [math.inf]
    return {run: (at_us, end) for (run, at_us), end in zip(starts, ends, strict=True)}


def test_the_ledger_it_leaves_is_sound(day: Day, clew: Run) -> None:
    done = clew("ledger", "verify", "--mill", day[0])
    assert done.exit_code == 0
    assert "Sound" in done.stdout
    assert list((day[0] / "cards").glob("run-card-querl-100-*.pdf"))
    assert day[1]["sound"] is True
    assert day[1]["records"] == rows(day[0], "SELECT COUNT(*) FROM event")[0][0]
    flags = Counter(one[0] for one in rows(day[0], "SELECT flags FROM event WHERE flags != ''"))
    assert not flags, flags


def test_both_orders_are_made_and_the_lot_with_its_shade_leaves(day: Day) -> None:
    first, second = day[1]["runs"]
    assert (first["order"], first["lot"], first["banded"]) == ("1101", "SL-211", 470)
    assert (second["order"], second["lot"], second["banded"]) == ("1107", "BR-088", 80)
    assert (first["decision"], second["decision"]) == ("release", "hold")
    assert first["delivery"]
    assert not second["delivery"]
    assert second["cases"]


@pytest.mark.parametrize("place", [0, 1])
def test_every_figure_of_a_run_is_counted_again(day: Day, place: int) -> None:
    folder, said = day
    run = said["runs"][place]
    from_us, upto_us = spans(folder)[run["run"]]

    def within(kind: str) -> list[dict[str, Any]]:
        return [one for one in events(folder, kind) if from_us <= one["at_us"] < upto_us]

    banded = {(one["lane"], one["ball"]) for one in within("banded")}
    grams = [
        one["mass_g"] for one in within("weighing") if (one["lane"], one["ball"]) in banded
    ]  # fmt: skip
    pulled = Counter(one["to"] for one in within("pulled"))
    assert run["doffed"] == len(within("doff"))
    assert run["banded"] == len(within("banded")) == len(banded)
    assert run["second_quality"] == pulled["second-quality"]
    assert run["rework"] == pulled["rework"] == 6
    assert run["reeled"] == len(within("length check"))
    assert run["doffed"] == run["banded"] + run["second_quality"] + run["rework"] + run["reeled"]
    assert run["weighed"] == len(grams) == run["banded"]
    assert run["mean_g"] == pytest.approx(sum(grams) / len(grams))
    assert run["given_g"] == pytest.approx(sum(grams) - 100.0 * len(grams), abs=1e-6)
    assert run["given_money"] == pytest.approx(run["given_g"] * 0.0175)
    assert (run["ties"], run["breaks"]) == (len(within("tie")), len(within("retie")))
    assert run["seen"] == len(within("seen"))
    cases = [one for one in events(folder, "case closed") if one["run"] == run["run"]]
    assert run["cases"] == [one["package"] for one in cases]
    assert run["cased_balls"] == sum(one["balls"] for one in cases) == run["banded"]


def test_all_of_a_run_leaves_on_its_pallet(day: Day) -> None:
    folder, said = day
    run = said["runs"][0]
    (pallet,) = events(folder, "pallet closed")
    (shipped,) = events(folder, "shipped")
    assert run["pallets"] == [pallet["package"]] == [shipped["package"]]
    assert pallet["cases"] == run["cases"]
    assert shipped["delivery"] == run["delivery"]
    assert shipped["customer"] == run["customer"] == "Customer 12"


def test_the_heavy_winder_is_found_by_its_weights_and_mended(day: Day) -> None:
    folder, said = day
    run = said["runs"][0]
    mended = [one for one in run["set"] if one["winder"] == 4]
    assert len(mended) == 1
    assert (
        mended[0]["counts"] < mended[0]["before"] == events(folder, "run start")[0]["counts"]["4"]
    )
    banded = {(one["lane"], one["ball"]) for one in events(folder, "banded")}
    from_us, upto_us = spans(folder)[run["run"]]

    def mean(begun: float, over: float, lanes: set[int]) -> float:
        grams = [
            one["mass_g"]
            for one in events(folder, "weighing")
            if begun <= one["at_us"] < over and one["lane"] in lanes
            and (one["lane"], one["ball"]) in banded
        ]  # fmt: skip
        return sum(grams) / len(grams)

    at_us, others = mended[0]["at_us"], {1, 2, 3, 5, 6}
    before = mean(from_us, at_us, {4}) - mean(from_us, at_us, others)
    after = mean(at_us + 180e6, upto_us, {4}) - mean(at_us + 180e6, upto_us, others)
    assert before > 1.0
    assert after < before - 0.8


def test_the_wrong_cone_never_ran(day: Day) -> None:
    folder, said = day
    (wrong,) = said["wrong_cones"]
    assert wrong["lot"] == "SL-207" != said["runs"][0]["lot"]
    assert not [one for one in events(folder, "tie") if one["cone"] == wrong["cone"]]
    off = [one for one in events(folder, "cone off") if one["cone"] == wrong["cone"]]
    assert len(off) == 1


def test_cones_have_names_of_their_own_and_balls_their_numbers(day: Day) -> None:
    loaded = [one["cone"] for one in events(day[0], "cone loaded")]
    assert len(set(loaded)) == len(loaded)
    doffed = [(one["lane"], one["ball"]) for one in events(day[0], "doff")]
    assert len(set(doffed)) == len(doffed)


def test_the_ball_that_came_back_is_traced_to_cones_of_its_lot(day: Day) -> None:
    folder, said = day
    back = said["returned"]
    (told,) = events(folder, "returned")
    assert (back["code"], back["customer"]) == (told["code"], "Customer 12")
    loaded = {one["cone"]: one["lot"] for one in events(folder, "cone loaded")}
    assert back["cones"]
    assert {loaded[one["cone"]] for one in back["cones"]} == {"SL-211"}
    banded = [one for one in events(folder, "banded") if one.get("code") == back["code"]]
    assert 1 <= len(banded) <= back["balls_it_may_be"]
    assert back["cones"][0]["cone"] in (folder / "returned/trace.txt").read_text(encoding="utf-8")
    assert "DRAFT" in (folder / "returned/letter.txt").read_text(encoding="utf-8")


def test_every_paper_that_is_named_lies_there(day: Day) -> None:
    folder, said = day
    named = [one["file"] for one in said["papers"]] + [said["report"]]
    assert len(set(named)) == len(named)
    for name in named:
        raw = (folder / name).read_bytes()
        assert raw.startswith(b"%PDF") if name.endswith(".pdf") else raw
    kinds = {one["what"] for one in said["papers"]}
    assert {"Shift plan", "Pick list", "Run card", "Bands", "Tally sheet", "Certificate of SL-211",
            "Case label", "Pallet label", "Delivery note", "Packing list", "Shift report",
            "Trace of the ball that came back"} <= kinds  # fmt: skip


def test_a_played_day_is_told_again_and_not_played_again(day: Day) -> None:
    folder, said = day
    before = (folder / "mill.db").read_bytes()
    again = demo(folder, "--seed", "9")
    assert again.exit_code == 0
    assert again.stdout.startswith(f"A day is played in {folder} already (seed 3)")
    assert said["headline"] in again.stdout
    assert (folder / "mill.db").read_bytes() == before
    plain = json.loads(demo(folder, "--json").stdout)
    assert plain == said


def stopped_after(feeds: int) -> Callable[..., None]:
    """Stop a day as Ctrl-C does, while messages arrive."""
    left, feed = iter(range(feeds)), DayKeeping.feed

    def stop(keeping: DayKeeping, *told: Any) -> None:
        if next(left, None) is None:
            raise KeyboardInterrupt
        feed(keeping, *told)

    return stop


@pytest.mark.long
def test_stopped_by_ctrl_c_it_is_played_on_to_the_same_ledger(
    day: Day, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, clew: Run
) -> None:
    folder = new_mill(tmp_path / "mill")
    with monkeypatch.context() as patch:
        patch.setattr(DayKeeping, "feed", stopped_after(60))
        stopped = demo(folder, *OPTIONS)
    assert stopped.exit_code == 130
    assert "plays it on" in stopped.stderr
    assert "Traceback" not in stopped.output
    assert clew("ledger", "verify", "--mill", folder).exit_code == 0
    kept = rows(folder, "SELECT COUNT(*) FROM event")[0][0]
    assert 0 < kept < day[1]["records"]
    # another seed on the command line does not make another day of the one that was begun
    done = demo(folder, "--seed", "8")
    assert done.exit_code == 0, done.output
    assert "seed 3 that was stopped" in done.stdout
    mine, whole = (
        rows(one, "SELECT line, seq, kind, key, body, hash FROM event ORDER BY line, seq")
        for one in (folder, day[0])
    )
    assert [one[:5] for one in mine] == [one[:5] for one in whole]
    assert mine == whole


def test_ctrl_c_waits_for_the_next_step_and_is_given_back() -> None:
    before, told = signal.getsignal(signal.SIGINT), []
    with ctrl_c_between_steps(lambda done, words: told.append((done, words))) as tell:
        tell(0.1, "one")
        signal.raise_signal(signal.SIGINT)
        told.append((0.15, "the step is done"))
        with pytest.raises(KeyboardInterrupt):
            tell(0.2, "two")
    assert told == [(0.1, "one"), (0.15, "the step is done")]
    assert signal.getsignal(signal.SIGINT) is before


def test_records_of_something_else_are_not_played_over(tmp_path: Path, clew: Run) -> None:
    folder = new_mill(tmp_path / "mill")
    started = clew("run", "start", "Querl 100", "--lot", "SL-207", "--by", "Ines", "--mill", folder)
    assert started.exit_code == 0, started.output
    refused = demo(folder)
    assert refused.exit_code == 2
    assert "1 records of something else" in refused.stderr
    assert "Traceback" not in refused.output
    assert rows(folder, "SELECT COUNT(*) FROM event")[0][0] == 1
    assert not (folder / "day.json").exists()


def test_the_workbench_opens_on_a_ledger_of_something_else(
    tmp_path: Path, clew: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, opened = new_mill(tmp_path / "mill"), []
    monkeypatch.setattr("clew.web.serve.serve", lambda where, port: opened.append((where, port)))
    clew("ledger", "init", "--mill", folder)
    clew("run", "start", "Querl 100", "--lot", "SL-207", "--by", "Ines", "--mill", folder)
    done = demo(folder, "--serve", "--port", "0")
    assert done.exit_code == 0, done.output
    assert "no day is played over them" in done.stdout
    assert opened == [(folder, 0)]
    assert rows(folder, "SELECT COUNT(*) FROM event")[0][0] == 1


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--start", "noon"), "no moment"),
        (("--start", "2026-11-23 07:00"), "no shift begins then"),
        (("--hours", "9"), "--hours"),
        (("--seed", "-1"), "--seed"),
    ],
)
def test_what_cannot_be_played_is_said(
    tmp_path: Path, options: tuple[str, ...], words: str
) -> None:
    refused = demo(new_mill(tmp_path / "mill"), *options)
    assert refused.exit_code == 2
    assert words in refused.stderr
    assert "Traceback" not in refused.output
    assert not (tmp_path / "mill" / "mill.db").exists()


def test_a_folder_without_orders_is_said(tmp_path: Path) -> None:
    folder = new_mill(tmp_path / "mill")
    (folder / "orders.csv").unlink()
    refused = demo(folder)
    assert refused.exit_code == 2
    assert "no list of orders" in refused.stderr


def test_a_file_in_the_folders_place_is_said(tmp_path: Path) -> None:
    (tmp_path / "mill").write_text("no folder")
    assert demo(tmp_path / "mill").exit_code == 2


@pytest.mark.parametrize("text", ["{", "[]", "{}", '{"done": true, "seed": "x"}'])
def test_a_mark_that_is_none_is_said(tmp_path: Path, text: str) -> None:
    folder = new_mill(tmp_path / "mill")
    (folder / "day.json").write_text(text)
    refused = demo(folder)
    assert refused.exit_code == 2
    assert "says nothing of a played day" in refused.stderr
    with pytest.raises(BadInput):
        read_mark(folder)


def test_the_days_clock_never_goes_back(day: Day) -> None:
    clock = DayClock(datetime(2026, 11, 23, 6, 0, tzinfo=UTC))
    at_us = clock()
    assert clock.reach(at_us - 1) == at_us
    assert clock.reach(at_us + 5) == clock() == at_us + 5
    received = [
        one[0] for one in rows(day[0], "SELECT received_us FROM event WHERE line = ? ORDER BY seq",
                               "Line 1")
    ]  # fmt: skip
    assert received == sorted(received)


def test_a_day_is_written_down_with_its_keys(day: Day) -> None:
    assert set(day[1]) == {
        "folder", "seed", "start", "hours", "done", "headline", "words", "line", "runs",
        "wrong_cones", "stops", "returned", "put_off", "records", "sound", "anchor", "report",
        "papers",
    }  # fmt: skip
    asked = DayAsked(day[0], 3, datetime(2026, 11, 23, 6, 0, tzinfo=ZoneInfo("Europe/London")), 2.0)
    assert asked.plain() == {name: day[1][name] for name in ("seed", "start", "hours")}
