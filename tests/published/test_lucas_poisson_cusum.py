"""Lucas's CUSUM of counts."""

import pytest

from clew.checks.charts.run_length_counts import poisson_cusum_run_length


@pytest.mark.outside(
    document="J. M. Lucas, Technometrics 27 (1985) 129-144",
    edition="as quoted by the help page of an R package",
    section="tables 2 to 5, k = 0.25, h = 10, mean 0.25; head start of half of h",
    mark="READ",
)
@pytest.mark.parametrize(
    ("head_start", "lower", "printed"),
    [(0.0, False, 438), (5.0, False, 333), (0.0, True, 437), (5.0, True, 318)],
)
def test_printed_run_lengths(head_start, lower, printed):
    run = poisson_cusum_run_length(0.25, 0.25, 10.0, head_start=head_start, lower=lower)
    assert run.arl == pytest.approx(printed, abs=0.51)
