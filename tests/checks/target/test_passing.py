"""Closed forms of the chance to pass, against sums by hand and small lots drawn in full."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from clew.checks.packages.plan import Stage
from clew.checks.target.passing import average_pass, individual_pass, passing
from clew.faults import BadInput
from target_plans import averages_only, double, single


def test_the_average_is_a_noncentral_t() -> None:
    plan = single()
    mean, sd, n = 99.5, 1.8, 24
    delta = (mean - 100.0) * math.sqrt(n) / sd
    said = float(stats.nct.sf(-0.422 * math.sqrt(n), n - 1, delta))
    assert average_pass(plan, mean, sd) == pytest.approx(said, abs=1e-9)


def test_the_average_by_quadrature() -> None:
    """P(xbar >= F - k s) = E over chi-square of a normal tail."""
    plan = double()
    mean, sd, n = 99.2, 2.0, 50
    q = (np.arange(200_000) + 0.5) / 200_000
    s = sd * np.sqrt(stats.chi2.ppf(q, n - 1) / (n - 1))
    said = stats.norm.sf((100.0 - plan.factor * s - mean) / (sd / math.sqrt(n))).mean()
    assert average_pass(plan, mean, sd) == pytest.approx(said, abs=2e-6)


def test_a_double_plan_by_adding_every_way() -> None:
    plan = double()
    mean, sd = 98.0, 2.6
    p = stats.norm.cdf((95.5 - mean) / sd)
    far = stats.norm.cdf((91.0 - mean) / sd)
    ways = 0.0
    for a, b in itertools.product(range(51), range(51)):
        if a <= 2 or (a < 5 and a + b <= 6):
            first = stats.multinomial.pmf([a, 50 - a, 0], 50, [p - far, 1 - p, far])
            second = stats.multinomial.pmf([b, 50 - b, 0], 50, [p - far, 1 - p, far])
            ways += first * (second if a > 2 else (1.0 if b == 0 else 0.0))
    assert individual_pass(plan, mean, sd) == pytest.approx(ways, rel=1e-9)


def test_a_lot_is_hypergeometric() -> None:
    plan = single(n=12, accept=1, deficiency=3.0)
    lot, short = 40, 5
    mean = 97.0 - float(stats.norm.ppf(short / lot)) * 2.0
    said = stats.hypergeom.cdf(1, lot, short, 12)
    assert individual_pass(plan, mean, 2.0, lot) == pytest.approx(said, rel=1e-6)


def test_a_double_plan_in_a_lot_by_drawing_without_putting_back() -> None:
    plan = replace(double(), far_deficiency=math.inf, stages=(Stage(8, 0, 2), Stage(16, 1, 2)))
    lot, short = 30, 4
    mean = 95.5 - float(stats.norm.ppf(short / lot)) * 2.0
    said = stats.hypergeom.pmf(0, lot, short, 8)
    said += stats.hypergeom.pmf(1, lot, short, 8) * stats.hypergeom.pmf(0, lot - 8, short - 1, 8)
    found = individual_pass(replace(plan, average_n=8), mean, 2.0, lot)
    assert found == pytest.approx(said, rel=1e-6)


def test_the_average_of_a_real_lot_drawn_again_and_again() -> None:
    """60 balls of given mean and sd, 24 drawn without putting back, 20 000 times."""
    rng = np.random.default_rng(8)
    lot = stats.norm.ppf((np.arange(60) + 0.5) / 60)
    lot = 99.5 + 1.5 * (lot - lot.mean()) / lot.std()
    plan = single(n=24, factor=0.1)
    drawn = rng.permuted(np.tile(lot, (20_000, 1)), axis=1)[:, :24]
    passes = drawn.mean(axis=1) + 0.1 * drawn.std(axis=1, ddof=1) >= 100.0
    assert average_pass(plan, 99.5, 1.5, 60) == pytest.approx(passes.mean(), abs=0.01)
    assert abs(average_pass(plan, 99.5, 1.5) - passes.mean()) > 0.02


def test_a_lot_looked_at_whole_passes_or_not() -> None:
    plan = replace(averages_only(100.0, n=12, floor=100.0), whole_lot=True)
    assert average_pass(plan, 100.0, 2.0, 12) == 1.0
    assert average_pass(plan, 99.999, 2.0, 12) == 0.0


def test_balls_all_alike() -> None:
    assert passing(double(), 100.0, 0.0).low == 1.0
    assert passing(double(), 99.99, 0.0).high == 0.0
    assert individual_pass(double(), 95.5, 0.0) == 1.0
    assert individual_pass(double(), 95.4, 0.0) == 0.0


@given(st.floats(94.0, 106.0), st.floats(0.0, 3.0), st.floats(0.5, 5.0), st.booleans())
def test_a_heavier_lot_passes_no_seldomer(
    mean: float, more: float, sd: float, finite: bool
) -> None:
    lot = 500 if finite else None
    one, two = passing(double(), mean, sd, lot), passing(double(), mean + more, sd, lot)
    assert two.average >= one.average - 1e-9
    assert two.individual >= one.individual - 1e-9
    for found in (one, two):
        assert 0.0 <= found.low <= found.high <= 1.0


def test_nonsense_is_one_clear_line() -> None:
    for mean, sd, lot in ((math.nan, 1.0, None), (100.0, -1.0, None), (100.0, 1.0, 20)):
        with pytest.raises(BadInput) as caught:
            passing(double(), mean, sd, lot)
        assert len(str(caught.value).splitlines()) == 1
