"""Tries to sign in, counted in the ledger: guessing gets slower, whoever knows gets in.

A try is counted before the password is looked at, so that many at once gain nothing. Three
counts run beside each other: of a name at one address, of an address, and of a name from
everywhere. The last one would let a stranger keep somebody out; so it does not hold for an
address at which that person has signed in before, and it never waits long.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Select, delete, select, text, update

from clew.ledger.people.names import key_of
from clew.ledger.people.tables import SIGN_IN_TRY
from clew.ledger.store.ledger import Ledger

_S = 1_000_000
FORGET_US = 24 * 3600 * _S
"""A count nobody added to for so long is forgotten [us]."""
KNOWN_US = 90 * 24 * 3600 * _S
"""For so long an address at which somebody signed in is theirs [us]."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How many failed tries are free, and how the wait grows after them.

    Attributes
    ----------
    free : int
        Failed tries without a wait.
    first_s : int
        Wait after the next one [s]; it doubles with each.
    most_s : int
        Longest wait [s].
    """

    free: int
    first_s: int
    most_s: int

    def wait_us(self, failed: int) -> int:
        """Give how long after the last of so many failed tries the next one may come [us]."""
        if failed <= self.free:
            return 0
        return min(self.first_s << min(failed - self.free - 1, 20), self.most_s) * _S


PAIR = Patience(free=4, first_s=2, most_s=900)
"""One name at one address."""
ADDRESS = Patience(free=20, first_s=2, most_s=900)
"""One address, whatever names: a line's tablets may share one."""
NAME = Patience(free=20, first_s=2, most_s=60)
"""One name, from everywhere that is not known for it."""


@dataclass(frozen=True, slots=True)
class Try:
    """A try that was counted, or must wait.

    Attributes
    ----------
    keys : tuple of str
        The counts it stands in.
    wait_s : int
        Seconds until it may be made; 0 when it may be made now [s].
    """

    keys: tuple[str, ...]
    wait_s: int


def begin_try(ledger: Ledger, name: str, address: str) -> Try:
    """Count a try, or say how long it must wait.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    name : str
        The name that was typed, whether there is such a person or not.
    address : str
        Where it comes from.

    Returns
    -------
    Try
        Counted as failed until `succeed` says otherwise; one that must wait is not counted.

    Raises
    ------
    CannotKeep
        When the database cannot write: nobody can sign in then.
    """
    now, who, where = ledger.clock(), key_of(name), network_of(address)
    pair, known = f"pair {who} {where}", f"known {who} {where}"
    patience = {pair: PAIR, f"address {where}": ADDRESS, f"name {who}": NAME}
    wanted = (*patience, known)
    with ledger.reading() as connection:  # who keeps knocking costs no write, and leaves no row
        wait_s = _wait_s(_read(connection, _STANDS, wanted, now), patience, known, now)
    if wait_s:
        return Try((), wait_s)
    with ledger.writing() as connection:
        for key in sorted(patience):  # one order for all: no two wait for each other
            connection.execute(_THERE, {"key": key, "now": now})
        stands = _read(connection, _STANDS.with_for_update(), wanted, now)
        wait_s = _wait_s(stands, patience, known, now)
        if wait_s:
            return Try((), wait_s)
        if known in stands:
            patience.pop(f"name {who}")
        keys = tuple(sorted(patience))
        for key in keys:
            connection.execute(_COUNT, {"key": key, "now": now})
    return Try(keys, 0)


def succeed(ledger: Ledger, made: Try, name: str, address: str) -> None:
    """Take a try that proved right out of the counts, and know its address from now on.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    made : Try
        What `begin_try` gave.
    name : str
        Who signed in.
    address : str
        Where.
    """
    now, who, where = ledger.clock(), key_of(name), network_of(address)
    old = now - FORGET_US
    known = SIGN_IN_TRY.c.key.startswith("known ", autoescape=True)
    with ledger.writing() as connection:
        for key in made.keys:
            mine = SIGN_IN_TRY.c.key == key
            if key.startswith("address "):  # others may be guessing there
                less = update(SIGN_IN_TRY).where(mine, SIGN_IN_TRY.c.failed > 0)
                connection.execute(less.values(failed=SIGN_IN_TRY.c.failed - 1))
            else:
                connection.execute(delete(SIGN_IN_TRY).where(mine))
        connection.execute(_KNOW, {"key": f"known {who} {where}", "now": now})
        connection.execute(delete(SIGN_IN_TRY).where(~known, SIGN_IN_TRY.c.last_us < old))
        connection.execute(delete(SIGN_IN_TRY).where(known, SIGN_IN_TRY.c.last_us < now - KNOWN_US))


def network_of(address: str) -> str:
    """Give what counts as one address: of IPv6 the network of 64 bits that a house is given."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address[:60] or "unknown"
    if isinstance(found, ipaddress.IPv6Address):
        if found.ipv4_mapped is not None:
            return str(found.ipv4_mapped)
        return str(ipaddress.ip_network((found, 64), strict=False))
    return str(found)


_COUNT = text(
    "INSERT INTO sign_in_try (key, failed, last_us) VALUES (:key, 1, :now) "
    "ON CONFLICT (key) DO UPDATE SET failed = sign_in_try.failed + 1, last_us = excluded.last_us"
)
_KNOW = text(
    "INSERT INTO sign_in_try (key, failed, last_us) VALUES (:key, 0, :now) "
    "ON CONFLICT (key) DO UPDATE SET last_us = excluded.last_us"
)
_THERE = text(
    "INSERT INTO sign_in_try (key, failed, last_us) VALUES (:key, 0, :now) "
    "ON CONFLICT (key) DO NOTHING"
)


_STANDS = select(SIGN_IN_TRY.c.key, SIGN_IN_TRY.c.failed, SIGN_IN_TRY.c.last_us).order_by(
    SIGN_IN_TRY.c.key
)


def _read(
    connection: Connection, query: Select[Any], keys: tuple[str, ...], now: int
) -> dict[str, tuple[int, int]]:
    """Read counts that still stand."""
    found = {}
    for key, failed, last_us in connection.execute(query.where(SIGN_IN_TRY.c.key.in_(keys))):
        if now - last_us <= (KNOWN_US if key.startswith("known ") else FORGET_US):
            found[key] = (failed, last_us)
    return found


def _wait_s(
    stands: Mapping[str, tuple[int, int]], patience: Mapping[str, Patience], known: str, now: int
) -> int:
    """Say how long a try must wait by the counts that stand [s]."""
    wait_us = max(
        stands[key][1] + of.wait_us(stands[key][0]) - now
        if key in stands and not (known in stands and of is NAME) else 0
        for key, of in patience.items()
    )  # fmt: skip
    return max(0, -(-wait_us // _S))
