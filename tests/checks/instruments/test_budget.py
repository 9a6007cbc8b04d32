"""The uncertainty budget against closed forms."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.instruments.budget import Input, coverage_factor, make_budget
from clew.checks.instruments.distributions import normal, rectangular
from clew.checks.instruments.joint import joint_readings
from clew.faults import BadInput


def two(a: float, ua: float, b: float, ub: float) -> tuple[Input, ...]:
    return (Input("a", "a", "1", normal(a, ua)), Input("b", "b", "1", normal(b, ub)))


positive = st.floats(0.1, 100.0)


@given(positive, positive, st.floats(0.001, 0.1), st.floats(0.001, 0.1))
def test_a_product_adds_relative_uncertainties(a: float, b: float, ra: float, rb: float) -> None:
    found = make_budget(lambda a, b: a * b, two(a, ra * a, b, rb * b))
    assert found.u / found.value == pytest.approx(math.hypot(ra, rb), rel=1e-7)
    assert sum(row.share for row in found.rows) == pytest.approx(1.0)
    assert abs(found.rows[0].contribution) >= abs(found.rows[1].contribution)


@given(st.floats(-1.0, 1.0))
def test_a_sum_of_correlated_inputs(r: float) -> None:
    found = make_budget(lambda a, b: a + b, two(0.0, 3.0, 0.0, 4.0), correlations={("a", "b"): r})
    assert found.u**2 == pytest.approx(25.0 + 24.0 * r, abs=1e-6)


@given(st.floats(0.01, 1000.0), st.floats(-1000.0, 1000.0))
def test_scale_and_shift_of_the_result(factor: float, shift: float) -> None:
    inputs = two(2.0, 0.1, 3.0, 0.2)
    base = make_budget(lambda a, b: a * a + b, inputs)
    moved = make_budget(lambda a, b: factor * (a * a + b) + shift, inputs)
    assert moved.u == pytest.approx(factor * base.u, rel=1e-5)
    assert moved.value == pytest.approx(factor * base.value + shift, rel=1e-9, abs=1e-9)


def test_given_sensitivities_stand_in_for_differences() -> None:
    inputs = two(2.0, 0.1, 3.0, 0.2)
    found = make_budget(lambda a, b: a + b, inputs, given={"a": 10.0})
    assert found.u == pytest.approx(math.hypot(1.0, 0.2))


def test_few_readings_widen_the_interval() -> None:
    few = (Input("a", "a", "g", normal(0.0, 1.0, 4)), Input("b", "b", "g", normal(0.0, 1e-9)))
    found = make_budget(lambda a, b: a + b, few)
    assert found.df == pytest.approx(4.0)
    assert found.k == pytest.approx(2.776, abs=5e-4)
    assert coverage_factor(0.95, math.inf) == pytest.approx(1.95996, abs=5e-6)
    assert coverage_factor(0.95, 4.99) == coverage_factor(0.95, 4.0)


def test_second_order_of_a_square_at_its_bottom() -> None:
    """The first order sees nothing; the variance of a square of a normal value is 2 u^4."""
    one = (Input("a", "a", "1", normal(0.0, 0.3)),)
    found = make_budget(lambda a: a * a, one, second_order=True)
    assert found.u == pytest.approx(0.0, abs=1e-12)
    assert found.second_order_u == pytest.approx(math.sqrt(2.0) * 0.09, rel=1e-6)


def test_readings_that_go_together_carry_their_correlation() -> None:
    names = (("a", "a", "1"), ("b", "b", "1"))
    inputs, r = joint_readings(names, [(1.0, 2.0), (2.0, 4.0), (3.0, 6.0)])
    assert r["a", "b"] == pytest.approx(1.0)
    apart = make_budget(lambda a, b: b - 2 * a, inputs, correlations=r)
    assert apart.u == pytest.approx(0.0, abs=1e-7)
    assert apart.df is None


@pytest.mark.parametrize(
    ("inputs", "correlations"),
    [
        ((), {}),
        ((*two(0, 1, 0, 1), *two(0, 1, 0, 1)), {}),
        (two(0, 1, 0, 1), {("a", "c"): 0.5}),
        (two(0, 1, 0, 1), {("a", "a"): 0.5}),
        (two(0, 1, 0, 1), {("a", "b"): 1.5}),
    ],
)
def test_what_is_no_budget_is_refused(inputs, correlations) -> None:
    with pytest.raises(BadInput):
        make_budget(lambda **of: sum(of.values()), inputs, correlations=correlations)


def test_correlations_that_contradict_each_other() -> None:
    three = (*two(0, 1, 0, 1), Input("c", "c", "1", rectangular(0.0, 1.0)))
    clash = {("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9}
    with pytest.raises(BadInput, match="contradict"):
        make_budget(lambda a, b, c: a + b + c, three, correlations=clash)


def test_a_result_that_is_no_number_is_refused() -> None:
    with pytest.raises(BadInput, match="cannot be worked out"):
        make_budget(lambda a, b: a * math.inf, two(1, 1, 0, 1))


@pytest.mark.parametrize("confidence", [0.0, 1.0, 95.0])
def test_confidence_is_a_share(confidence: float) -> None:
    with pytest.raises(BadInput):
        make_budget(lambda a, b: a + b, two(0, 1, 0, 1), confidence=confidence)
