"""What spread is worth is the same whether the cost of doubt is asked for or not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from clew.checks.target.chances import LotMake
from clew.checks.target.gram_worth import gram_worth, worth_and_doubt
from clew.checks.target.inspected import Condition, MeanBall
from clew.checks.target.spread import Level, Sd, spread_of_sources
from target_plans import double


@pytest.mark.parametrize("unsure", [True, False])
def test_with_the_cost_of_doubt_or_without(unsure: bool) -> None:
    spread = spread_of_sources(count_lot=0.004, count_cone=0.01, count_within=0.007)
    if unsure:
        spread = replace(spread, lot=Level(Sd(0.004, 0.4)))
    asked = ((double(),), MeanBall(102.0, 200.0), spread, LotMake(600, 15, 6), Condition())
    worth, doubt = worth_and_doubt(*asked, risk=0.02, seed=3)
    assert worth == gram_worth(*asked, risk=0.02, seed=3)
    assert (doubt.spread_g == 0.0) is not unsure
