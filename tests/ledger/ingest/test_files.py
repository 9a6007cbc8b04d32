"""Taking files into the ledger, on both databases: once each, bad rows aside, growing files."""

from __future__ import annotations

import csv
import json
import os
from dataclasses import replace
from pathlib import Path

import pytest

from clew.faults import BadInput
from clew.ledger.events.message import Record
from clew.ledger.events.reading import Sender
from clew.ledger.ingest.files import StoppedAt, take_file
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records, head_of
from clew.ledger.store.trouble import CannotKeep

SENDER = Sender("file", line="Line 1", zone="Europe/London")
HEAD = "at,lane,kind,counts,key\n"


def row(second: int, *, key: str = "", lane: object = 1, counts: object = 5) -> str:
    return f"2026-03-02T10:{second // 60:02d}:{second % 60:02d},{lane},turns,{counts},{key}\n"


def records(ledger: Ledger) -> list[Record]:
    return list(chain_records(ledger, "Line 1"))


def test_good_rows_are_kept_and_bad_ones_go_aside(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "night.csv"
    path.write_text(HEAD + row(1) + row(2, lane="x") + row(3) + "half,a row\n" + row(4))
    taken = take_file(ledger, path, SENDER)
    assert (taken.rows, taken.kept, taken.refused, taken.already) == (5, 3, 2, 0)
    assert [one.body for one in records(ledger)] == ['{"counts":5.0}'] * 3
    assert taken.quarantine == tmp_path / "quarantine" / "night.csv"
    with taken.quarantine.open(newline="") as file:
        rows = list(csv.reader(file, strict=True))
    assert rows[0] == [
        "quarantine_line",
        "quarantine_reason",
        "at",
        "lane",
        "kind",
        "counts",
        "key",
    ]
    assert [one[0] for one in rows[1:]] == ["3", "5"]
    assert "lane: no lane (got 'x'); expected 1 to 64" in rows[1][1]
    assert rows[1][2:] == ["2026-03-02T10:00:02", "x", "turns", "5", ""]
    assert "2 cells; expected 5" in rows[2][1]


def test_a_file_taken_twice_changes_nothing(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + row(1) + row(1) + row(2, key="k") + row(3, counts="bad"))
    first = take_file(ledger, path, SENDER)
    assert (first.kept, first.refused) == (3, 1)  # two rows alike are two events
    head = head_of(ledger, "Line 1")
    aside = (tmp_path / "quarantine" / "a.csv").read_bytes()
    assert take_file(ledger, path, SENDER).rows == 0
    again = take_file(ledger, path, SENDER, again=True)
    assert (again.rows, again.kept, again.already, again.refused) == (4, 0, 3, 1)
    copy = tmp_path / "another name.csv"
    text = "kind;lane;at;counts;key\n" + "".join(
        ";".join((cells[2], cells[1], cells[0], cells[3], cells[4]))
        for cells in (one.split(",") for one in path.read_text().splitlines(keepends=True)[1:])
    )
    copy.write_bytes(text.replace("\n", "\r\n").encode())
    renamed = take_file(ledger, copy, SENDER)  # other columns' order, marks and line ends: the same
    assert (renamed.kept, renamed.already, renamed.refused) == (0, 3, 1)
    assert head_of(ledger, "Line 1") == head
    assert (tmp_path / "quarantine" / "a.csv").read_bytes() == aside


def test_a_file_that_grew_gives_only_what_is_new(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + row(1) + row(2))
    take_file(ledger, path, SENDER)
    with path.open("a") as file:
        file.write(row(3) + row(4)[:-4])
    grown = take_file(ledger, path, SENDER, growing=True)
    assert (grown.rows, grown.kept, grown.from_line, grown.unfinished) == (1, 1, 4, True)
    with path.open("a") as file:
        file.write(row(4)[-4:] + row(5).rstrip("\n"))
    last = take_file(ledger, path, SENDER)
    assert (last.rows, last.kept, last.unfinished) == (2, 2, False)
    assert len(records(ledger)) == 5
    with path.open("a") as file:  # the line had its end after all
        file.write("\n" + row(6))
    after = take_file(ledger, path, SENDER)
    assert (after.kept, after.already) == (1, 1)
    assert len(records(ledger)) == 6


def test_another_file_of_the_name_is_told(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + row(1) + row(2))
    take_file(ledger, path, SENDER)
    path.write_text(HEAD + row(31) + row(32) + row(33))
    taken = take_file(ledger, path, SENDER)
    assert taken.replaced
    assert (taken.rows, taken.kept) == (3, 3)
    path.write_text(HEAD + row(41))  # shorter than what was read
    taken = take_file(ledger, path, SENDER)
    assert taken.replaced
    assert taken.kept == 1


def test_a_row_mended_far_down_is_found(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    lines = [row(second) for second in range(300)]
    lines[250] = row(250, counts="o")
    path.write_text(HEAD + "".join(lines))
    assert take_file(ledger, path, SENDER).refused == 1
    lines[250] = row(250, counts="0")
    path.write_text(HEAD + "".join(lines))
    os.utime(path, ns=(1, 1))
    taken = take_file(ledger, path, SENDER)
    assert (taken.kept, taken.already, taken.replaced) == (1, 299, False)


def test_a_quarantine_file_is_mended_and_taken_where_it_lies(
    ledger: Ledger, tmp_path: Path
) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + row(1) + row(2, counts="o5"))
    aside = take_file(ledger, path, SENDER).quarantine
    assert aside is not None
    aside.write_text(aside.read_text().replace(",o5,", ",05,"))
    mended = take_file(ledger, aside, SENDER)
    assert (mended.rows, mended.kept, mended.refused) == (1, 1, 0)
    path.write_text(path.read_text().replace(",o5,", ",05,"))  # and in the file itself: one event
    both = take_file(ledger, path, SENDER)
    assert (both.kept, both.already) == (0, 2)


def test_json_lines_have_the_same_ways(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    good = {"kind": "turns", "lane": 2, "at": "2026-03-02T10:00:00Z", "counts": 5}
    bad = good | {"lane": 0, "weather": "é"}
    path.write_text(json.dumps(good) + "\n" + json.dumps(bad, ensure_ascii=False) + "\n{oops\n")
    taken = take_file(ledger, path, SENDER)
    assert (taken.kept, taken.refused) == (1, 2)
    assert taken.quarantine is not None
    aside = [json.loads(line) for line in taken.quarantine.read_text().splitlines()]
    assert aside[0] | {"quarantine_reason": ""} == bad | {
        "quarantine_line": 2, "quarantine_reason": "",
    }  # fmt: skip
    assert "lane" in aside[0]["quarantine_reason"]
    assert "no such field" in aside[0]["quarantine_reason"]
    assert aside[1]["quarantine_text"] == "{oops"
    assert take_file(ledger, path, SENDER, again=True).already == 1


def test_a_key_that_another_event_has_goes_aside(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + row(1, key="k") + row(2, key="k") + row(3, key="l"))
    taken = take_file(ledger, path, SENDER)
    assert (taken.kept, taken.refused) == (2, 1)
    assert taken.quarantine is not None
    assert "another event has it, place 1 in the chain of Line 1 ('k')" in (
        taken.quarantine.read_text().replace('""', '"')
    )


def test_a_file_that_somebody_else_takes_again_changes_nothing(
    ledger: Ledger, tmp_path: Path
) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + row(1) + row(2, key="k"))
    take_file(ledger, path, replace(SENDER, author="A. Lead"))
    taken = take_file(ledger, path, replace(SENDER, author="B. Lead"), again=True)
    assert (taken.kept, taken.already, taken.refused) == (0, 2, 0)
    path.write_text(HEAD + row(1) + row(3, key="k"))
    taken = take_file(ledger, path, replace(SENDER, author="B. Lead"), again=True)
    assert (taken.kept, taken.already, taken.refused) == (0, 1, 1)
    assert {one.author for one in records(ledger)} == {"A. Lead"}


def test_what_is_odd_is_counted(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + row(200) + row(1) + row(199, counts=2_000_000))
    taken = take_file(ledger, path, SENDER)
    assert (taken.kept, taken.flagged) == (3, 2)
    assert taken.flags == {"late": 1, "counts out of range": 1, "out of order": 1}


def test_a_full_disk_stops_between_batches_and_says_where(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + "".join(row(second) for second in range(25)))
    append, calls = ledger.append, []

    def full(messages: object, **terms: object) -> object:
        calls.append(messages)
        if len(calls) == 3:
            raise CannotKeep("the disk that holds the ledger is full", for_good=True)
        return append(messages, **terms)  # type: ignore[arg-type]

    monkeypatch.setattr(ledger, "append", full)
    with pytest.raises(StoppedAt) as stopped:
        take_file(ledger, path, SENDER, batch=10)
    assert stopped.value.reason == (
        "the disk that holds the ledger is full; a.csv is taken up to line 21"
    )
    assert stopped.value.for_good
    assert stopped.value.so_far.kept == len(records(ledger)) == 20
    monkeypatch.setattr(ledger, "append", append)
    assert take_file(ledger, path, SENDER, batch=10).kept == 5


def test_a_quarantine_that_cannot_be_written_stops_too(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + row(1) + "bad\n" + row(2))
    (tmp_path / "quarantine").write_text("a file, no folder")
    with pytest.raises(StoppedAt, match="quarantine file cannot be written"):
        take_file(ledger, path, SENDER)
    assert records(ledger) == []
    (tmp_path / "quarantine").unlink()
    assert take_file(ledger, path, SENDER).kept == 2


def test_a_quarantine_of_other_columns_is_left_alone(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + "bad\n")
    first = take_file(ledger, path, SENDER).quarantine
    path.write_text("at;lane;kind\nworse\n")
    second = take_file(ledger, path, SENDER).quarantine
    assert (first, second) == (
        tmp_path / "quarantine" / "a.csv",
        tmp_path / "quarantine" / "a-2.csv",
    )


def test_a_file_that_is_not_there_is_bad_input(ledger: Ledger, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="cannot be read"):
        take_file(ledger, tmp_path / "none.csv", SENDER)


def test_a_heading_that_is_being_written_is_waited_for(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    for begun in ("", "\n", "at,la", HEAD.rstrip("\n")):
        path.write_text(begun)
        taken = take_file(ledger, path, SENDER, growing=True)
        assert (taken.rows, taken.unfinished) == (0, True)
    path.write_text(HEAD)
    assert not take_file(ledger, path, SENDER, growing=True).unfinished


@pytest.mark.parametrize("heading", ["at,lane\n", "kind,lane\n", "what\n"])
def test_a_heading_without_kind_or_moment_is_no_file_of_events(
    ledger: Ledger, tmp_path: Path, heading: str
) -> None:
    path = tmp_path / "a.csv"
    path.write_text(heading)
    with pytest.raises(BadInput, match="a column is missing"):
        take_file(ledger, path, SENDER)


def test_how_far_it_is_is_told(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEAD + "".join(row(second) for second in range(10)))
    told: list[tuple[int, int]] = []
    take_file(ledger, path, SENDER, batch=4, tell=lambda done, size: told.append((done, size)))
    size = path.stat().st_size
    assert [one[1] for one in told] == [size, size]
    assert told[0][0] < told[1][0] < size
