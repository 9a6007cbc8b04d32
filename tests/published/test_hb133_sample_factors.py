"""Sample correction factors of Handbook 133, table 2-1: recalled, and held against Student's t."""

from __future__ import annotations

import math

import pytest

from clew.checks.packages.small_lots import sample_factor
from clew.mill.net_content import read_tables
from clew.mill.net_content_tables import LotRow

ROWS = [row for row in read_tables()["us_category_a_plans"].lots if row.lot_from > 1]


@pytest.mark.outside(
    document="NIST Handbook 133",
    edition="recalled",
    section="Appendix A, table 2-1, column 3",
    mark="MEMORY",
)
@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"n={row.n}")
def test_factor_is_students_t_over_the_root_of_n(row: LotRow) -> None:
    """Recalled to 0.001. For n of 48 the formula gives 0.2904, recalled is 0.291: an open point."""
    assert sample_factor(row.n or 0, p_frac=0.975) == pytest.approx(row.factor, abs=0.00065)


@pytest.mark.outside(
    document="NIST Handbook 133",
    edition="recalled",
    section="Appendix A, table 2-1, n = 48",
    mark="MEMORY",
)
def test_only_the_row_of_48_is_not_explained() -> None:
    """A t rounded to three decimals first explains n of 2 and 6; nothing explains 0.291."""
    off = [row.n for row in ROWS if round(sample_factor(row.n or 0, p_frac=0.975), 3) != row.factor]
    assert off == [2, 6, 48]
    for n, printed in ((2, 8.984), (6, 1.050)):
        t_rounded = round(sample_factor(n, p_frac=0.975) * math.sqrt(n), 3)
        assert t_rounded / math.sqrt(n) == pytest.approx(printed, abs=0.0005)
