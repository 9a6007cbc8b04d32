"""Passwords that are cheap to hash, and a clock that a test moves."""

from __future__ import annotations

import pytest

from clew.ledger.people import passwords
from clew.ledger.people.passwords import Cost
from clew.ledger.store.ledger import Ledger

START_US = 1_790_000_000_000_000


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.now_us = START_US

    def __call__(self) -> int:
        return self.now_us

    def on(self, seconds: float) -> None:
        self.now_us += round(seconds * 1_000_000)


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(passwords, "COST", Cost(passes=1, memory_kib=8, lanes=1))


@pytest.fixture
def clock(ledger: Ledger) -> Clock:
    found = Clock()
    ledger.clock = found
    return found
