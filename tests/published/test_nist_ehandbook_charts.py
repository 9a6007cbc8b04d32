"""Control charts of the NIST/SEMATECH e-Handbook and of NIST's own data files.

The handbook's pages were not stored; its numbers were read in public files that quote them.
"""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.charts.chart import Chart
from clew.checks.charts.charting import ChartTerms, chart_of
from clew.checks.charts.constants import chart_constants
from clew.checks.charts.counts import CountChart, count_chart

HANDBOOK = "NIST/SEMATECH e-Handbook of Statistical Methods"
FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
AVERAGED = (52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, *FLOW)
MEANS = (
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
    324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
)  # fmt: skip
WAFERS = (
    16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31,
    13,
)  # fmt: skip
THICKNESS = (
    24.5, 22.4, 23.7, 23.5, 23.8, 23.6, 23.8, 22.5, 22.5, 23.0, 25.0, 22.6, 23.7, 22.7, 22.9,
    24.3, 22.6, 23.2, 23.3, 23.2, 23.8, 24.9, 23.6, 22.5, 24.8, 24.4, 22.8, 22.6, 22.9, 23.1,
    23.7, 22.9, 23.3, 23.2, 23.9, 23.4, 23.7, 23.5, 23.4, 23.3, 24.9, 23.9, 23.1, 24.5, 23.7,
    23.0, 23.8, 22.5, 23.6, 23.4, 24.8, 24.0, 24.1, 23.9, 23.9, 24.4, 23.7, 23.2, 23.0, 23.8,
    24.9, 24.0, 22.2, 23.2, 22.3, 24.3, 23.6, 22.4, 23.2, 23.2, 23.4, 23.7, 24.0, 22.5, 24.0,
    25.3, 24.9, 23.1, 22.6, 23.7, 24.1, 23.6, 23.8, 24.0, 23.3, 25.9, 25.4, 22.4, 24.3, 24.3,
    26.4, 24.4, 22.1, 26.4, 23.2, 27.8, 22.7, 25.0, 25.9, 25.4,
)  # fmt: skip


def singles(values: tuple[float, ...], terms: ChartTerms) -> Chart:
    return chart_of(np.array(values), np.arange(len(values)), terms)


@pytest.mark.outside(
    document=HANDBOOK,
    edition="doi 10.18434/M32189",
    section="6.3.2.2 individuals chart of a flow rate, moving ranges and limits",
    mark="READ",
)
def test_individuals_of_a_flow_rate() -> None:
    """The handbook rounds d2 to 1.128; with the exact one the limits lie 0.0017 nearer."""
    chart = singles(FLOW, ChartTerms("individuals"))
    assert chart.second is not None
    assert chart.second.points[1:] == pytest.approx([2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5])
    assert chart.center == pytest.approx(50.81, abs=1e-9)
    assert chart.second.center[0] == pytest.approx(1.8778, abs=5e-5)
    assert chart.ucl == pytest.approx(55.8041, abs=0.003)
    assert chart.lcl == pytest.approx(45.8159, abs=0.003)
    rounded = 50.81 + 3 * 1.8778 / 1.128
    assert rounded == pytest.approx(55.8041, abs=1e-4)
    assert chart.signals == ()


@pytest.mark.outside(
    document=HANDBOOK,
    edition="doi 10.18434/M32189",
    section="6.3.2.4 EWMA chart, averages and limits",
    mark="READ",
)
def test_ewma_averages_and_limits() -> None:
    printed = (
        50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52,
        50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
    )  # fmt: skip
    chart = singles(
        AVERAGED, ChartTerms("ewma", target=50.0, sd=2.0539, weight=0.3, width=3.0, exact=False)
    )
    assert chart.panel.points == pytest.approx(printed, abs=0.0051)
    assert chart.ucl == pytest.approx(52.5884, abs=5e-5)
    assert chart.lcl == pytest.approx(47.4115, abs=1.5e-4)  # the page rounds a factor to .4201
    assert chart.signals == ()


