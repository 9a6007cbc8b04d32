"""Fast play catches up with the clock and never runs ahead of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from clew.cli.play.pace import Pace

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def test_at_the_clocks_own_speed_the_shift_begins_now() -> None:
    pace = Pace()
    assert pace.start(NOW) == NOW
    assert pace.due_s(90.0) == 90.0
    assert pace.due_s(-300.0) < 0.0


@pytest.mark.parametrize("speed", [1.0, 2.0, 60.0, 1e5])
def test_no_message_is_ahead_of_the_clock_and_in_the_end_none_is_behind(speed: float) -> None:
    pace = Pace(speed, 7200.0)
    start = pace.start(NOW)
    for at_s in (0.0, 1.0, 3600.0, 7199.0, 7200.0, 7201.0, 20_000.0):
        happened = start + timedelta(seconds=at_s)
        sent = NOW + timedelta(seconds=pace.due_s(at_s))
        behind_s = (sent - happened).total_seconds()
        assert behind_s >= -1e-3
        if at_s >= 7200.0:
            assert behind_s < 1e-3


def test_two_hours_at_60_take_two_minutes() -> None:
    pace = Pace(60.0, 7200.0)
    assert pace.due_s(7200.0) == pytest.approx(120.0)
    assert pace.due_s(7260.0) == pytest.approx(180.0)


def test_late_messages_of_a_play_that_ends_are_sent_as_fast() -> None:
    assert Pace(60.0, 600.0, goes_on=False).due_s(1200.0) == pytest.approx(20.0)


@pytest.mark.parametrize(("speed", "fast_s"), [(0.5, 0.0), (60.0, -1.0)])
def test_an_impossible_pace_is_refused(speed: float, fast_s: float) -> None:
    with pytest.raises(ValueError, match="speed"):
        Pace(speed, fast_s)
