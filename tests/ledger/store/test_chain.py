"""The hash that ties a row to the row before."""

from __future__ import annotations

import hashlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.services.own_check import naive_hash

from clew.ledger.store.chain import FIRST_HASH, body_text, row_hash

cells = st.none() | st.integers(-(2**63), 2**63 - 1) | st.text()
rows = st.lists(cells, max_size=6).map(tuple)


def usable(row: tuple[object, ...]) -> bool:
    try:
        "".join(str(cell) for cell in row).encode()
    except UnicodeEncodeError:
        return False
    return True


@given(before=st.binary(min_size=32, max_size=32), row=rows.filter(usable))
def test_it_is_what_the_plainest_way_gives(before: bytes, row: tuple[object, ...]) -> None:
    assert row_hash(before, row) == naive_hash(before, row)


def test_one_row_worked_out_by_hand() -> None:
    """SHA-256 of 32 zero bytes and the row as a JSON array."""
    text = b'["north",1,null,"\xc3\xa9\\"\\n"]'
    assert (
        row_hash(FIRST_HASH, ("north", 1, None, 'é"\n'))
        == hashlib.sha256(bytes(32) + text).digest()
    )


@given(one=rows.filter(usable), other=rows.filter(usable))
def test_no_two_rows_have_one_hash(one: tuple[object, ...], other: tuple[object, ...]) -> None:
    assert (row_hash(FIRST_HASH, one) == row_hash(FIRST_HASH, other)) == (one == other)


def test_where_a_value_ends_is_part_of_it() -> None:
    assert row_hash(FIRST_HASH, ("ab", "c")) != row_hash(FIRST_HASH, ("a", "bc"))
    assert row_hash(FIRST_HASH, ("1",)) != row_hash(FIRST_HASH, (1,))
    assert row_hash(FIRST_HASH, ("",)) != row_hash(FIRST_HASH, (None,))
    assert row_hash(FIRST_HASH, ('a","b',)) != row_hash(FIRST_HASH, ("a", "b"))


@given(st.dictionaries(st.text(), st.floats(allow_nan=False, allow_infinity=False) | st.text()))
def test_a_body_has_one_text(body: dict[str, object]) -> None:
    turned = dict(reversed(list(body.items())))
    assert body_text(turned) == body_text(body)
    assert json.loads(body_text(body)) == body


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_a_body_holds_no_number_that_json_has_not(value: float) -> None:
    with pytest.raises(ValueError, match="JSON"):
        body_text({"mass_g": value})
