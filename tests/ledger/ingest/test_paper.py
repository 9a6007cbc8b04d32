"""A paper sheet typed in later: numbered, flagged, and never counted twice."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from clew.faults import BadInput
from clew.ledger.events.message import Record
from clew.ledger.events.moments import show_utc
from clew.ledger.events.reading import Sender
from clew.ledger.ingest.files import FileTaken, take_file
from clew.ledger.ingest.paper import FROM_PAPER, SPREAD, PaperRows, Sheet, read_sheet, sheet_of
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records

SENDER = Sender("file", author="A. Lead", line="Line 1", zone="Europe/London")
STARTS = ("06:00", "14:00", "22:00")
NIGHT = sheet_of(date(2025, 11, 25), 0, 2, 1)


def take(ledger: Ledger, path: Path, sheet: Sheet = NIGHT) -> FileTaken:
    return take_file(ledger, path, SENDER, reading=PaperRows(sheet, STARTS))


def records(ledger: Ledger) -> list[Record]:
    return list(chain_records(ledger, "Line 1"))


def test_typed_rows_say_that_they_are_from_paper(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "typed.csv"
    path.write_text(
        "row,at,lane,kind,cone,lot,why,note,who\n"
        "1,22:10,3,cone loaded,SL-207-04,SL-207,,,Ada\n"
        "2,01:05,,stop,,,belt torn,,Ben\n"
        "A3 tie 1,22:17,3,tie,,,,half spliced,\n"
    )
    taken = take(ledger, path)
    assert (taken.kept, taken.refused, taken.flagged) == (3, 0, 3)
    cone, stop, tie = records(ledger)
    assert (cone.source, cone.key, cone.author) == ("paper/T-251125-21", "T-251125-21/1", "A. Lead")
    assert (cone.cone, cone.lot, cone.lane) == ("SL-207-04", "SL-207", 3)
    assert cone.fields()["note"] == "sheet T-251125-21, row 1, written by Ada"
    assert show_utc(cone.at_us) == "2025-11-25T22:10:00Z"
    assert show_utc(stop.at_us) == "2025-11-26T01:05:00Z"  # past midnight
    assert stop.fields()["why"] == "belt torn"
    assert tie.fields()["note"] == "half spliced (sheet T-251125-21, row A3 tie 1)"
    assert all(FROM_PAPER in one.flag_words() for one in (cone, stop, tie))


def test_a_row_typed_twice_counts_once(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "typed.csv"
    path.write_text("row,at,lane,kind\n1,22:10,3,tie\n")
    take(ledger, path)
    path.write_text("kind;row;lane;at\ntie;1;3;22:10\ntie;2;3;22:11\n")
    taken = take(ledger, path)
    assert (taken.kept, taken.already) == (1, 1)
    path.write_text("row,at,lane,kind\n1,22:40,3,tie\n")  # read otherwise by another
    taken = take(ledger, path)
    assert (taken.kept, taken.refused) == (0, 1)
    assert "another event has it" in (tmp_path / "quarantine" / "typed.csv").read_text()


def test_a_tally_becomes_so_many_balls_spread_over_its_hour(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "typed.csv"
    path.write_text("row,at,lane,kind,count\nB2,23:00,2,doff,4\n")
    assert take(ledger, path).kept == 4
    found = records(ledger)
    assert [show_utc(one.at_us)[11:19] for one in found] == [
        "23:07:30", "23:22:30", "23:37:30", "23:52:30",
    ]  # fmt: skip
    assert [one.key for one in found] == [f"T-251125-21/B2.{place}" for place in (1, 2, 3, 4)]
    assert all(SPREAD in one.flag_words() for one in found)
    assert take_file(ledger, path, SENDER, again=True, reading=PaperRows(NIGHT, STARTS)).kept == 0


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (",22:00,1,tie,", "row: no row of the sheet"),
        ("é,22:00,1,tie,", "row: no row of the sheet"),
        ("1,22:00,1,turns,3", "a tally of this kind"),
        ("1,22:00,1,doff,many", "no tally"),
        ("1,22:00,1,doff,0", "no tally"),
        ("1,22:00,1,doff,501", "no tally"),
        ("1,2025-11-25T22:00,1,doff,3", "a tally without its hour"),
        ("1,soon,1,doff,", "no moment"),
        ("1,22:00,99,tie,", "no lane"),
    ],
)
def test_what_cannot_be_read_says_why(ledger: Ledger, tmp_path: Path, row: str, words: str) -> None:
    path = tmp_path / "typed.csv"
    path.write_text(f"row,at,lane,kind,count\n{row}\n")
    assert take(ledger, path).refused == 1
    assert words in (tmp_path / "quarantine" / "typed.csv").read_text()
    assert records(ledger) == []


def test_numbers_of_sheets() -> None:
    assert NIGHT.code == "T-251125-21"
    assert read_sheet(" t-251125-21 ") == NIGHT
    assert sheet_of(date(2025, 11, 25), 0, 0, 1).code == "T-251125-1"
    second_line = sheet_of(date(2025, 11, 25), 1, 1, 3)
    assert (second_line.number, second_line.line_place, second_line.shift_place) == (113, 1, 1)
    codes = {
        sheet_of(date(2025, 11, 25), line, shift, number).code
        for line in range(4) for shift in range(8) for number in range(1, 10)
    }  # fmt: skip
    assert len(codes) == 4 * 8 * 9
    for wrong in ("", "T-251325-1", "T-251125", "251125-1", "T-251125-1x"):
        with pytest.raises(BadInput, match="no number of a sheet"):
            read_sheet(wrong)
    with pytest.raises(BadInput, match="too many sheets"):
        sheet_of(date(2025, 11, 25), 0, 0, 10)
