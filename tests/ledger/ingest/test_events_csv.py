"""A CSV file of events: parting cells, knowing columns, and losing no row to a bad neighbour."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.ledger.ingest.events_csv import CsvFile, event_object, part, plain_name
from clew.ledger.ingest.rows import FoundRow

HEAD = "at,lane,kind,counts,note\n"


def read(text: str | bytes, *, growing: bool = False) -> list[FoundRow]:
    data = text.encode() if isinstance(text, str) else text
    form = CsvFile(io.BytesIO(data), "night.csv")
    return list(form.rows(form.start, form.first_line, growing=growing))


def found(text: str | bytes) -> list[Any]:
    return [row.found for row in read(text)]


def test_a_mark_is_told_from_the_heading() -> None:
    row = {"lane": 1, "kind": "turns", "counts": 1.5}
    assert found("lane,kind,counts\n1,turns,1.5\n") == [row]
    assert found("lane;kind;counts\n1;turns;1,5\n") == [row]
    assert found("lane\tkind\tcounts\n1\tturns\t1.5\n") == [row]


def test_a_decimal_comma_is_read_between_semicolons_only() -> None:
    assert found('lane\tkind\tcounts\n1\tturns\t"1,5"\n')[0]["counts"] == "1,5"
    assert found('lane,kind,counts\n1,turns,"1,5"\n')[0]["counts"] == "1,5"
    assert found("lane;kind;counts\n1;turns;1.5\n")[0]["counts"] == 1.5


def test_values_are_what_their_kind_asks_for() -> None:
    text = (
        "kind;lane;counts;counts 1;Counts_2;done;void;cases;mass g\n"
        "turns;1;12;;;;;;\n"
        "run set;;;985,5;985;;;;\n"
        "check;;;;;belt | steam|;;;\n"
        "correction;;;;;;yes;;\n"
        "pallet closed;;;;;;;C1|C2;\n"
        "weighing;1;;;;;;;101,2\n"
    )
    assert found(text) == [
        {"kind": "turns", "lane": 1, "counts": 12},
        {"kind": "run set", "counts": {"1": 985.5, "2": 985}},
        {"kind": "check", "done": ["belt", "steam"]},
        {"kind": "correction", "void": True},
        {"kind": "pallet closed", "cases": ["C1", "C2"]},
        {"kind": "weighing", "lane": 1, "mass_g": 101.2},
    ]


def test_a_cell_that_is_no_number_stays_as_it_stands() -> None:
    for cell in ("1o5", "1_000", "١", "nan", "inf", "1,5", "0x10", "1.2.3", "--1"):
        assert event_object({"kind": "turns", "counts": cell}, comma=False)["counts"] == cell


def test_line_ends_inside_quotes_belong_to_the_cell() -> None:
    rows = read(HEAD + '10:00,1,note,,"belt slips,\r\nsays ""Ada"""\r\n10:01,2,note,,x\r\n')
    assert [row.line for row in rows] == [2, 4]
    assert rows[0].found is not None
    assert rows[0].found["note"] == 'belt slips,\nsays "Ada"'


def test_a_byte_order_mark_and_empty_rows_are_passed_over() -> None:
    rows = read(b"\xef\xbb\xbf" + HEAD.encode() + b"\n,,,,\n  \n10:00,1,doff,,\n")
    assert [(row.line, row.found) for row in rows] == [
        (5, {"at": "10:00", "lane": 1, "kind": "doff"})
    ]


def test_a_quote_left_open_spoils_its_own_row_alone() -> None:
    rows = read(HEAD + '10:00,1,note,,"open\n' + "10:01,1,doff,5,\n" * 300)
    assert len(rows) == 301
    assert "not closed" in rows[0].why
    assert all(row.why == "" for row in rows[1:])
    assert [row.line for row in rows] == list(range(2, 303))


def test_a_quote_closed_by_a_later_row_spoils_the_first_alone() -> None:
    rows = read(HEAD + '10:00,1,note,,"open\n10:01,1,doff,5,\n10:02,1,note,,"shut"\n')
    assert [bool(row.why) for row in rows] == [True, False, False]


