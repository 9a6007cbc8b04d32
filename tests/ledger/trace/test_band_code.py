"""A band's code: written to the minute by the mill's clock, read forgivingly."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.ledger.events.moments import read_moment
from clew.ledger.trace.band_code import read_band_code, spans_of, write_band_code

ZONE = "Europe/London"
AT = read_moment("2025-11-25T14:32:41Z").at_us


def test_it_is_written_as_the_mill_reads_the_clock() -> None:
    assert write_band_code("SL-207", "L1", 4, AT, ZONE) == "SL-207 L1 W4 251125-1432"
    assert write_band_code("SL-207", "L1", 4, AT, "Europe/Berlin") == "SL-207 L1 W4 251125-1532"
    assert write_band_code("SL 207", "Line 1", 4, AT, ZONE) == "SL_207 Line_1 W4 251125-1432"
    with pytest.raises(BadInput):
        write_band_code("", "L1", 4, AT, ZONE)


@pytest.mark.parametrize(
    "text",
    [
        "SL-207 L1 W4 251125-1432",
        "  sl-207   l1  w4 251125 1432 ",
        "SL-207, L1, winder 4, 2025-11-25 14:32",
        "SL-207/L1/W04/20251125T14.32",
        "SL-207 L1 W 4 25-11-25 14h32",
    ],
)
def test_it_is_read_however_it_was_typed(text: str) -> None:
    code = read_band_code(text, ZONE, lines=("L1", "L2"))
    assert (code.lot.upper(), code.line, code.winder) == ("SL-207", "L1", 4)
    assert code.spans_us == ((AT - 41_000_000, AT + 19_000_000 - 1),)


@given(
    lot=st.from_regex(r"[A-Z]{2}-[0-9]{1,4}( [A-Z])?", fullmatch=True),
    line=st.sampled_from(["L1", "Line 1", "Long line 12"]),
    winder=st.integers(1, 999),
    minute=st.integers(0, 20_000_000),
)
def test_what_is_written_is_read_back(lot: str, line: str, winder: int, minute: int) -> None:
    at_us = read_moment("2010-01-01T00:00:07Z").at_us + minute * 60_000_000
    found = read_band_code(
        write_band_code(lot, line, winder, at_us, ZONE),
        ZONE,
        lines=("L1", "Line 1", "Long line 12"),
    )
    assert (found.lot, found.line, found.winder) == (lot, line, winder)
    assert any(first <= at_us <= last for first, last in found.spans_us)


def test_an_hour_that_the_clock_showed_twice_is_both() -> None:
    code = read_band_code("SL-207 L1 W4 261025-0130", ZONE)
    first, second = code.spans_us
    assert second[0] - first[0] == 3_600_000_000
    assert spans_of("2026-10-25 01:30", ZONE) == code.spans_us


def test_an_hour_that_the_clock_leapt_over_is_said() -> None:
    with pytest.raises(BadInput, match="leaps over"):
        read_band_code("SL-207 L1 W4 260329-0130", ZONE)


@pytest.mark.parametrize(
    "text",
    ["", "SL-207", "SL-207 L1 W4", "L1 W4 251125-1432", "SL-207 L1 W4 251325-1432", "x" * 500],
)
def test_what_is_no_code_is_said_in_a_line(text: str) -> None:
    with pytest.raises(BadInput):
        read_band_code(text, ZONE)
