"""Old rows go out whole, other programs read them, and they come back as they were."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import duckdb
import pytest
from sqlalchemy import text
from tests.ledger.audit.tampering import LINE, NOON_US, fill, message, tamper

from clew.faults import BadInput
from clew.ledger.audit.verify import anchor_of, verify
from clew.ledger.events.message import Message
from clew.ledger.safekeeping import archive as subject
from clew.ledger.safekeeping.archive import archive, archive_name, archives_missing, may_go
from clew.ledger.safekeeping.parquet_files import read_span
from clew.ledger.safekeeping.readmit import readmit
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.schema import EVENT_COLUMNS

SECOND = 1_000_000


@pytest.fixture
def ledger(ledger_url: str) -> Iterator[Ledger]:
    """Its clock stands at the moment of the tamperer's noon and some hours."""
    opened = open_ledger(ledger_url, clock=lambda: NOON_US + 30 * SECOND)
    yield opened
    opened.close()


def rows_of(ledger: Ledger) -> list[Any]:
    columns = ", ".join(EVENT_COLUMNS)
    with ledger.reading() as connection:
        found = connection.execute(text(f"SELECT {columns} FROM event ORDER BY line, seq"))
        return [tuple(row) for row in found]


def event(kind: str, number: int, run: str = "", **body: Any) -> Message:
    lot = "SL-207" if kind == "run start" else ""
    return Message(
        LINE, kind, NOON_US + number * SECOND, "tablet", f"{kind}-{number}", "A. Lead", run=run,
        lot=lot, body=body,
    )  # fmt: skip


LATER = NOON_US + 10_000 * SECOND


def test_it_goes_out_is_read_by_others_and_comes_back(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 40)
    before, anchor = rows_of(ledger), anchor_of(ledger, LINE)
    made = archive(ledger, LINE, LATER, tmp_path / "archives")
    assert [(one.span.from_seq, one.span.upto_seq) for one in made] == [(1, 40)]
    path = made[0].path
    assert path.name == "Line-1-000000001-000000040.parquet"
    assert rows_of(ledger) == []
    assert verify(ledger, [anchor]).sound
    assert "rows 1 to 40 in archives" in verify(ledger).words()[0]
    read = duckdb.sql(
        f"SELECT {', '.join(EVENT_COLUMNS)} FROM '{path}' ORDER BY line, seq"
    ).fetchall()
    assert read == before
    assert archives_missing(ledger) == ()
    back = readmit(ledger, path)
    assert back.own
    assert rows_of(ledger) == before
    assert verify(ledger, [anchor]).sound
    assert verify(ledger).words() == ("Line 1: rows 1 to 40 untouched.",)
    # the guard stands before them again
    with pytest.raises(Exception, match="never"), ledger.writing() as connection:
        connection.execute(text("DELETE FROM event WHERE seq = 3"))


def test_the_chain_goes_on_after_its_beginning_went(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 20)
    archive(ledger, LINE, LATER, tmp_path)
    fill(ledger, 20, start=21)
    audit = verify(ledger)
    assert audit.sound
    assert (audit.lines[0].first, audit.lines[0].last) == (21, 40)


def test_only_what_happened_and_was_kept_before_the_moment_goes(
    ledger: Ledger, tmp_path: Path
) -> None:
    fill(ledger, 40)
    # row n happened n seconds after noon, and all were kept 30 s after noon
    assert may_go(ledger, LINE, NOON_US + 20 * SECOND) == 0
    assert may_go(ledger, LINE, NOON_US + 36 * SECOND) == 35
    made = archive(ledger, LINE, NOON_US + 36 * SECOND, tmp_path)
    assert made[0].span.upto_seq == 35
    assert archive(ledger, LINE, NOON_US + 36 * SECOND, tmp_path) == ()


