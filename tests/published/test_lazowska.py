"""Mean value analysis of a closed line: inputs of a textbook, and balanced stations."""

import pytest

from clew.line.interference.closed_line import closed_line


@pytest.mark.outside(
    document="E. Lazowska et al., Quantitative System Performance",
    edition="1984; inputs READ in the R package queueing, results recomputed elsewhere",
    section="p. 117: demands .605, 2.1, 1.35 s, think time 15 s, 3 customers",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("carriers", "per_s", "round_s"),
    [(1, 0.05248, 4.055), (2, 0.10309, 4.4013), (3, 0.15152, 4.7998)],
)
def test_three_stations_with_time_away(carriers, per_s, round_s):
    found = closed_line(carriers, work_s=[121 * 0.005, 70 * 0.030, 50 * 0.027], away_s=15.0)
    assert found.per_hour / 3600.0 == pytest.approx(per_s, abs=6e-6)
    assert found.round_s == pytest.approx(round_s, abs=6e-5)
    if carriers == 3:
        assert found.levels_mean == pytest.approx((0.0976, 0.3947, 0.2350), abs=6e-5)


@pytest.mark.outside(
    document="mean value analysis, balanced closed line",
    edition="textbook result",
    section="X = mu N / (N + M - 1); M = 3: .3333 .5 .6 .6667 .7143",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("carriers", "rate"), [(1, 0.3333), (2, 0.5), (3, 0.6), (4, 0.6667), (5, 0.7143)]
)
def test_balanced_line(carriers, rate):
    found = closed_line(carriers, work_s=[1.0, 1.0, 1.0])
    assert found.per_hour / 3600.0 == pytest.approx(rate, abs=6e-5)
