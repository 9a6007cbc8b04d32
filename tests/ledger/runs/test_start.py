"""Starting a run: what its message says, how it is named, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from tests.ledger.state.told import ZONE, at_us, records_of

from clew.ball.run_card import run_card_of
from clew.faults import BadInput
from clew.ledger.events.moments import show_utc
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.runs.start import StartQuestion, run_name, start_message
from clew.ledger.state.known import Run
from clew.ledger.state.line_state import line_state
from clew.mill.model import Mill

QUESTION = StartQuestion(
    "Querl 100", "SL-207", "", at_us("05:30"), "Ines", "tablet", "k1", card="3f2a9c01"
)


def refusal(mill: Mill, running: Run | None = None, **other: Any) -> str:
    with pytest.raises(BadInput) as bad:
        start_message(mill, replace(QUESTION, **other), running)
    return "\n".join(str(one) for one in bad.value.faults)


def test_the_message_says_what_the_card_says(demo_mill: Mill) -> None:
    started = start_message(demo_mill, QUESTION, None)
    card = run_card_of(demo_mill, "Querl 100", "SL-207")
    message, body = started.message, started.message.body
    assert (message.run, message.lot, message.line) == ("L1-261125-1",
                                                        "SL-207", "Line 1")  # fmt: skip
    assert body["turns"] == card.answer.turns
    assert body["counts"] == {str(one.winder): float(one.counts) for one in card.settings}
    assert body["target_g"] == pytest.approx(card.answer.as_weighed_g, abs=5e-4)
    assert body["call_low_g"] < body["target_g"] < body["call_high_g"]
    assert body["card"] == "3f2a9c01" and "trial" not in body and "order" not in body


def test_the_message_is_one_that_the_ledger_reads_and_the_state_shows(demo_mill: Mill) -> None:
    question = replace(QUESTION, trial=True, order="1041", note="first of the week")
    message = start_message(demo_mill, question, None).message
    flat = {"kind": message.kind, "at": show_utc(message.at_us), "key": "k", "run": message.run,
            "lot": message.lot, **message.body}  # fmt: skip
    assert read_message(flat, Sender("tablet", line="Line 1")).body == message.body
    state = line_state(records_of([message]), "Line 1")
    assert state.run is not None and state.run.trial and state.run.order == "1041"
    assert state.run.started_by == "Ines" and state.run.target_g == message.body["target_g"]


def test_names_are_found_whatever_their_letters(demo_mill: Mill) -> None:
    question = replace(QUESTION, ball_name="querl 100", lot_name="sl-207", line_name="line 1")
    message = start_message(demo_mill, question, None).message
    assert (message.body["ball_name"], message.lot) == ("Querl 100", "SL-207")


def test_a_run_in_progress_is_ended_first(demo_mill: Mill) -> None:
    running = Run("L1-261125-1", "Querl 100", "SL-207", 0)
    assert "L1-261125-1 is in progress on Line 1" in refusal(demo_mill, running)


@pytest.mark.parametrize(
    ("other", "says"),
    [
        ({"ball_name": "Nothing"}, "no such ball"),
        ({"lot_name": "ZZ-1"}, "no such dye lot"),
        ({"line_name": "Line 9"}, "no such line"),
        ({"lot_name": "BR-091"}, "BR-091 is Dunnow, Querl 100 is wound of Querl"),
        ({"author": "  "}, "nobody is named"),
        ({"note": "a\0b"}, "no text"),
        ({"order": "9999"}, "no such order"),
        ({"order": "1042"}, "order 1042 is for Querl 200 in Oatmeal"),
    ],
)
def test_what_cannot_be_started_is_refused(
    demo_mill: Mill, other: dict[str, Any], says: str
) -> None:
    assert says in refusal(demo_mill, **other)


def test_a_lot_without_cones_is_refused(demo_text: str) -> None:
    from clew.mill import mill_from_text

    mill = mill_from_text(demo_text.replace("cones = 96", "cones = 0"))
    assert "no cone of SL-207 is in stock" in refusal(mill)


def test_no_run_starts_before_the_last_one_ended(demo_mill: Mill) -> None:
    last = Run("R1", "Querl 100", "SL-207", 0, ended_us=at_us("05:31"))
    with pytest.raises(BadInput, match="R1 had not ended yet"):
        start_message(demo_mill, QUESTION, None, last_run=last)
    at_its_end = replace(QUESTION, at_us=at_us("05:31"))
    assert start_message(demo_mill, at_its_end, None, last_run=last).message.run == "L1-261125-1"


def test_all_that_is_wrong_is_said_at_once(demo_mill: Mill) -> None:
    said = refusal(demo_mill, Run("R1", "Querl 100", "SL-207", 0), author="", lot_name="BR-091")
    assert len(said.splitlines()) == 3


def test_runs_are_named_after_line_day_and_number() -> None:
    assert run_name("Line 1", at_us("05:30"), ZONE) == "L1-261125-1"
    assert run_name("North line 12", at_us("05:30"), ZONE) == "NL12-261125-1"
    used = ["L1-261125-1", "L1-261125-2", "L1-261124-3"]
    assert run_name("Line 1", at_us("05:30"), ZONE, used) == "L1-261125-3"
    assert run_name("Line 1", at_us("05:30"), ZONE, used.__contains__) == "L1-261125-3"


def test_the_day_of_a_name_is_the_mills_own() -> None:
    summer = at_us("00:30", day="2026-07-02")
    assert run_name("Line 1", summer, ZONE) == "L1-260702-1"
    assert run_name("Line 1", summer, "UTC") == "L1-260701-1"
