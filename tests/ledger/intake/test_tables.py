"""Tables with commas, semicolons or tabs, and decimal commas where commas part nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.ledger.intake.tables import parted_by, read_rows, stream_rows

COLUMNS = {"position": True, "kind": True}


def rows(folder: Path, text: str) -> list[dict[str, str]]:
    file = folder / "a.csv"
    file.write_text(text, encoding="utf-8")
    return [row for _, row in read_rows(file, COLUMNS)]


@pytest.mark.parametrize("mark", [";", "\t"])
def test_a_decimal_comma_is_a_point_where_commas_part_nothing(tmp_path: Path, mark: str) -> None:
    text = f"position{mark}kind\n201,5 m{mark}tie\n-0,25{mark}a,b\n1.5 m{mark}3,5 and 4,5\n"
    assert rows(tmp_path, text) == [
        {"position": "201.5 m", "kind": "tie"},
        {"position": "-0.25", "kind": "a,b"},
        {"position": "1.5 m", "kind": "3,5 and 4,5"},
    ]


def test_a_quoted_comma_stays_where_commas_part(tmp_path: Path) -> None:
    assert rows(tmp_path, 'position,kind\n"201,5 m",tie\n') == [
        {"position": "201,5 m", "kind": "tie"}
    ]


@given(st.lists(st.decimals(-999, 999, places=3), min_size=1, max_size=8))
def test_both_ways_of_writing_read_the_same(values: list[object]) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        plain = "".join(f"{one} m,tie\n" for one in values)
        comma = "".join(f"{str(one).replace('.', ',')} m;tie\n" for one in values)
        first = rows(Path(folder), "position,kind\n" + plain)
        assert first == rows(Path(folder), "position;kind\n" + comma)


@pytest.mark.parametrize(
    ("heading", "mark"), [("a,b;c", ","), ("a;b", ";"), ("a\tb", "\t"), ("", ",")]
)
def test_what_parts_the_columns_stands_in_the_heading(heading: str, mark: str) -> None:
    assert parted_by(heading) == mark


def test_a_row_parted_otherwise_than_its_heading_is_named(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as bad:
        rows(tmp_path, "position;kind\n1 m,tie\n")
    assert [(fault.line, fault.key) for fault in bad.value.faults] == [(2, "kind")]


def test_streaming_reads_as_whole(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text("position;kind\n1,5 m;tie\n", encoding="utf-8")
    assert list(stream_rows(file, COLUMNS, [])) == [(2, ["1.5 m", "tie"])]
