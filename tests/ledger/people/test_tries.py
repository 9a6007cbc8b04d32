"""Guessing gets slower, by name and by address, and stays so over restarts and processes."""

from __future__ import annotations

import threading

import pytest
from sqlalchemy import func, select
from tests.ledger.people.conftest import Clock

from clew.ledger.people import signing_in
from clew.ledger.people.passwords import Verdict
from clew.ledger.people.people import add_person, set_password
from clew.ledger.people.signing_in import is_password_of, sign_in
from clew.ledger.people.tables import PERSON, SESSION, SIGN_IN_TRY
from clew.ledger.people.tries import (
    ADDRESS,
    FORGET_US,
    NAME,
    PAIR,
    Patience,
    begin_try,
    network_of,
)
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.opening import open_ledger

GOOD, WRONG = "blue lamp by the river", "red lamp by the river"


@pytest.fixture
def anke(ledger: Ledger, clock: Clock) -> None:
    add_person(ledger, "Anke", "hand", GOOD, author="root")


def test_the_wait_doubles_up_to_its_most() -> None:
    patience = Patience(free=2, first_s=3, most_s=20)
    waits = [patience.wait_us(failed) / 1e6 for failed in range(9)]
    assert waits == [0, 0, 0, 3, 6, 12, 20, 20, 20]
    assert patience.wait_us(10**9) == 20_000_000


def test_guessing_one_name_at_one_address_waits(ledger: Ledger, anke: None, clock: Clock) -> None:
    for _ in range(PAIR.free + 1):
        assert sign_in(ledger, "Anke", WRONG, address="10.0.0.5").wait_s == 0
    for wait_s in (2, 4, 8):
        refused = sign_in(ledger, "ANKE", GOOD, address="10.0.0.5")
        assert (refused.token, refused.wait_s) == ("", wait_s)  # even the right one waits
        clock.on(wait_s)
        assert sign_in(ledger, "anke ", WRONG, address="10.0.0.5").wait_s == 0
    clock.on(PAIR.most_s)
    assert sign_in(ledger, "Anke", GOOD, address="10.0.0.5").name == "Anke"
    assert sign_in(ledger, "Anke", WRONG, address="10.0.0.5").wait_s == 0  # counted afresh


def test_guessing_many_names_from_one_address_waits(
    ledger: Ledger, anke: None, clock: Clock
) -> None:
    waits = [
        sign_in(ledger, f"name {n}", WRONG, address="10.0.0.5").wait_s
        for n in range(ADDRESS.free + 5)
    ]
    assert waits == [0] * (ADDRESS.free + 1) + [2] * 4
    assert sign_in(ledger, "Anke", GOOD, address="10.0.0.5").wait_s == 2
    assert sign_in(ledger, "Anke", GOOD, address="10.0.0.6").token


def test_a_right_password_does_not_wash_an_address_clean(
    ledger: Ledger, anke: None, clock: Clock
) -> None:
    for n in range(ADDRESS.free):
        sign_in(ledger, f"name {n}", WRONG, address="10.0.0.5")
        assert sign_in(ledger, "Anke", GOOD, address="10.0.0.5").token
    sign_in(ledger, "one more", WRONG, address="10.0.0.5")
    assert sign_in(ledger, "and one", WRONG, address="10.0.0.5").wait_s == 2


def test_a_stranger_elsewhere_keeps_nobody_out(ledger: Ledger, anke: None, clock: Clock) -> None:
    assert sign_in(ledger, "Anke", GOOD, address="10.0.0.5").token
    for n in range(NAME.free + 3):
        sign_in(ledger, "Anke", WRONG, address=f"203.0.113.{n}")
    assert sign_in(ledger, "Anke", WRONG, address="203.0.113.200").wait_s == 2
    assert sign_in(ledger, "Anke", GOOD, address="10.0.0.5").token
    clock.on(NAME.most_s)
    assert sign_in(ledger, "Anke", GOOD, address="10.0.0.99").token


