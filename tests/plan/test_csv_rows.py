"""Tables from an office: commas, semicolons or tabs, and the line every row begins in."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.plan.csv_rows import heading_faults, rows_of

CELL = st.text(st.characters(codec="utf-8", exclude_characters="\0\r"), max_size=8)


@given(
    st.lists(st.lists(CELL, min_size=3, max_size=3), min_size=1, max_size=6),
    st.sampled_from([",", ";", "\t"]),
    st.booleans(),
)
def test_what_was_written_is_read_with_its_line(
    rows: list[list[str]], mark: str, begun: bool
) -> None:
    head = ["order", "ball", "due"]
    out = io.StringIO()
    csv.writer(out, delimiter=mark, lineterminator="\n", quoting=csv.QUOTE_ALL).writerows(
        [head, *rows]
    )
    first = "sep=;\n" if begun else ""
    found = list(rows_of(first + out.getvalue()))
    assert [cells for _, cells in found] == [
        head, *(row for row in rows if any(cell.strip() for cell in row))
    ]  # fmt: skip
    assert found[0][0] == 1 + begun
    assert [line for line, _ in found] == sorted({line for line, _ in found})


def test_a_quotation_mark_that_is_not_closed_names_its_line() -> None:
    with pytest.raises(BadInput) as bad:
        list(rows_of('a,b\n1,2\n"3,4\n', "list.csv"))
    assert (bad.value.faults[0].file, bad.value.faults[0].line) == ("list.csv", 3)


def test_a_heading_has_what_it_must_have_nothing_else_and_each_once() -> None:
    faults = heading_faults(["order", "bal", "order"], ["order", "ball"], ["order", "ball"], "f", 1)
    assert [(one.what, one.key) for one in faults] == [
        ("a column is missing", "ball"), ("an unknown column", "bal"), ("a column twice", "order")
    ]  # fmt: skip
    assert faults[1].expected == "ball, perhaps"
