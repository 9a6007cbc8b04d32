"""Vance's table of one-sided CUSUMs by the integral equation."""

import pytest

from clew.checks.charts.run_length_cusum import cusum_run_length


@pytest.mark.outside(
    document="L. C. Vance, J. Qual. Tech. 18 (1986) 189-193",
    edition="as quoted by the help page of an R package",
    section="table 1, k = 0, h = 10; exactly 2071.57 where 2071.51 is printed",
    mark="READ",
)
@pytest.mark.parametrize(
    ("shift", "printed", "allowed"),
    [
        (-0.25, 2071.51, 0.07),
        (-0.125, 400.28, 0.0051),
        (0.0, 124.66, 0.0051),
        (0.125, 59.30, 0.0051),
        (0.25, 36.71, 0.0051),
        (0.5, 20.37, 0.0051),
        (0.75, 14.06, 0.0051),
        (1.0, 10.75, 0.0051),
    ],
)
def test_printed_run_lengths(shift, printed, allowed):
    found = cusum_run_length(0.0, 10.0, shift, sides="one").arl
    assert found == pytest.approx(printed, abs=allowed)
