"""`clew line where`: its words, its keys, the events file, and what is refused."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clew.cli.line.events_file import near, read_clock, show_clock
from clew.cli.main import main

HEAD = "at,lane,event,counts,metres,ball,name,id\n"


def run(mill: Path, *arguments: object) -> Result:
    common = ("line", "where", "--mill", str(mill), "--ball", "Querl 100")
    return CliRunner().invoke(main, [*common, *(str(one) for one in arguments)])


def plain(mill: Path, *arguments: object) -> dict[str, Any]:
    result = run(mill, *arguments, "--json")
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


@pytest.fixture
def events(mill_dir: Path) -> Path:
    """The demo mill with the events of its line beside it."""
    shipped = resources.files("clew.mill").joinpath("demo", "line_events.csv")
    file = mill_dir / "line_events.csv"
    file.write_text(shipped.read_text(encoding="utf-8"), encoding="utf-8")
    return file


def test_the_mills_own_events_are_read_where_none_are_named(mill_dir: Path, events: Path) -> None:
    words = run(mill_dir, "--lot", "SL-207")
    assert words.exit_code == 0, words.output
    first, *others = words.stdout.splitlines()
    assert first.startswith("At 06:01:49, Line 1, Querl 100, lot SL-207: 20 ties told, ")
    assert first.endswith(" on the way or in the latest balls.")
    assert others[0].startswith("Pull ball")
    assert ": colour tie of 05:56:14 on lane 4 (Bracken) is " in words.stdout
    assert "Change to Bracken: 6 mixed balls, one a lane; to be sure of them (" in words.stdout
    assert max(map(len, words.stdout.partition("Change to")[2].splitlines()[1:8])) <= 80
    assert words.stdout == run(mill_dir, "--lot", "SL-207", "--events", events).stdout


def test_the_plain_answer(mill_dir: Path, events: Path) -> None:
    found = plain(mill_dir, "--events", events)
    assert (found["line"], found["ball"], found["sure"]) == ("Line 1", "Querl 100", 0.95)
    assert len(found["ties"]) == 20
    assert [one["lane"] for one in found["lanes"]] == [1, 2, 3, 4, 5, 6]
    (change,) = found["colour_changes"]
    assert (change["colour"], change["lanes_not_told"]) == ("Bracken", [])
    assert change["mixed_balls"] == 6
    assert change["balls_to_pull"] == sum(len(one["pull"]) for one in change["lanes"])
    assert (found["lot"], found["stale"], found["ties_told"]) == (None, False, 20)


def test_a_colour_tie_has_one_list_of_balls(mill_dir: Path, events: Path) -> None:
    """All lanes of a change together are as sure as asked, so each of them is surer."""
    found = plain(mill_dir, "--events", events)
    (change,) = found["colour_changes"]
    ties = {one["lane"]: one for one in found["ties"] if one["kind"] == "colour"}
    assert sorted(ties) == [1, 2, 3, 4, 5, 6]
    for lane in change["lanes"]:
        assert ties[lane["lane"]]["pull"] == lane["pull"]
        assert ties[lane["lane"]]["off_in_s"] == lane["off_in_s"]
        assert lane["pull_chance"] >= 1.0 - 0.05 / 6.0


def test_the_yarn_is_named_where_no_lot_is(mill_dir: Path, events: Path) -> None:
    first = run(mill_dir).stdout.splitlines()[0]
    assert ", Querl 100, yarn as spun: " in first
    assert plain(mill_dir, "--lot", "sl-207")["lot"] == "SL-207"


def test_after_a_silence_nothing_is_sure(mill_dir: Path, events: Path) -> None:
    """Two balls of Querl 100 take 74 s; the last message is of 06:01:49."""
    soon = run(mill_dir, "--at", "06:03:00")
    assert soon.stdout.startswith("At 06:03:00, ")
    late = run(mill_dir, "--at", "06:05")
    first, second, third, *_ = late.stdout.splitlines()
    assert first == "The last message is 3 min old: what the line did since is not known."
    assert second.startswith("At 06:05:00, ")
    assert third.startswith("Perhaps ball")
    assert not any(words in late.stdout.casefold() for words in ("pull", "sure", "off in 1"))
    found = plain(mill_dir, "--at", "06:05")
    assert (found["stale"], found["sure"]) == (True, None)
    assert found["colour_changes"][0]["sure"] is None
    for one in found["ties"]:
        assert [one[key] for key in ("pull_chance", "in_s", "off_in_s", "station")] == [None] * 4
        assert one["pull"]
    assert found["lanes"][0]["doff_in_s"] is None


def test_after_a_longer_silence_nothing_is_said(mill_dir: Path, events: Path) -> None:
    result = run(mill_dir, "--at", "06:30")
    assert result.exit_code == 2
    assert result.stdout == ""
    says = "--at: the last message is 28 min old: what the line did since is not known; expected"
    assert says in result.stderr


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("05:32:17,4,tie,,,,,\n", "1 tie told, none on the way"),
        ("05:32:17,4,tie,,,,,\n05:32:18,4,turns,5,,,,\n", "1 tie told, on the way"),
        ("05:32:17,4,tie,,,,,\n05:32:18,4,tie,,,,,\n05:32:19,4,turns,5,,,,\n",
         "2 ties told, all on the way"),
        ("05:32:18,4,turns,5,,,,\n", "no tie told."),
    ],
)  # fmt: skip
def test_ties_are_counted(mill_dir: Path, tmp_path: Path, rows: str, says: str) -> None:
    file = tmp_path / "events.csv"
    file.write_text(HEAD + rows, encoding="utf-8")
    for lane in ((), ("--lane", "4")):
        first = run(mill_dir, "--events", file, *lane).stdout.splitlines()[0]
        assert f"yarn as spun: {says}" in first


def test_asked_about_earlier_and_about_one_lane(mill_dir: Path, events: Path) -> None:
    found = plain(mill_dir, "--events", events, "--at", "05:50", "--lane", 3)
    assert found["now_s"] == 5 * 3600 + 50 * 60
    assert {one["lane"] for one in found["ties"]} == {3}
    assert found["colour_changes"] == []


def test_what_is_surer_of_the_content_is_surer_of_the_ball(mill_dir: Path, events: Path) -> None:
    lane = ("--events", events, "--lane", 4)  # where no tie was seen at the winder
    wide = plain(mill_dir, *lane)["ties"]
    tight = plain(mill_dir, *lane, "--content-sd", "20 m", "--feed-slip", "0.1 %")["ties"]
    widths = [
        [high - low for low, high in (one["to_winder_raw_m_interval"] for one in ties)]
        for ties in (wide, tight)
    ]
    assert all(now < 0.5 * before for before, now in zip(*widths, strict=True))


def test_json_lines_say_the_same_as_csv(mill_dir: Path, events: Path, tmp_path: Path) -> None:
    head, *lines = events.read_text(encoding="utf-8").splitlines()
    objects = [
        {key: cell for key, cell in zip(head.split(","), line.split(","), strict=True) if cell}
        for line in lines
    ]
    for one in objects:
        one["lane"] = int(one["lane"])
    file = tmp_path / "events.jsonl"
    file.write_text("\n".join(json.dumps(one) for one in objects) + "\n\n", encoding="utf-8")
    assert plain(mill_dir, "--events", file) == plain(mill_dir, "--events", events)


def test_over_midnight_and_in_either_unit(mill_dir: Path, tmp_path: Path) -> None:
    file = tmp_path / "night.csv"
    file.write_text(
        HEAD
        + "23:59:30,1,turns,100,,,,\n23:59:50,1,tie,,,,,\n00:00:10,1,turns,300,,,,\n"
        + "23:59:40,1,content,,3281 ft,,,\n00:00:20,,belt off,,,,,\n",
        encoding="utf-8",
    )
    found = plain(mill_dir, "--events", file)
    assert found["now_s"] == 86_420.0
    assert found["ties"][0]["fed_at_s"] == 86_390.0
    at_content = found["lanes"][0]["content_raw_m"]
    assert 900.0 < at_content < 1200.0


def test_clocks_read_and_show() -> None:
    assert read_clock(" 5:52 ") == 5 * 3600 + 52 * 60
    assert read_clock("05:52:07.5") == pytest.approx(21_127.5)
    assert show_clock(86_400.0 + 21_127.0) == "05:52:07"
    assert near(60.0, 86_000.0) == 86_460.0


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("25:00,1,doff,,,,,", ":2: at: no time of day"),
        ("05:00,1,knot,,,,,", ":2: event: no such event"),
        ("05:00,9,doff,,,,,", ":2: lane: no lane of the line"),
        ("05:00,,doff,,,,,", ":2: lane: no lane of the line"),
        ("05:00,1,turns,,,,,", ':2: counts: "turns" without counts'),
        ("05:00,1,feed,,,,,", ':2: metres: "feed" without metres'),
        ("05:00,1,doff,,12,,,", ':2: metres: "doff" has no metres'),
        ("05:00,1,feed,,12 kg,,,", ":2: metres: "),
        ("05:00,1,turns,many,,,,", ":2: counts: no counts"),
        ("05:00,1,doff,,,x,,", ":2: ball: no number of a ball"),
        ("05:00,1,turns,5,,,,k\n05:01,1,turns,6,,,,k", "two unlike messages with one key"),
    ],
)
def test_a_faulty_row_is_named_with_its_place(
    mill_dir: Path, tmp_path: Path, row: str, says: str
) -> None:
    file = tmp_path / "events.csv"
    file.write_text(HEAD + row + "\n", encoding="utf-8")
    result = run(mill_dir, "--events", file)
    assert result.exit_code == 2
    assert says in result.stderr
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[1]\n", ":1: no JSON object"),
        ("{\n", ":1: no JSON object"),
        ('{"at": "05:00", "colour": 1}\n', ":1: colour: an unknown key"),
        ("\n", "an empty file"),
        ('{"at": "05:00", "event": "doff"}\n', ":1: lane: no lane of the line"),
    ],
)
def test_faulty_json_lines_are_named(mill_dir: Path, tmp_path: Path, text: str, says: str) -> None:
    file = tmp_path / "events.jsonl"
    file.write_text(text, encoding="utf-8")
    result = run(mill_dir, "--events", file)
    assert result.exit_code == 2
    assert says in result.stderr


def test_every_faulty_row_is_named_at_once(mill_dir: Path, tmp_path: Path) -> None:
    file = tmp_path / "events.csv"
    file.write_text(HEAD + "25:00,1,doff,,,,,\n05:00,1,knot,,,,,\n", encoding="utf-8")
    assert len(run(mill_dir, "--events", file).stderr.strip().splitlines()) >= 2


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--at", "noon"), "--at: no time of day"),
        (("--at", "20:00"), "nothing had happened"),
        (("--lane", "7"), "--lane: no such lane"),
        (("--sure", "20 %"), "--sure: out of reach (got 20 %)"),
        (("--feed-slip", "20 %"), "--feed-slip: too unsure to follow anything; expected at most"),
        (("--turns", "1"), "--turns: no setting of Querl 100, which takes 789 turns (got 1)"),
        (("--turns", "9999"), "--turns: no setting of Querl 100"),
        (("--content", "0 m"), "--content: what no lane can hold (got 0 m); expected 2728 m"),
        (("--content-sd", "9 km"), "--content-sd: more than a lane's content can vary (got 9000"),
        (("--content", "9 km"), "--content: what no lane can hold (got 9000 m)"),
        (("--line", "Line 9"), "no such line"),
    ],
)
def test_options_that_cannot_be_are_refused(
    mill_dir: Path, events: Path, options: tuple[str, ...], says: str
) -> None:
    result = run(mill_dir, *options)
    assert result.exit_code == 2, result.output
    assert says in result.stderr


def test_no_file_is_one_clear_line(mill_dir: Path) -> None:
    (mill_dir / "line_events.csv").unlink(missing_ok=True)
    result = run(mill_dir)
    assert result.exit_code == 2
    assert "line_events.csv: cannot be read" in result.stderr
