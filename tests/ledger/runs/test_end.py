"""Ending a run."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from tests.ledger.state.told import LINE, at_us, records_of, say

from clew.faults import BadInput
from clew.ledger.runs.end import EndQuestion, end_message
from clew.ledger.state.known import Run
from clew.ledger.state.line_state import line_state

START = say("run start", "05:30:00", run="R1", lot="SL-207", ball_name="Querl 100")
RUN = Run("R1", "Querl 100", "SL-207", at_us("05:30"))
QUESTION = EndQuestion(at_us("13:50"), "Ines", "tablet", "k1", "lot wound")


def test_a_run_ends_with_who_when_and_why() -> None:
    message = end_message(LINE, replace(QUESTION, note="two cones left"), RUN)
    assert message.body == {"why": "lot wound", "note": "two cones left"}
    state = line_state(records_of([START, message]), LINE)
    assert state.run is None and state.last_run is not None
    assert (state.last_run.ended_us, state.last_run.end_why) == (at_us("13:50"), "lot wound")


@pytest.mark.parametrize(
    ("run", "other", "says"),
    [
        (None, {}, "no run is in progress on Line 1"),
        (RUN, {"why": ""}, "no reason"),
        (RUN, {"why": "a\0b"}, "no text"),
        (RUN, {"note": "a\0b"}, "no text"),
        (RUN, {"author": ""}, "nobody is named"),
        (RUN, {"at_us": at_us("05:00")}, "before the run began"),
    ],
)
def test_what_cannot_be_ended_is_refused(run: Run | None, other: dict[str, Any], says: str) -> None:
    with pytest.raises(BadInput) as bad:
        end_message(LINE, replace(QUESTION, **other), run)
    assert says in str(bad.value.faults[0])
