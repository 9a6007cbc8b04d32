"""Passwords: hashed with Argon2id, refused when they are among those tried first.

Source: RFC 9106 (2021), section 4, second recommended option: Argon2id, t = 3, m = 64 MiB, p = 4,
salt 128 bit, tag 256 bit. The OWASP Password Storage Cheat Sheet asks for m = 19 MiB, t = 2,
p = 1 at least.
What is tried first: zxcvbn (D. L. Wheeler, USENIX Security 2016), which ranks 30,000 stolen
passwords, words and names and estimates how many guesses a password takes; READ as zxcvbn 4.5.0.
"""

from __future__ import annotations

import re
import threading
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from clew.faults import BadInput, Fault
from clew.languages import say

if TYPE_CHECKING:
    from argon2 import PasswordHasher

SHORTEST = 10
LONGEST = 256
"""Characters; a longer one is no safer and takes longer to hash."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What one hash costs whoever makes it, and so whoever guesses.

    Attributes
    ----------
    passes : int
        Passes over the memory.
    memory_kib : int
        Memory [KiB].
    lanes : int
        Threads.
    """

    passes: int
    memory_kib: int
    lanes: int


COST = Cost(passes=3, memory_kib=65_536, lanes=4)
"""RFC 9106, section 4, second recommended option."""
_AT_ONCE = threading.BoundedSemaphore(2)
"""Hashes made at once: many who sign in together must not take all memory."""
FEWEST_GUESSES = 1e8
"""Fewer, and a password is refused: zxcvbn's own line for "safely unguessable" where it is hashed
slowly (its score 3)."""
_BEGINNING = 24
"""Characters that are judged: what begins well ends well, and judging takes the square of them."""
_JUDGING = threading.Lock()
"""The estimator keeps the words it is told in one place for all."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of a password that was given.

    Attributes
    ----------
    right : bool
        Whether it is the one.
    stale : bool
        Whether its hash was made at another cost and is to be made again.
    """

    right: bool
    stale: bool


def check_password(password: str, name: str) -> None:
    """Refuse a password that is too short or among those tried first.

    Parameters
    ----------
    password : str
        As it was typed; any characters, no rules of composition.
    name : str
        Whose it is to be.

    Raises
    ------
    BadInput
        With what is wrong with it; never with the password.
    """
    if not SHORTEST <= len(password) <= LONGEST:
        what = (
            say("a password that is too short")
            if len(password) < SHORTEST
            else say("too long a password")
        )
        expected = say(
            "{least} to {most} characters; a few words do well", least=SHORTEST, most=LONGEST
        )
        raise BadInput(Fault(what, expected))
    plain = _plain(password)
    if plain and plain in {_plain(name), _plain(name * 2)}:
        raise BadInput(
            Fault(say("the password is the name"), say("one that others do not try first"))
        )
    if is_common(password, name):
        raise BadInput(
            Fault(say("a password that is tried first"), say("words that do not go together"))
        )


def hash_password(password: str) -> str:
    """Hash a password, with a salt of its own.

    Parameters
    ----------
    password : str
        The password.

    Returns
    -------
    str
        Hash, salt and cost in the form of the Password Hashing Competition.
    """
    with _AT_ONCE:
        return _hasher(COST).hash(password)


def verify_password(password: str, kept: str | None) -> Verdict:
    """Compare a password with a hash; where there is none, take as long all the same.

    Parameters
    ----------
    password : str
        What was typed.
    kept : str or None
        The person's hash; None where there is no such person.

    Returns
    -------
    Verdict
        Never right without a hash.
    """
    from argon2.exceptions import InvalidHashError, VerificationError

    hasher = _hasher(COST)
    if len(password) > LONGEST:
        password, kept = password[:LONGEST], None
    try:
        with _AT_ONCE:
            hasher.verify(kept or _nobodys(COST), password)
    except (VerificationError, InvalidHashError):
        return Verdict(right=False, stale=False)
    if kept is None:
        return Verdict(right=False, stale=False)
    return Verdict(right=True, stale=hasher.check_needs_rehash(kept))


@cache
def _hasher(cost: Cost) -> PasswordHasher:
    from argon2 import PasswordHasher, Type

    return PasswordHasher(
        time_cost=cost.passes, memory_cost=cost.memory_kib, parallelism=cost.lanes,
        hash_len=32, salt_len=16, type=Type.ID,
    )  # fmt: skip


@cache
def _nobodys(cost: Cost) -> str:
    """Make a hash that stands for all names that there are not."""
    return _hasher(cost).hash("of nobody at all")


_WORDS = """
    password passwort passwd passphrase motdepasse contrasena senha letmein welcome willkommen
    bienvenue login signin admin administrator root user guest test tester default changeme secret
    geheim iloveyou sunshine princess football baseball basketball superman batman dragon monkey
    master shadow michael jennifer jordan hunter pokemon starwars computer internet google facebook
    samsung liverpool chelsea arsenal summer winter spring autumn january december monday friday
    hello hallo whatever trustno trustnoone qwerty qwertz azerty asdf asdfgh asdfghjkl zxcvbnm
    abc abcd abcdef abcdefgh abcdefghij clew mill spinning yarn wool cone ball winder band
    qwertzuiop azertyuiop yxcvbnm
    """.split()  # noqa: SIM905 - a list of words is read as one
"""Words that lead every list of stolen passwords, in the forms they are varied to, and ours."""

_KNOWN = frozenset(_WORDS)
_LOOKS = str.maketrans("@4301!$5790", "aaeoiisstgo")


def is_common(password: str, name: str = "") -> bool:
    """Say whether a password is among those that are tried first.

    Parameters
    ----------
    password : str
        The password.
    name : str
        Whose it is to be.

    Returns
    -------
    bool
        True for one common word or part of the name, or two of them, with whatever figures and
        signs hang on it; for two or three characters over and over; and for what is guessed
        within `FEWEST_GUESSES` from stolen passwords, words and names in the order of their use,
        rows of keys, alphabets, repeats and dates.
    """
    low = password.casefold()
    bare = re.sub(r"[\W_]+", "", low)
    if len(set(bare)) <= 3:
        return True
    own = {_plain(name), *(_plain(part) for part in name.split())} - {""}
    known = _KNOWN | own
    middle = re.sub(r"^[\W\d_]+|[\W\d_]+$", "", low)
    for read in (bare, middle.translate(_LOOKS)):
        core = re.sub(r"[\W\d_]+", "", read)
        if core in known or any(
            core[:place] in known and core[place:] in known for place in range(1, len(core))
        ):
            return True
    return _guesses(password, [*sorted(own), *_WORDS]) < FEWEST_GUESSES


def _guesses(password: str, first: list[str]) -> float:
    """Estimate how many guesses a password takes where some words are tried first."""
    from zxcvbn import zxcvbn

    with _JUDGING:
        said = zxcvbn(password[:_BEGINNING], first)
    return float(said["guesses"])


def _plain(text: str) -> str:
    return re.sub(r"[\W_]+", "", text.casefold())
