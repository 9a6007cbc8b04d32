"""OIML R 87 as Australia prints it: tolerable deficiency of mass and length, plans, factors."""

from __future__ import annotations

import pytest

from clew.checks.packages.plan import Stage
from clew.checks.packages.rule_sets import plan_of
from clew.checks.packages.small_lots import sample_factor
from clew.mill.net_content import read_tables

TABLES = read_tables()
YARD_M = 0.9144

tolerable = pytest.mark.outside(
    document="National Trade Measurement Regulations 2009 (Australia)",
    edition="2009, OIML R 87:2004",
    section="r. 4.36",
    mark="READ",
)
plans = pytest.mark.outside(
    document="National Trade Measurement Regulations 2009 (Australia)",
    edition="2009, poor scan",
    section="r. 4.34",
    mark="READ",
)


@tolerable
@pytest.mark.parametrize(
    ("declared", "deficiency"),
    [
        (25, 2.3), (50, 4.5), (75, 4.5), (100, 4.5), (150, 6.8), (200, 9.0), (250, 9.0), (300, 9.0),
        (400, 12.0), (500, 15.0), (1000, 15.0), (1001, 16.0), (10_000, 150.0), (12_000, 150.0),
        (15_000, 150.0), (50_000, 500.0),
    ],
)  # fmt: skip
def test_mass(declared: float, deficiency: float) -> None:
    plan = plan_of("oiml-r87", "mass", declared, 900, TABLES)
    assert plan.deficiency == pytest.approx(deficiency)
    assert plan.far_deficiency == pytest.approx(2 * deficiency)


@tolerable
@pytest.mark.parametrize(
    ("declared", "deficiency"),
    [(4.9, 0.0), (5.0, 0.0), (100.0, 2.0), (175.0, 3.5), (200 * YARD_M, 3.6576)],
)
def test_length(declared: float, deficiency: float) -> None:
    plan = plan_of("oiml-r87", "length", declared, 900, TABLES)
    assert plan.deficiency == pytest.approx(deficiency)


@plans
@pytest.mark.parametrize(
    ("lot", "n", "factor", "accept"),
    [(100, 50, 0.379, 3), (500, 50, 0.379, 3), (501, 80, 0.295, 5), (3200, 80, 0.295, 5),
     (3201, 125, 0.234, 7)],
)  # fmt: skip
def test_plans(lot: int, n: int, factor: float, accept: int) -> None:
    plan = plan_of("oiml-r87", "mass", 100.0, lot, TABLES)
    assert plan.stages == (Stage(n, accept, accept + 1),)
    assert plan.factor == factor
    assert sample_factor(n) == pytest.approx(factor, abs=0.0005)
    assert not plan.confirmed  # the 2016 edition was not seen
