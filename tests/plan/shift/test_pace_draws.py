"""Pace from simulated shifts: the root law against shifts simulated at other lengths."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.line.layout_from_mill import layout_of
from clew.mill.model import Mill
from clew.plan.pace import pace_of
from clew.plan.shift.pace_draws import PaceDraws, expected, pace_draws
from clew.plan.shift.rests import rests_of


@pytest.fixture(scope="module")
def draws(demo_mill: Mill) -> PaceDraws:
    layout = layout_of(demo_mill, "Line 1", "Querl 100", "SL-207")
    return pace_draws(layout, replications=200, seed=3)


def test_the_mean_is_the_pace_of_the_plan(demo_mill: Mill, draws: PaceDraws) -> None:
    pace = pace_of(demo_mill, "Line 1", "Querl 100", "SL-207", seed=3, replications=200)
    assert draws.balls_per_s * 3600.0 == pytest.approx(pace.balls_per_h)


def test_a_shift_of_its_own_length_is_drawn_as_simulated(draws: PaceDraws) -> None:
    given_s = np.full(len(draws.balls), draws.layout.shift_s)
    assert draws.gives(1e9, given_s) == pytest.approx(np.array(draws.balls))


@pytest.mark.parametrize("share", [0.25, 2.0])
def test_the_root_law_holds_against_shifts_of_another_length(demo_mill: Mill, share: float) -> None:
    # Without rests, which do not scale with the length, so that only chance is tried.
    layout = replace(layout_of(demo_mill, "Line 1", "Querl 100", "SL-207"), breaks=0)
    whole = pace_draws(layout, replications=600, seed=5)
    other_s = share * layout.shift_s
    direct = np.array(pace_draws(replace(layout, shift_s=other_s), replications=600, seed=6).balls)
    scaled = whole.gives(1e9, np.full(600, other_s))
    assert scaled.mean() == pytest.approx(direct.mean(), rel=0.02)
    # A standard deviation from 600 shifts is known to 6 % or so, and neighbouring stretches of a
    # line are not quite independent.
    assert scaled.std() == pytest.approx(direct.std(), rel=0.35)


def test_finish_lies_within_the_simulated_quantiles(draws: PaceDraws) -> None:
    found = expected(draws.takes_s(1200.0))
    assert found.low < found.mean < found.high
    drawn = draws.takes_s(1200.0)
    assert np.mean((drawn >= found.low) & (drawn <= found.high)) >= 0.94
    assert found.mean == pytest.approx(1200.0 / draws.balls_per_s, rel=0.01)


@given(balls=st.floats(0.0, 5000.0), within_s=st.floats(-100.0, 100_000.0))
def test_no_more_balls_come_than_were_asked_for(
    draws: PaceDraws, balls: float, within_s: float
) -> None:
    got = draws.gives(balls, np.full(len(draws.balls), within_s))
    assert (got >= 0.0).all()
    assert (got <= balls).all()
    if within_s <= 0.0:
        assert (got == 0.0).all()


def test_a_line_of_whose_shifts_one_stood_still_ends_at_last(draws: PaceDraws) -> None:
    odd = replace(draws, balls=(0.0, *draws.balls))
    assert np.isfinite(odd.takes_s(10.0)).all()


def test_hands_rest_when_the_simulated_hands_do(demo_mill: Mill) -> None:
    from clew.line.simulate.timeline import timeline

    layout = layout_of(demo_mill, "Line 1", "Querl 200", "OA-023")
    told = rests_of(layout)
    seen = [one for one in timeline(layout, seed=1).hands if one.state == "resting"]
    assert len(told) == len(seen) == layout.hands * layout.breaks
    for one in told:
        mine = [row.at_s for row in seen if row.hand + 1 == one.hand]
        # A hand who serves just then rests when he is done.
        assert min(at - one.from_s for at in mine if at >= one.from_s - 1e-6) < 120.0
    assert all(late.from_s >= soon.upto_s for soon, late in pairwise(told))


def test_a_line_without_rests_has_none(demo_mill: Mill) -> None:
    layout = replace(layout_of(demo_mill, "Line 1", "Querl 200"), break_s=0.0)
    assert rests_of(layout) == ()
