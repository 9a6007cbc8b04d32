"""Balls of one cone are alike: the exact run against drawn balls."""

import math

import numpy as np
import pytest

from clew.checks.charts.run_length_cones import cone_cusum, cone_ewma, cone_shewhart
from clew.faults import BadInput


def drawn(width, balls_a_cone, rho, spread, runs, seed):
    random = np.random.default_rng(seed)
    lengths = []
    for _ in range(runs):
        count = 0
        while True:
            cone = math.sqrt(rho) * random.standard_normal()
            balls = cone + math.sqrt(1.0 - rho) * random.standard_normal(balls_a_cone)
            out = np.nonzero(np.abs(balls) > width * spread)[0]
            if out.size:
                lengths.append(count + int(out[0]) + 1)
                break
            count += balls_a_cone
    return np.mean(lengths), np.std(lengths, ddof=1) / math.sqrt(runs)


@pytest.mark.parametrize(
    ("limits_from", "balls_a_cone", "rho"),
    [("total", 10, 0.6), ("within", 10, 0.3), ("within", 1, 0.3), ("total", 4, 0.0)],
)
def test_the_exact_run_against_drawn_balls(limits_from, balls_a_cone, rho):
    spread = 1.0 if limits_from == "total" else math.sqrt(1.0 - rho)
    mean, error = drawn(2.0, balls_a_cone, rho, spread, 5000, 6)
    found = cone_shewhart(2.0, balls_a_cone=balls_a_cone, rho=rho, limits_from=limits_from)
    assert abs(found.arl - mean) < 4.0 * error
    assert found.standard_error == 0.0


@pytest.mark.parametrize("chart", [cone_ewma, cone_cusum])
@pytest.mark.parametrize(("balls_a_cone", "rho"), [(10, 0.0), (1, 0.5)])
def test_independent_points_run_as_believed(chart, balls_a_cone, rho):
    terms = (0.2, 2.5) if chart is cone_ewma else (0.5, 4.0)
    found = chart(*terms, balls_a_cone=balls_a_cone, rho=rho)
    assert abs(found.arl - found.believed_arl) < 4.0 * found.standard_error
    assert found == chart(*terms, balls_a_cone=balls_a_cone, rho=rho)


@pytest.mark.parametrize("chart", [cone_ewma, cone_cusum])
def test_charts_with_memory_take_cones_for_shifts(chart):
    terms = (0.1, 2.814) if chart is cone_ewma else (0.5, 5.0)
    found = chart(*terms, balls_a_cone=10, rho=0.3)
    assert found.arl + 5.0 * found.standard_error < 0.3 * found.believed_arl


def test_limits_from_within_call_too_often_and_whole_limits_do_not():
    within = cone_shewhart(3.0, balls_a_cone=10, rho=0.3, limits_from="within")
    whole = cone_shewhart(3.0, balls_a_cone=10, rho=0.3)
    assert within.arl < 0.3 * within.believed_arl
    assert whole.arl > whole.believed_arl


@pytest.mark.parametrize(
    ("terms", "key"),
    [({"rho": 1.0}, "rho"), ({"rho": math.nan}, "rho"), ({"balls_a_cone": 0}, "balls_a_cone")],
)
def test_bad_terms(terms, key):
    with pytest.raises(BadInput, match=f"^{key}: out of range"):
        cone_shewhart(3.0, **({"balls_a_cone": 10, "rho": 0.3} | terms))


def test_a_run_too_long_to_draw_is_refused():
    with pytest.raises(BadInput, match="short enough to draw"):
        cone_ewma(0.1, 5.0, balls_a_cone=10, rho=0.3)


def test_cones_that_are_nearly_everything_give_a_finite_run():
    """A far cone calls with certainty; the logarithm of no chance must not spoil the sum."""
    found = cone_shewhart(3.0, balls_a_cone=14, rho=0.95)
    random = np.random.default_rng(3)
    cones = random.standard_normal((1500, 2000)) * np.sqrt(0.95)
    first = np.full(1500, 28_000.0)
    for cone in range(1999, -1, -1):
        balls = cones[:, cone, None] + np.sqrt(0.05) * random.standard_normal((1500, 14))
        calls = np.abs(balls) > 3.0
        first = np.where(calls.any(axis=1), 14.0 * cone + calls.argmax(axis=1) + 1.0, first)
    assert found.arl == pytest.approx(first.mean(), abs=4.0 * first.std() / 1500**0.5)
