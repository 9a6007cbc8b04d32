"""Make a frozen ledger: `python tests/ledger/frozen/make.py EDITION`, once, and never again.

An edition is added when the tables or what records say has grown; later versions must open, bring
up, verify and read the files that these wrote.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import insert

from clew.ledger.audit.verify import anchor_of
from clew.ledger.events.message import MILL_WORD, Message
from clew.ledger.events.moments import show_utc
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.people.tables import PERSON
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.migrate import newest_step
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import heads_of
from clew.ledger.store.schema import FILE_READ, REFUSED

HERE = Path(__file__).parent
EDITIONS = ("ledger", "shipping")
"""The first, and the one whose cases name their lots and whose mill corrects its own chain."""
LINES = ("Line 1", "Färbung Süd")
START_US = 1_774_764_000_000_000
"""2026-03-29T06:00:00Z."""
SECOND = 1_000_000


def told() -> Iterator[dict[str, Any]]:
    """What machines and hands tell in some minutes, a little of everything."""
    line = LINES[0]
    yield {"kind": "check", "what": "start-up", "done": ["steam", "belt"], "not_done": ["lamp 4"]}
    yield {"kind": "cone loaded", "lane": 1, "cone": "C-1", "lot": "SL-207", "place": 1,
           "spinner": "Spinnerei Ö", "cone_mass_g": 1480}  # fmt: skip
    yield {"kind": "cone loaded", "lane": 2, "cone": "C-2", "lot": "SL-207", "joins": 2}
    yield {"kind": "run start", "run": "R-1", "lot": "SL-207", "ball_name": "Fell 100",
           "turns": 985, "counts": {"1": 985, "2": 984.5}, "target_g": 101.5,
           "trial": False}  # fmt: skip
    yield {"kind": "belt on"}
    for lane in (1, 2):
        yield {"kind": "feed on", "lane": lane}
        yield {"kind": "content", "lane": lane, "metres": 83.25}
    for number in range(1, 13):
        for lane in (1, 2):
            yield {"kind": "turns", "lane": lane, "ball": number // 4, "counts": number * 98.5}
        if number % 4 == 0:
            yield {"kind": "doff", "lane": 1, "ball": number // 4 - 1, "token": f"T-{number}"}
            yield {"kind": "weighing", "lane": 1, "ball": number // 4 - 1, "mass_g": 101.0 + number,
                   "token": f"T-{number}", "gross": True, "scale": "scale 1"}  # fmt: skip
            yield {"kind": "banded", "lane": 1, "token": f"T-{number}", "code": "SL-207-1-06:00"}
    yield {"kind": "tie", "lane": 2, "cone": "C-3", "lot": "SL-207", "metres": 412.5,
           "name": "tie 1", "cone_off": "C-2"}  # fmt: skip
    yield {"kind": "retie", "lane": 1, "ball": 2, "parted_at": "winder", "counts": 12}
    yield {"kind": "weighing", "lane": 2, "mass_g": 99_999.0, "note": "zwei\nZeilen ½ 毛"}
    yield {"kind": "run set", "run": "R-1", "counts": {"1": 983}, "why": "winder 1 runs heavy"}
    yield {"kind": "stop", "lane": 2, "why": "no cone"}
    yield {"kind": "go on", "lane": 2}
    yield {"kind": "length check", "lane": 1, "length_m": 201.4, "mass_g": 101.9}
    yield {"kind": "pulled", "lane": 1, "ball": 3, "to": "second-quality", "why": "soft"}
    yield {"kind": "correction", "of_seq": 12, "change": '{"counts":98.0}', "why": "misread"}
    yield {"kind": "case closed", "package": "P-1", "lot": "SL-207", "balls": 10,
           "tokens": ["T-4", "T-8"]}  # fmt: skip
    yield {"kind": "handover", "note": "Lane 2 wants a cone soon.", "to": "B. Lead"}
    yield {"kind": "run end", "run": "R-1", "why": "order made"}
    yield {"kind": "lot decision", "lot": "SL-207", "decision": "release"}
    yield {"kind": "pallet closed", "package": "PL-1", "cases": ["P-1"]}
    yield {"kind": "shipped", "package": "PL-1", "customer": "Wolle & Mehr", "order": "1041"}
    yield {"kind": "note", "line": LINES[1], "note": "a second line begins"}
    yield {"kind": "turns", "line": LINES[1], "lane": 1, "counts": 0.5}
    yield {"kind": "turns", "line": line, "lane": 1, "counts": 1, "at": show_utc(START_US)}  # late


def told_of_shipping() -> Iterator[dict[str, Any]]:
    """What came with the record of shipping: a mixed case, and a correction of the mill's chain."""
    yield from told()
    yield {"kind": "case closed", "package": "P-2", "lot": "SL-207", "balls": 10,
           "lots": ["SL-207", "SL-208"], "order": "1042", "tokens": ["T-12"],
           "from": "2026-03-29T06:01:00Z", "upto": "2026-03-29T06:04:00Z",
           "gtin": "04012345000016", "ball_name": "Fell 100",
           "note": "two lots, as ordered"}  # fmt: skip
    yield {"kind": "correction", "line": MILL_WORD, "of_seq": 3, "change": '{"order":"1042"}',
           "why": "the order was misread"}  # fmt: skip


