"""Sessions: 256 random bits in a cookie, of which the ledger knows only the SHA-256."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from contextlib import suppress
from dataclasses import dataclass

from sqlalchemy import delete, insert, or_, select, update

from clew.ledger.people.names import key_of
from clew.ledger.people.roles import Role
from clew.ledger.people.tables import PERSON, SESSION
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.trouble import CannotKeep

IDLE_US = 2 * 3_600_000_000
"""A session that nothing was asked in for so long has ended [us]: a break, not a shift."""
LONGEST_US = 12 * 3_600_000_000
"""A session ends after so long whatever is asked in it [us]: the longest shift."""
_SEEN_EACH_US = 60_000_000
"""That somebody was there is written no oftener than this [us]."""
_LONGEST_TOKEN = 200


@dataclass(frozen=True, slots=True)
class Session:
    """Somebody who is signed in.

    Attributes
    ----------
    name : str
        Who.
    role : str
        Their role as it stands now, not as it stood when they signed in.
    """

    name: str
    role: Role


def digest(token: str) -> bytes:
    """Hash a token; its 256 random bits need neither salt nor cost."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).digest()


def begin_session(ledger: Ledger, name: str, *, instead_of: str = "", proved: str = "") -> str:
    """Begin a session.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name : str
        Who has proved who they are.
    instead_of : str
        Token that came with the request; its session ends, so that no one carries on with it.
    proved : str
        The hash that the password proved right against, where it must still stand: hashing takes
        long enough for another one to be set meanwhile.

    Returns
    -------
    str
        The new token: 43 characters; it is nowhere kept. Empty where `proved` stands no more.

    Raises
    ------
    CannotKeep
        When the database cannot write.
    """
    token, now = secrets.token_urlsafe(32), ledger.clock()
    gone = or_(SESSION.c.ends_us <= now, SESSION.c.seen_us <= now - IDLE_US)
    mine = (PERSON.c.key == key_of(name), PERSON.c.ended_us.is_(None))
    stands = select(PERSON.c.key).where(*mine, PERSON.c.password_hash == proved).with_for_update()
    with ledger.writing() as connection:
        if proved and connection.execute(stands).first() is None:
            return ""
        connection.execute(delete(SESSION).where(gone))
        if instead_of:
            connection.execute(delete(SESSION).where(SESSION.c.token_hash == digest(instead_of)))
        connection.execute(
            insert(SESSION).values(
                token_hash=digest(token), person=key_of(name), made_us=now, seen_us=now,
                ends_us=now + LONGEST_US,
            )
        )  # fmt: skip
    return token


def session_of(ledger: Ledger, token: str, *, seen: bool = True) -> Session | None:
    """Say whose session a token is of.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    token : str
        What the cookie holds.
    seen : bool
        Whether somebody asks; what a page asks by itself keeps no session alive.

    Returns
    -------
    Session or None
        None when it is of none, has expired, or its person was ended.

    Raises
    ------
    CannotKeep
        When the database does not answer.
    """
    if not 0 < len(token) <= _LONGEST_TOKEN:
        return None
    now, kept = ledger.clock(), digest(token)
    query = (
        select(PERSON.c.name, PERSON.c.role, SESSION.c.seen_us)
        .join(PERSON, PERSON.c.key == SESSION.c.person)
        .where(
            SESSION.c.token_hash == kept,
            SESSION.c.ends_us > now,
            SESSION.c.seen_us > now - IDLE_US,
            PERSON.c.ended_us.is_(None),
        )
    )
    with ledger.reading() as connection:
        row = connection.execute(query).first()
    if row is None:
        return None
    if seen and now - row[2] >= _SEEN_EACH_US:
        with suppress(CannotKeep), ledger.writing() as connection:
            connection.execute(
                update(SESSION).where(SESSION.c.token_hash == kept).values(seen_us=now)
            )
    return Session(row[0], row[1])


def end_session(ledger: Ledger, token: str) -> None:
    """End a session: its token is of no more use to anybody.

    Raises
    ------
    CannotKeep
        When the database cannot write.
    """
    with ledger.writing() as connection:
        connection.execute(delete(SESSION).where(SESSION.c.token_hash == digest(token)))


def form_proof(token: str) -> str:
    """Make what a form of this session must send back: whoever has not the cookie cannot.

    Parameters
    ----------
    token : str
        The session's token.

    Returns
    -------
    str
        HMAC-SHA-256 under the token, in hexadecimal; it does not give the token away.
    """
    return hmac.new(token.encode(), b"a form of this session", hashlib.sha256).hexdigest()