@pytest.mark.outside(
    document=HANDBOOK,
    edition="doi 10.18434/M32189",
    section="6.3.2.3 tabular cusum of 20 means, both sums and starred groups",
    mark="READ",
)
def test_cusum_sums_and_signals() -> None:
    chart = singles(
        MEANS, ChartTerms("cusum", target=325.0, sd=0.635, k=0.3175, h=4.1959, in_unit=True)
    )
    high = (0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00)
    low = (0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0)
    assert chart.panel.points == pytest.approx((*high, 19.04), abs=0.0051)
    assert chart.second is not None
    assert -chart.second.points == pytest.approx(low, abs=0.0051)
    assert chart.signals == tuple(range(14, 21))


@pytest.mark.outside(
    document=HANDBOOK,
    edition="doi 10.18434/M32189",
    section="6.3.2.3 column of deviations less allowance, groups 9 and 12 without their minus sign",
    mark="MEMORY",
)
@pytest.mark.parametrize(("group", "printed"), [(9, 0.09), (12, 0.17)])
def test_two_printed_deviations_lack_their_minus_sign(group: int, printed: float) -> None:
    """With the printed sign the sum beside it, printed as 0, would not be 0."""
    right = MEANS[group - 1] - 325.0 - 0.3175
    assert right == pytest.approx(-printed, abs=0.0051)
    chart = singles(
        MEANS, ChartTerms("cusum", target=325.0, sd=0.635, k=0.3175, h=4.1959, in_unit=True)
    )
    assert chart.panel.points[group - 1] == 0.0
    assert max(0.0, chart.panel.points[group - 2] + printed) > 0.05


def wafers() -> CountChart:
    return count_chart(np.array(WAFERS, dtype=float))


@pytest.mark.outside(
    document=HANDBOOK,
    edition="doi 10.18434/M32189; data MONITOR-6_3_3_1.DAT",
    section="6.3.3.1 counts on 25 wafers (data READ), limits 28 and 4",
    mark="MEMORY",
)
def test_counts_on_wafers() -> None:
    """Wafer 3 sits on the limit with 28 and does not call."""
    chart = wafers().chart
    assert (chart.center, chart.ucl, chart.lcl) == (16.0, 28.0, 4.0)
    assert chart.signals == (24,)


@pytest.mark.outside(
    document="usnistgov/dataplot lib/data/MONITOR-6_3_3_1.DAT",
    edition="commit 19a6caae6643",
    section="dispersion of 25 wafers",
    mark="COMPUTED",
)
def test_dispersion_of_the_wafers() -> None:
    test = wafers().dispersion
    assert test.statistic == pytest.approx(37.875, abs=1e-9)
    assert test.degrees == 24
    assert test.index == pytest.approx(1.578, abs=5e-4)


@pytest.mark.outside(
    document="usnistgov/dataplot lib/data/CCXBAR.DAT (silicon wafer thickness, 20 days of five)",
    edition="commit 39742913706c; data READ",
    section="means, ranges and standard deviations; limits with A2 = 0.577",
    mark="COMPUTED",
)
def test_means_of_wafer_thickness() -> None:
    places = np.arange(100) // 5
    chart = chart_of(np.array(THICKNESS), places, ChartTerms("xbar-r"))
    assert chart.second is not None
    assert chart.center == pytest.approx(23.726, abs=1e-9)
    assert chart.second.center[0] == pytest.approx(2.05, abs=1e-9)
    assert chart.ucl == pytest.approx(24.9089, abs=5e-4)
    assert chart.lcl == pytest.approx(22.5432, abs=5e-4)
    assert chart.ucl == pytest.approx(23.726 + chart_constants(5).A2 * 2.05)
    by_sd = chart_of(np.array(THICKNESS), places, ChartTerms("xbar-s"))
    assert by_sd.second is not None
    assert by_sd.second.center[0] == pytest.approx(0.82066, abs=5e-6)
    assert chart.signals == (20,)
