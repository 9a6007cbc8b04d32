"""The ledger read without Clew: bare drivers, and the chain worked out again in the plainest way.

Nothing here imports `clew`, so that one mistake cannot hide in both.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections import Counter
from collections.abc import Iterable, Mapping
from contextlib import closing
from typing import Any

COLUMNS = (
    "line, seq, at_us, received_us, kind, source, key, author, lane, ball, run, cone, lot, "
    "package, token, body, flags, hash"
)
KEY, SEQ, LINE, SOURCE, HASH = 6, 1, 0, 5, 17


def ask(url: str, query: str) -> list[tuple[Any, ...]]:
    """Put one question to a ledger."""
    if url.startswith("sqlite:///"):
        with closing(sqlite3.connect(url.removeprefix("sqlite:///"), timeout=30)) as connection:
            return list(connection.execute(query))
    import psycopg

    with psycopg.connect(url.replace("+psycopg", ""), autocommit=True) as connection:
        return list(connection.execute(query.encode()))


def rows_of(url: str) -> list[tuple[Any, ...]]:
    """Give all rows, line by line in the order of the chain."""
    return [
        (*row[:-1], bytes(row[-1]))
        for row in ask(url, f"SELECT {COLUMNS} FROM event ORDER BY line, seq")
    ]


def heads(url: str) -> dict[str, tuple[int, bytes]]:
    """Give the head of every chain."""
    return {line: (head, bytes(hashed)) for line, head, hashed in ask(
        url, "SELECT line, head, hash FROM chain"
    )}  # fmt: skip


def count(url: str) -> int:
    """Count the rows by the heads of the chains."""
    return sum(head for head, _ in heads(url).values())


def naive_hash(before: bytes, values: Iterable[Any]) -> bytes:
    """SHA-256 of the hash before and the values as a JSON array without spaces."""
    written = []
    for value in values:
        if value is None:
            written.append("null")
        elif isinstance(value, int):
            written.append(str(value))
        else:
            written.append(json.dumps(value, ensure_ascii=False))
    return hashlib.sha256(before + ("[" + ",".join(written) + "]").encode("utf-8")).digest()


def chain_faults(url: str) -> list[str]:
    """Say everything that is wrong with the chains; an empty list is a sound ledger."""
    faults = []
    last: dict[str, tuple[int, bytes]] = {}
    for row in rows_of(url):
        seq, before = last.get(row[LINE], (0, bytes(32)))
        if row[SEQ] != seq + 1:
            faults.append(f"{row[LINE]}: after {seq} comes {row[SEQ]}")
        if row[HASH] != naive_hash(before, row[:HASH]):
            faults.append(f"{row[LINE]} {row[SEQ]}: the hash is another")
        last[row[LINE]] = row[SEQ], row[HASH]
    found = heads(url)
    for line in sorted({*found, *last}):
        if found.get(line, (0, bytes(32))) != last.get(line, (0, bytes(32))):
            faults.append(f"{line}: the head is not the last row")
    return faults


def lost(url: str, sent: Mapping[str, Mapping[str, Any]], acknowledged: Iterable[str]) -> list[str]:
    """Keys that were acknowledged and are not there, or are there with another content."""
    there = {row[KEY]: row for row in rows_of(url)}
    return [
        key
        for key in sorted(set(acknowledged))
        if key not in there or not _says(there[key], sent[key])
    ]


def _says(row: tuple[Any, ...], message: Mapping[str, Any]) -> bool:
    named = dict(zip(COLUMNS.split(", "), row, strict=True))
    said = {**named, **json.loads(named["body"])}
    return all(said[name] == value for name, value in message.items() if name != "at")


def doubled(url: str) -> list[str]:
    """Keys that are there more than once."""
    counts = Counter(row[KEY] for row in rows_of(url))
    return sorted(key for key, times in counts.items() if times > 1)


def unknown(url: str, sent: Mapping[str, Mapping[str, Any]]) -> list[str]:
    """Keys that are there though nobody sent them."""
    return sorted({row[KEY] for row in rows_of(url)} - set(sent))
