"""Passwords: hashed with Argon2id, refused when they are among those tried first.

Source: RFC 9106 (2021), section 4, second recommended option: Argon2id, t = 3, m = 64 MiB, p = 4,
salt 128 bit, tag 256 bit. The OWASP Password Storage Cheat Sheet asks for m = 19 MiB, t = 2,
p = 1 at least.
"""

from __future__ import annotations

import re
import threading
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from clew.faults import BadInput, Fault

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
        what = "a password that is too short" if len(password) < SHORTEST else "too long a password"
        raise BadInput(Fault(what, f"{SHORTEST} to {LONGEST} characters; a few words do well"))
    plain = _plain(password)
    if plain and plain in {_plain(name), _plain(name * 2)}:
        raise BadInput(Fault("the password is the name", "one that others do not try first"))
    if is_common(password):
        raise BadInput(Fault("a password that is tried first", "words that do not go together"))


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


_WORDS = frozenset(
    """
    password passwort passwd passphrase motdepasse contrasena senha letmein welcome willkommen
    bienvenue login signin admin administrator root user guest test tester default changeme secret
    geheim iloveyou sunshine princess football baseball basketball superman batman dragon monkey
    master shadow michael jennifer jordan hunter pokemon starwars computer internet google facebook
    samsung liverpool chelsea arsenal summer winter spring autumn january december monday friday
    hello hallo whatever trustno trustnoone qwerty qwertz azerty asdf asdfgh asdfghjkl zxcvbnm
    abc abcd abcdef abcdefgh abcdefghij clew mill spinning yarn wool cone ball winder band
    """.split()  # noqa: SIM905 - a list of words is read as one
)
"""Words that lead every list of stolen passwords, in the forms they are varied to, and ours."""

_ROWS = (
    "01234567890", "qwertyuiop", "qwertzuiop", "azertyuiop", "asdfghjkl", "zxcvbnm", "yxcvbnm",
    "abcdefghijklmnopqrstuvwxyz", "1q2w3e4r5t6y7u8i9o0p", "qazwsxedcrfvtgbyhnujmikolp",
)  # fmt: skip
_LOOKS = str.maketrans("@4301!$5790", "aaeoiisstgo")


def is_common(password: str) -> bool:
    """Say whether a password is made the way the commonest are.

    Parameters
    ----------
    password : str
        The password.

    Returns
    -------
    bool
        True for one common word, or two of them, with whatever figures and signs hang on it; for
        runs along the keyboard or the alphabet; for a short piece repeated; for a date.
    """
    low = password.casefold()
    bare = re.sub(r"[\W_]+", "", low)
    if not bare or len(set(bare)) <= 3 or _repeats(bare) or _runs(bare):
        return True
    if bare.isdecimal() and re.search(r"(19|20)\d\d", bare) and len(bare) <= SHORTEST + 2:
        return True
    middle = re.sub(r"^[\W\d_]+|[\W\d_]+$", "", low)
    for read in (bare, middle.translate(_LOOKS)):
        core = re.sub(r"[\W\d_]+", "", read)
        if core in _WORDS or any(
            core[:place] in _WORDS and core[place:] in _WORDS for place in range(1, len(core))
        ):
            return True
    return False


def _repeats(text: str) -> bool:
    """A short piece, over and over."""
    return any(
        text == (text[:size] * (len(text) // size + 1))[: len(text)]
        for size in range(1, min(len(text) // 2, SHORTEST - 1) + 1)
    )


def _runs(text: str) -> bool:
    """One run along a row of keys, either way, or several joined that leave little over."""
    rest = text
    for row in _ROWS:
        for way in (row + row, (row + row)[::-1]):
            for size in range(min(len(rest), len(way)), 3, -1):
                for start in range(len(way) - size + 1):
                    rest = rest.replace(way[start : start + size], "")
    return len(rest) <= max(2, len(text) // 4)


def _plain(text: str) -> str:
    return re.sub(r"[\W_]+", "", text.casefold())
