"""New Zealand's small-lot table, and the correction for a finite lot that makes it."""

from __future__ import annotations

import pytest

from clew.checks.packages.rule_sets import plan_of
from clew.checks.packages.small_lots import sample_factor
from clew.mill.net_content import read_tables

schedule = pytest.mark.outside(
    document="Weights and Measures Regulations 1999 (New Zealand)",
    edition="as in force",
    section="Schedule 7A, table 1",
    mark="READ",
)


@schedule
@pytest.mark.parametrize(
    ("n", "lot", "printed"), [(12, 39, 0.746), (12, 79, 0.826), (12, 149, 0.860)]
)
def test_the_formula_gives_the_printed_factor(n: int, lot: int, printed: float) -> None:
    assert round(sample_factor(n, lot_size=lot), 3) == printed


@schedule
def test_a_lot_without_end() -> None:
    assert round(sample_factor(80), 3) == 0.295


@schedule
def test_a_lot_examined_whole_needs_no_factor() -> None:
    assert sample_factor(12, lot_size=12) == 0.0


@schedule
@pytest.mark.parametrize(
    ("lot", "n", "factor", "allowed"),
    [(2, 2, 0.0, 0), (12, 12, 0.0, 0), (13, 12, 0.746, 0), (40, 12, 0.826, 1), (80, 12, 0.860, 2)],
)
def test_its_plans_stand_in_for_those_not_seen(
    lot: int, n: int, factor: float, allowed: int
) -> None:
    plan = plan_of("oiml-r87", "mass", 100.0, lot, read_tables())
    assert (plan.average_n, plan.factor, plan.stages[0].accept) == (n, factor, allowed)
    assert not plan.confirmed
