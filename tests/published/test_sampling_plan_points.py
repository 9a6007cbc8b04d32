"""Chances of acceptance of published plans."""

from __future__ import annotations

import pytest
from scipy.stats import poisson

from clew.checks.attributes.curves import chance_accepted, share_accepted_at
from clew.checks.attributes.lot_count import most_bad
from clew.checks.attributes.plans import single_plan


@pytest.mark.outside(
    document="US 7 CFR 42.140, operating characteristic curves",
    edition="as codified",
    section="500 containers, accept at 3: 1.0 per hundred, 26 % accepted; 0.10, about 99 %",
    mark="READ",
)
def test_a_federal_curve() -> None:
    """Its curves count faults, by Poisson; ours count bad balls, by the binomial."""
    plan = single_plan(500, 3)
    assert round(100 * float(chance_accepted(plan, 0.010))) == 26
    assert float(chance_accepted(plan, 0.0010)) >= 0.99
    assert float(chance_accepted(plan, 0.010)) == pytest.approx(poisson.cdf(3, 5.0), abs=2e-3)


@pytest.mark.outside(
    document="AcceptanceSampling package, manual",
    edition="1.0",
    section="OC2c(20, 0) and OC2c(10, 3), binomial, as printed",
    mark="READ",
)
@pytest.mark.parametrize(
    ("n", "accept", "bad", "printed", "error"),
    [
        (20, 0, 0.05, 0.35848592, 5e-9),
        (20, 0, 0.15, 0.03875953, 5e-9),
        (10, 3, 0.05, 0.9989715, 5e-8),
        (10, 3, 0.08, 0.9941987, 5e-8),
        (10, 3, 0.10, 0.9872048, 5e-8),
    ],
)
def test_printed_chances(n: int, accept: int, bad: float, printed: float, error: float) -> None:
    assert float(chance_accepted(single_plan(n, accept), bad)) == pytest.approx(printed, abs=error)


@pytest.mark.outside(
    document="Facts on net content and sampling (our own computation)",
    edition="2026",
    section="6.3: percent bad at which plans accept with chance .95, .50 and .10, binomial",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("n", "accept", "percents"),
    [
        (50, 3, (2.779, 7.295, 12.876)),
        (80, 5, (3.317, 7.058, 11.285)),
        (125, 7, (3.224, 6.119, 9.237)),
        (200, 7, (2.006, 3.828, 5.815)),
        (80, 2, (1.030, 3.329, 6.516)),
        (32, 2, (2.604, 8.269, 15.787)),
        (20, 1, (1.807, 8.251, 18.096)),
    ],
)
def test_shares_at_which_standard_plans_turn(
    n: int, accept: int, percents: tuple[float, ...]
) -> None:
    for chance, percent in zip((0.95, 0.50, 0.10), percents, strict=True):
        found = 100 * share_accepted_at(single_plan(n, accept), chance)
        assert found == pytest.approx(percent, abs=5.1e-4)


@pytest.mark.outside(
    document="The rule of three, as in textbooks of medical statistics",
    edition="any",
    section="none bad of n: at most about 3/n, with 95 % confidence",
    mark="MEMORY",
)
@pytest.mark.parametrize("n", [100, 300, 1000])
def test_the_rule_of_three(n: int) -> None:
    assert most_bad(n, 0) == pytest.approx(3.0 / n, rel=0.02)


@pytest.mark.outside(
    document="Success-run theorem: none bad of 59 shows 5 % with 95 % confidence",
    edition="any",
    section="(1 - 0.05)^59 = 0.0485, and 58 do not suffice",
    mark="MEMORY",
)
def test_fifty_nine_balls() -> None:
    assert most_bad(59, 0) < 0.05 < most_bad(58, 0)
