"""France's order on prepackages: the Directive's reference test as a member state prints it."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.packages.plan import Plan, Stage
from clew.checks.packages.rule_sets import judge_many, plan_of
from clew.checks.packages.small_lots import sample_factor
from clew.checks.packages.verdict import scale_caution
from clew.mill.net_content import read_tables

TABLES = read_tables()


def read(article: str) -> pytest.MarkDecorator:
    return pytest.mark.outside(
        document="Order of 20 October 1978 on prepackages (France)",
        edition="text in force in the collection of French orders",
        section=f"article {article}",
        mark="READ",
    )


def ask(lot: int, *, destructive: bool = False) -> Plan:
    return plan_of("eu-average", "mass", 50.0, lot, TABLES, destructive=destructive)


@read("11.1")
@pytest.mark.parametrize(
    ("lots", "first", "second"),
    [
        ((100, 500), (30, 1, 3), (60, 4, 5)),
        ((501, 3200), (50, 2, 5), (100, 6, 7)),
        ((3201, 10_000), (80, 3, 7), (160, 8, 9)),
    ],
)
def test_double_plan(
    lots: tuple[int, int], first: tuple[int, int, int], second: tuple[int, int, int]
) -> None:
    for lot in lots:
        assert ask(lot).stages == (Stage(*first), Stage(*second))


@read("11.2")
def test_destructive_plan() -> None:
    assert ask(100, destructive=True).stages == (Stage(20, 1, 2),)


@read("10.1")
@pytest.mark.parametrize(
    ("lot", "destructive", "n", "factor"),
    [(100, False, 30, 0.503), (500, False, 30, 0.503), (501, False, 50, 0.379),
     (100, True, 20, 0.640)],
)  # fmt: skip
def test_mean_and_where_its_factor_comes_from(
    lot: int, destructive: bool, n: int, factor: float
) -> None:
    """The order names the fractile: Student's t of 0.995 with n - 1 degrees of freedom."""
    found = ask(lot, destructive=destructive)
    assert (found.average_n, found.factor) == (n, factor)
    assert round(sample_factor(n, p_frac=0.995), 3) == factor


@read("10.1, 10.2: greater than or equal to")
def test_a_mean_exactly_at_its_limit_is_accepted() -> None:
    half = np.sqrt(29.0 / 30.0)  # sd 1 over 30 balls
    at_limit = np.tile([49.497 - half, 49.497 + half], 30)[None]
    assert bool(judge_many(ask(400), at_limit).average[0])
    assert not bool(judge_many(ask(400), at_limit - 0.001).average[0])
    assert bool(judge_many(ask(60), np.full((1, 60), 50.0)).average[0])
    assert not bool(judge_many(ask(60), np.full((1, 60), 49.999)).average[0])


@read("9")
def test_measuring_error_of_a_fifth_of_the_tolerable_one() -> None:
    assert scale_caution(ask(400), 0.9) == ""
    assert "0.9 g" in scale_caution(ask(400), 0.91)
