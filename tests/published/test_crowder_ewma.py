"""Crowder's table of EWMA charts; one cell is a misprint."""

import pytest

from clew.checks.charts.run_length_ewma import ewma_run_length, ewma_width_for

DOCUMENT = "S. V. Crowder, Technometrics 29 (1987) 401-407"
EDITION = "as quoted by the help page of an R package"
HALF = [26.45, 20.12, 11.89, 7.29, 4.91, None, 2.80, 2.29, 1.94]
HALF += [1.70, 1.51, 1.37, 1.26, 1.18, 1.12, 1.08, 1.05]
TWENTIETH = [127.53, 43.94, 18.97, 11.64, 8.38, 6.56, 5.41, 4.62, 4.04]
TWENTIETH += [3.61, 3.26, 2.99, 2.76, 2.56, 2.39, 2.26, 2.15]


@pytest.mark.outside(
    document=DOCUMENT, edition=EDITION, section="table 1, limits of 2 sd", mark="READ"
)
@pytest.mark.parametrize(("weight", "printed"), [(0.5, HALF), (0.05, TWENTIETH)])
def test_printed_run_lengths(weight, printed):
    for step, cell in enumerate(printed):
        if cell is not None:
            found = ewma_run_length(weight, 2.0, 0.25 * step).arl
            # one cell, 1.9452, is cut to 1.94
            assert found == pytest.approx(cell, abs=0.0055), 0.25 * step


@pytest.mark.outside(
    document=DOCUMENT,
    edition=EDITION,
    section="table 1, weight 0.5, shift 1.25: printed 3.95, a misprint; 3.59 turned round",
    mark="READ",
)
def test_misprint_at_one_and_a_quarter():
    found = ewma_run_length(0.5, 2.0, 1.25).arl
    assert abs(found - 3.95) > 0.2
    assert 2.80 < found < 4.91


@pytest.mark.outside(
    document="S. V. Crowder, J. Qual. Tech. 21 (1989) 155-162",
    edition=EDITION,
    section="widths for a run of 250 without a shift, two decimals",
    mark="READ",
)
@pytest.mark.parametrize(
    ("weight", "width"), [(0.05, 2.32), (0.1, 2.55), (0.15, 2.65), (0.2, 2.72), (0.25, 2.76)]
)
def test_widths_for_250(weight, width):
    assert ewma_width_for(250.0, weight) == pytest.approx(width, abs=0.0051)
