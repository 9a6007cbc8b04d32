"""Individuals watched together with their moving range: printed run lengths."""

import pytest

from clew.checks.charts.run_length_shewhart import moving_range_run_length

EDITION = "as quoted by the help page of an R package"
SHIFTS = [0.25 * step for step in range(9)]


@pytest.mark.outside(
    document="S. V. Crowder, J. Qual. Tech. 19 (1987) 103-106",
    edition=EDITION,
    section="output listing 1, limits 2 and 3; his trapezoid rule is up to 0.1 % short",
    mark="READ",
)
def test_crowder_program():
    printed = (18.2164, 16.3541, 12.4282, 8.7559, 6.1071, 4.3582, 3.2260, 2.4878, 1.9989)
    for shift, cell in zip(SHIFTS, printed, strict=True):
        assert moving_range_run_length(2.0, 3.0, shift).arl == pytest.approx(cell, rel=0.001)


@pytest.mark.outside(
    document="S. V. Crowder, J. Qual. Tech. 19 (1987) 98-102",
    edition=EDITION,
    section="table 1, limits 4 and 3, a coarser trapezoid rule",
    mark="READ",
)
def test_crowder_table():
    printed = (34.44, 34.28, 34.07, 33.81, 33.45, 32.82, 31.50, 28.85, 24.49)
    for shift, cell in zip(SHIFTS, printed, strict=True):
        assert moving_range_run_length(4.0, 3.0, shift).arl == pytest.approx(cell, rel=0.03)


@pytest.mark.outside(
    document="S. E. Rigdon, E. N. Cruthis & C. W. Champ, J. Qual. Tech. 26 (1994) 274-287",
    edition=EDITION,
    section="table 1, by simulation",
    mark="READ",
)
@pytest.mark.parametrize(
    ("width", "range_width", "printed"), [(2.992, 4.139, 200.0), (3.268, 4.556, 500.0)]
)
def test_rigdon(width, range_width, printed):
    found = moving_range_run_length(width, range_width).arl
    assert found == pytest.approx(printed, rel=0.01)


@pytest.mark.outside(
    document="R. W. Amin & R. A. Ethridge, J. Qual. Tech. 30 (1998) 70-74",
    edition=EDITION,
    section="table 2, limits 3.27 and 4.56; their values are up to 4 % off the converged ones",
    mark="READ",
)
def test_amin_ethridge():
    printed = (505.3, 427.6, 276.7, 156.2, 85.0, 46.9, 26.9, 16.1, 10.1)
    for shift, cell in zip(SHIFTS, printed, strict=True):
        assert moving_range_run_length(3.27, 4.56, shift).arl == pytest.approx(cell, rel=0.045)
