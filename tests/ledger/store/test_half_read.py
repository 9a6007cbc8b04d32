"""A reader that stops half-way leaves nothing open."""

from __future__ import annotations

import gc

from clew.ledger.events.reading import Sender, read_message
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records


def test_a_half_read_answer_leaves_no_cursor_open(ledger: Ledger) -> None:
    told = [
        read_message(
            {"kind": "doff", "lane": 1, "at": "2026-11-25T05:40:00Z", "key": str(number)},
            Sender("t", line="Line 1"),
        )
        for number in range(5000)
    ]
    ledger.append(told)
    assert next(chain_records(ledger, "Line 1")).seq == 1
    gc.collect()  # a cursor that is open would warn now, and a warning fails
    assert sum(1 for _ in chain_records(ledger, "Line 1")) == 5000
