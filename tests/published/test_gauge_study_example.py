"""Ten parts, three hands, three trials: the worked example of measurement systems analysis."""

from __future__ import annotations

import math

import pytest

from clew.checks.instruments.gauge_ranges import d2_star, study_by_ranges
from clew.checks.instruments.gauge_readings import GaugeReadings, lay_out
from clew.checks.instruments.gauge_study import GaugeStudy, study_gauge

PRINTED = """
 .29  .41  .64  .08  .25  .07  .04 -.11 -.15
-.56 -.68 -.58 -.47 -1.22 -.68 -1.38 -1.13 -.96
1.34 1.17 1.27 1.19  .94 1.34  .88 1.09  .67
 .47  .50  .64  .01 1.03  .20  .14  .20  .11
-.80 -.92 -.84 -.56 -1.20 -1.28 -1.46 -1.07 -1.45
 .02 -.11 -.21 -.20  .22  .06 -.29 -.67 -.49
 .59  .75  .66  .47  .55  .83  .02  .01  .21
-.31 -.20 -.17 -.63  .08 -.34 -.46 -.56 -.49
2.26 1.99 2.01 1.80 2.12 2.19 1.77 1.45 1.87
-1.36 -1.25 -1.31 -1.68 -1.62 -1.50 -1.49 -1.77 -2.16
"""
"""Rows are parts; columns A1 A2 A3 B1 B2 B3 C1 C2 C3."""


def example(text: str = PRINTED) -> GaugeReadings:
    rows = [line.split() for line in text.strip().splitlines()]
    cells = [
        (str(part), "ABC"[column // 3], str(column % 3), float(cell))
        for part, row in enumerate(rows, 1)
        for column, cell in enumerate(row)
    ]
    parts, hands, trials, values = zip(*cells, strict=True)
    return lay_out(parts, hands, values, trials)


@pytest.fixture(scope="module")
def pooled() -> GaugeStudy:
    return study_gauge(example(), tolerance=8.0, seed=1)


anova = pytest.mark.outside(
    document="AIAG, Measurement Systems Analysis",
    edition="4th",
    section="analysis of variance of the worked example, interaction pooled",
    mark="READ",
)


@anova
@pytest.mark.parametrize(
    ("key", "printed", "within"),
    [
        ("EV", 0.199933, 5e-7),
        ("AV", 0.226838, 5e-7),
        ("GRR", 0.302373, 2e-6),
        ("PV", 1.042327, 6e-7),
        ("TV", 1.085, 5e-4),
    ],
)
def test_spreads_with_the_interaction_pooled(
    pooled: GaugeStudy, key: str, printed: float, within: float
) -> None:
    """GRR is printed .302373: from rounded EV and AV; unrounded it is .3023715."""
    assert pooled.find(key).sd == pytest.approx(printed, abs=within)


@anova
@pytest.mark.parametrize(("key", "percent"), [("EV", 3.4), ("AV", 4.4), ("GRR", 7.8), ("PV", 92.2)])
def test_contributions(pooled: GaugeStudy, key: str, percent: float) -> None:
    assert 100 * pooled.find(key).contribution_frac == pytest.approx(percent, abs=0.05)


@anova
def test_interaction_and_kinds(pooled: GaugeStudy) -> None:
    interaction = next(row for row in pooled.anova if row.source == "part × hand")
    assert interaction.f == pytest.approx(0.434, abs=5e-4)
    assert pooled.interaction_p == pytest.approx(0.9741, abs=5e-5)
    assert 100 * pooled.find("GRR").study_frac == pytest.approx(27.9, abs=0.05)
    assert pooled.ndc == 4
    assert pooled.ndc_exact == pytest.approx(4.861, abs=1e-3)


@pytest.mark.outside(
    document="AIAG, Measurement Systems Analysis",
    edition="4th",
    section="sums of squares of the worked example",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("source", "ss"),
    [
        ("part", 88.36193),
        ("hand", 3.167262),
        ("part × hand", 0.358982),
        ("reading", 2.758933),
    ],
)
def test_sums_of_squares(pooled: GaugeStudy, source: str, ss: float) -> None:
    found = next(row for row in pooled.anova if row.source == source)
    assert found.ss == pytest.approx(ss, rel=2e-6)
    of_all = sum(row.ss for row in pooled.anova if row.source != "pooled")
    assert of_all == pytest.approx(94.647112, abs=1e-6)


another = pytest.mark.outside(
    document="A published page on the same study",
    edition="as read",
    section="variance components, study variation, tolerance 8",
    mark="READ",
)


@another
@pytest.mark.parametrize(
    ("key", "variance", "study", "tolerance"),
    [
        ("GRR", 0.09143, 27.86, 22.68),
        ("EV", 0.03997, 18.42, None),
        ("AV", 0.05146, 20.90, None),
        ("PV", 1.08645, 96.04, 78.17),
        ("TV", 1.17788, 100.0, None),
    ],
)
def test_components_as_another_page_prints_them(
    pooled: GaugeStudy, key: str, variance: float, study: float, tolerance: float | None
) -> None:
    found = pooled.find(key)
    assert found.sd**2 == pytest.approx(variance, abs=6e-6)
    assert 100 * found.study_frac == pytest.approx(study, abs=0.005)
    if tolerance is not None:
        assert found.tolerance_frac is not None
        assert 100 * found.tolerance_frac == pytest.approx(tolerance, abs=0.01)


@another
def test_repeatability_without_pooling() -> None:
    found = study_gauge(example(), pool_above=1.0, seed=1)
    assert not found.pooled
    assert found.find("EV").sd == pytest.approx(0.214435, abs=5e-7)


@another
def test_a_corrupted_copy_does_not_give_the_printed_figures() -> None:
    """One stored copy of the data has a cell astray; a sign lost is enough to show."""
    astray = example(PRINTED.replace("-1.36", "1.36"))
    found = study_gauge(astray, tolerance=8.0, seed=1)
    assert found.find("EV").sd != pytest.approx(0.199933, abs=1e-3)
    assert found.ndc != 4


@pytest.mark.outside(
    document="AIAG, Measurement Systems Analysis",
    edition="4th",
    section="report form, averages and ranges",
    mark="MEMORY",
)
def test_averages_and_ranges() -> None:
    found = study_by_ranges(example())
    assert found.mean_ranges == pytest.approx((0.1840, 0.5130, 0.3280), abs=5e-5)
    assert found.mean_range == pytest.approx(0.3417, abs=5e-5)
    assert found.hand_difference == pytest.approx(0.4447, abs=5e-5)
    assert found.part_range == pytest.approx(3.511, abs=5e-4)
    assert (found.k1, found.k2, found.k3) == pytest.approx((0.5908, 0.5231, 0.3146), abs=5e-5)
    assert (found.ev, found.av, found.grr) == pytest.approx((0.2019, 0.2297, 0.3058), abs=6e-5)
    assert (found.pv, found.tv) == pytest.approx((1.1046, 1.1461), abs=2e-4)


@pytest.mark.outside(
    document="ISO 7870 family, range of normal samples",
    edition="as computed",
    section="d2* of one range of two",
    mark="DERIVED",
)
def test_one_range_of_two() -> None:
    """The square of the range of two has mean 2, so that d2* of one of them is the root of 2."""
    assert d2_star(1, 2) == pytest.approx(math.sqrt(2.0), rel=1e-8)
