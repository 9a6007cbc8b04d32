"""Brook and Evans's worked CUSUM, from the paper that brought in the Markov chain."""

import pytest

from clew.checks.charts.run_length_cusum import cusum_run_length


@pytest.mark.outside(
    document="D. Brook & D. A. Evans, Biometrika 59 (1972) 539-548",
    edition="as quoted by the help page of an R package",
    section="4.3, k = 0.5, h = 3, one side",
    mark="READ",
)
@pytest.mark.parametrize(("shift", "printed"), [(0.0, 117.59), (1.5, 3.75)])
def test_worked_example(shift, printed):
    # their chain, taken to the limit by extrapolation, is some hundredths off: exactly 117.5957
    found = cusum_run_length(0.5, 3.0, shift, sides="one").arl
    assert found == pytest.approx(printed, abs=0.0101)
