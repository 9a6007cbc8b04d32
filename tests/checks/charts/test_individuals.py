"""Charts of single balls against the definition."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.charting import ChartTerms, chart_of
from clew.checks.charts.constants import d2, d3
from clew.checks.charts.spread import moving_ranges
from clew.faults import BadInput

BALLS = st.lists(st.floats(-50, 50), min_size=6, max_size=40).filter(
    lambda v: max(v) - min(v) > 0.01
)


@given(BALLS, st.integers(2, 6))
def test_moving_ranges_of_any_span(balls: list[float], span: int) -> None:
    found = moving_ranges(np.array(balls), span)
    assert np.isnan(found[: span - 1]).all()
    for at in range(span - 1, len(balls)):
        window = balls[at - span + 1 : at + 1]
        assert found[at] == max(window) - min(window)


@given(BALLS, st.integers(2, 6))
def test_limits_are_those_of_the_definition(balls: list[float], span: int) -> None:
    found = chart_of(np.array(balls), np.arange(len(balls)), ChartTerms("individuals", span=span))
    ranges = [
        max(balls[i : i + span]) - min(balls[i : i + span]) for i in range(len(balls) - span + 1)
    ]
    sigma = np.mean(ranges) / d2(span)
    assert found.sd == pytest.approx(sigma, abs=1e-12)
    assert found.ucl == pytest.approx(np.mean(balls) + 3 * sigma, abs=1e-9)
    assert found.second is not None
    assert found.second.center[0] == pytest.approx(np.mean(ranges), abs=1e-12)
    assert found.second.ucl[0] == pytest.approx(sigma * (d2(span) + 3 * d3(span)), abs=1e-12)


@pytest.mark.parametrize("span", [1, 5])
def test_a_span_that_does_not_fit_is_refused(span: int) -> None:
    with pytest.raises(BadInput, match="span"):
        moving_ranges(np.arange(4.0), span)
