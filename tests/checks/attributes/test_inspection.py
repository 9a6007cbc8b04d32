"""What was found, and what follows."""

from __future__ import annotations

import pytest

from clew.checks.attributes.inspection import Inspection, judge, judge_all
from clew.checks.attributes.plans import double_plan, single_plan
from clew.faults import BadInput

SINGLE = single_plan(80, 2)
DOUBLE = double_plan(50, 1, 4, 50, 4)


@pytest.mark.parametrize(
    ("n", "bad", "outcome", "more"),
    [
        (80, 0, "accept", 0),
        (80, 2, "accept", 0),
        (80, 3, "reject", 0),
        (10, 3, "reject", 0),
        (79, 2, "draw more", 1),
    ],
)
def test_one_drawing(n: int, bad: int, outcome: str, more: int) -> None:
    found = judge(Inspection("knots", n, bad), SINGLE, 3000)
    assert (found.outcome, found.more) == (outcome, more)


@pytest.mark.parametrize(
    ("n", "bad", "outcome", "more"),
    [
        (50, 1, "accept", 0),
        (50, 2, "draw more", 50),
        (50, 3, "draw more", 50),
        (50, 4, "reject", 0),
        (30, 4, "reject", 0),
        (30, 1, "draw more", 20),
        (70, 3, "draw more", 30),
        (70, 5, "reject", 0),
        (70, 4, "draw more", 30),
        (100, 4, "accept", 0),
        (100, 5, "reject", 0),
    ],
)
def test_two_drawings(n: int, bad: int, outcome: str, more: int) -> None:
    found = judge(Inspection("band", n, bad), DOUBLE)
    assert (found.outcome, found.more) == (outcome, more)


def test_words() -> None:
    found = judge(Inspection("knots", 80, 3), SINGLE, 3000)
    assert found.words.startswith("knots: reject. 3 of 80 balls with more knots than the limit;")
    assert "of 3000, with 95 % confidence" in found.words
    mine = judge(Inspection("oil spots", 80, 0), SINGLE)
    assert mine.words.startswith("oil spots: accept. 0 of 80 balls with oil spots; in the lot at")


def test_faults_are_judged_one_by_one() -> None:
    found = judge_all([Inspection("knots", 80, 3), Inspection("shape", 80, 0)], SINGLE, 3000)
    assert [one.outcome for one in found] == ["reject", "accept"]
    with pytest.raises(BadInput, match="a fault twice"):
        judge_all([Inspection("knots", 80, 3)] * 2, SINGLE)


def test_what_cannot_be_judged() -> None:
    with pytest.raises(BadInput, match="more bad balls"):
        Inspection("knots", 5, 6)
    with pytest.raises(BadInput, match="more balls looked at than the plan draws"):
        judge(Inspection("knots", 81, 0), SINGLE)
    with pytest.raises(BadInput, match="than the lot has"):
        judge(Inspection("knots", 20, 0), SINGLE, 40)
