"""Keeps messages one by one and says so after each: traced, to see what goes before the word.

`python sync_victim.py URL MANY`; with `unsynced` behind it the database is told not to wait for the
disk.
"""

from __future__ import annotations

import os
import sys


def main(url: str, many: int, unsynced: bool) -> None:
    """Keep one message, wait for a line on the input, then keep so many."""
    from clew.ledger.events.message import Message
    from clew.ledger.store.opening import open_ledger

    ledger = open_ledger(url)

    def keep(key: str) -> None:
        body = {"note": f"word of {key}"}
        ledger.append([Message("north", "note", 1_767_225_600_000_000, "s", key, body=body)])

    keep("first")
    if unsynced:
        hurry = (
            "SET synchronous_commit = off" if "postgresql" in url else "PRAGMA synchronous = OFF"
        )
        ledger._cursor().execute(hurry)
    os.write(1, b"ready\n")
    sys.stdin.readline()
    for number in range(many):
        keep(f"row-{number:04}")
        os.write(1, f"ACK row-{number:04}\n".encode())


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), "unsynced" in sys.argv)
