"""Which chart is drawn from balls, which variance it rests on, and what it refuses."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.charts.charting import KINDS, ChartTerms, chart_of
from clew.faults import BadInput

RNG = np.random.default_rng(17)
CONES = np.repeat(np.arange(40), 10).astype(np.int32)
BALLS = RNG.normal(100, 1, 40)[CONES] + RNG.normal(0, 0.5, 400)
PLACES = np.arange(400) // 5


def test_cones_are_counted_where_the_file_tells_them() -> None:
    cones = chart_of(BALLS, PLACES, ChartTerms(), CONES)
    near = chart_of(BALLS, PLACES, ChartTerms(limits_from="within"), CONES)
    plain = chart_of(BALLS, PLACES, ChartTerms())
    assert cones.sd_words == "cones counted"
    assert near.sd_words == plain.sd_words == "within subgroup"
    assert near.ucl == plain.ucl
    assert cones.ucl is not None
    assert near.ucl is not None
    assert cones.ucl - cones.center > 3.0 * (near.ucl - near.center)
    assert len(near.signals) > 20
    assert len(cones.signals) <= 1


def test_both_half_widths_are_shown_whichever_is_used() -> None:
    for terms in (ChartTerms(), ChartTerms(limits_from="within")):
        names = [name for name, _ in chart_of(BALLS, PLACES, terms, CONES).widths]
        assert names == ["within subgroup", "cones counted"]
    assert len(chart_of(BALLS, PLACES, ChartTerms()).widths) == 1


def test_one_ball_a_cone_is_the_classic_chart() -> None:
    alone = np.arange(400, dtype=np.int32)
    assert chart_of(BALLS, PLACES, ChartTerms(), alone).sd_words == "within subgroup"
    with pytest.raises(BadInput, match="cones cannot be told"):
        chart_of(BALLS, PLACES, ChartTerms(limits_from="cones"), alone)
    with pytest.raises(BadInput, match="cones cannot be told"):
        chart_of(BALLS, PLACES, ChartTerms(limits_from="cones"))


def test_a_known_spread_overrides_the_cones() -> None:
    found = chart_of(BALLS, PLACES, ChartTerms(sd=1.0), CONES)
    assert found.sd_words == "given"
    assert found.ucl == pytest.approx(found.center + 3.0 / 5**0.5)


def test_cones_and_groups_in_one_are_warned_about() -> None:
    found = chart_of(BALLS, CONES.astype(np.int64), ChartTerms(), CONES)
    assert any("one cone" in caution for caution in found.cautions)


def test_groups_that_resemble_each_other_are_warned_about() -> None:
    near = chart_of(BALLS, PLACES, ChartTerms(limits_from="within"))
    assert any("resembles the one before" in caution for caution in near.cautions)
    alone = chart_of(RNG.normal(size=400), PLACES, ChartTerms())
    assert not any("resembles" in caution for caution in alone.cautions)


@pytest.mark.parametrize("kind", KINDS)
def test_one_ball_is_refused_in_one_line(kind: str) -> None:
    with pytest.raises(BadInput) as bad:
        chart_of(np.array([100.0]), np.array([0]), ChartTerms(kind))
    assert len(bad.value.faults) == 1


@pytest.mark.parametrize("kind", ["individuals", "ewma", "cusum"])
def test_one_ball_against_a_known_target_is_a_chart(kind: str) -> None:
    terms = ChartTerms(kind, target=100.0, sd=1.0)
    assert chart_of(np.array([107.0]), np.array([0]), terms).signals == (1,)
    assert chart_of(np.array([100.5]), np.array([0]), terms).signals == ()


@pytest.mark.parametrize("kind", ["individuals", "ewma", "cusum"])
def test_all_equal_is_no_signal(kind: str) -> None:
    found = chart_of(np.full(30, 100.1), np.arange(30), ChartTerms(kind))
    assert found.signals == ()
    assert found.sd == 0.0
    assert any("alike" in caution for caution in found.cautions)


@pytest.mark.parametrize(
    ("terms", "said"),
    [
        (ChartTerms("pie"), "no such chart"),
        (ChartTerms(sd=0.0), "no such standard deviation"),
        (ChartTerms(sd=float("nan")), "no such standard deviation"),
        (ChartTerms(target=float("inf")), "no such target"),
        (ChartTerms(width=0.0), "no such width"),
        (ChartTerms("ewma", rules=("2-of-3",)), "add up"),
        (ChartTerms("cusum", rules=("beyond-3", "8-one-side")), "add up"),
        (ChartTerms(rules=("zone",)), "no such run rule"),
        (ChartTerms("individuals"), "several balls"),
    ],
)
def test_what_cannot_be_drawn_is_refused(terms: ChartTerms, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        chart_of(BALLS, PLACES, terms)


def test_cones_are_not_asked_for_beside_a_given_spread() -> None:
    with pytest.raises(BadInput, match="spread is given"):
        chart_of(BALLS, PLACES, ChartTerms(sd=1.0, limits_from="cones"), CONES)
