"""One question for every kind of chart."""

import pytest

from clew.checks.charts.run_length_asked import AskedChart, asked_run_length, shifted_mean
from clew.checks.charts.run_length_cusum import cusum_run_length
from clew.checks.charts.run_length_ewma import ewma_run_length
from clew.checks.charts.run_length_rules import rules_run_length
from clew.checks.charts.run_length_shewhart import moving_range_run_length, shewhart_run_length
from clew.faults import BadInput

CHARTS = {
    "xbar": (AskedChart("xbar", width=2.5), shewhart_run_length(2.5, 1.0).arl),
    "rules": (
        AskedChart("xbar", width=3.3, rules=("2-of-3",)),
        rules_run_length(("beyond-3", "2-of-3"), 1.0, scale=1.1),
    ),
    "ewma": (AskedChart("ewma", weight=0.2, width=2.9), ewma_run_length(0.2, 2.9, 1.0).arl),
    "ewma head": (
        AskedChart("ewma", weight=0.2, width=2.9, head_start=0.5, exact_limits=True),
        ewma_run_length(0.2, 2.9, 1.0, head_start=0.5, exact_limits=True).arl,
    ),
    "cusum": (AskedChart("cusum", k=0.5, h=4.0), cusum_run_length(0.5, 4.0, 1.0).arl),
    "one side": (
        AskedChart("cusum", k=0.5, h=4.0, sides="one", head_start=1.0),
        cusum_run_length(0.5, 4.0, 1.0, head_start=1.0, sides="one").arl,
    ),
    "individuals": (
        AskedChart("individuals-mr", width=3.0, range_width=4.0),
        moving_range_run_length(3.0, 4.0, 1.0).arl,
    ),
}


@pytest.mark.parametrize("name", CHARTS)
def test_the_answer_is_the_chart_s_own(name):
    asked, expected = CHARTS[name]
    found = asked_run_length(asked, 1.0)
    assert found.arl == pytest.approx(expected, rel=1e-12)
    assert found.standard_error == 0.0
    if found.median is not None and found.ninety is not None:
        assert found.median < found.ninety
        assert found.median < expected * 1.2
    short = asked_run_length(asked, 1.0, more=False)
    assert (short.arl, short.median, short.arl_later) == (found.arl, None, None)


def test_drawn_rules_carry_their_error():
    asked = AskedChart("xbar", rules=("6-rising",), runs=2000, seed=5)
    found = asked_run_length(asked, 1.0)
    assert found.standard_error > 0.0
    assert found == asked_run_length(asked, 1.0)


def test_counts_shift_in_their_own_sd():
    asked = AskedChart("poisson-cusum", mean=4.0, k=5.0, h=6.0)
    assert shifted_mean(4.0, 0.5) == 5.0
    more = AskedChart("poisson-cusum", mean=5.0, k=5.0, h=6.0)
    assert asked_run_length(asked, 0.5).arl == asked_run_length(more).arl


def test_rules_need_zones_of_a_sensible_width():
    with pytest.raises(BadInput, match="width"):
        asked_run_length(AskedChart("xbar", width=1.0, rules=("2-of-3",)))


def test_a_mean_count_moves_by_its_own_spread_and_never_below_nothing() -> None:
    assert shifted_mean(4.0, 1.5) == pytest.approx(7.0)
    assert shifted_mean(4.0, -1.5) == pytest.approx(1.0)
    assert shifted_mean(4.0, -3.0) == pytest.approx(0.0, abs=1e-6)
    assert shifted_mean(4.0, -3.0) > 0.0
