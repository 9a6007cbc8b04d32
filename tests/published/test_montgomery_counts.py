"""Charts of counts in D. C. Montgomery's textbook: dyed cloth and circuit boards."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.charts.counts import count_chart

BOOK = "D. C. Montgomery, Introduction to Statistical Quality Control"
DYED = np.array([14, 12, 20, 11, 7, 10, 21, 16, 19, 23], dtype=float)
DYED_UNITS = np.array([10, 8, 13, 10, 9.5, 10, 12, 10.5, 12, 12.5])
BOARDS = np.array(
    [
        21, 24, 16, 12, 15, 5, 28, 20, 31, 25, 20, 24, 16, 19, 10, 17, 13, 22, 18, 39, 30, 24, 16,
        19, 17, 15,
    ],
    dtype=float,
)  # fmt: skip


@pytest.mark.outside(
    document=BOOK, edition="1991", section="pp. 183-184, dyed cloth (data READ in qcc), mean 1.42",
    mark="MEMORY",
)  # fmt: skip
def test_faults_in_dyed_cloth() -> None:
    chart = count_chart(DYED, DYED_UNITS).chart
    assert chart.center == pytest.approx(1.42, abs=5e-3)
    assert chart.signals == ()


@pytest.mark.outside(
    document=BOOK, edition="1991", section="pp. 183-184, dyed cloth, limits by size",
    mark="COMPUTED",
)  # fmt: skip
@pytest.mark.parametrize(
    ("units", "ucl", "lcl"),
    [
        (8, 2.689, 0.158), (9.5, 2.584, 0.262), (10, 2.555, 0.291), (10.5, 2.528, 0.319),
        (12, 2.456, 0.390), (12.5, 2.436, 0.411), (13, 2.416, 0.431),
    ],
)  # fmt: skip
def test_limits_of_dyed_cloth(units: float, ucl: float, lcl: float) -> None:
    panel = count_chart(DYED, DYED_UNITS).chart.panel
    at = DYED_UNITS.tolist().index(units)
    assert panel.ucl[at] == pytest.approx(ucl, abs=6e-4)
    assert panel.lcl[at] == pytest.approx(lcl, abs=6e-4)


@pytest.mark.outside(
    document=BOOK, edition="1991", section="pp. 173-175, circuit boards, samples 6 and 20 out",
    mark="READ",
)  # fmt: skip
def test_two_samples_of_circuit_boards_are_out() -> None:
    assert count_chart(BOARDS).chart.signals == (6, 20)


@pytest.mark.outside(
    document=BOOK, edition="1991", section="pp. 173-175, circuit boards, limits before and after",
    mark="MEMORY",
)  # fmt: skip
def test_limits_of_circuit_boards() -> None:
    """The book rounds the mean to 19.85 and 19.67 before it takes the root."""
    chart = count_chart(BOARDS).chart
    assert (chart.center, chart.ucl, chart.lcl) == pytest.approx((19.85, 33.22, 6.48), abs=0.0101)
    kept = count_chart(np.delete(BOARDS, [5, 19])).chart
    assert (kept.center, kept.ucl, kept.lcl) == pytest.approx((19.67, 32.97, 6.36), abs=0.0101)
