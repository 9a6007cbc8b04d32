"""People who may sign in: added, given a role or a password, ended; each change is an event."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import get_args

from sqlalchemy import delete, func, insert, select, update

from clew.faults import BadInput, Fault
from clew.ledger.people.names import key_of, read_name
from clew.ledger.people.notes import Cursor, change_and_note
from clew.ledger.people.passwords import check_password, hash_password
from clew.ledger.people.roles import Role
from clew.ledger.people.tables import PERSON, SESSION
from clew.ledger.store.ledger import Ledger


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who may sign in, or might once.

    Attributes
    ----------
    name : str
        As it was first written.
    role : str
        hand, lead, quality or office.
    made_us, changed_us : int
        When they were added, and when role or password changed last [us].
    ended_us : int or None
        Since when they may no more [us].
    """

    name: str
    role: Role
    made_us: int
    changed_us: int
    ended_us: int | None


def read_role(said: str) -> Role:
    """Read a role; raises `BadInput` for any other word."""
    for role in get_args(Role):
        if said == role:
            found: Role = role
            return found
    raise BadInput(Fault("no such role", ", ".join(get_args(Role)), key="role", value=repr(said)))


def add_person(ledger: Ledger, name: str, role: Role, password: str, *, author: str) -> Person:
    """Add somebody; one who was ended comes back.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name : str
        Their name; upper and lower case make no difference at signing in.
    role : str
        What they may do.
    password : str
        Their password.
    author : str
        Who adds them.

    Returns
    -------
    Person
        As they stand now.

    Raises
    ------
    BadInput
        When there is somebody of that name, or the password is refused.
    CannotKeep
        When the database cannot write.
    """
    name = read_name(name)
    check_password(password, name)
    hashed, key = hash_password(password), key_of(name)

    def change(cursor: Cursor, at_us: int) -> None:
        there = cursor.row(select(PERSON.c.ended_us).where(PERSON.c.key == key))
        said = {"name": name, "role": role, "password_hash": hashed, "changed_us": at_us}
        if there is None:
            cursor.run(insert(PERSON).values(key=key, made_us=at_us, **said))
        elif there[0] is None:
            raise BadInput(
                Fault(
                    "somebody of that name is there already",
                    "another name",
                    key="name",
                    value=repr(name),
                )
            )
        else:
            cursor.run(update(PERSON).where(PERSON.c.key == key).values(ended_us=None, **said))

    change_and_note(ledger, f"{name} may sign in as {role}", author, change)
    return person_of(ledger, name)


def set_role(ledger: Ledger, name: str, role: Role, *, author: str) -> Person:
    """Give somebody another role; their sessions end.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name : str
        Whose.
    role : str
        What they may do from now on.
    author : str
        Who changes it.

    Returns
    -------
    Person
        As they stand now.

    Raises
    ------
    BadInput
        When there is nobody of that name.
    CannotKeep
        When the database cannot write.
    """
    found = person_of(ledger, name)
    words = f"{found.name}, {found.role} until now, may sign in as {role}"
    change_and_note(ledger, words, author, _altered(found.name, role=role))
    return person_of(ledger, name)


def set_password(ledger: Ledger, name: str, password: str, *, author: str) -> Person:
    """Give somebody another password; their sessions end.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name : str
        Whose.
    password : str
        The new one.
    author : str
        Who changes it.

    Returns
    -------
    Person
        As they stand now.

    Raises
    ------
    BadInput
        When there is nobody of that name, or the password is refused.
    CannotKeep
        When the database cannot write.
    """
    found = person_of(ledger, name)
    check_password(password, found.name)
    change = _altered(found.name, password_hash=hash_password(password))
    change_and_note(ledger, f"{found.name} has another password", author, change)
    return person_of(ledger, name)


def end_person(ledger: Ledger, name: str, *, author: str) -> Person:
    """Let somebody sign in no more; their sessions end, what they entered stays theirs.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name : str
        Who.
    author : str
        Who ends it.

    Returns
    -------
    Person
        As they stand now.

    Raises
    ------
    BadInput
        When there is nobody of that name.
    CannotKeep
        When the database cannot write.
    """
    found = person_of(ledger, name)
    change = _altered(found.name, ended=True)
    change_and_note(ledger, f"{found.name} may sign in no more", author, change)
    return person_of(ledger, name, ended=True)


def _altered(name: str, *, ended: bool = False, **said: str) -> Callable[[Cursor, int], None]:
    key = key_of(name)

    def change(cursor: Cursor, at_us: int) -> None:
        values: dict[str, object] = {**said, "changed_us": at_us}
        if ended:
            values["ended_us"] = at_us
        there = PERSON.c.key == key, PERSON.c.ended_us.is_(None)
        if not cursor.run(update(PERSON).where(*there).values(**values)):
            raise _nobody(name)
        cursor.run(delete(SESSION).where(SESSION.c.person == key))

    return change


def hash_anew(ledger: Ledger, name: str, password: str, before: str) -> None:
    """Hash a password anew at today's cost, after it has proved right.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name : str
        Whose.
    password : str
        The password, which stays the same.
    before : str
        The hash it proved right against; where another one stands by now, that one stays.
    """
    there = PERSON.c.key == key_of(name), PERSON.c.password_hash == before
    with ledger.writing() as connection:
        connection.execute(
            update(PERSON).where(*there).values(password_hash=hash_password(password))
        )


def hash_of(ledger: Ledger, name: str) -> tuple[str, str] | None:
    """Give a person's name as it is written, and their hash; None where they may not sign in."""
    query = select(PERSON.c.name, PERSON.c.password_hash).where(
        PERSON.c.key == key_of(name), PERSON.c.ended_us.is_(None)
    )
    with ledger.reading() as connection:
        row = connection.execute(query).first()
    return None if row is None else (str(row[0]), str(row[1]))


def person_of(ledger: Ledger, name: str, *, ended: bool = False) -> Person:
    """Find somebody by name.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name : str
        Any spelling of case.
    ended : bool
        Whether one who was ended will do.

    Raises
    ------
    BadInput
        When there is nobody of that name.
    """
    for person in people_of(ledger, ended=ended):
        if key_of(person.name) == key_of(name):
            return person
    raise _nobody(name)


def people_of(ledger: Ledger, *, ended: bool = False) -> tuple[Person, ...]:
    """List people by name, those who were ended only when asked for."""
    query = select(
        PERSON.c.name, PERSON.c.role, PERSON.c.made_us, PERSON.c.changed_us, PERSON.c.ended_us
    ).order_by(PERSON.c.key)
    if not ended:
        query = query.where(PERSON.c.ended_us.is_(None))
    with ledger.reading() as connection:
        return tuple(Person(*row) for row in connection.execute(query))


def is_anybody(ledger: Ledger) -> bool:
    """Say whether there is anybody who may sign in."""
    query = select(func.count()).select_from(PERSON).where(PERSON.c.ended_us.is_(None))
    with ledger.reading() as connection:
        return bool(connection.scalar(query))


def _nobody(name: str) -> BadInput:
    return BadInput(
        Fault("nobody of that name", "one of clew ledger user list", key="name", value=repr(name))
    )
