"""Decisions on lots are kept once, by a person, and the latest is what counts."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.ledger.shipping.bench import tell, void

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


def test_a_decision_that_was_taken_back_counts_no_more_and_one_that_was_mended_counts_so(
    ledger: Ledger,
) -> None:
    held = LotDecided("SL-207", "hold", HASH, "Ina", why="too few balls")
    released = LotDecided("SL-207", "release", "cd" * 32, "Bo")
    keep_decision(ledger, held, "tablet")
    taken = keep_decision(ledger, released, "tablet")
    void(ledger, "", taken.seq)
    assert last_decision(ledger, "SL-207") == held
    tell(ledger, "correction", ledger.clock(), "mend", line="(mill)", of_seq=1,
         change='{"decision": "rework"}', why="wrong word")  # fmt: skip
    assert last_decision(ledger, "SL-207") == replace(held, decision="rework")
    again = keep_decision(ledger, released, "tablet")
    assert (again.outcome, last_decision(ledger, "SL-207")) == ("kept", released)
    assert keep_decision(ledger, released, "tablet").outcome == "already"
    void(ledger, "", again.seq)
    assert keep_decision(ledger, released, "tablet").outcome == "kept"


def test_a_release_of_one_run_is_none_of_the_lot_and_a_hold_is_one(ledger: Ledger) -> None:
    keep_decision(ledger, LotDecided("SL-207", "release", HASH, "Bo", run="R-1"), "tablet")
    assert last_decision(ledger, "SL-207") is None
    held = LotDecided("SL-207", "hold", HASH, "Bo", run="R-1")
    keep_decision(ledger, held, "tablet")
    assert last_decision(ledger, "SL-207") == held


def test_one_paper_may_decide_on_several_lots_and_runs(ledger: Ledger) -> None:
    several = [
        LotDecided(lot, "release", HASH, "Bo", run=run)
        for lot in ("SL-207", "SL-211")
        for run in ("", "R-1", "R-2")
    ]
    assert [keep_decision(ledger, one, "tablet").outcome for one in several] == ["kept"] * 6
    assert [keep_decision(ledger, one, "command").outcome for one in several] == ["already"] * 6
    assert last_decision(ledger, "SL-211") == several[3]


def test_names_that_are_long_are_still_told_apart(ledger: Ledger) -> None:
    names = [f"{'Wilhelmina ' * 9}{number}" for number in range(3)]
    taken = [keep_decision(ledger, LotDecided("SL-207", "hold", HASH, name), "t") for name in names]
    assert [one.outcome for one in taken] == ["kept"] * 3
