"""A fault inside a sentence reads as its own line does."""

from __future__ import annotations

import pytest

from clew.faults import Fault
from clew.languages import say
from clew.line.improve.fault_words import fault_words


@pytest.mark.parametrize(
    "fault",
    [
        Fault("nothing there"),
        Fault("nothing there", "something"),
        Fault("out of reach", "at most 64", key="lanes", value="65"),
        Fault("out of reach", key="lanes"),
        Fault("out of reach", "at most 64", section="line", key="lanes", value="65"),
        Fault("out of reach", section="line"),
        Fault(say("out of reach"), say("at most {most}", most=64), key="lanes", value="65"),
    ],
)
def test_it_says_what_the_fault_says(fault: Fault) -> None:
    assert fault_words(fault) == str(fault)
