"""Money on the pages of knots in a reader's own marks."""

from __future__ import annotations

import pytest

from clew.languages import speaking, spoken
from clew.web.knots.money import small_sum, whole_sum


@pytest.mark.parametrize(
    ("value", "currency", "english", "german"),
    [
        (0.0028, "GBP", "0.28p", "0,28p"),
        (0.26, "GBP", "26p", "26p"),
        (1.2, "USD", "$1.20", "$1,20"),
        (-0.031, "USD", "−3.1¢", "−3,1¢"),
        (0.0028, "CHF", "0.0028 CHF", "0,0028 CHF"),
    ],
)
def test_a_sum_has_the_readers_decimal_mark(
    value: float, currency: str, english: str, german: str
) -> None:
    said = small_sum(value, currency)
    assert said == english
    with speaking("de"):
        assert spoken(said) == german
        assert spoken(whole_sum(184.0, currency)).count(",") == 1
