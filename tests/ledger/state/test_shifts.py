"""Shifts: midnight, both clock changes, every moment in one shift."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.ledger.state.told import ZONE

from clew.ledger.events.moments import read_moment, us_of
from clew.ledger.state.shifts import shift_of

THREE = ("06:00", "14:00", "22:00")
HOUR_US = 3_600_000_000


def moment(text: str) -> int:
    return read_moment(text).at_us


@pytest.mark.parametrize(
    ("at", "name"),
    [
        ("2026-11-25T05:59:59Z", "2026-11-24 22:00"),
        ("2026-11-25T06:00:00Z", "2026-11-25 06:00"),
        ("2026-11-25T13:59:59.999999Z", "2026-11-25 06:00"),
        ("2026-11-25T23:30:00Z", "2026-11-25 22:00"),
        ("2026-11-26T00:30:00Z", "2026-11-25 22:00"),
        ("2026-07-01T05:30:00Z", "2026-07-01 06:00"),
    ],
)
def test_a_moment_lies_in_the_shift_that_the_mills_clock_says(at: str, name: str) -> None:
    shift = shift_of(moment(at), THREE, ZONE)
    assert shift.name == name
    assert shift.from_us <= moment(at) < shift.upto_us


@pytest.mark.parametrize(
    ("at", "hours"),
    [
        ("2026-03-28T23:30:00Z", 7),  # the clock goes forward at 01:00
        ("2026-10-24T23:30:00Z", 9),  # it goes back at 02:00
        ("2026-11-25T23:30:00Z", 8),
    ],
)
def test_the_night_of_a_clock_change_is_an_hour_shorter_or_longer(at: str, hours: int) -> None:
    shift = shift_of(moment(at), THREE, ZONE)
    assert shift.upto_us - shift.from_us == hours * HOUR_US


def test_a_start_that_the_clock_leaps_over_is_at_the_leap() -> None:
    before = shift_of(moment("2026-03-29T00:59:59Z"), ("01:30", "12:00"), ZONE)
    after = shift_of(moment("2026-03-29T01:00:00Z"), ("01:30", "12:00"), ZONE)
    assert before.upto_us == after.from_us == moment("2026-03-29T01:00:00Z")
    assert after.name == "2026-03-29 01:30"


def test_a_start_that_the_clock_shows_twice_is_the_first() -> None:
    shift = shift_of(moment("2026-10-25T01:10:00Z"), ("01:30", "12:00"), ZONE)
    assert shift.from_us == moment("2026-10-25T00:30:00Z")
    assert shift.upto_us == moment("2026-10-25T12:00:00Z")


def test_one_start_a_day_makes_a_shift_of_the_whole_day() -> None:
    shift = shift_of(moment("2026-11-25T03:00:00Z"), ("06:00",), ZONE)
    assert shift.name == "2026-11-24 06:00" and shift.upto_us - shift.from_us == 24 * HOUR_US


@given(
    at=st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1)),
    zone=st.sampled_from([ZONE, "Pacific/Apia", "Australia/Lord_Howe", "Asia/Kathmandu"]),
    starts=st.sets(
        st.tuples(st.integers(0, 23), st.integers(0, 59)), min_size=1, max_size=4
    ),
)  # fmt: skip
def test_shifts_follow_one_another_without_a_gap(
    at: datetime, zone: str, starts: set[tuple[int, int]]
) -> None:
    listed = sorted(f"{hour:02d}:{minute:02d}" for hour, minute in starts)
    at_us = us_of(at.replace(tzinfo=UTC))
    shift = shift_of(at_us, listed, zone)
    assert shift.from_us <= at_us < shift.upto_us
    assert shift_of(shift.from_us, listed, zone) == shift
    assert shift_of(shift.upto_us - 1, listed, zone) == shift
    assert shift_of(shift.upto_us, listed, zone).from_us == shift.upto_us
