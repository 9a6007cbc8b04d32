"""Files that other commands read too: tracker events by times of day, and weighings."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from clew.faults import BadInput
from clew.ledger.events.message import Record
from clew.ledger.events.moments import show_utc
from clew.ledger.events.reading import Sender
from clew.ledger.ingest.files import take_file
from clew.ledger.ingest.from_line_files import TrackerRows, clock_s, on_day, reading_for
from clew.ledger.ingest.readings import EVENT_ROWS
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records

SENDER = Sender("file", line="Line 1", zone="Europe/London")
DAY = date(2026, 3, 28)
LANES = {"1": 3, "7": 1}


def take(ledger: Ledger, path: Path, *, day: date | None = DAY, batch: int = 500) -> list[Record]:
    take_file(ledger, path, SENDER, batch=batch, reading=reading_for(path, day=day, lanes=LANES))
    return list(chain_records(ledger, "Line 1"))


def test_tracker_events_become_messages(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "events.csv"
    path.write_text(
        "at,lane,event,counts,metres,ball,name,id\n"
        "23:58,1,turns,60,,41,,\n"
        "23:59:30.5,1,tie,,1200.5,,T7,m-1\n"
        "00:01,,belt off,,,,,\n"
        "00:02,1,re-tie,,100 yd,,,\n"
        "23:59,2,doff,786,,12,,\n"
        "00:03,1,colour,,1300,,SL-211,\n"
    )
    found = take(ledger, path)
    assert [(one.kind, show_utc(one.at_us)) for one in found] == [
        ("turns", "2026-03-28T23:58:00Z"),
        ("tie", "2026-03-28T23:59:30.5Z"),
        ("belt off", "2026-03-29T00:01:00Z"),
        ("retie", "2026-03-29T00:02:00Z"),
        ("doff", "2026-03-28T23:59:00Z"),
        ("colour", "2026-03-29T00:03:00Z"),
    ]
    assert found[0].fields() == {"counts": 60.0}
    assert (found[1].key, found[1].fields()) == ("m-1", {"metres": 1200.5, "name": "T7"})
    assert found[3].fields()["metres"] == pytest.approx(91.44)
    assert (found[4].ball, found[4].fields()) == (12, {"counts": 786.0})
    assert found[5].lot == "SL-211"


def test_clocks_that_change_in_the_night_are_right(ledger: Ledger, tmp_path: Path) -> None:
    """In London the clock leaps from 01:00 to 02:00 on 29 March 2026."""
    path = tmp_path / "events.csv"
    path.write_text("at,lane,event\n00:59,1,doff\n01:30,1,doff\n02:01,1,doff\n")
    found = take(ledger, path, day=date(2026, 3, 29))
    assert [show_utc(one.at_us) for one in found] == [
        "2026-03-29T00:59:00Z",
        "2026-03-29T01:01:00Z",
    ]
    assert "leaps over" in (tmp_path / "quarantine" / "events.csv").read_text()


def test_days_go_on_when_a_file_has_grown(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "events.csv"
    rows = [f"{hour % 24:02d}:00,1,doff\n" for hour in range(0, 72, 6)]
    path.write_text("at,lane,event\n" + "".join(rows[:7]))
    take(ledger, path, day=date(2026, 3, 2), batch=2)
    with path.open("a") as file:
        file.write("".join(rows[7:]))
    found = take(ledger, path, day=date(2026, 3, 2), batch=2)
    assert len(found) == 12
    assert found[-1].at_us - found[0].at_us == 66 * 3_600_000_000


def test_tracker_events_as_json_lines(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "events.jsonl"
    path.write_text(
        json.dumps({"at": "05:52", "lane": 1, "event": "tie", "metres": 12.5, "id": "a"})
        + "\n"
        + json.dumps({"at": "05:53", "lane": 1, "event": "tie", "what": 1})
        + "\n"
    )
    found = take(ledger, path)
    assert [(one.kind, one.key, one.fields()) for one in found] == [("tie", "a", {"metres": 12.5})]
    assert "no such field" in (tmp_path / "quarantine" / "events.jsonl").read_text()


def test_weighings_become_events(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "scale.csv"
    path.write_text(
        "time;winder;lot;ball;cone;gross_g;tare_g;length_m\n"
        "2026-03-28T06:01:19;1;SL-207;1-001;C7;103,4;2,1;\n"
        "2026-03-28T06:02:19;7;SL-207;7-001;;3.6 oz;;201,5\n"
        "2026-03-28T06:03:19;9;SL-207;9-001;;103,4;2,1;\n"
        "2026-03-28T06:04:19;1;SL-207;1-002;;;;\n"
    )
    found = take(ledger, path)
    assert [(one.kind, one.lane, one.lot, one.token) for one in found] == [
        ("weighing", 3, "SL-207", "1-001"),
        ("weighing", 1, "SL-207", "7-001"),
        ("length check", 1, "SL-207", "7-001"),
    ]
    assert found[0].fields() == {"mass_g": 101.3, "note": "cone C7"}
    assert found[1].fields()["gross"] is True
    assert found[1].fields()["mass_g"] == pytest.approx(102.058, abs=1e-3)
    assert found[2].fields() == {"length_m": 201.5}
    aside = (tmp_path / "quarantine" / "scale.csv").read_text()
    assert "winder: no lane (got 9); expected a lane, or a winder of the line: 1, 7" in aside
    assert "neither mass nor length" in aside


def test_the_demo_mills_files_are_taken_whole(ledger: Ledger, mill_dir: Path) -> None:
    found = take(ledger, mill_dir / "line_events.csv")
    rows = (mill_dir / "line_events.csv").read_text().splitlines()[1:]
    assert len(found) == len(rows)
    for one, text in zip(found, rows, strict=True):
        cells = text.split(",")
        assert show_utc(one.at_us)[11:19] == cells[0]
        assert (str(one.lane or ""), one.kind) == (cells[1], cells[2])
    weighed = take(ledger, mill_dir / "shift-weighings.csv")[len(found) :]
    assert sum(one.kind == "weighing" for one in weighed) == 1200
    assert sum(one.kind == "length check" for one in weighed) == 60
    assert not (mill_dir / "quarantine").exists()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("at,lane,event\n05:00,1,doff\n", "times of day without their day"),
        ("winder,mass_g\n1,100\n", "weighings without times"),
    ],
)
def test_what_is_missing_is_said(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "a.csv"
    path.write_text(text)
    with pytest.raises(BadInput, match=words):
        reading_for(path, day=None, lanes={})


def test_a_time_of_day_without_its_day_spoils_its_row(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("time,lane,mass_g\n10:00,1,100\n5000,1,100\n2026-03-28T10:00:00,1,100\n")
    assert len(take(ledger, path, day=None)) == 1
    aside = (tmp_path / "quarantine" / "a.csv").read_text()
    assert "a time of day without its day" in aside
    assert "no moment" in aside


def test_forms_are_told_apart(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("at;lane;kind\n")
    assert reading_for(path, day=DAY, lanes={}) is EVENT_ROWS
    path.write_text("at\tlane\tEvent\n")
    assert isinstance(reading_for(path, day=DAY, lanes={}), TrackerRows)
    path.write_bytes(b"\xff\n")
    assert reading_for(path, day=DAY, lanes={}) is EVENT_ROWS
    with pytest.raises(BadInput, match="cannot be read"):
        reading_for(tmp_path / "none.csv", day=DAY, lanes={})


def test_clocks() -> None:
    assert clock_s("05:52") == 21_120.0
    assert clock_s(" 5:52:07.5 ") == 21_127.5
    assert [clock_s(text) for text in ("", "24:00", "5", "05:60", "x")] == [None] * 5
    assert on_day(DAY, 86_400.0 + 61.5) == "2026-03-29T00:01:01.500000"
    assert on_day(DAY, -1.0) == "2026-03-27T23:59:59"
