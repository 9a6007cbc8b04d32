"""A program to be killed: keeps what it reads on its input and says what it has kept.

Each line of its input is a JSON list of messages; when `append` has returned, and not before,
the keys go out as one line. `python crash_victim.py URL`. With `early` behind it the keys go out
before: a liar, to see that the comparison finds one.
"""

from __future__ import annotations

import json
import os
import sys
import time


def main(url: str, early: bool) -> None:
    """Take lists of messages until the input ends."""
    from clew.ledger.events.reading import Sender, read_message
    from clew.ledger.store.opening import open_ledger
    from clew.ledger.store.trouble import CannotKeep

    while True:
        try:
            ledger = open_ledger(url)
            break
        except CannotKeep as cannot:
            print(cannot.reason, file=sys.stderr)
            time.sleep(0.05)
    for line in sys.stdin.buffer:
        messages = [read_message(one, Sender("direct")) for one in json.loads(line)]
        if early:
            os.write(1, (" ".join(one.key for one in messages) + "\n").encode())
        while True:
            try:
                taken = ledger.append(messages)
                break
            except CannotKeep as cannot:
                print(cannot.reason, file=sys.stderr)
                time.sleep(0.05)
        keys = [
            one.key
            for one, what in zip(messages, taken, strict=True)
            if what.outcome in ("kept", "already")
        ]
        os.write(1, (" ".join(keys) + "\n").encode())


if __name__ == "__main__":
    main(sys.argv[1], "early" in sys.argv)
