"""Lucas and Saccucci's tables of EWMA charts, with and without a head start."""

import pytest

from clew.checks.charts.run_length_ewma import ewma_run_length

DOCUMENT = "J. M. Lucas & M. S. Saccucci, Technometrics 32 (1990) 1-12"
EDITION = "as quoted by the help page of an R package"


def last_digit(text: str) -> float:
    """One unit in the last printed place."""
    return 10.0 ** -len(text.partition(".")[2])


@pytest.mark.outside(
    document=DOCUMENT, edition=EDITION, section="table 3, fixed limits", mark="READ"
)
@pytest.mark.parametrize(
    ("weight", "width", "printed"),
    [
        (0.5, 3.071, "500. 255. 88.8 35.9 17.5 6.53 3.63 2.50 1.93 1.58 1.34 1.07"),
        (0.03, 2.437, "500. 76.7 29.3 17.6 12.6 8.07 5.99 4.80 4.03 3.49 3.11 2.55"),
    ],
)
def test_fixed_limits(weight, width, printed):
    shifts = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0)
    for shift, cell in zip(shifts, printed.split(), strict=True):
        # three printed figures; the table comes from a chain that is not taken to the limit
        allowed = 0.51 * last_digit(cell) + 0.001 * float(cell)
        assert ewma_run_length(weight, width, shift).arl == pytest.approx(float(cell), abs=allowed)


@pytest.mark.outside(
    document=DOCUMENT,
    edition=EDITION,
    section="table 5, head start of half the limit; at no shift the table is a chain's "
    "approximation, 1.3 % off at most",
    mark="READ",
)
@pytest.mark.parametrize(
    ("weight", "width", "printed"),
    [
        (0.5, 3.071, "487. 86.1 15.9 2.87 1.45 1.01"),
        (0.03, 2.437, "406. 18.4 7.36 3.43 2.34 1.57"),
    ],
)
def test_head_start(weight, width, printed):
    cells = printed.split()
    shifts = (0.0, 0.5, 1.0, 2.0, 3.0, 5.0)
    found = [ewma_run_length(weight, width, shift, head_start=0.5).arl for shift in shifts]
    assert found[0] == pytest.approx(float(cells[0]), rel=0.013)
    for run, cell in zip(found[1:], cells[1:], strict=True):
        allowed = 0.51 * last_digit(cell) + 0.003 * float(cell)
        assert run == pytest.approx(float(cell), abs=allowed)


@pytest.mark.outside(
    document=DOCUMENT,
    edition="the usual pairs for 500 points, from memory",
    section="run without a shift and at 1 sd",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("weight", "width", "quiet", "seen"),
    [
        (0.05, 2.615, 499.9, 11.4),
        (0.1, 2.814, 499.6, 10.3),
        (0.2, 2.962, 499.7, 10.5),
        (0.25, 2.998, 499.8, 11.1),
        (0.4, 3.054, 500.0, 14.3),
    ],
)
def test_usual_pairs(weight, width, quiet, seen):
    assert ewma_run_length(weight, width).arl == pytest.approx(quiet, abs=0.06)
    assert ewma_run_length(weight, width, 1.0).arl == pytest.approx(seen, abs=0.06)