def test_long_chains_go_out_in_files_that_come_back_newest_first(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(subject, "MOST_ROWS", 15)
    fill(ledger, 40)
    before = rows_of(ledger)
    made = archive(ledger, LINE, LATER, tmp_path)
    assert [one.span.rows for one in made] == [15, 15, 10]
    assert verify(ledger).sound
    with pytest.raises(BadInput, match="newer archive must come back first"):
        readmit(ledger, made[0].path)
    for one in reversed(made):
        readmit(ledger, one.path)
        assert verify(ledger).sound
    assert rows_of(ledger) == before


def test_an_open_run_stays_whole(ledger: Ledger) -> None:
    ledger.append([message(number) for number in range(1, 6)])
    ledger.append([event("run start", 6, "R-1", ball_name="Fell 100")])
    ledger.append([message(number) for number in range(7, 12)])
    assert may_go(ledger, LINE, LATER) == 5
    ledger.append([event("run end", 13, "R-1")])
    assert may_go(ledger, LINE, LATER) == 12
    # the moment lies within the run, which ended since: it stays whole
    assert may_go(ledger, LINE, NOON_US + 31 * SECOND) == 12
    ledger.append([event("correction", 14, of_seq=12, void=True, why="it goes on")])
    assert may_go(ledger, LINE, LATER) == 5


def test_a_run_that_the_moment_cuts_stays_whole(ledger: Ledger) -> None:
    ledger.append([message(number) for number in range(1, 6)])
    ledger.append([event("run start", 6, "R-1", ball_name="Fell 100")])
    ledger.append([message(number) for number in range(40, 45)])
    ledger.append([event("run end", 46, "R-1")])
    assert may_go(ledger, LINE, NOON_US + 43 * SECOND) == 5
    assert may_go(ledger, LINE, NOON_US + 47 * SECOND) == 12


def test_the_mills_own_chain_has_no_runs(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 3, "")
    made = archive(ledger, "", LATER, tmp_path)
    assert made[0].path.name.startswith("mill-")
    assert readmit(ledger, made[0].path).span.line == ""


def test_another_ledger_takes_them_in_order(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(subject, "MOST_ROWS", 25)
    fill(ledger, 40)
    before, anchor = rows_of(ledger), anchor_of(ledger, LINE)
    first, second = archive(ledger, LINE, LATER, tmp_path)
    other = open_ledger(sqlite_url(tmp_path / "other.db"))
    try:
        with pytest.raises(BadInput, match="does not join"):
            readmit(other, second.path)
        assert not readmit(other, first.path).own
        with pytest.raises(BadInput, match="are there"):
            readmit(other, first.path)
        readmit(other, second.path)
        assert rows_of(other) == before
        assert verify(other, [anchor]).sound
        assert other.append([message(99)])[0].seq == 41
        assert other.append([message(7)])[0].outcome == "already"
    finally:
        other.close()


def test_a_changed_archive_is_refused(ledger: Ledger, tmp_path: Path) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    fill(ledger, 40)
    path = archive(ledger, LINE, LATER, tmp_path)[0].path
    whole = path.read_bytes()
    table = pq.read_table(path)
    lanes = table.column("lane").to_pylist()
    lanes[11] = 9
    place = table.schema.get_field_index("lane")
    pq.write_table(
        table.set_column(place, table.schema.field(place), pa.array(lanes, pa.int32())), path
    )
    with pytest.raises(BadInput, match="row 12 of Line 1 was changed"):
        readmit(ledger, path)
    pq.write_table(table, path)  # the same rows, another file
    assert "another file" in archives_missing(ledger)[0]
    with pytest.raises(BadInput, match="another file"):
        readmit(ledger, path)
    path.write_bytes(whole[:-100])
    with pytest.raises(BadInput, match="no archive of a ledger"):
        readmit(ledger, path)
    path.write_bytes(whole[:2000] + bytes(400) + whole[2400:])
    with pytest.raises(BadInput):
        readmit(ledger, path)
    path.unlink()
    assert "not where it was put" in archives_missing(ledger)[0]
    with pytest.raises(BadInput, match="no such archive"):
        readmit(ledger, path)
    path.write_bytes(whole)
    assert readmit(ledger, path).span.rows == 40


def test_other_parquet_files_are_none_of_ours(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "other.parquet"
    duckdb.sql(f"COPY (SELECT 1 AS a) TO '{path}' (FORMAT parquet)")
    with pytest.raises(BadInput, match="no archive of a ledger"):
        readmit(ledger, path)


def test_a_broken_chain_does_not_go_out(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 40)
    tamper(ledger, "UPDATE event SET lane = 9 WHERE seq = 12")
    before = rows_of(ledger)
    with pytest.raises(BadInput, match="row 12 of Line 1 was changed"):
        archive(ledger, LINE, LATER, tmp_path / "out")
    assert list((tmp_path / "out").iterdir()) == []
    tamper(ledger, "DELETE FROM event WHERE seq = 1")
    with pytest.raises(BadInput, match="gaps"):
        archive(ledger, LINE, LATER, tmp_path / "out")
    assert rows_of(ledger) == before[1:]


def test_a_crash_before_the_rows_left_is_made_good_by_doing_it_again(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(ledger, 40)

    def crash(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(subject, "_let_go", crash)
        with pytest.raises(KeyboardInterrupt):
            archive(ledger, LINE, LATER, tmp_path)
    assert len(rows_of(ledger)) == 40
    assert len(list(tmp_path.glob("*.parquet"))) == 1
    archive(ledger, LINE, LATER, tmp_path)
    assert rows_of(ledger) == []


def test_another_lines_file_is_not_written_over(ledger: Ledger, tmp_path: Path) -> None:
    fill(ledger, 40)
    fill(ledger, 40, "Line-1")
    made = archive(ledger, LINE, LATER, tmp_path)
    assert archive_name(made[0].span) == made[0].path.name
    with pytest.raises(BadInput, match="such a file already"):
        archive(ledger, "Line-1", LATER, tmp_path)
    assert read_span(made[0].path) == made[0].span


def test_a_message_sent_again_since_is_told_and_nothing_is_half_done(
    ledger: Ledger, tmp_path: Path
) -> None:
    fill(ledger, 40)
    path = archive(ledger, LINE, LATER, tmp_path)[0].path
    assert ledger.append([message(7)])[0].outcome == "kept"
    with pytest.raises(BadInput, match="kept once more"):
        readmit(ledger, path)
    assert len(rows_of(ledger)) == 1
    assert verify(ledger).sound


def test_without_what_writes_parquet_it_says_how_to_get_it(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(BadInput, match=r'pip install "clew\[archive\]"'):
        archive(ledger, LINE, LATER, tmp_path)
