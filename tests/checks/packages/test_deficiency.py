"""Looking up how short a ball may be, and rounding it up without a binary slip."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.packages.deficiency import (
    band_deficiency,
    round_up,
    row_for_lot,
    tolerable_mass,
)
from clew.faults import BadInput
from clew.mill.net_content import read_tables

TABLES = read_tables()


@pytest.mark.parametrize(
    ("value", "step", "found"),
    [
        (2.25, 0.1, 2.3),
        (6.75, 0.1, 6.8),
        (4.5, 0.1, 4.5),
        (0.1 + 0.2, 0.1, 0.3),
        (15.1, 1.0, 16.0),
        (150.0, 1.0, 150.0),
        (0.0, 0.1, 0.0),
    ],
)
def test_rounding_up_leaves_a_step_alone(value: float, step: float, found: float) -> None:
    assert round_up(value, step) == found


@given(st.floats(0.001, 20_000))
def test_rounding_up_is_the_least_step_above(value: float) -> None:
    found = round_up(value, 0.1)
    assert found >= value * (1.0 - 1e-9) - 1e-9
    assert found - value < 0.1


def test_a_band_ends_at_its_upper_edge() -> None:
    table = TABLES["us_category_a_mass"]
    assert band_deficiency(table, 81.0) == 5.4
    assert band_deficiency(table, 81.001) == 7.2
    assert band_deficiency(table, 30.0) == pytest.approx(3.0)
    assert band_deficiency(table, 30_000.0) == pytest.approx(600.0)


def test_beyond_a_table_is_refused() -> None:
    with pytest.raises(BadInput, match="at most 50000"):
        tolerable_mass(TABLES["r87_mass"], 50_001.0)
    with pytest.raises(BadInput, match="100 balls or more"):
        row_for_lot(TABLES["r87_plans"], 99)


@given(st.integers(1, 10_000_000))
def test_every_lot_has_a_plan_of_category_a(lot: int) -> None:
    row = row_for_lot(TABLES["us_category_a_plans"], lot)
    assert row.n is not None
    assert row.n <= lot
