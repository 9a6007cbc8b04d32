"""Moments: UTC inside, the mill's clock outside, right on the days the clock is changed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.ledger.events.moments import (
    TWICE,
    local_of,
    read_moment,
    show_local,
    show_utc,
    us_of,
    utc_of,
)

ZONES = ("Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata", "UTC")
in_time = st.datetimes(datetime(2000, 1, 2), datetime(2199, 12, 30))


def us(text: str) -> int:
    """Worked out by whole days since 1970, without the program's own reading."""
    moment = datetime.fromisoformat(text.replace("Z", "+00:00"))
    day = moment.astimezone(UTC)
    days = day.toordinal() - datetime(1970, 1, 1).toordinal()
    return (
        (days * 86_400 + day.hour * 3_600 + day.minute * 60 + day.second) * 10**6
    ) + day.microsecond


@given(in_time, st.sampled_from(["Z", "+00:00", "+05:30", "-0330", "+10:30", "-12:00"]))
def test_with_an_offset_the_zone_does_not_matter(stands: datetime, offset: str) -> None:
    text = stands.isoformat() + offset
    expected = us(text)
    for zone in ("", *ZONES):
        moment = read_moment(text, zone)
        assert (moment.at_us, moment.flags) == (expected, ())


@given(in_time, st.sampled_from(ZONES))
def test_shown_and_read_again(stands: datetime, zone: str) -> None:
    at_us = us_of(stands.replace(tzinfo=UTC))
    assert read_moment(show_utc(at_us)).at_us == at_us
    assert us_of(utc_of(at_us)) == us_of(local_of(at_us, zone)) == at_us
    local = local_of(at_us, zone).replace(tzinfo=None)
    again = read_moment(local.isoformat(), zone)
    if again.flags:
        assert again.flags == (TWICE,)
        assert again.at_us in (at_us, at_us - 3_600_000_000, at_us - 1_800_000_000)
    else:
        assert again.at_us == at_us


@pytest.mark.parametrize(
    ("zone", "clock", "utc"),
    [
        # the last moment before, and the first after, each change of the clock
        ("Europe/London", "2026-03-29T00:59:59", "2026-03-29T00:59:59Z"),
        ("Europe/London", "2026-03-29T02:00:00", "2026-03-29T01:00:00Z"),
        ("Europe/London", "2026-10-25T00:59:59", "2026-10-24T23:59:59Z"),
        ("Europe/London", "2026-10-25T02:00:00", "2026-10-25T02:00:00Z"),
        ("America/New_York", "2026-03-08T01:59:59", "2026-03-08T06:59:59Z"),
        ("America/New_York", "2026-03-08T03:00:00", "2026-03-08T07:00:00Z"),
        ("America/New_York", "2026-11-01T00:59:59", "2026-11-01T04:59:59Z"),
        ("America/New_York", "2026-11-01T02:00:00", "2026-11-01T07:00:00Z"),
        # half an hour only, and in the other half of the year
        ("Australia/Lord_Howe", "2026-10-04T01:59:59", "2026-10-03T15:29:59Z"),
        ("Australia/Lord_Howe", "2026-10-04T02:30:00", "2026-10-03T15:30:00Z"),
        ("Australia/Lord_Howe", "2026-04-05T01:29:59", "2026-04-04T14:29:59Z"),
        ("Australia/Lord_Howe", "2026-04-05T02:00:00", "2026-04-04T15:30:00Z"),
    ],
)
def test_around_a_change_of_the_clock(zone: str, clock: str, utc: str) -> None:
    moment = read_moment(clock, zone)
    assert (show_utc(moment.at_us), moment.flags) == (utc, ())
    assert show_local(moment.at_us, zone) == clock.replace("T", " ")


@pytest.mark.parametrize(
    ("zone", "clock", "first", "later_min"),
    [
        ("Europe/London", "2026-10-25T01:00:00", "2026-10-25T00:00:00Z", 60),
        ("Europe/London", "2026-10-25T01:59:59.5", "2026-10-25T00:59:59.5Z", 60),
        ("America/New_York", "2026-11-01T01:30", "2026-11-01T05:30:00Z", 60),
        ("Australia/Lord_Howe", "2026-04-05T01:30:00", "2026-04-04T14:30:00Z", 30),
        ("Australia/Lord_Howe", "2026-04-05T01:59:59", "2026-04-04T14:59:59Z", 30),
    ],
)
def test_of_an_hour_shown_twice_the_first(
    zone: str, clock: str, first: str, later_min: int
) -> None:
    moment = read_moment(clock, zone)
    assert (show_utc(moment.at_us), moment.flags) == (first, (TWICE,))
    again_us = moment.at_us + later_min * 60_000_000
    assert show_local(again_us, zone) == show_local(moment.at_us, zone)
    offset = local_of(again_us, zone).isoformat()[-6:]
    assert read_moment(clock + offset, zone).at_us == again_us, "an offset says which of the two"