def test_a_name_that_there_is_not_is_refused_just_so(
    ledger: Ledger, anke: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[bool] = []

    def verify(password: str, kept: str | None) -> Verdict:
        asked.append(kept is None)
        return Verdict(right=False, stale=False)

    monkeypatch.setattr(signing_in, "verify_password", verify)
    for name in ("Anke", "Nobody"):
        answers = [sign_in(ledger, name, WRONG, address="10.0.0.5") for _ in range(PAIR.free + 2)]
        assert [one.wait_s for one in answers] == [0] * (PAIR.free + 1) + [2]
        assert not any(one.token or one.name for one in answers)
    assert asked == [False] * (PAIR.free + 1) + [True] * (PAIR.free + 1)


def test_who_keeps_knocking_costs_no_write_and_leaves_no_row(
    ledger: Ledger, anke: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    for n in range(ADDRESS.free + 1):
        sign_in(ledger, f"name {n}", WRONG, address="10.0.0.5")

    def rows() -> int:
        with ledger.reading() as connection:
            return int(connection.scalar(select(func.count()).select_from(SIGN_IN_TRY)) or 0)

    def no_write() -> None:
        raise AssertionError("written to")

    before = rows()
    monkeypatch.setattr(ledger, "writing", no_write)
    for n in range(5):
        assert begin_try(ledger, f"new name {n}", "10.0.0.5").wait_s == 2
    assert rows() == before


def test_a_password_that_is_changed_while_the_old_one_is_looked_at_lets_nobody_in(
    ledger: Ledger, anke: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slow(password: str, kept: str | None) -> Verdict:
        set_password(ledger, "Anke", "green door at the mill", author="root")
        return Verdict(right=True, stale=False)

    monkeypatch.setattr(signing_in, "verify_password", slow)
    assert not sign_in(ledger, "Anke", GOOD, address="10.0.0.5").token
    with ledger.reading() as connection:
        assert connection.scalar(select(func.count()).select_from(SESSION)) == 0


def test_counts_outlive_the_program(
    ledger: Ledger, ledger_url: str, anke: None, clock: Clock
) -> None:
    for _ in range(PAIR.free + 1):
        sign_in(ledger, "Anke", WRONG, address="10.0.0.5")
    again = open_ledger(ledger_url, clock=clock)
    try:
        assert sign_in(again, "Anke", GOOD, address="10.0.0.5").wait_s == 2
    finally:
        again.close()


def test_many_tries_at_once_are_no_more_than_one_after_another(
    ledger: Ledger, ledger_url: str, anke: None, clock: Clock
) -> None:
    free: list[bool] = []

    def guess() -> None:
        own = open_ledger(ledger_url, clock=clock)
        for _ in range(5):
            free.append(begin_try(own, "Anke", "10.0.0.5").wait_s == 0)
        own.close()

    threads = [threading.Thread(target=guess) for _ in range(4)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(free) == 20
    assert sum(free) == PAIR.free + 1


def test_a_count_is_forgotten_after_a_day(ledger: Ledger, anke: None, clock: Clock) -> None:
    for _ in range(PAIR.free + 1):
        sign_in(ledger, "Anke", WRONG, address="10.0.0.5")
    clock.on(FORGET_US / 1e6 + 1)
    for _ in range(2):
        sign_in(ledger, "Bo", WRONG, address="10.0.0.5")
    assert sign_in(ledger, "Anke", GOOD, address="10.0.0.7").token
    with ledger.reading() as connection:
        left = connection.scalars(select(SIGN_IN_TRY.c.key)).all()
    assert "pair anke 10.0.0.5" not in left
    assert "known anke 10.0.0.7" in left
    with ledger.reading() as connection:
        assert connection.scalar(select(func.count()).select_from(SIGN_IN_TRY)) == len(left) < 6


def test_a_stale_hash_is_made_anew_at_signing_in(
    ledger: Ledger, anke: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    from clew.ledger.people import passwords

    def kept() -> str:
        with ledger.reading() as connection:
            return str(connection.scalar(select(PERSON.c.password_hash)))

    before = kept()
    assert sign_in(ledger, "Anke", GOOD, address="::1").token
    assert kept() == before
    monkeypatch.setattr(passwords, "COST", passwords.Cost(passes=2, memory_kib=16, lanes=1))
    assert not sign_in(ledger, "Anke", WRONG, address="::1").token
    assert kept() == before
    assert sign_in(ledger, "Anke", GOOD, address="::1").token
    assert "m=16,t=2,p=1" in kept()
    assert sign_in(ledger, "Anke", GOOD, address="::1").token


def test_the_password_asked_once_more_is_counted_too(ledger: Ledger, anke: None) -> None:
    assert is_password_of(ledger, "Anke", GOOD, address="::1").name == "Anke"
    for _ in range(PAIR.free + 1):
        assert is_password_of(ledger, "Anke", WRONG, address="::1").name == ""
    assert is_password_of(ledger, "Anke", GOOD, address="::1").wait_s == 2


@pytest.mark.parametrize(
    ("address", "counts_as"),
    [
        ("10.0.0.5", "10.0.0.5"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("2001:db8:1:2::9", "2001:db8:1:2::/64"),
        ("fe80::1%eth0", "fe80::/64"),
        ("::ffff:10.0.0.5", "10.0.0.5"),
        ("testclient", "testclient"),
        ("", "unknown"),
    ],
)
def test_what_counts_as_one_address(address: str, counts_as: str) -> None:
    assert network_of(address) == counts_as


@pytest.mark.parametrize(
    "name", ["An\0ke", "\0", "", "\ud800", "x" * 5000, "a\x07b", "%' OR 1=1 --"]
)
def test_whatever_is_typed_as_a_name_is_refused_plainly(
    ledger: Ledger, anke: None, name: str
) -> None:
    refused = sign_in(ledger, name, WRONG, address="10.0.0.5")
    assert (refused.token, refused.name, refused.wait_s) == ("", "", 0)
    assert ledger.trouble is None
