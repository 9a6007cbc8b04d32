"""Charts of counts in K. Ishikawa's guide: cracks in wire and faults in fabric."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.charts.counts import count_chart

BOOK = "K. Ishikawa, Guide to Quality Control"
CRACKS = np.array([4, 3, 3, 4, 5, 3, 6, 7, 5, 3, 5, 5, 4, 6, 5, 4, 4, 6, 8, 8], dtype=float)
METRES = np.repeat([2.0, 2.5, 2.25, 2.75], [6, 7, 5, 2])
FABRIC = np.array([6, 5, 3, 5, 3, 8, 3, 5, 4, 3, 6, 4, 6, 6, 6, 5, 7, 6, 9, 13], dtype=float)


@pytest.mark.outside(
    document=BOOK, edition="data READ in NIST CCU.DAT", section="pp. 81-83, cracks in wire",
    mark="COMPUTED",
)  # fmt: skip
def test_cracks_in_wire() -> None:
    chart = count_chart(CRACKS, METRES).chart
    assert chart.center == pytest.approx(2.1189, abs=5e-5)
    limits = dict(zip(METRES.tolist(), chart.panel.ucl.tolist(), strict=True))
    printed = {2.0: 5.207, 2.25: 5.030, 2.5: 4.881, 2.75: 4.752}
    assert limits == pytest.approx(printed, abs=6e-4)
    assert (chart.panel.lcl == 0.0).all()
    assert chart.signals == ()


@pytest.mark.outside(
    document=BOOK, edition="data READ in NIST CCC.DAT", section="pp. 83-84, faults in fabric",
    mark="COMPUTED",
)  # fmt: skip
def test_faults_in_fabric() -> None:
    chart = count_chart(FABRIC).chart
    assert chart.center == pytest.approx(5.65)
    assert chart.ucl == pytest.approx(12.781, abs=5e-4)
    assert chart.lcl == 0.0
    assert chart.signals == (20,)