def messages(edition: str) -> list[Message]:
    """Read them as they come in."""
    read = []
    said = told() if edition == EDITIONS[0] else told_of_shipping()
    for number, one in enumerate(said, 1):
        by_hand = one["kind"] not in ("turns", "content", "weighing")
        sender = Sender(
            "tablet" if by_hand else "line box", "A. Lead" if by_hand else "", LINES[0],
            at_us=START_US + number * 10 * SECOND, key=f"frozen-{number}",
        )  # fmt: skip
        read.append(read_message(one, sender))
    return read


def write(path: Path, edition: str) -> dict[str, Any]:
    """Write the ledger to a file; give what a reader must find in it."""
    ledger = open_ledger(sqlite_url(path), clock=lambda: START_US + 3_600 * SECOND)
    try:
        ledger.append(messages(edition))
        _write_beside(ledger)
        heads = {line: anchor_of(ledger, line).code() for line in heads_of(ledger)}
        rows = heads_of(ledger)
    finally:
        ledger.close()
    with closing(sqlite3.connect(path, isolation_level=None)) as made:
        made.execute("PRAGMA journal_mode = DELETE")
        made.execute("PRAGMA page_size = 1024")  # small: it is kept for good
        made.execute("VACUUM")
    return {"step": newest_step(), "anchors": heads, "rows": rows}


def _write_beside(ledger: Ledger) -> None:
    with ledger.writing() as connection:
        connection.execute(
            insert(PERSON).values(
                key="a. lead", name="A. Lead", role="lead", password_hash="$argon2id$none",
                made_us=START_US, changed_us=START_US,
            )
        )  # fmt: skip
        connection.execute(
            insert(REFUSED).values(
                received_us=START_US, path="http", source="line box", reason="no moment", body="{}"
            )
        )
        connection.execute(
            insert(FILE_READ).values(
                path="incoming/a.csv", sha256_head=b"\x01" * 32, bytes_read=10, rows_read=1,
                changed_us=START_US,
            )
        )  # fmt: skip


def main() -> None:
    """Make the two files of an edition that is not there yet."""
    edition = sys.argv[1]
    if edition not in EDITIONS or (HERE / f"{edition}.db").exists():
        raise SystemExit(f"one of {', '.join(EDITIONS)} that is not there yet")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{edition}.db"
        said = write(path, edition)
        shutil.copyfile(path, HERE / path.name)
    text = json.dumps(said, indent=2, ensure_ascii=False, sort_keys=True)
    (HERE / f"{edition}.json").write_text(text + "\n", encoding="utf-8")
    sys.stdout.write(f"wrote {HERE / edition}.db: {sum(said['rows'].values())} records\n")


if __name__ == "__main__":
    main()
