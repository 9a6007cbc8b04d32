"""Curves of plans, against every possible lot drawn out by hand."""

from __future__ import annotations

from itertools import permutations
from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.attributes.curves import (
    chance_accepted,
    curve,
    share_accepted_at,
    worst_outgoing,
)
from clew.checks.attributes.plans import AttributePlan, double_plan, single_plan
from clew.faults import BadInput


def judged(plan: AttributePlan, order: tuple[int, ...]) -> tuple[bool, int, int, bool]:
    """Follow one order of balls: accepted, balls drawn, balls drawn if stopped, sorted."""
    first = plan.stages[0]
    found = sum(order[: first.drawn])
    if found <= first.accept:
        return True, first.drawn, first.drawn, False
    if found >= first.reject or len(plan.stages) == 1:
        stopped = first.drawn
        if len(plan.stages) == 1:
            stopped = next(k for k in range(len(order)) if sum(order[: k + 1]) >= first.reject) + 1
        return False, first.drawn, stopped, True
    last = plan.stages[1]
    if sum(order[: last.drawn]) <= last.accept:
        return True, last.drawn, last.drawn, False
    stopped = next(k for k in range(first.drawn, len(order)) if sum(order[: k + 1]) >= last.reject)
    return False, last.drawn, stopped + 1, True


@pytest.mark.parametrize(
    "plan",
    [
        single_plan(3, 0),
        single_plan(4, 1),
        single_plan(5, 2),
        double_plan(2, 0, 2, 3, 1),
        double_plan(3, 0, 3, 3, 2),
        double_plan(3, 0, 2, 2, 3),
        double_plan(2, 0, 2, 5, 2),
    ],
    ids=lambda plan: plan.words[:60],
)
@pytest.mark.parametrize("bad", range(8))
def test_a_lot_of_seven_by_every_order_there_is(plan: AttributePlan, bad: int) -> None:
    orders = sorted(set(permutations([1] * bad + [0] * (7 - bad))))
    assert len(orders) == comb(7, bad)
    followed = [judged(plan, order) for order in orders]
    point = curve(plan, [bad / 7], 7)[0]
    assert point.accepted == pytest.approx(np.mean([one[0] for one in followed]), abs=1e-12)
    assert point.drawn_mean == pytest.approx(np.mean([one[1] for one in followed]), abs=1e-12)
    assert point.curtailed_mean == pytest.approx(np.mean([one[2] for one in followed]), abs=1e-12)
    looked = np.mean([7 if one[3] else one[1] for one in followed])
    assert point.inspected_mean == pytest.approx(looked, abs=1e-12)
    left = np.mean(
        [0 if one[3] else sum(order[one[1] :]) for one, order in zip(followed, orders, strict=True)]
    )
    assert point.outgoing_frac == pytest.approx(left / 7, abs=1e-12)


def test_a_drawing_stopped_early_in_an_endless_lot_by_adding_up() -> None:
    """Mean number drawn: the sum over k of the chance that k balls did not decide."""
    plan, p, q = single_plan(6, 1), 0.3, 0.7
    undecided = [1.0, 1.0]
    undecided += [q**k + k * p * q ** (k - 1) for k in range(2, 6)]
    assert curve(plan, [p])[0].curtailed_mean == pytest.approx(sum(undecided), rel=1e-12)


@given(
    st.integers(5, 60),
    st.integers(0, 4),
    st.one_of(st.none(), st.integers(60, 400)),
)
def test_worse_lots_are_accepted_less_often(n: int, accept: int, lot: int | None) -> None:
    chances = chance_accepted(single_plan(n, accept), np.linspace(0, 1, 41), lot)
    assert chances[0] == 1.0
    assert chances[-1] == pytest.approx(0.0, abs=1e-12)
    assert np.all(np.diff(chances) <= 1e-12)


@given(st.integers(2, 20), st.integers(0, 3), st.integers(2, 5), st.integers(2, 20))
def test_a_large_lot_is_as_an_endless_one(n: int, accept: int, gap: int, more: int) -> None:
    accept = min(accept, n - 1)
    both = min(accept + gap, n + more - 1)
    if both < accept + gap - 1:
        return
    plan = double_plan(n, accept, accept + gap, more, both)
    shares = [0.0, 0.02, 0.1, 0.3, 1.0]
    found = chance_accepted(plan, shares, 1_000_000)
    assert found == pytest.approx(chance_accepted(plan, shares), abs=2e-4)


@pytest.mark.parametrize("lot", [50, 700, 3000, None])
def test_the_outgoing_limit_is_nowhere_passed_and_reached_once(lot: int | None) -> None:
    plan = double_plan(20, 0, 3, 20, 2)
    limit, at = worst_outgoing(plan, lot)
    shares = np.arange(lot + 1) / lot if lot else np.linspace(0.0, 1.0, 5001)
    outgoing = [point.outgoing_frac for point in curve(plan, list(shares), lot)]
    assert max(outgoing) <= limit + 1e-12
    assert max(outgoing) == pytest.approx(limit, rel=1e-4)
    assert curve(plan, [at], lot)[0].outgoing_frac == pytest.approx(limit, rel=1e-12)


def test_the_outgoing_limit_of_zero_acceptance_is_known() -> None:
    """p (1 - p)^n is greatest at 1 / (n + 1)."""
    limit, at = worst_outgoing(single_plan(24, 0))
    assert at == pytest.approx(1 / 25, rel=1e-5)
    assert limit == pytest.approx(0.04 * 0.96**24, rel=1e-9)


def test_a_share_is_found_from_its_chance() -> None:
    plan = single_plan(50, 0)
    assert share_accepted_at(plan, 0.5) == pytest.approx(1 - 0.5 ** (1 / 50), rel=1e-10)
    for none in (0.0, 1.0, -0.1):
        with pytest.raises(BadInput, match="not a chance"):
            share_accepted_at(plan, none)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(BadInput, match="more balls than the lot"):
        chance_accepted(single_plan(50, 0), 0.1, 40)
    with pytest.raises(BadInput, match="not a share"):
        chance_accepted(single_plan(50, 0), 1.2)
    with pytest.raises(BadInput, match="not a share"):
        chance_accepted(single_plan(50, 0), float("nan"))
