"""Limits of what a lot can hold, against counting."""

from __future__ import annotations

from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from clew.checks.attributes.lot_count import most_bad
from clew.faults import BadInput


@given(st.integers(1, 40), st.integers(0, 40), st.integers(0, 40))
def test_the_greatest_lot_count_that_is_still_likely(lot: int, n: int, found: int) -> None:
    n = max(1, min(n, lot))
    found = min(found, n)

    def chance(bad: int) -> float:
        ways = sum(comb(bad, x) * comb(lot - bad, n - x) for x in range(found + 1))
        return ways / comb(lot, n)

    likely = [bad for bad in range(found, lot - n + found + 1) if chance(bad) > 0.05]
    assert most_bad(n, found, lot) * lot == pytest.approx(max(likely))


@given(st.integers(1, 300), st.integers(0, 300))
def test_an_endless_lot_at_its_limit_has_just_the_chance_left_over(n: int, found: int) -> None:
    found = min(found, n)
    limit = most_bad(n, found)
    assert limit == 1.0 if found == n else binom.cdf(found, n, limit) == pytest.approx(0.05)
    assert found / n <= limit


def test_a_lot_seen_whole_is_known() -> None:
    assert most_bad(50, 3, 50) == 3 / 50


@pytest.mark.parametrize(
    ("n", "found", "lot", "confidence", "match"),
    [
        (5, 6, None, 0.95, "more bad balls"),
        (50, 1, 40, 0.95, "more balls drawn"),
        (5, 1, None, 1.0, "not a confidence"),
        (0, 0, None, 0.95, "balls drawn"),
    ],
)
def test_what_cannot_be(n: int, found: int, lot: int | None, confidence: float, match: str) -> None:
    with pytest.raises(BadInput, match=match):
        most_bad(n, found, lot, confidence_frac=confidence)
