"""Tokens by which machines may send or read: shown once, kept as a hash, narrow in scope."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import insert, select, update

from clew.faults import BadInput, Fault
from clew.ledger.people.names import read_name
from clew.ledger.people.notes import Cursor, change_and_note
from clew.ledger.people.roles import SCOPES, Scope
from clew.ledger.people.sessions import digest
from clew.ledger.people.tables import API_TOKEN
from clew.ledger.store.ledger import Ledger

RESERVED = frozenset({"tablet", "web", "http", "mqtt", "people"})
"""Sources of our own: a machine's name is the source of what it sends, and keys are told apart
within a source."""
PREFIX = "clew_"
"""Begins every token, so that one that was let slip is known for what it is."""
_LONGEST_TOKEN = 200


@dataclass(frozen=True, slots=True)
class Token:
    """A machine's leave.

    Attributes
    ----------
    name : str
        Which machine; the source of what it sends.
    scopes : tuple of str
        ``events:write``, ``read``.
    line : str
        The one line it may write to; empty for any.
    made_us : int
        When it was made [us].
    made_by : str
        Who made it.
    ended_us : int or None
        Since when it is of no more use [us].
    """

    name: str
    scopes: tuple[Scope, ...]
    line: str
    made_us: int
    made_by: str
    ended_us: int | None


def read_scopes(said: Iterable[str]) -> tuple[Scope, ...]:
    """Read scopes, in their order and once each.

    Raises
    ------
    BadInput
        For a word that is none, or for none at all.
    """
    wanted = set(said)
    for one in sorted(wanted - set(SCOPES)):
        raise BadInput(Fault("no such scope", ", ".join(SCOPES), key="scope", value=repr(one)))
    if not wanted:
        raise BadInput(Fault("no scope", ", ".join(SCOPES), key="scope"))
    return tuple(scope for scope in SCOPES if scope in wanted)


def add_token(
    ledger: Ledger, name: str, scopes: Iterable[str], *, line: str = "", author: str
) -> tuple[Token, str]:
    """Make a token.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name : str
        Which machine; a name is used once, ended or not, for it stands in the records.
    scopes : iterable of str
        What it may do.
    line : str
        The one line it may write to; empty for any.
    author : str
        Who makes it.

    Returns
    -------
    Token, str
        What is kept of it, and the token itself, which is shown now and never again.

    Raises
    ------
    BadInput
        When the name is taken or a scope is none.
    CannotKeep
        When the database cannot write.
    """
    name, found, said = read_name(name), read_scopes(scopes), PREFIX + secrets.token_urlsafe(32)
    if name.casefold() in RESERVED:
        raise BadInput(Fault("a name of our own", "the machine's", key="name", value=repr(name)))
    made: list[Token] = []

    def change(cursor: Cursor, at_us: int) -> None:
        if cursor.row(select(API_TOKEN.c.name).where(API_TOKEN.c.name == name)):
            raise BadInput(
                Fault("a token of that name is there already", "another name", key="name",
                      value=repr(name))
            )  # fmt: skip
        cursor.run(
            insert(API_TOKEN).values(
                name=name, token_hash=digest(said), scopes=" ".join(found), line=line,
                made_us=at_us, made_by=author,
            )
        )  # fmt: skip
        made.append(Token(name, found, line, at_us, author, None))

    to_line = f", to line {line} only" if line else ""
    change_and_note(ledger, f"a token for {name}: {', '.join(found)}{to_line}", author, change)
    return made[0], said


def end_token(ledger: Ledger, name: str, *, author: str) -> None:
    """End a token: nothing may be sent with it any more.

    Raises
    ------
    BadInput
        When there is none of that name that still stands.
    CannotKeep
        When the database cannot write.
    """

    def change(cursor: Cursor, at_us: int) -> None:
        there = API_TOKEN.c.name == name, API_TOKEN.c.ended_us.is_(None)
        if not cursor.run(update(API_TOKEN).where(*there).values(ended_us=at_us)):
            raise BadInput(
                Fault("no token of that name", "one of clew ledger token list", key="name",
                      value=repr(name)[:80])
            )  # fmt: skip

    change_and_note(ledger, f"the token of {name} has ended", author, change)


def tokens_of(ledger: Ledger, *, ended: bool = False) -> tuple[Token, ...]:
    """List tokens by name, those that have ended only when asked for."""
    query = _QUERY.order_by(API_TOKEN.c.name)
    if not ended:
        query = query.where(API_TOKEN.c.ended_us.is_(None))
    with ledger.reading() as connection:
        return tuple(_token(row) for row in connection.execute(query))


def token_of(ledger: Ledger, said: str) -> Token | None:
    """Say which machine a token is of.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    said : str
        What stands after ``Bearer``.

    Returns
    -------
    Token or None
        None when it is of none, or has ended.

    Raises
    ------
    CannotKeep
        When the database does not answer.
    """
    if not said.startswith(PREFIX) or len(said) > _LONGEST_TOKEN:
        return None
    query = _QUERY.where(API_TOKEN.c.token_hash == digest(said), API_TOKEN.c.ended_us.is_(None))
    with ledger.reading() as connection:
        row = connection.execute(query).first()
    return None if row is None else _token(row)


_QUERY = select(
    API_TOKEN.c.name, API_TOKEN.c.scopes, API_TOKEN.c.line, API_TOKEN.c.made_us,
    API_TOKEN.c.made_by, API_TOKEN.c.ended_us,
)  # fmt: skip


def _token(row: Sequence[Any]) -> Token:
    name, scopes, line, made_us, made_by, ended_us = row
    return Token(name, read_scopes(scopes.split()), line, made_us, made_by, ended_us)
