"""Lucas and Crosier's table of two-sided CUSUMs, with and without a head start."""

import pytest

from clew.checks.charts.run_length_cusum import cusum_run_length

SHIFTS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0)


def near(text: str) -> object:
    """The printed value within its last place; one cell, 1.3254, is cut to 1.32."""
    return pytest.approx(float(text), abs=0.55 * 10.0 ** -len(text.partition(".")[2]))


@pytest.mark.outside(
    document="J. M. Lucas & R. B. Crosier, Technometrics 24 (1982) 199-205",
    edition="as quoted by the help page of an R package",
    section="table 1, k = 0.5, h = 4, two sides",
    mark="READ",
)
@pytest.mark.parametrize(
    ("head_start", "printed"),
    [
        (0.0, "168. 74.2 26.6 13.3 8.38 4.75 3.34 2.62 2.19 1.71 1.31"),
        (2.0, "149. 62.7 20.1 8.97 5.29 2.86 2.01 1.59 1.32 1.07 1.01"),
    ],
)
def test_printed_run_lengths(head_start, printed):
    for shift, cell in zip(SHIFTS, printed.split(), strict=True):
        assert cusum_run_length(0.5, 4.0, shift, head_start=head_start).arl == near(cell)


@pytest.mark.outside(
    document="J. M. Lucas & R. B. Crosier, Technometrics 24 (1982) 199-205",
    edition="h = 5, from memory; 139 and 465 are the table's",
    section="k = 0.5, h = 5, two sides",
    mark="MEMORY",
)
def test_run_lengths_at_five():
    printed = "465. 139. 38.0 17.0 10.4 5.75 4.01 3.11 2.57 2.01 1.69"
    for shift, cell in zip(SHIFTS, printed.split(), strict=True):
        # 17.05 is printed 17.0
        allowed = 0.51 * 10.0 ** -len(cell.partition(".")[2])
        found = cusum_run_length(0.5, 5.0, shift).arl
        assert found == pytest.approx(float(cell), abs=allowed)
