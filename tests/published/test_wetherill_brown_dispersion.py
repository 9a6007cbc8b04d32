"""Do counts differ by more than chance? The series of G. B. Wetherill and D. W. Brown."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.charts.counts import count_chart

SERIES = (
    11, 8, 13, 11, 13, 17, 25, 23, 11, 16, 9, 15, 10, 16, 12, 8, 9, 15, 4, 12, 12, 12, 15, 17, 14,
    17, 12, 12, 7, 16,
)  # fmt: skip


@pytest.mark.outside(
    document="G. B. Wetherill and D. W. Brown, Statistical Process Control",
    edition="1991; data READ in qcc's help",
    section="pp. 212-218, Poisson series",
    mark="COMPUTED",
)
def test_a_series_just_beyond_chance() -> None:
    """By a hair: at p = 0.0486 the wider limits are offered."""
    test = count_chart(np.array(SERIES, dtype=float)).dispersion
    assert test.statistic == pytest.approx(42.694, abs=5e-4)
    assert test.degrees == 29
    assert test.index == pytest.approx(1.4722, abs=5e-5)
    assert test.p_more == pytest.approx(0.0486, abs=5e-5)
    assert test.more_than_chance
