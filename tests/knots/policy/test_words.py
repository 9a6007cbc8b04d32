"""The rule in words, at its ends and between."""

from __future__ import annotations

import pytest

from clew.knots.cutting import FirstRule
from clew.knots.policy.words import _SHARES, rule_in_words

PLAIN = FirstRule(200.0, 0, 0.0, 0.1)
NONE = FirstRule(200.0, 0, 5.0, 0.1)
"""No join is allowed: any offends, and the shortest piece says nothing more."""
PIECES = FirstRule(1500.0, 2, 7.5, 0.1)


@pytest.mark.parametrize(
    ("rule", "look_m", "most_m", "words"),
    [
        (PLAIN, 0.0, 0.0, "Nothing ahead seen: wind straight through; no parting pays."),
        (PLAIN, 0.0, 200.0, "Nothing ahead seen: part at join 1 whenever it shows."),
        (
            PLAIN, 0.0, 86.77,
            "Nothing ahead seen: when join 1 shows, part if less than 86.8 m is on (about two "
            "fifths of the ball, 43 % of its turns); later than that, wind the ball out as "
            "second-quality.",
        ),
        (
            PIECES, 1200.0, 60.0,
            "With 1200 m in sight: when join 3, or one that leaves a piece under 7.5 m, shows, "
            "start the next ball at the first place that mends it (behind a join still on the "
            "belt, or just so far on that its last piece is long enough) if that drops at most "
            "60 m (4 % of its turns); else wind the ball out.",
        ),
        (
            PLAIN, 50.0, 200.0,
            "With 50 m in sight: when join 1 shows, start the next ball at the first place that "
            "mends it (behind a join still on the belt).",
        ),
        (
            NONE, 0.0, 103.0,
            "Nothing ahead seen: when join 1 shows, part if less than 103 m is on (about half the "
            "ball, 52 % of its turns); later than that, wind the ball out as second-quality.",
        ),
        (
            NONE, 50.0, 200.0,
            "With 50 m in sight: when join 1 shows, start the next ball at the first place that "
            "mends it (behind a join still on the belt).",
        ),
        (
            NONE, 0.0, 1.5,
            "Nothing ahead seen: when join 1 shows, part if less than 1.5 m is on (under 1 % of "
            "its turns); later than that, wind the ball out as second-quality.",
        ),
        (PIECES, 50.0, 0.0, "With 50 m in sight: wind straight through; no parting pays."),
    ],
)  # fmt: skip
def test_words(rule: FirstRule, look_m: float, most_m: float, words: str) -> None:
    assert rule_in_words(rule, look_m, most_m) == words


@pytest.mark.parametrize(("share", "words"), _SHARES)
def test_a_share_is_the_fraction_its_words_say(share: float, words: str) -> None:
    many = {"a": 1, "half": 1, "two": 2, "three": 3, "four": 4, "nine": 9}
    parts = {"half": 2, "third": 3, "quarter": 4, "fifth": 5, "tenth": 10, "twentieth": 20}
    said = words.removesuffix(" of the ball").removesuffix(" the ball").split()
    assert share == many[said[0]] / parts[said[-1].removesuffix("s")]
