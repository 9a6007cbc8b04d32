"""A whole number as it is typed: what is read, and what is said of the rest."""

import pytest

from clew.web.asked.whole import whole_typed


def test_a_whole_number_between_the_least_and_the_most_is_read() -> None:
    assert whole_typed("bag", "1", 200, 1) == (1, None)
    assert whole_typed("bag", "200", 200, 1) == (200, None)
    assert whole_typed("seed", "0", 9) == (0, None)


@pytest.mark.parametrize(
    ("typed", "what"),
    [("0", "out of reach"), ("201", "out of reach"), ("-1", "not a whole number"),
     ("1.0", "not a whole number"), ("", "not a whole number"), ("9" * 13, "not a whole number")],
)  # fmt: skip
def test_anything_else_is_told_with_both_ends(typed: str, what: str) -> None:
    number, fault = whole_typed("bag", typed, 200, 1)
    assert number == 0
    assert fault is not None
    assert (fault.what, fault.key) == (what, "bag")
    assert fault.expected == "a whole number from 1 to 200"
