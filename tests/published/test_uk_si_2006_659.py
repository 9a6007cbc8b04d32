"""SI 2006/659: single plan, small batches, and what exactly is defective."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.packages.plan import Stage
from clew.checks.packages.rule_sets import judge_many, plan_of
from clew.mill.net_content import read_tables

TABLES = read_tables()


def read(section: str) -> pytest.MarkDecorator:
    return pytest.mark.outside(
        document="Weights and Measures (Packaged Goods) Regulations 2006, SI 2006/659",
        edition="as in force",
        section=section,
        mark="READ",
    )


def individual(lot: int, contents: list[float]) -> bool:
    plan = plan_of("uk-2006", "mass", 50.0, lot, TABLES)
    return bool(judge_many(plan, np.array([contents])).individual[0])


@read("Schedule 2, paragraph 3")
@pytest.mark.parametrize(
    ("lot", "n", "accept"),
    [(100, 50, 3), (500, 50, 3), (501, 80, 5), (3200, 80, 5), (3201, 125, 7)],
)
def test_single_plan(lot: int, n: int, accept: int) -> None:
    plan = plan_of("uk-2006", "mass", 50.0, lot, TABLES)
    assert plan.stages == (Stage(n, accept, accept + 1),)


@read("Schedule 2, paragraph 3: a defective has less than the nominal quantity less the error")
def test_three_defectives_of_fifty_are_accepted_and_four_are_not() -> None:
    assert individual(400, [45.4] * 3 + [50.0] * 47)
    assert not individual(400, [45.4] * 4 + [50.0] * 46)
    assert individual(400, [45.5] * 50)


@read("regulation 4, third rule: none short by more than twice the error")
def test_one_ball_short_by_more_than_twice_the_error() -> None:
    assert not individual(400, [40.9] + [50.0] * 49)
    assert individual(400, [41.0] + [50.0] * 49)


@read("Schedule 2: batches below 100")
def test_a_small_batch_takes_five_percent_and_its_whole_mean() -> None:
    plan = plan_of("uk-2006", "mass", 50.0, 60, TABLES)
    good = [45.4] * 3 + [50.5] * 57
    assert bool(judge_many(plan, np.array([good])).passed[0])
    assert not bool(judge_many(plan, np.array([[45.4] * 4 + [50.5] * 56])).passed[0])
    light = judge_many(plan, np.array([[49.9] * 60]))
    assert not bool(light.average[0])
