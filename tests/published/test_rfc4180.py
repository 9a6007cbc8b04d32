"""RFC 4180, section 2: its rules for CSV files, one by one, with its own examples."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from clew.ledger.events.reading import Sender
from clew.ledger.ingest.events_csv import CsvFile, part
from clew.ledger.ingest.files import take_file
from clew.ledger.store.ledger import sqlite_url
from clew.ledger.store.opening import open_ledger

pytestmark = pytest.mark.outside(
    document="RFC 4180, Common Format and MIME Type for CSV Files",
    edition="October 2005",
    section="2, rules 1 to 7",
    mark="READ",
)

CRLF = "\r\n"


def cells(text: str) -> list[list[str]]:
    """Rows under a heading of three columns, as they stand."""
    form = CsvFile(
        io.BytesIO(text.encode()),
        "rfc.csv",
        ("field name 1", "field name 2", "field name 3"),
        lambda found, _comma: dict(found),
    )
    return [
        list(row.found.values()) if row.found is not None else [row.why]
        for row in form.rows(form.start, form.first_line, growing=False)
    ]


HEADING = "field_name 1,field_name 2,field_name 3" + CRLF
TWO = [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]


def test_rule_1_each_record_is_on_a_line_of_its_own() -> None:
    assert cells(f"{HEADING}aaa,bbb,ccc{CRLF}zzz,yyy,xxx{CRLF}") == TWO


def test_rule_2_the_last_one_may_be_without_its_line_end() -> None:
    assert cells(f"{HEADING}aaa,bbb,ccc{CRLF}zzz,yyy,xxx") == TWO


def test_rule_3_the_heading_has_the_form_of_a_record() -> None:
    quoted = '"field_name 1","field_name 2",field_name 3' + CRLF
    assert cells(f"{quoted}aaa,bbb,ccc{CRLF}zzz,yyy,xxx{CRLF}") == TWO


def test_rule_4_each_record_has_as_many_fields() -> None:
    found = cells(f"{HEADING}aaa,bbb{CRLF}aaa,bbb,ccc,{CRLF}aaa,bbb,ccc{CRLF}")
    assert [len(row) for row in found] == [1, 1, 3]
    assert "2 cells; expected 3" in found[0][0]
    assert "4 cells; expected 3" in found[1][0]  # the last field is not followed by a comma


def test_rule_4_spaces_are_part_of_a_field() -> None:
    assert part(" aaa,b b ,ccc", ",") == [" aaa", "b b ", "ccc"]
    assert cells(f"{HEADING} aaa,b b ,ccc{CRLF}") == [[" aaa", "b b ", "ccc"]]


def test_rule_5_fields_may_be_enclosed_in_quotes() -> None:
    assert cells(f'{HEADING}"aaa","bbb","ccc"{CRLF}zzz,yyy,xxx') == TWO


def test_rule_5_no_quote_stands_in_a_field_that_is_not_enclosed() -> None:
    (row,) = cells(f'{HEADING}aaa,b"bb,ccc{CRLF}')
    assert "a quote in the middle of a cell" in row[0]


def test_rule_6_line_ends_quotes_and_commas_are_enclosed() -> None:
    assert cells(f'{HEADING}"aaa","b{CRLF}bb","ccc"{CRLF}zzz,yyy,xxx') == [
        ["aaa", "b\nbb", "ccc"],
        ["zzz", "yyy", "xxx"],
    ]
    assert cells(f'{HEADING}"a,aa","b,",","') == [["a,aa", "b,", ","]]


def test_rule_7_a_quote_inside_is_preceded_by_another() -> None:
    assert part('"aaa","b""bb","ccc"', ",") == ["aaa", 'b"bb', "ccc"]
    assert part('"""",""', ",") == ['"', ""]
    with pytest.raises(ValueError, match="middle"):
        part('"aaa","b"bb","ccc"', ",")


def test_all_of_them_at_once_reach_the_ledger(tmp_path: Path) -> None:
    path = tmp_path / "rfc.csv"
    path.write_bytes(
        b'"at",lane,kind,note\r\n'
        b'2026-03-02T10:00:00Z,1,note,"belt, ""left"",\r\nslips"\r\n'
        b'"2026-03-02T10:00:01Z","1","note"," plain "'
    )
    ledger = open_ledger(sqlite_url(tmp_path / "mill.db"))
    try:
        taken = take_file(ledger, path, Sender("file", line="Line 1"))
        with ledger.reading() as connection:
            found = connection.exec_driver_sql("SELECT body FROM event ORDER BY seq").scalars()
            assert list(found) == [
                '{"note":"belt, \\"left\\",\\nslips"}',
                '{"note":"plain"}',  # around a note, spaces say nothing
            ]
    finally:
        ledger.close()
    assert (taken.kept, taken.refused) == (2, 0)