@pytest.mark.parametrize(
    ("row", "why"),
    [
        (b"10:00,1,doff", "3 cells; expected 5"),
        (b"10:00,1,doff,,,", "6 cells; expected 5"),
        (b'10:00,1,note,,3" pin', "a quote in the middle"),
        (b'10:00,1,note,,"a"b', "a quote in the middle"),
        (b"10:00,1,note,,\xff", "not UTF-8"),
        (b"10:00,1,note,," + b"x" * 1_100_000, "more than 1048576 bytes"),
    ],
)
def test_a_bad_row_says_why_and_the_next_is_read(row: bytes, why: str) -> None:
    rows = read(HEAD.encode() + row + b"\n10:01,2,doff,,\n")
    assert len(rows) == 2
    assert why in rows[0].why
    assert rows[1].found == {"at": "10:01", "lane": 2, "kind": "doff"}
    assert len(rows[0].raw) <= len(row)


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("", "an empty file"),
        ("\n \n", "an empty file"),
        ("at,lane,knid\n", "kind?"),
        ("at,lane,kind,\n", "a column without a name"),
        ("at,lane,kind,LANE\n", "twice"),
        ('at,lane,"kind\n', "not closed"),
        ('at,la"ne,kind\n', "in the middle"),
        ("at,lane,kind,mass_g 1\n", "no column of events"),
    ],
)
def test_a_heading_that_cannot_be_used_is_said(heading: str, words: str) -> None:
    with pytest.raises(BadInput) as bad:
        read(heading)
    assert words in str(bad.value)
    assert "night.csv" in str(bad.value)


def test_a_heading_that_is_no_text_is_said() -> None:
    with pytest.raises(BadInput, match="not UTF-8"):
        read(b"at,\xff\n")


CELLS = st.text(st.characters(codec="utf-8", exclude_characters="\r\0"), max_size=12)


@given(st.lists(st.lists(CELLS, min_size=2, max_size=4), min_size=1, max_size=6))
def test_what_another_writer_wrote_is_parted_as_it_meant(rows: list[list[str]]) -> None:
    """The standard library's own writer, told to write as RFC 4180 has it."""
    for row in rows:
        out = io.StringIO()
        csv.writer(out, lineterminator="").writerow(row)
        assert part(out.getvalue(), ",") == row


@given(st.text('a",;\n', max_size=30))
def test_what_is_parted_is_what_another_strict_reader_parts(text: str) -> None:
    try:
        ours = part(text, ",")
    except ValueError:
        return
    if ours is None or text == "" or ("\n" in text and '"' not in text):
        return
    # a line end outside quotes begins another row, also where nothing follows it any more
    if len(list(csv.reader(io.StringIO(f"{text},", newline=""), strict=True))) == 1:
        (theirs,) = csv.reader(io.StringIO(text, newline=""), strict=True)
        assert ours == theirs


ROW = "10:00,1,doff,5,\n"
OVER_LINES = '1,"x\ny",note,,\n'
PIECES = st.lists(
    st.sampled_from(['"', "a", ",", "\n", "\r\n", ROW, OVER_LINES, '""', "é", ";", "\ufeff"]),
    max_size=40,
)


@given(PIECES, st.lists(st.integers(0, 400), max_size=5))
def test_a_file_that_grows_reads_as_one_that_was_whole(pieces: list[str], cuts: list[int]) -> None:
    data = HEAD.encode() + "".join(pieces).encode()
    whole = [(row.line, row.found, row.why, row.raw) for row in read(data)]
    got = []
    start = line = 0
    for upto in [*sorted(len(HEAD) + cut for cut in cuts), None]:
        form = CsvFile(io.BytesIO(data[:upto]), "f")
        if not start:
            start, line = form.start, form.first_line
        for row in form.rows(start, line, growing=upto is not None):
            got.append((row.line, row.found, row.why, row.raw))
            start, line = row.end, row.line + row.raw.count(b"\n") + 1
    assert got == whole


def test_names_of_columns_are_compared_one_way() -> None:
    assert plain_name(" Mass_G ") == plain_name("mass g") == "mass g"
