"""Sessions: random, kept as a hash, ended by time, by hand and by a new one."""

from __future__ import annotations

import pytest
from sqlalchemy import select
from tests.ledger.people.conftest import Clock

from clew.ledger.people.people import add_person
from clew.ledger.people.sessions import (
    IDLE_US,
    LONGEST_US,
    begin_session,
    digest,
    end_session,
    form_proof,
    session_of,
)
from clew.ledger.people.tables import SESSION
from clew.ledger.store.ledger import Ledger

GOOD = "blue lamp by the river"


@pytest.fixture
def anke(ledger: Ledger, clock: Clock) -> None:
    add_person(ledger, "Anke", "hand", GOOD, author="root")


def test_only_the_hash_of_a_token_is_kept(ledger: Ledger, anke: None) -> None:
    token = begin_session(ledger, "anke")
    assert len(token) == 43  # 256 bits in base 64
    with ledger.reading() as connection:
        assert [bytes(h) for h in connection.scalars(select(SESSION.c.token_hash))] == [
            digest(token)
        ]
    found = session_of(ledger, token)
    assert found is not None and (found.name, found.role) == ("Anke", "hand")


@pytest.mark.parametrize("token", ["", "x", "x" * 43, "x" * 100_000, "\udcff", "ä" * 43])
def test_what_is_no_token_opens_nothing(ledger: Ledger, anke: None, token: str) -> None:
    begin_session(ledger, "Anke")
    assert session_of(ledger, token) is None


def test_a_session_ends_when_nothing_is_asked(ledger: Ledger, anke: None, clock: Clock) -> None:
    token = begin_session(ledger, "Anke")
    clock.on(IDLE_US / 1e6 - 1)
    assert session_of(ledger, token) is not None
    clock.on(IDLE_US / 1e6 - 1)
    assert session_of(ledger, token) is not None  # it was seen in between
    clock.on(IDLE_US / 1e6)
    assert session_of(ledger, token) is None


def test_a_session_ends_whatever_is_asked(ledger: Ledger, anke: None, clock: Clock) -> None:
    token = begin_session(ledger, "Anke")
    for _ in range(LONGEST_US // IDLE_US * 2 - 1):
        clock.on(IDLE_US / 2e6)
        assert session_of(ledger, token) is not None
    clock.on(IDLE_US / 2e6)
    assert session_of(ledger, token) is None


def test_signing_in_again_ends_the_session_before(ledger: Ledger, anke: None) -> None:
    before = begin_session(ledger, "Anke")
    elsewhere = begin_session(ledger, "Anke")
    now = begin_session(ledger, "Anke", instead_of=before)
    assert len({before, elsewhere, now}) == 3
    assert session_of(ledger, before) is None
    assert session_of(ledger, elsewhere) is not None
    end_session(ledger, now)
    assert session_of(ledger, now) is None


def test_what_has_expired_is_cleared_away(ledger: Ledger, anke: None, clock: Clock) -> None:
    begin_session(ledger, "Anke")
    clock.on(LONGEST_US / 1e6)
    begin_session(ledger, "Anke")
    with ledger.reading() as connection:
        assert len(connection.execute(select(SESSION)).all()) == 1


def test_the_proof_of_a_form_is_of_its_session(ledger: Ledger, anke: None) -> None:
    first, second = begin_session(ledger, "Anke"), begin_session(ledger, "Anke")
    assert form_proof(first) == form_proof(first) != form_proof(second)
    assert first not in form_proof(first)
