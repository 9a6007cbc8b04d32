"""The law of knots per ball: means, edges, and balls drawn at random."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.knots.law import KnotLaw, knot_law
from clew.knots.monte_carlo import draw_balls
from clew.knots.sources import Sources, sources_after_steam

CASES = {
    "long cones": ({"breaks_per_km": 2, "cone_length_m": 3000, "cone_cv": 0.05}, 200, None),
    "long cones, uneven": (
        {"breaks_per_km": 2, "cone_length_m": 3000, "cone_cv": 0.05, "dispersion": 1},
        200,
        None,
    ),
    "short cones, uneven": (
        {
            "breaks_per_km": 2,
            "cone_length_m": 300,
            "cone_cv": 0.2,
            "dispersion": 1,
            "line_breaks_per_km": 0.3,
            "colour_ties_per_km": 0.1,
            "shrink_frac": 0.2,
        },
        1000,
        None,
    ),
    "short cones": ({"breaks_per_km": 2, "cone_length_m": 300, "cone_cv": 0.2}, 1000, None),
    "even cones": ({"breaks_per_km": 2, "cone_length_m": 300, "dispersion": 0.5}, 1000, None),
    "wild cones": (
        {"breaks_per_km": 2, "cone_length_m": 300, "cone_cv": 1, "dispersion": 2},
        500,
        None,
    ),
    "no cones": ({"breaks_per_km": 2, "dispersion": 1}, 300, None),
    "fifth ball": (
        {"breaks_per_km": 2, "cone_length_m": 1000, "cone_cv": 0.05, "dispersion": 0.5},
        200,
        5,
    ),
    "fourth ball, even cones": (
        {"breaks_per_km": 2, "cone_length_m": 1000, "dispersion": 1},
        300,
        4,
    ),
    "first ball, longer than cones": (
        {"breaks_per_km": 1, "cone_length_m": 700, "cone_cv": 0.5, "dispersion": 1},
        1500,
        1,
    ),
}


def law_of(case: str) -> KnotLaw:
    terms, length_m, number = CASES[case]
    return knot_law(sources_after_steam(**terms), length_m, ball_number=number)


@pytest.mark.parametrize("case", CASES)
def test_balls_drawn_cone_by_cone_agree(case):
    """Each chance within 4.5 standard errors of 200 000 drawn balls."""
    terms, length_m, number = CASES[case]
    found = law_of(case)
    share = draw_balls(
        sources_after_steam(**terms), length_m, balls=200_000, seed=5, ball_number=number
    ).share
    size = max(share.size, found.pmf.size)
    share = np.pad(share, (0, size - share.size))
    pmf = np.pad(found.pmf, (0, size - found.pmf.size))
    error = np.sqrt(pmf * (1.0 - pmf) / 200_000)
    seen = pmf > 1e-4
    assert np.all(np.abs(share - pmf)[seen] <= 4.5 * error[seen])
    assert share[~seen].sum() == pytest.approx(pmf[~seen].sum(), abs=1e-3)


@given(
    breaks=st.floats(0.0, 5.0),
    shape=st.one_of(st.just(math.inf), st.floats(0.2, 50.0)),
    cone_m=st.one_of(st.just(math.inf), st.floats(100.0, 10_000.0)),
    cv=st.one_of(st.just(0.0), st.floats(1e-4, 1.0)),
    line=st.floats(0.0, 1.0),
    colour=st.floats(0.0, 1.0),
    shrink=st.floats(0.0, 0.4),
    length_m=st.floats(1e-3, 800.0),
)
@example(5.0, 0.203125, math.inf, 0.0, 0.0, 0.0, 0.25, 621.0)
@example(5.0, 0.2, math.inf, 0.0, 1.0, 1.0, 0.4, 800.0)
@settings(max_examples=60)
def test_the_mean_is_the_sum_of_the_intensities(
    breaks, shape, cone_m, cv, line, colour, shrink, length_m
):
    """Whatever the sources, a ball that starts anywhere holds intensity times length."""
    sources = sources_after_steam(
        breaks_per_km=breaks,
        dispersion=shape,
        cone_length_m=cone_m,
        cone_cv=cv,
        line_breaks_per_km=line,
        colour_ties_per_km=colour,
        shrink_frac=shrink,
    )
    found = knot_law(sources, length_m)
    per_km = (breaks + 1000.0 / cone_m) / (1.0 - shrink) + line + colour
    # Less than 1e-12 of the balls is lost in the transform, and those hold the most joins.
    assert found.mean == pytest.approx(per_km * length_m / 1000.0, rel=1e-9, abs=1e-9)
    assert found.pmf.sum() == pytest.approx(1.0, abs=1e-12)
    assert np.all(found.pmf >= 0.0)
    assert sum(found.mean_by_source.values()) == pytest.approx(found.mean, rel=1e-9, abs=1e-9)


def test_variance_has_its_closed_form_while_cones_are_longer_than_the_ball():
    lam, length_m, cone_m, shape = 0.002, 200.0, 3000.0, 1.5
    found = knot_law(Sources(lam, shape, cone_m, 0.05), length_m)
    tie = length_m / cone_m
    expected = (
        lam * length_m
        + tie * (1.0 - tie)
        + lam**2 / shape * (length_m**2 - length_m**3 / (3.0 * cone_m))
    )
    assert found.variance == pytest.approx(expected, abs=1e-10)


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("shape", [1e7, 1e8, 1.01e8, 1e9, 1e308])
@pytest.mark.parametrize(("breaks_per_km", "length_m"), [(1.0, 200.0), (0.001, 200.0), (30.0, 5e3)])
def test_nearly_even_cones_are_never_too_many_joins(shape, breaks_per_km, length_m):
    sources = {"breaks_per_km": breaks_per_km, "cone_length_m": 4000.0, "cone_cv": 0.05}
    even = knot_law(sources_after_steam(**sources), length_m).pmf
    near = knot_law(sources_after_steam(**sources, dispersion=shape), length_m).pmf
    size = min(even.size, near.size)
    # the variance is wider by mean / shape; places of cone ties are taken on a lattice
    assert near[:size] == pytest.approx(even[:size], abs=3e-5)
    assert near[size:].sum() + even[size:].sum() < 1e-9


def test_a_large_dispersion_number_nears_even_rates():
    """Uneven rates are worked out another way than even ones; they meet in the limit."""
    sources = {"breaks_per_km": 2.0, "cone_length_m": 400.0, "cone_cv": 0.1}
    even = knot_law(sources_after_steam(**sources), 1000.0).pmf
    near = knot_law(sources_after_steam(**sources, dispersion=1e6), 1000.0).pmf
    assert near[:12] == pytest.approx(even[:12], abs=2e-6)


def test_balls_far_from_a_cone_start_forget_it():
    """With a wide spread the hundredth ball meets ties as one that starts anywhere."""
    sources = sources_after_steam(
        breaks_per_km=1.0, cone_length_m=1000.0, cone_cv=0.6, dispersion=2
    )
    anywhere = knot_law(sources, 300.0).pmf[:8]
    assert knot_law(sources, 300.0, ball_number=100).pmf[:8] == pytest.approx(anywhere, abs=1e-5)
    assert knot_law(sources, 300.0, ball_number=1).pmf[0] > anywhere[0] + 0.05


def test_balls_over_one_even_cone_average_to_the_stationary_law():
    """Twenty balls to a cone and a bit: their mean law tells where ties go."""
    sources = sources_after_steam(cone_length_m=4100.0)
    laws = [knot_law(sources, 200.0, ball_number=number) for number in range(1, 42)]
    assert sum(found.mean for found in laws) == pytest.approx(1.0)
    assert laws[20].mean == 1.0


def test_a_tie_on_the_cut_is_in_neither_ball():
    sources = sources_after_steam(cone_length_m=4000.0)
    for number in range(1, 62):
        assert knot_law(sources, 200.0, ball_number=number).pmf.tolist() == [1.0]


def test_shrink_brings_cones_and_breaks_to_the_ball():
    """At 20 % shrink a ball takes 1.25 times its length off the cone."""
    cone = {"breaks_per_km": 1.0, "cone_length_m": 4000.0, "cone_cv": 0.03}
    after = sources_after_steam(**cone, line_breaks_per_km=0.625, shrink_frac=0.2)
    assert after.breaks_per_m == pytest.approx(0.00125)
    assert after.cone_length_m == pytest.approx(3200.0)
    before = sources_after_steam(**cone, line_breaks_per_km=0.5)
    assert knot_law(after, 200.0).pmf == pytest.approx(knot_law(before, 250.0).pmf, abs=1e-12)


@pytest.mark.parametrize(
    ("cone_g", "mean", "none", "two", "four"),
    [(2000.0, 0.25, 0.77779, 0.02571, 1.114e-4), (1000.0, 0.5, 0.60329, 0.08836, 1.491e-3)],
)
def test_four_knots_a_cone_and_a_tie_worked_by_hand(cone_g, mean, none, two, four):
    """100 g balls: lambda = 4 x 100/M and a tie in 100/M of the balls; one metre a gram."""
    found = knot_law(Sources(4.0 / cone_g, cone_length_m=cone_g), 100.0)
    assert found.mean == pytest.approx(mean)
    assert found.pmf[0] == pytest.approx(none, abs=5e-6)
    assert found.more_than(1) == pytest.approx(two, abs=5e-6)
    assert found.more_than(3) == pytest.approx(four, rel=1e-3)


def test_short_lots_of_even_cones_do_not_show_the_mean_share_of_ties():
    """Cones of 0.5 % spread: the tenth ball of 200 m on 3000 m never holds one."""
    sources = sources_after_steam(cone_length_m=3000.0, cone_cv=0.005)
    assert knot_law(sources, 200.0, ball_number=10).more_than(0) < 1e-9
    near = [knot_law(sources, 200.0, ball_number=number).mean for number in (15, 16)]
    assert near == pytest.approx([0.5, 0.5], abs=0.01)


def test_no_source_no_joins():
    found = knot_law(Sources(), 200.0)
    assert found.pmf.tolist() == [1.0]
    assert found.mean == 0.0
    assert found.more_than(0) == 0.0
    assert found.more_than(-1) == 1.0


@pytest.mark.parametrize("number", [None, 1, 7])
def test_a_tiny_ball_holds_nearly_nothing(number):
    sources = sources_after_steam(
        breaks_per_km=2.0, cone_length_m=1000.0, cone_cv=0.3, dispersion=1
    )
    found = knot_law(sources, 1e-6, ball_number=number)
    assert found.pmf[0] == pytest.approx(1.0, abs=1e-8)


def test_tail_sums_what_is_left():
    found = law_of("short cones, uneven")
    for joins in range(5):
        assert found.more_than(joins) == pytest.approx(1.0 - found.pmf[: joins + 1].sum())
    assert found.more_than(10_000) == 0.0


@pytest.mark.parametrize(
    ("wrong", "key"),
    [
        ({"breaks_per_km": -1.0}, "breaks_per_km"),
        ({"breaks_per_km": math.nan}, "breaks_per_km"),
        ({"dispersion": 0.0}, "dispersion"),
        ({"dispersion": math.nan}, "dispersion"),
        ({"cone_length_m": 0.0}, "cone_length_m"),
        ({"cone_cv": 1.5}, "cone_cv"),
        ({"shrink_frac": 1.0}, "shrink_frac"),
    ],
)
def test_a_bad_source_is_named(wrong, key):
    with pytest.raises(BadInput) as bad:
        sources_after_steam(**wrong)
    assert [fault.key for fault in bad.value.faults] == [key]


def test_all_bad_sources_are_named_at_once():
    with pytest.raises(BadInput) as bad:
        sources_after_steam(breaks_per_km=-1, cone_cv=-1, shrink_frac=-1)
    assert len(bad.value.faults) == 3


@pytest.mark.parametrize(
    ("length_m", "number"), [(0.0, None), (math.inf, None), (1e7, None), (200.0, 0)]
)
def test_a_bad_ball_is_refused(length_m, number):
    with pytest.raises(BadInput):
        knot_law(Sources(0.001, 1.0, 1000.0, 0.1), length_m, ball_number=number)


def test_a_ball_shorter_than_a_run_meets_one_colour_tie_or_none() -> None:
    rare = knot_law(sources_after_steam(colour_ties_per_km=0.5), 200.0)
    assert rare.pmf.tolist() == pytest.approx([0.9, 0.1])
    often = knot_law(sources_after_steam(colour_ties_per_km=8.0), 200.0)
    assert often.pmf.tolist() == pytest.approx([0.0, 0.4, 0.6])
