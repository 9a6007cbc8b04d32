"""A file of JSON lines: one object a line, each bad one with its reason."""

from __future__ import annotations

import io

import pytest

from clew.ledger.ingest.events_jsonl import JsonLinesFile
from clew.ledger.ingest.rows import FoundRow


def read(data: bytes, *, growing: bool = False) -> list[FoundRow]:
    return list(JsonLinesFile(io.BytesIO(data)).rows(0, 1, growing=growing))


def test_one_object_a_line() -> None:
    rows = read(b'\xef\xbb\xbf{"kind": "doff"}\r\n\n{"kind": "tie"}')
    assert [(row.line, row.found, row.ended) for row in rows] == [
        (1, {"kind": "doff"}, True),
        (3, {"kind": "tie"}, False),
    ]


def test_a_last_line_that_is_being_written_is_left() -> None:
    assert [row.line for row in read(b'{"a": 1}\n{"b": 2}', growing=True)] == [1]


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (b"[1]", "no JSON object"),
        (b'"text"', "no JSON object"),
        (b"{", "no JSON object"),
        (b'{"a": 1} x', "no JSON object"),
        (b'{"a": NaN}', "NaN is no number"),
        (b'{"a": 1, "a": 2}', "'a' is there twice"),
        (b'{"a": "\xff"}', "not UTF-8"),
        (b'{"a":' * 100_000, "too deep"),
        (b'{"a": ' + b"9" * 5000 + b"}", "4300 digits"),
        (b'{"a": "' + b"x" * 1_100_000 + b'"}', "more than 1048576 bytes"),
    ],
)
def test_a_bad_line_says_why_and_the_next_is_read(line: bytes, why: str) -> None:
    rows = read(line + b'\n{"kind": "doff"}\n')
    assert len(rows) == 2
    assert why in rows[0].why
    assert rows[0].found is None
    assert rows[1].found == {"kind": "doff"}


def test_what_a_quarantine_file_added_is_taken_off() -> None:
    row = read(b'{"quarantine_line": 7, "quarantine_reason": "bad", "kind": "doff"}\n')[0]
    assert row.found == {"kind": "doff"}
    assert (row.line, row.key_line) == (1, 7)
