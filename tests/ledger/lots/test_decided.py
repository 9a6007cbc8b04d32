"""Decisions on lots are kept once, by a person, and the latest is what counts."""

from __future__ import annotations

import pytest

from clew.faults import BadInput
from clew.ledger.lots.decided import LotDecided, anchor_words, keep_decision, last_decision
from clew.ledger.store.ledger import Ledger

HASH = "ab" * 32


def test_the_same_paper_decides_once_and_the_latest_decision_counts(ledger: Ledger) -> None:
    assert last_decision(ledger, "SL-207") is None
    held = LotDecided("SL-207", "hold", HASH, "Ina", why="too few balls")
    first, again = keep_decision(ledger, held, "tablet"), keep_decision(ledger, held, "tablet")
    assert (first.outcome, again.outcome, first.seq) == ("kept", "already", again.seq)
    assert last_decision(ledger, "SL-207") == held
    released = LotDecided("SL-207", "release", "cd" * 32, "Bo")
    assert keep_decision(ledger, released, "tablet").outcome == "kept"
    assert last_decision(ledger, "SL-207") == released
    assert last_decision(ledger, "SL-211") is None


def test_a_decision_has_a_lot_and_a_person(ledger: Ledger) -> None:
    with pytest.raises(BadInput) as bad:
        keep_decision(ledger, LotDecided("", "release", HASH, " "), "tablet")
    assert {one.key for one in bad.value.faults} == {"lot", "by"}
    with pytest.raises(BadInput, match="none of its words"):
        keep_decision(ledger, LotDecided("SL-207", "perhaps", HASH, "Bo"), "tablet")


def test_a_line_without_records_has_no_anchor(ledger: Ledger) -> None:
    assert anchor_words(ledger, "") == ""
    keep_decision(ledger, LotDecided("SL-207", "release", HASH, "Bo"), "tablet")
    assert anchor_words(ledger, "").startswith("(mill) · 1 · ")
