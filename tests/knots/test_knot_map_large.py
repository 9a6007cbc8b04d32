"""Maps from a detector: long, marked up by other programs, or broken; each bad row by its line."""

from __future__ import annotations

import importlib
import json
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from clew.faults import BadInput

knots_cut = importlib.import_module("clew.cli.knots.cut")

FIXED = (
    "--ball-length", "200 m", "--limit", "2", "--min-piece", "5 m", "--price-first", "6",
    "--price-second", "3", "--join-length", "0.1 m",
)  # fmt: skip
KIND = "re-tie-by-hand-at-the-winder"
PLAIN = b"position,kind\n201 m,tie\n250 m,re-tie\n300.5 m,splice\n"

Write = Callable[[bytes | str], Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write a map and give its path."""

    def written(text: bytes | str) -> Path:
        path = tmp_path / "map.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return written


def run(path: Path, strand: str = "700 m") -> Result:
    command = [str(path), *FIXED, "--strand-length", strand, "--json"]
    return CliRunner().invoke(knots_cut.cut, command)


def answer(path: Path, strand: str = "700 m") -> dict[str, Any]:
    result = run(path, strand)
    assert result.exit_code == 0, (result.output, result.exception)
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def said(path: Path, strand: str = "700 m") -> list[tuple[int | None, str, str]]:
    """Line, column and what is wrong with it, of every fault."""
    bad = run(path, strand).exception
    assert isinstance(bad, BadInput), bad
    assert all(fault.file == str(path) for fault in bad.faults)
    return [(fault.line, fault.key, fault.what) for fault in bad.faults]


@pytest.mark.parametrize(
    "other",
    [
        b"\xef\xbb\xbf" + PLAIN,
        PLAIN.replace(b"\n", b"\r\n"),
        PLAIN.replace(b"\n", b"\r"),
        b"\xef\xbb\xbf" + PLAIN.replace(b"\n", b"\r\n"),
        PLAIN.rstrip(b"\n"),
        PLAIN.replace(b"\n", b"\n\n  \n,\n"),
        PLAIN.replace(b"position,kind", b" Position , KIND "),
        PLAIN.replace(b"201 m", b'"201 m"').replace(b"250 m", b"0.25km"),
        b"kind,position\ntie,201 m\nre-tie,250 m\nsplice,300.5 m\n",
    ],
    ids=["mark", "crlf", "cr", "mark+crlf", "no end", "empty lines", "case", "quotes", "turned"],
)
def test_marks_of_other_programs_change_nothing(write: Write, other: bytes) -> None:
    expected = answer(write(PLAIN))
    assert expected["joins"] == 3
    assert answer(write(other)) == expected


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("", [(None, "", "an empty file")]),
        ("\n \n\n", [(None, "", "an empty file")]),
        ("201 m,tie\n250 m,tie\n", [(1, "", "no heading")]),
        ("position\n201 m\n", [(1, "kind", "a column is missing")]),
        ("kind\ntie\n", [(1, "position", "a column is missing")]),
        ("\nposition,kind,gauge\n1 m,tie,3\n", [(2, "gauge", "an unknown column")]),
        ("position,kind,kind\n1 m,tie,tie\n", [(1, "kind", "a column twice")]),
        ("position,kind\n1 m;tie\n2 m,tie\n", [(2, "kind", "an empty cell")]),
        (
            "position,kind\n1 m\n,tie\n",
            [(2, "kind", "an empty cell"), (3, "position", "an empty cell")],
        ),
    ],
)  # fmt: skip
def test_a_heading_or_a_cell_that_is_not_there(
    write: Write, text: str, faults: list[tuple[int | None, str, str]]
) -> None:
    assert said(write(text)) == faults


def test_every_kind_of_bad_row_is_named_by_its_own_line(write: Write) -> None:
    """Empty lines count, and a cell over two lines is known by the last of them."""
    path = write(
        "position,kind\r\n201 m,tie\r\n\r\n-3 m,tie\r\nnan m,tie\r\n"
        '"12,5 m",tie\r\n12,5 m,tie\r\n12.5,tie\r\n\r\n13 kg,tie\r\ninf m,tie\r\n1e999 m,tie\r\n'
    )
    comma = "a comma in a number; write a point, and no mark between thousands"
    assert said(path) == [
        (4, "position", "a length cannot be negative"),
        (5, "position", "not a number"),
        (6, "position", comma),
        (7, "", "more cells than columns"),
        (8, "position", "a number without a unit"),
        (10, "position", "kg is a mass, not a length"),
        (11, "position", "not a number"),
        (12, "position", "too large a number"),
    ]
    assert "a point and not a comma in a number" in str(run(path).exception)


def test_places_that_cannot_be_are_named_after_sorting_too(write: Write) -> None:
    path = write("position,kind\n650 m,tie\n\n90 m,tie\n700.5 m,tie\n650 m,tie\n0.09 km,tie\n")
    assert said(path) == [
        (5, "position", "beyond the strand"),
        (7, "position", "the same place as line 4"),
        (6, "position", "the same place as line 2"),
    ]


def test_bytes_that_are_no_text_are_named_by_their_place(write: Write) -> None:
    bad = run(write(PLAIN + b"400 m,k\xf6nig\n")).exception
    assert isinstance(bad, BadInput)
    assert bad.faults[0].what == "not UTF-8 text"
    assert bad.faults[0].value == f"byte {len(PLAIN) + 7}"


def test_a_file_of_bad_rows_only_ends_after_two_hundred(write: Write) -> None:
    found = said(write("position,kind\n" + "12.5,tie\n" * 50_000))
    assert [line for line, _, _ in found] == list(range(2, 202))


def test_the_limit_in_rows_is_said_with_what_to_do(
    write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(knots_cut, "_MOST_JOINS", 3)
    assert answer(write(PLAIN))["joins"] == 3
    assert answer(write(PLAIN.rstrip(b"\n")))["joins"] == 3
    bad = run(write(PLAIN + b"400 m,tie\n")).exception
    assert isinstance(bad, BadInput)
    assert bad.faults[0].what == "too many rows"
    assert bad.faults[0].value == "4 rows"
    assert "at most 3 rows under the heading; part the file" in str(bad)


@pytest.mark.parametrize("row", [b"1 m,tie\n", b"\n", b"12\r"])
def test_ten_million_rows_are_refused_before_one_is_read(write: Write, row: bytes) -> None:
    """The memory is that of the file, not that of its rows."""
    path = write(b"position,kind\n" + row * 10_000_000)
    tracemalloc.start()
    try:
        bad = run(path).exception
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert isinstance(bad, BadInput)
    assert [fault.what for fault in bad.faults] == ["too many rows"]
    assert most < 1.2 * path.stat().st_size + 5e6


@pytest.mark.long
def test_a_map_of_many_joins_is_read_whole_and_stays_small(write: Write) -> None:
    """Beyond what a file of five megabytes holds; some three hundred bytes a join at most."""
    number = 110_000
    places = np.random.default_rng(5).permutation(number)
    path = write(
        "position,kind\n" + "".join(f"{place * 7}.250000000 m,{KIND}\n" for place in places)
    )
    assert path.stat().st_size > 5_000_000
    tracemalloc.start()
    try:
        knots = knots_cut._read_map(path, 7.0 * number)
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert knots.positions_nm.tolist()[:2] == [250_000_000, 7_250_000_000]
    assert len(knots.kinds) == knots.positions_nm.size == number
    assert "sorted" in knots.notes[0]
    assert most < 300 * number
