"""Directive 76/211/EEC: tolerable negative errors and the reference test."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.packages.plan import Stage
from clew.checks.packages.rule_sets import judge_many, plan_of
from clew.checks.packages.small_lots import sample_factor
from clew.mill.net_content import read_tables

TABLES = read_tables()


def read(section: str) -> pytest.MarkDecorator:
    return pytest.mark.outside(
        document="Directive 76/211/EEC", edition="consolidated text", section=section, mark="READ"
    )


@read("Annex I, 2.4")
@pytest.mark.parametrize("edge", [50.0, 100.0, 200.0, 300.0, 500.0, 1000.0, 10_000.0, 15_000.0])
def test_tolerable_negative_error_is_continuous(edge: float) -> None:
    below = plan_of("eu-average", "mass", edge, 400, TABLES).deficiency
    above = plan_of("eu-average", "mass", edge + 1e-6, 400, TABLES).deficiency
    assert 0.0 <= above - below <= 0.1 + 1e-9  # what rounding up may add just above an edge


@read("Annex I, 2.4, with the rounding of the United Kingdom's guidance")
@pytest.mark.parametrize(
    ("declared", "error"),
    [(25, 2.3), (50, 4.5), (100, 4.5), (150, 6.8), (200, 9.0), (250, 9.0), (400, 12.0),
     (1005, 15.1), (1500, 22.5), (16_001, 160.1)],
)  # fmt: skip
def test_tolerable_negative_error(declared: float, error: float) -> None:
    assert plan_of("eu-average", "mass", declared, 400, TABLES).deficiency == pytest.approx(error)


@read("Annex II, 2.2.1 and 2.2.2")
@pytest.mark.parametrize(
    ("lot", "stages"),
    [
        (100, (Stage(30, 1, 3), Stage(60, 4, 5))),
        (500, (Stage(30, 1, 3), Stage(60, 4, 5))),
        (501, (Stage(50, 2, 5), Stage(100, 6, 7))),
        (3200, (Stage(50, 2, 5), Stage(100, 6, 7))),
        (3201, (Stage(80, 3, 7), Stage(160, 8, 9))),
    ],
)
def test_double_plan(lot: int, stages: tuple[Stage, ...]) -> None:
    assert plan_of("eu-average", "mass", 50.0, lot, TABLES).stages == stages
    destroyed = plan_of("eu-average", "mass", 50.0, lot, TABLES, destructive=True)
    assert destroyed.stages == (Stage(20, 1, 2),)


@read("Annex II, 2.3")
@pytest.mark.parametrize(
    ("lot", "destructive", "n", "k"),
    [(500, False, 30, 0.503), (501, False, 50, 0.379), (100, True, 20, 0.640)],
)
def test_mean_criterion(lot: int, destructive: bool, n: int, k: float) -> None:
    plan = plan_of("eu-average", "mass", 50.0, lot, TABLES, destructive=destructive)
    assert (plan.average_n, plan.factor) == (n, k)
    assert round(sample_factor(n), 3) == k


@pytest.mark.outside(
    document="Directive 76/211/EEC",
    edition="consolidated text",
    section="Annex II, 2.3, on samples of our own",
    mark="COMPUTED",
)
@pytest.mark.parametrize(("sd", "limit", "passes"), [(1.9, 49.0443, True), (1.5, 49.2455, False)])
def test_the_mean_of_an_even_batch_is_held_closer(sd: float, limit: float, passes: bool) -> None:
    plan = plan_of("eu-average", "mass", 50.0, 400, TABLES)
    assert plan.floor - plan.factor * sd == pytest.approx(limit, abs=5e-5)
    up = sd * np.sqrt(29.0 / 30.0)
    contents = np.tile([49.2 - up, 49.2 + up], 30)[None]
    assert bool(judge_many(plan, contents).average[0]) is passes
