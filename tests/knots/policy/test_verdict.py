"""What a comparison says to the line."""

from __future__ import annotations

from dataclasses import replace

import pytest

from clew.knots.cutting import FirstRule
from clew.knots.policy.compare import Estimate, PolicyComparison, Way
from clew.knots.policy.thumb import ThumbRule
from clew.knots.policy.verdict import Money, sentences, verdict

SURE, SURER = Estimate(0.2, 0.05, 0.1, 0.3), Estimate(0.3, 0.05, 0.2, 0.4)
OPEN, NONE = Estimate(0.05, 0.05, -0.05, 0.15), Estimate(0.0, 0.0, 0.0, 0.0)
LESS = Estimate(-0.3, 0.05, -0.4, -0.2)


def a_way(name: str, look_m: float, over_straight: Estimate, over_short: Estimate = NONE) -> Way:
    lacks = SURE if name == "thumb" else None
    return Way(
        name, look_m, 80.0 if name == "thumb" else None, SURE, over_straight, over_short, SURE,
        lacks, 0.9, 4.5, 0.0, 0.2, 0.01,
    )  # fmt: skip


def compared(short: Estimate, *ahead: Way) -> PolicyComparison:
    ways = [
        a_way("straight", 0.0, NONE), a_way("part_every", 0.0, LESS), a_way("thumb", 0.0, short),
        *ahead, a_way("offline", 1000.0, SURER, SURER),
    ]  # fmt: skip
    thumb = ThumbRule(80.0, 24.0, 23.0, 0.9, 0.2, 0.01)
    return PolicyComparison(2.0, FirstRule(200.0, 1, 10.0, 0.1), thumb, tuple(ways), 1000.0, 4, 1)


@pytest.mark.parametrize(
    ("short", "ahead", "words"),
    [
        (SURE, [], "Use the short rule."),
        (OPEN, [], "Wind straight through: the short rule brings nothing sure here."),
        (
            SURE, [a_way("thumb", 300.0, SURE), a_way("rolling", 300.0, SURE)],
            "Use the short rule; 300 m in sight bring nothing more here.",
        ),
        (
            SURE, [a_way("thumb", 300.0, SURER, OPEN)],
            "Use the short rule; 300 m in sight bring nothing sure here.",
        ),
        (
            SURE, [a_way("thumb", 100.0, SURE, SURE), a_way("thumb", 300.0, SURE, SURER)],
            "Look ahead: 300 m in sight bring 0.300 (0.200 to 0.400) GBP a km more than the short "
            "rule, 1020 GBP a year.",
        ),
        (
            SURE, [a_way("thumb", 300.0, SURE, OPEN), a_way("rolling", 300.0, SURE, SURER)],
            "Use the short rule; 300 m in sight bring nothing sure here by hand. Solving 300 m in "
            "sight would bring 0.300 (0.200 to 0.400) GBP a km more than the short rule, 1020 GBP "
            "a year.",
        ),
        (
            OPEN, [a_way("thumb", 300.0, SURE, OPEN)],
            "Look ahead: 300 m in sight bring 0.200 (0.100 to 0.300) GBP a km more than winding "
            "straight through, 680 GBP a year.",
        ),
        (
            NONE, [a_way("thumb", 300.0, NONE)],
            "Wind straight through; 300 m in sight bring nothing more here.",
        ),
    ],
)  # fmt: skip
def test_which_rule_to_use(short: Estimate, ahead: list[Way], words: str) -> None:
    assert verdict(compared(short, *ahead), Money("GBP", 3400.0)) == words


def test_lengths_in_yards() -> None:
    found = compared(SURE, a_way("thumb", 274.32, SURE))
    assert verdict(found, Money(units="yard")) == (
        "Use the short rule; 300 yd in sight bring nothing more here."
    )


@pytest.mark.parametrize("short", [SURE, OPEN, LESS])
def test_every_sum_has_its_currency(short: Estimate) -> None:
    """Wherever a km or a year is spoken of money stands before it, and its name."""
    lines = sentences(compared(short), Money("GBP", 3400.0))
    assert sum(line.count(" a km") for line in lines) == 3
    for line in lines:
        assert line.count(" a km") == line.count(" GBP a km")
        assert line.count(" a year") == line.count(" GBP a year")
    bare = " ".join(sentences(compared(short), Money()))
    assert "GBP" not in bare
    assert "a year" not in bare


def test_balls_that_hide_a_fault_are_named() -> None:
    found = compared(SURE)
    ways = tuple(replace(way, hidden_frac=0.0123) for way in found.ways)
    assert sentences(replace(found, ways=ways), Money())[-1].startswith(
        "Of the balls sold as first-quality 1.23 % break the rule"
    )
