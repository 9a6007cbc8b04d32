"""When a paper was made: by the mill's clock, to the second, with the offset of that moment."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from clew.papers.printing import made_now, template_of


@pytest.mark.parametrize(
    ("at", "hours", "shown"),
    [
        (datetime(2026, 6, 1, 5, 40, 0, 999, tzinfo=UTC), 1, "2026-06-01 06:40:00"),
        (datetime(2026, 10, 25, 0, 30, tzinfo=UTC), 1, "2026-10-25 01:30:00"),
        (datetime(2026, 10, 25, 1, 30, tzinfo=UTC), 0, "2026-10-25 01:30:00"),
    ],
)
def test_the_mills_clock_with_its_offset(at: datetime, hours: int, shown: str) -> None:
    made = made_now("Europe/London", at)
    assert made.utcoffset() == timedelta(hours=hours)
    assert f"{made:%Y-%m-%d %H:%M:%S}" == shown
    assert made.microsecond == 0
    assert made == at.replace(microsecond=0)


def test_now_is_now() -> None:
    assert abs(made_now("America/New_York") - datetime.now(UTC)) < timedelta(minutes=1)


@pytest.mark.parametrize(
    "name", ["run_card", "certificate", "shift_report", "recall_list", "tally_sheet"]
)
def test_every_paper_has_its_template(name: str) -> None:
    assert b"sys.inputs.data" in template_of(name)
