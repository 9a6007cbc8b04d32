"""Changing a setting: only what really changed is recorded, with its reason."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from tests.ledger.state.told import LINE, at_us, records_of, say

from clew.faults import BadInput
from clew.ledger.runs.setting import SetQuestion, set_message
from clew.ledger.state.known import Run
from clew.ledger.state.line_state import line_state
from clew.mill.model import Mill

START = say(
    "run start", "05:30:00", run="R1", lot="SL-207", ball_name="Querl 100", turns=786,
    counts={"4": 786, "5": 79}, target_g=101.0, call_low_g=94.0, call_high_g=108.0,
)  # fmt: skip
QUESTION = SetQuestion(at_us("06:00"), "Ines", "tablet", "k1", "winder 4 heavy", {4: 773})


def running() -> Run:
    run = line_state(records_of([START]), LINE).run
    assert run is not None
    return run


def refusal(mill: Mill, run: Run | None, **other: Any) -> str:
    with pytest.raises(BadInput) as bad:
        set_message(mill.find_line(""), replace(QUESTION, **other), run)
    return "\n".join(str(one) for one in bad.value.faults)


def test_a_winders_counts_are_changed_and_the_state_shows_it(demo_mill: Mill) -> None:
    message = set_message(demo_mill.find_line(""), QUESTION, running())
    assert message.body == {"counts": {"4": 773.0}, "why": "winder 4 heavy"}
    run = line_state(records_of([START, message]), LINE).run
    assert run is not None and run.counts == {"4": 773.0, "5": 79.0}
    assert (run.changes, run.changed_us) == (1, at_us("06:00"))


def test_a_new_target_moves_the_call_out_limits_with_it(demo_mill: Mill) -> None:
    question = replace(QUESTION, counts={}, values={"target_g": 100.0})
    body = set_message(demo_mill.find_line(""), question, running()).body
    assert body["target_g"] == 100.0
    assert body["call_low_g"] == pytest.approx(94.0 * 100.0 / 101.0, abs=1e-3)
    assert body["call_high_g"] == pytest.approx(108.0 * 100.0 / 101.0, abs=1e-3)


def test_only_what_changed_is_recorded(demo_mill: Mill) -> None:
    question = replace(QUESTION, counts={4: 786, 5: 80}, values={"turns": 790.0, "steam_c": 101.0})
    body = set_message(demo_mill.find_line(""), question, running()).body
    assert body["counts"] == {"5": 80.0} and body["steam_c"] == 101.0
    assert body["turns"] == 790 and isinstance(body["turns"], int)


@pytest.mark.parametrize(
    ("other", "says"),
    [
        ({"counts": {}}, "nothing changed"),
        ({"counts": {4: 786}, "values": {"target_g": 101.0}}, "nothing changed"),
        ({"counts": {9: 786}}, "no such winder"),
        ({"counts": {4: 0.0}}, "not a setting"),
        ({"counts": {4: float("nan")}}, "not a setting"),
        ({"counts": {4: float("inf")}}, "not a setting"),
        ({"values": {"target_g": -1.0}}, "not a setting"),
        ({"values": {"target_g": float("inf")}}, "not a setting"),
        ({"values": {"speed": 1.0}}, "no such setting"),
        ({"why": " "}, "no reason"),
        ({"why": "a\x1b[31mb"}, "no text"),
        ({"why": "x" * 2001}, "no text"),
        ({"author": ""}, "nobody is named"),
        ({"at_us": at_us("05:00")}, "before the run began"),
    ],
)
def test_what_cannot_be_set_is_refused(demo_mill: Mill, other: dict[str, Any], says: str) -> None:
    assert says in refusal(demo_mill, running(), **other)


def test_without_a_run_nothing_is_set(demo_mill: Mill) -> None:
    assert "no run is in progress on Line 1" in refusal(demo_mill, None)
