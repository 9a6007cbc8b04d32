"""Which shift is meant, whatever the clocks do; and the shifts that a plan reaches into."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from clew.faults import BadInput
from clew.mill import Mill, mill_from_text
from clew.mill.demo_mill import demo_text
from clew.plan.shift.which import read_shift


@pytest.fixture(scope="module")
def demo_mill() -> Mill:
    return mill_from_text(demo_text("mill.toml"))


@pytest.mark.parametrize(
    ("now", "on", "starts", "wanted"),
    [
        ("2026-11-26T09:00", "", "", ("2026-11-26T06:00", "2026-11-26T14:00")),
        ("2026-11-26T23:00", "", "", ("2026-11-26T22:00", "2026-11-27T06:00")),
        ("2026-11-26T03:00", "", "", ("2026-11-25T22:00", "2026-11-26T06:00")),
        ("2026-11-26T03:00", "", "14:00", ("2026-11-26T14:00", "2026-11-26T22:00")),
        ("2026-11-26T03:00", "2026-11-30", "", ("2026-11-30T06:00", "2026-11-30T14:00")),
        ("2026-11-26T03:00", "2026-10-24", "22:00", ("2026-10-24T22:00", "2026-10-25T06:00")),
    ],
)
def test_which_shift_is_meant(
    demo_mill: Mill, now: str, on: str, starts: str, wanted: tuple[str, str]
) -> None:
    at = datetime.fromisoformat(now).replace(tzinfo=UTC)
    found = read_shift(demo_mill, on, starts, now=at)
    assert tuple(f"{one:%Y-%m-%dT%H:%M}" for one in found) == wanted


@pytest.mark.parametrize(("on", "start"), [("yesterday", ""), ("", "05:00"), ("1999-01-01", "")])
def test_a_shift_that_is_none_is_refused(demo_mill: Mill, on: str, start: str) -> None:
    with pytest.raises(BadInput):
        read_shift(demo_mill, on, start, now=datetime(2026, 11, 26, tzinfo=UTC))
