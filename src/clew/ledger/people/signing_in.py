"""Signing in: a name and a password become a session, or a plain no that says nothing more."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

from clew.ledger.people.names import key_of
from clew.ledger.people.passwords import verify_password
from clew.ledger.people.people import hash_anew, hash_of
from clew.ledger.people.sessions import begin_session
from clew.ledger.people.tries import begin_try, succeed
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.trouble import CannotKeep


@dataclass(frozen=True, slots=True)
class SignedIn:
    """What became of signing in.

    Attributes
    ----------
    token : str
        The session's token; empty when it was refused.
    name : str
        Who, as their name is written.
    wait_s : int
        Seconds until the next try; 0 where none must be waited for [s].
    """

    token: str = ""
    name: str = ""
    wait_s: int = 0


def sign_in(
    ledger: Ledger, name: str, password: str, *, address: str, instead_of: str = ""
) -> SignedIn:
    """Sign somebody in.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name, password : str
        As they were typed.
    address : str
        Where it comes from; tries are counted by it.
    instead_of : str
        Token that came with the request; its session ends.

    Returns
    -------
    SignedIn
        A wrong password and a name that there is not look the same and take as long.

    Raises
    ------
    CannotKeep
        When the database cannot write: tries cannot be counted then, and nobody gets in.
    """
    made = begin_try(ledger, name[:200], address)
    if made.wait_s:
        return SignedIn(wait_s=made.wait_s)
    person = hash_of(ledger, name[:200])
    verdict = verify_password(password, person[1] if person else None)
    if person is None or not verdict.right:
        return SignedIn()
    token = begin_session(ledger, person[0], instead_of=instead_of, proved=person[1])
    if not token:
        return SignedIn()
    succeed(ledger, made, person[0], address)
    if verdict.stale:
        with suppress(CannotKeep):
            hash_anew(ledger, person[0], password, person[1])
    return SignedIn(token, person[0])


def is_password_of(ledger: Ledger, name: str, password: str, *, address: str) -> SignedIn:
    """Ask somebody who is signed in for their password once more, counted as signing in is.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name, password : str
        Who, and what they typed.
    address : str
        Where it comes from.

    Returns
    -------
    SignedIn
        With the name when it is right; without a token.

    Raises
    ------
    CannotKeep
        When the database cannot write.
    """
    made = begin_try(ledger, name, address)
    if made.wait_s:
        return SignedIn(wait_s=made.wait_s)
    person = hash_of(ledger, name)
    right = verify_password(password, person[1] if person else None).right
    if person is None or not right or key_of(person[0]) != key_of(name):
        return SignedIn()
    succeed(ledger, made, person[0], address)
    return SignedIn(name=person[0])
