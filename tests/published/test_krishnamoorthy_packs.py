"""Packs of 3 kg whose share below a weight is known: Krishnamoorthy's example, in two programs."""

import math
from dataclasses import replace

import pytest
from scipy import optimize

from clew.checks.packages.plan import Plan, Stage
from clew.checks.target.passing import individual_pass

ONE_PACK = Plan(
    rule="eu-average",
    quantity="mass",
    declared=3.0,
    floor=-math.inf,
    factor=0.0,
    average_n=1,
    stages=(Stage(1, 0, 1),),
    deficiency=0.1,
    far_deficiency=math.inf,
    whole_lot=False,
    marks=(),
    confirmed=True,
)
"""One pack drawn, which must not lie below 2.9 kg: the chance to pass is P(x > 2.9)."""


@pytest.mark.outside(
    document="Krishnamoorthy, Handbook of Statistical Distributions, and Boost.Math",
    edition="2006",
    section="example 10.3.7",
    mark="READ",
)
def test_shares_of_packs() -> None:
    """N(3 kg, 0.1 kg): 84.1345 % exceed 2.9 kg, 15.87 % exceed 3.1 kg."""
    assert individual_pass(ONE_PACK, 3.0, 0.1) == pytest.approx(0.841345, abs=5e-7)
    heavier = replace(ONE_PACK, deficiency=-0.1)
    assert individual_pass(heavier, 3.0, 0.1) == pytest.approx(0.1587, abs=5e-5)


@pytest.mark.outside(
    document="Krishnamoorthy, Handbook of Statistical Distributions, and Boost.Math",
    edition="2006",
    section="example 10.3.7",
    mark="READ",
)
def test_mean_so_that_95_in_100_exceed() -> None:
    """The mean to aim at: printed 3.06449 kg."""
    found = optimize.brentq(lambda mean: individual_pass(ONE_PACK, mean, 0.1) - 0.95, 2.9, 3.5)
    assert found == pytest.approx(3.06449, abs=5.1e-6)


@pytest.mark.outside(
    document="Krishnamoorthy, Handbook of Statistical Distributions, and Boost.Math",
    edition="2006",
    section="example 10.3.7",
    mark="READ",
)
def test_spread_so_that_95_in_100_exceed() -> None:
    """The spread to reach with the mean left at 3 kg: printed 0.0608 kg."""
    found = optimize.brentq(lambda sd: individual_pass(ONE_PACK, 3.0, sd) - 0.95, 0.01, 0.1)
    assert found == pytest.approx(0.0608, abs=5e-5)