@pytest.mark.parametrize(
    ("zone", "clock"),
    [
        ("Europe/London", "2026-03-29T01:00:00"),
        ("Europe/London", "2026-03-29T01:59:59"),
        ("America/New_York", "2026-03-08T02:00"),
        ("America/New_York", "2026-03-08 02:59:59.999999"),
        ("Australia/Lord_Howe", "2026-10-04T02:00:00"),
        ("Australia/Lord_Howe", "2026-10-04T02:29:59"),
    ],
)
def test_a_time_the_clock_never_showed(zone: str, clock: str) -> None:
    with pytest.raises(BadInput, match="leaps over"):
        read_moment(clock, zone)


@given(st.sampled_from(ZONES[:3]), in_time)
def test_a_shift_of_the_clock_never_loses_or_makes_time(zone: str, stands: datetime) -> None:
    """Minute by minute through a day: UTC goes on evenly whatever the clock shows."""
    assume(stands.year < 2100)
    start = us_of(stands.replace(tzinfo=UTC))
    seen = [local_of(start + n * 60_000_000, zone) for n in range(0, 1440, 97)]
    assert [us_of(one) - start for one in seen] == [n * 60_000_000 for n in range(0, 1440, 97)]


@pytest.mark.parametrize(
    "said",
    [
        None, 0, 1.5, True, [], {}, "", "now", "2026", "2026-03-29", "12:00",
        "2026-03-29T25:00:00Z", "2026-03-29T12:60:00Z", "2026-02-30T12:00:00Z",
        "2026-13-01T00:00:00Z", "2026-03-29T12:00:00+25:00", "2026-03-29T12:00:00 Z",
        "2026-03-29T12:00:00z", "２０２６-03-29T12:00:00Z", "2026-03-29T12:00:00Z" + " " * 60,
        "2026-W13-7T12:00:00Z", "2026-088T12:00:00Z", "2026-03-29T12Z", "20260329T120000Z",
        "2026-03-29T12:00:00,5Z", "2026-03-29T12:00:60Z", "\0", "2026-03-29T12:00:00Z\n2",
        "1999-12-31T23:59:59Z", "2200-01-01T00:00:00Z", "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-14:00", "0000-01-01T00:00:00Z",
    ],
)  # fmt: skip
def test_what_is_no_moment(said: object) -> None:
    with pytest.raises(BadInput) as bad:
        read_moment(said, "Europe/London")
    (fault,) = bad.value.faults
    assert fault.what in ("no moment", "a moment out of all time")
    assert fault.expected


@given(st.text(max_size=40) | st.from_regex(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2})?[Z+-]?\d*"))
def test_any_text_is_a_moment_or_is_refused(said: str) -> None:
    for zone in ("", "Australia/Lord_Howe"):
        try:
            moment = read_moment(said, zone)
        except BadInput as bad:
            assert bad.faults[0].expected
        else:
            assert 2000 <= utc_of(moment.at_us).year < 2200


def test_without_a_zone_an_offset_must_be_there() -> None:
    with pytest.raises(BadInput, match="without an offset"):
        read_moment("2026-03-29T12:00:00")


@pytest.mark.parametrize(
    ("said", "us_past"),
    [("12:00", 0), ("12:00:00.1", 100_000), ("12:00:00.1234567", 123_456),
     ("12:00:00.000000001", 0), ("12:00:00.999999999", 999_999)],
)  # fmt: skip
def test_a_fraction_is_cut_to_microseconds(said: str, us_past: int) -> None:
    noon = us("2026-03-29T12:00:00Z")
    assert read_moment(f" 2026-03-29 {said}Z ").at_us == noon + us_past


def test_ends_of_time() -> None:
    assert show_utc(read_moment("2000-01-01T00:00:00Z").at_us) == "2000-01-01T00:00:00Z"
    assert show_utc(read_moment("2199-12-31T23:59:59.999999Z").at_us).endswith("59.999999Z")
    assert read_moment("2000-01-01T01:00:00+01:00").at_us == us("2000-01-01T00:00:00Z")
    with pytest.raises(BadInput):
        read_moment("2000-01-01T00:59:59+01:00")


@given(in_time, st.integers(-14 * 60, 14 * 60))
def test_any_offset(stands: datetime, minutes: int) -> None:
    aware = stands.replace(tzinfo=timezone(timedelta(minutes=minutes)))
    assume(2001 < stands.year < 2198)
    assert read_moment(aware.isoformat()).at_us == us(aware.isoformat())


def test_show_local_without_seconds() -> None:
    at_us = us("2026-07-01T05:40:30Z")
    assert show_local(at_us, "Europe/London", seconds=False) == "2026-07-01 06:40"
    assert local_of(at_us, "Europe/London").tzinfo == ZoneInfo("Europe/London")
