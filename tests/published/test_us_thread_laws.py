"""State laws on hand-knitting thread: an average of ten, three percent, yards below two ounces."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.packages.rule_sets import judge_many, plan_of
from clew.checks.packages.thread_states import needs_length
from clew.mill.net_content import read_tables

TABLES = read_tables()
OUNCE_G = 28.349523125

average = pytest.mark.outside(
    document="Massachusetts G.L. c.94; Rhode Island G.L. 6-10",
    edition="as published by the states",
    section="s.287; 6-10-4",
    mark="READ",
)


@average
@pytest.mark.parametrize(
    ("quantity", "declared", "mean", "passes"),
    [
        ("mass", 100.0, 97.0, True),
        ("mass", 100.0, 96.99, False),
        ("length", 175.0, 169.75, True),
        ("length", 175.0, 169.7, False),
    ],
)
def test_average_of_ten_not_more_than_three_percent_short(
    quantity: str, declared: float, mean: float, passes: bool
) -> None:
    plan = plan_of("us-thread-states", quantity, declared, 900, TABLES)  # type: ignore[arg-type]
    assert plan.average_n == 10
    spread = np.tile([-0.2, 0.2], 5) * declared  # a single ball may be as short as it likes
    found = judge_many(plan, (mean + spread)[None])
    assert bool(found.passed[0]) is passes


@pytest.mark.outside(
    document="Massachusetts G.L. c.94",
    edition="as published by the state",
    section="s.285",
    mark="READ",
)
def test_below_two_ounces_the_length_in_yards() -> None:
    assert needs_length(50.0, TABLES)
    assert needs_length(2 * OUNCE_G - 0.001, TABLES)
    assert not needs_length(2 * OUNCE_G, TABLES)
