"""People: added, changed, ended, each with an event; on both databases."""

from __future__ import annotations

import pytest
from sqlalchemy import delete, insert, inspect, select

from clew.faults import BadInput
from clew.ledger.people.people import (
    add_person,
    end_person,
    is_anybody,
    people_of,
    person_of,
    read_role,
    set_password,
    set_role,
)
from clew.ledger.people.sessions import begin_session, session_of
from clew.ledger.people.signing_in import sign_in
from clew.ledger.people.tables import API_TOKEN, PERSON, SESSION, SIGN_IN_TRY
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.migrate import migrate, step_of
from clew.ledger.store.reading import chain_records
from clew.ledger.store.schema import METADATA

GOOD, OTHER = "blue lamp by the river", "green door at the mill"


def said(ledger: Ledger) -> list[tuple[str, str, str]]:
    return [(r.author, r.source, r.fields()["note"]) for r in chain_records(ledger, "")]


def test_every_change_is_an_event_with_its_author(ledger: Ledger) -> None:
    assert not is_anybody(ledger)
    add_person(ledger, "  Anke   Marten ", "hand", GOOD, author="root")
    set_role(ledger, "anke marten", "lead", author="Jo")
    set_password(ledger, "ANKE MARTEN", OTHER, author="Jo")
    end_person(ledger, "Anke Marten", author="Jo")
    assert said(ledger) == [
        ("root", "people", "Anke Marten may sign in as hand"),
        ("Jo", "people", "Anke Marten, hand until now, may sign in as lead"),
        ("Jo", "people", "Anke Marten has another password"),
        ("Jo", "people", "Anke Marten may sign in no more"),
    ]
    assert not is_anybody(ledger)
    assert people_of(ledger) == ()
    (gone,) = people_of(ledger, ended=True)
    assert gone.ended_us is not None and gone.role == "lead"


def test_a_change_that_is_refused_leaves_no_event(ledger: Ledger) -> None:
    add_person(ledger, "Anke", "hand", GOOD, author="root")
    before = said(ledger)
    for refused in (
        lambda: add_person(ledger, "ANKE", "lead", OTHER, author="root"),
        lambda: add_person(ledger, "Bo", "lead", "short", author="root"),
        lambda: add_person(ledger, "", "lead", GOOD, author="root"),
        lambda: set_role(ledger, "Nobody", "lead", author="root"),
        lambda: set_password(ledger, "Anke", "1234567890", author="root"),
        lambda: end_person(ledger, "Nobody", author="root"),
        lambda: read_role("boss"),
    ):
        with pytest.raises(BadInput):
            refused()
    assert said(ledger) == before
    assert person_of(ledger, "Anke").role == "hand"


def test_no_password_is_in_the_ledger(ledger: Ledger) -> None:
    add_person(ledger, "Anke", "hand", GOOD, author="root")
    token = begin_session(ledger, "Anke")
    with ledger.reading() as connection:
        for table in METADATA.sorted_tables:
            for row in connection.execute(select(table)):
                assert GOOD not in repr(row)
                assert token not in repr(row)


def test_one_who_was_ended_comes_back_with_a_new_password(ledger: Ledger) -> None:
    add_person(ledger, "Anke", "hand", GOOD, author="root")
    end_person(ledger, "Anke", author="root")
    assert not sign_in(ledger, "Anke", GOOD, address="::1").token
    add_person(ledger, "Anke", "quality", OTHER, author="root")
    assert not sign_in(ledger, "Anke", GOOD, address="::1").token
    assert sign_in(ledger, "Anke", OTHER, address="::1").token


@pytest.mark.parametrize("change", ["role", "password", "end"])
def test_sessions_end_with_whatever_changes_what_one_may(ledger: Ledger, change: str) -> None:
    for name in ("Anke", "Bo"):
        add_person(ledger, name, "hand", GOOD, author="root")
    mine, also_mine, others = (begin_session(ledger, one) for one in ("Anke", "Anke", "Bo"))
    if change == "role":
        set_role(ledger, "Anke", "lead", author="root")
    elif change == "password":
        set_password(ledger, "Anke", OTHER, author="root")
    else:
        end_person(ledger, "Anke", author="root")
    assert session_of(ledger, mine) is None
    assert session_of(ledger, also_mine) is None
    assert session_of(ledger, others) is not None


def test_the_step_goes_down_and_up_with_people_in_it(ledger: Ledger) -> None:
    add_person(ledger, "Anke", "hand", GOOD, author="root")
    begin_session(ledger, "Anke")
    events = said(ledger)
    migrate(ledger, "0001")
    assert step_of(ledger) == "0001"
    names = {PERSON.name, SESSION.name, API_TOKEN.name, SIGN_IN_TRY.name}
    assert not names & set(inspect(ledger.engine).get_table_names())
    assert said(ledger) == events
    migrate(ledger)
    assert people_of(ledger) == ()
    add_person(ledger, "Anke", "hand", GOOD, author="root")
    assert sign_in(ledger, "Anke", GOOD, address="::1").token


def test_the_step_makes_what_the_tables_say(ledger: Ledger) -> None:
    found = inspect(ledger.engine)
    for table in (PERSON, SESSION, API_TOKEN, SIGN_IN_TRY):
        columns = {c["name"]: c for c in found.get_columns(table.name)}
        assert set(columns) == set(table.c.keys())
        for column in table.c:
            assert columns[column.name]["nullable"] == column.nullable, column
        keys = found.get_pk_constraint(table.name)["constrained_columns"]
        assert keys == [c.name for c in table.primary_key]
        indexed = {i["name"] for i in found.get_indexes(table.name)} - {None}
        assert {i.name for i in table.indexes} <= indexed


def test_a_session_of_nobody_cannot_be_kept(ledger: Ledger) -> None:
    from clew.ledger.store.trouble import CannotKeep

    with pytest.raises(CannotKeep), ledger.writing() as connection:
        connection.execute(
            insert(SESSION).values(token_hash=b"x", person="no", made_us=1, seen_us=1, ends_us=1)
        )
    with ledger.writing() as connection:
        connection.execute(delete(SESSION))
