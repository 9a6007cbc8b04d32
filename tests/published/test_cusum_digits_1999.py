"""CUSUM and EWMA run lengths printed to eleven figures in a manual of 1999."""

import pytest

from clew.checks.charts.run_length_cusum import cusum_run_length
from clew.checks.charts.run_length_ewma import ewma_run_length

DOCUMENT = "SAS/QC User's Guide, Version 7-1 (1999)"
EDITION = "as quoted by the help page of an R package"


@pytest.mark.outside(
    document=DOCUMENT,
    edition=EDITION,
    section="k = 0.25, h = 8, shift 2.5, one side: 4.1500836225; head start 0.1: 4.1061588131",
    mark="READ",
)
@pytest.mark.parametrize(("head_start", "printed"), [(0.0, 4.1500836225), (0.1, 4.1061588131)])
def test_one_side(head_start, printed):
    run = cusum_run_length(0.25, 8.0, 2.5, head_start=head_start, sides="one")
    assert run.converged
    assert run.arl == pytest.approx(printed, abs=2e-7)


@pytest.mark.outside(
    document=DOCUMENT,
    edition=EDITION,
    section="k = 0.25, h = 8, shift 2.5, two sides: 4.1500826715, a millionth below the one side",
    mark="READ",
)
def test_two_sides():
    assert cusum_run_length(0.25, 8.0, 2.5).arl == pytest.approx(4.1500826715, abs=1.2e-6)


@pytest.mark.outside(
    document=DOCUMENT,
    edition=EDITION,
    section="EWMA, weight 0.25, limits of 3 sd, shift 1: 11.154267016",
    mark="READ",
)
def test_ewma():
    assert ewma_run_length(0.25, 3.0, 1.0).arl == pytest.approx(11.154267016, abs=2e-7)
