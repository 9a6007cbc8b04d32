"""A line asked again and again while machines tell hundreds of readings a second."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace

import pytest
from tests.ledger.state.told import at_us, demo_messages, say, shift_messages

from clew.ledger.events.message import Message
from clew.ledger.state import live as live_room
from clew.ledger.state.answer import LiveAnswer
from clew.ledger.state.live import LiveLine, live_answer
from clew.ledger.state.ties import TiesNow, ties_now
from clew.ledger.store.ledger import Ledger
from clew.mill.model import Mill

NOW = at_us("06:02:00")
LANE = 2


class Counted:
    """How often ties were followed, by a clock that goes on when it is told to."""

    def __init__(self) -> None:
        self.times, self.at_s, self.takes_s = 0, 100.0, 0.0

    def ties(self, *terms: object) -> TiesNow:
        self.times += 1
        self.at_s += self.takes_s
        return ties_now(*terms)  # type: ignore[arg-type]


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> Counted:
    made = Counted()
    monkeypatch.setattr(live_room, "ties_now", made.ties)
    monkeypatch.setattr(live_room, "time", SimpleNamespace(monotonic=lambda: made.at_s))
    return made


@pytest.fixture
def told(ledger: Ledger) -> Ledger:
    """A ledger with half an hour in it, whose clock stands still."""
    ledger.clock = lambda: NOW
    ledger.append([*shift_messages(), *demo_messages()])
    return ledger


def reading(number: int) -> Message:
    return say("turns", "06:01:58", lane=LANE, counts=100.0 + number, key=f"r-{number:05}")


def counts_of(found: LiveAnswer) -> float | None:
    return next(one.counts for one in found.lanes if one.lane == LANE)


def test_a_reading_shows_at_once_and_ties_are_followed_now_and_then(
    told: Ledger, demo_mill: Mill, counted: Counted
) -> None:
    line = LiveLine(told, demo_mill, ties_every_s=1.0)
    line.answer()
    for number in range(5):
        told.append([reading(number)])
        assert counts_of(line.answer()) == 100.0 + number
    assert counted.times == 1
    counted.at_s += 1.01
    assert line.answer() == live_answer(told, demo_mill, now_us=NOW)
    assert counted.times == 2 + 1  # the second is of the one that asks once


def test_what_a_hand_tells_has_the_ties_followed_at_once(
    told: Ledger, demo_mill: Mill, counted: Counted
) -> None:
    line = LiveLine(told, demo_mill, ties_every_s=1.0)
    before = line.answer().ties
    told.append([say("tie", "06:01:50", lane=LANE, cone="C-125", key="new-tie")])
    after = line.answer()
    assert counted.times == 2
    assert len(after.ties) == len(before) + 1
    assert after == live_answer(told, demo_mill, now_us=NOW)


def test_following_ties_never_takes_more_than_its_share(
    told: Ledger, demo_mill: Mill, counted: Counted
) -> None:
    line, counted.takes_s = LiveLine(told, demo_mill, ties_every_s=1.0), 0.5
    line.answer()
    for number, (wait_s, times) in enumerate([(1.5, 1), (2.0, 1), (1.6, 2), (4.9, 2), (0.2, 3)]):
        counted.at_s += wait_s
        told.append([reading(number)])
        line.answer()
        assert counted.times == times, number


@pytest.mark.parametrize("to_us", [NOW - 600_000_000, NOW + 61_000_000])
def test_another_moment_has_other_ties(
    told: Ledger, demo_mill: Mill, counted: Counted, to_us: int
) -> None:
    line = LiveLine(told, demo_mill, ties_every_s=1000.0)
    line.answer()
    found = line.answer(to_us)
    assert counted.times == 2
    told.clock = lambda: to_us
    assert replace(found, alarms=()) == replace(
        LiveLine(told, demo_mill).answer(to_us), alarms=(), words=found.words
    )


def test_who_asks_once_is_told_of_that_moment(
    told: Ledger, demo_mill: Mill, counted: Counted
) -> None:
    line = LiveLine(told, demo_mill)
    for _ in range(3):
        line.answer()
    assert counted.times == 3


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> Callable[[int, int], None]:
    def made(records: int, stream: int) -> None:
        monkeypatch.setattr(live_room, "MOST_RECORDS", records)
        monkeypatch.setattr(live_room, "MOST_STREAM", stream)

    return made


def test_a_long_record_is_not_read_anew_at_every_question(
    told: Ledger, demo_mill: Mill, few: Callable[[int, int], None]
) -> None:
    few(10, 10_000)
    line = LiveLine(told, demo_mill)
    first = line.catch_up()
    told.append([reading(number) for number in range(20)])
    assert line.catch_up() is first
    many = len(first.events)
    told.append([reading(number) for number in range(20, 40 + many)])
    line.catch_up()
    assert line.catch_up() is not first
    assert counts_of(line.answer()) == 139.0 + many


def test_of_many_readings_the_latest_are_read(
    told: Ledger, demo_mill: Mill, few: Callable[[int, int], None]
) -> None:
    whole = live_answer(told, demo_mill)
    few(120_000, 60)
    found = live_answer(told, demo_mill)
    assert found.head_seq == whole.head_seq
    assert [one.counts for one in found.lanes] == [one.counts for one in whole.lanes]
    assert (found.doffed, found.pulled) == (whole.doffed, whole.pulled)
    assert [one.name for one in found.alarms] == [one.name for one in whole.alarms]
