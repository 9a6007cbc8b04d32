"""Names put together as they are spoken."""

from __future__ import annotations

import pytest

from clew.plan.named import and_words, each_and, or_words

NAMES = ["SL-207", "OA-019", "SA-340"]


@pytest.mark.parametrize(
    ("many", "spoken", "each", "one_of"),
    [
        (0, "", "", ""),
        (1, "SL-207", "SL-207", "SL-207"),
        (2, "SL-207 and OA-019", "SL-207 and OA-019", "SL-207 or OA-019"),
        (
            3,
            "SL-207, OA-019 and SA-340",
            "SL-207 and OA-019 and SA-340",
            "SL-207 or OA-019 or SA-340",
        ),
    ],
)
def test_names_as_they_are_spoken(many: int, spoken: str, each: str, one_of: str) -> None:
    names = NAMES[:many]
    assert (and_words(names), each_and(names), or_words(names)) == (spoken, each, one_of)
