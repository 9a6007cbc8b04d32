"""The next free name of a case, a pallet, a delivery: never one that the ledger has seen."""

from __future__ import annotations

import re
from collections.abc import Iterable

from sqlalchemy import Connection, select

from clew.checks.band.gs1 import sscc_for
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.message import MILL_LINE
from clew.ledger.state.effective import CORRECTION
from clew.ledger.store.schema import CHAIN, EVENT
from clew.mill.gs1_keys import SSCC_LENGTH, is_key
from clew.mill.model import Mill

CASE, PALLET, DELIVERY = "C", "P", "D"
"""What plain names begin with."""
_KEY = re.compile(r"(?<!\d)\d{18}(?!\d)", re.ASCII)
_SCANNED = re.compile(r"\(?00\)?(\d{18})", re.ASCII)


def package_said(said: str) -> str:
    """Read the name of a package as it is typed or scanned.

    Parameters
    ----------
    said : str
        A name; an SSCC with or without its application identifier (00) and blanks.

    Returns
    -------
    str
        The name as the ledger keeps it.
    """
    plain = " ".join(said.split())
    digits = plain.replace(" ", "")
    if is_key(digits, (SSCC_LENGTH,)):
        return digits
    scanned = _SCANNED.fullmatch(digits)
    return scanned[1] if scanned and is_key(scanned[1], (SSCC_LENGTH,)) else plain


def next_package(connection: Connection, mill: Mill, letter: str) -> str:
    """Give the next free name of a case or pallet.

    Parameters
    ----------
    connection : Connection
        Of the ledger, for reading.
    mill : Mill
        The mill; with a company prefix the name is an SSCC.
    letter : str
        What a plain name begins with.

    Returns
    -------
    str
        An SSCC whose serial is one above the highest that any record names; or ``C-0001``.

    Raises
    ------
    BadInput
        When no serial is left under the prefix.

    Notes
    -----
    Cases and pallets draw on one row of serials. The extension digit is its first figure, so a
    prefix of n digits has 10^(17-n) of them. What a correction took back stays used: its label
    may be out there. Source: GS1 General Specifications, SSCC: extension digit, company prefix,
    serial reference, check digit. READ at gs1hk.org, as in `clew.mill.gs1_keys`.
    """
    prefix = mill.mill.gs1_prefix
    if prefix is None:
        return _plain_name(connection, letter)
    figures = SSCC_LENGTH - 2 - len(prefix)
    serial = 1 + max(_serials(connection, prefix, figures), default=0)
    if serial >= 10 ** (figures + 1):
        raise BadInput(
            Fault(
                say("no serial is left under the company prefix {prefix}", prefix=prefix),
                say("a second prefix from GS1"), file="mill.toml", section="mill", key="gs1_prefix",
            )
        )  # fmt: skip
    extension, rest = divmod(serial, 10**figures)
    return sscc_for(prefix, rest, extension)


def _serials(connection: Connection, prefix: str, figures: int) -> Iterable[int]:
    """Serials under the prefix that records name; the highest of each extension digit."""
    for extension in range(9, -1, -1):
        first = f"{extension}{prefix}"
        low, high = first + "0" * (figures + 1), first + "9" * (figures + 1)
        column = EVENT.c.package
        # the second condition is what the index over filled rows asks for
        query = select(column).where(column.between(low, high), column != "").distinct()
        for name in connection.scalars(query.order_by(column.desc())):
            if _KEY.fullmatch(name):
                yield int(name[0] + name[1 + len(prefix) : -1])
                break
    # a correction may have named one that no record bears
    holding = select(EVENT.c.body).where(
        EVENT.c.line.in_(select(CHAIN.c.line)),
        EVENT.c.kind == CORRECTION,
        EVENT.c.body.contains(prefix, autoescape=True),
    )
    for body in connection.scalars(holding):
        for name in _KEY.findall(body):
            if name[1 : 1 + len(prefix)] == prefix:
                yield int(name[0] + name[1 + len(prefix) : -1])


def _plain_name(connection: Connection, letter: str) -> str:
    column = EVENT.c.package
    query = select(column).where(column.like(f"{letter}-%"), column != "").distinct()
    return _next_number(letter, connection.scalars(query))


def next_delivery(connection: Connection) -> str:
    """Give the next free number of a delivery, such as ``D-0007``."""
    query = select(EVENT.c.body).where(
        EVENT.c.line == MILL_LINE, EVENT.c.kind.in_(("shipped", CORRECTION))
    )
    found = re.compile(rf"\b{DELIVERY}-\d{{4,9}}\b", re.ASCII)
    names = (name for body in connection.scalars(query) for name in found.findall(body))
    return _next_number(DELIVERY, names)


def _next_number(letter: str, names: Iterable[str]) -> str:
    form = re.compile(rf"{letter}-(\d{{4,9}})", re.ASCII)
    numbers = [int(found[1]) for found in map(form.fullmatch, names) if found]
    return f"{letter}-{1 + max(numbers, default=0):04d}"
