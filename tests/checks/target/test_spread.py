"""Levels of spread, and what first balls leave of the lots'."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clew.checks.target.spread import Level, Sd, Spread, after_first_balls, spread_of_sources
from clew.faults import BadInput


def test_first_balls_leave_of_a_lot_what_a_simple_draw_leaves() -> None:
    """Set each lot by the best guess from five balls, each of its own cone; look at the rest."""
    spread = spread_of_sources(count_lot=0.012, count_cone=0.01, count_within=0.008)
    rng = np.random.default_rng(4)
    lots = rng.normal(0.0, 0.012, 200_000)
    seen = lots + rng.normal(0.0, math.hypot(0.01, 0.008), (5, 200_000)).mean(axis=0)
    guess = seen * 0.012**2 / (0.012**2 + (0.01**2 + 0.008**2) / 5)
    left = after_first_balls(spread, 5)
    assert left.lot.mass.value_frac == pytest.approx(float(np.std(lots - guess)), rel=0.01)
    assert left.cone == spread.cone
    # what is taken off for a heavy count is missing in length
    assert left.lot.length.value_frac == pytest.approx(float(np.std(guess)), rel=0.01)


@pytest.mark.parametrize("turns", [0.006, 0.012])
def test_lots_that_wind_long_are_set_right_in_length_too(turns: float) -> None:
    """Lots that differ by their turns as well: correlation and both spreads are those of draws."""
    count = math.sqrt(0.012**2 - turns**2)
    lot = Level(Sd(0.012), Sd(turns), turns / 0.012)
    spread = Spread(lot=lot, cone=Level(Sd(0.01)), within=Level(Sd(0.008)))
    rng = np.random.default_rng(6)
    long = rng.normal(0.0, turns, 200_000)
    lots = long + rng.normal(0.0, count, 200_000)
    seen = lots + rng.normal(0.0, math.hypot(0.01, 0.008), (5, 200_000)).mean(axis=0)
    guess = seen * 0.012**2 / (0.012**2 + (0.01**2 + 0.008**2) / 5)
    left = after_first_balls(spread, 5).lot
    assert left.mass.value_frac == pytest.approx(float(np.std(lots - guess)), rel=0.01)
    assert left.length.value_frac == pytest.approx(float(np.std(long - guess)), rel=0.01)
    shared = float(np.corrcoef(lots - guess, long - guess)[0, 1])
    assert left.correlation == pytest.approx(shared, abs=0.01)


def test_doubt_of_how_lots_vary_matters_less_after_first_balls() -> None:
    """However wide lots are, five balls leave no more than their own doubt of the mean."""
    doubtful = Spread(lot=Level(Sd(0.01, 0.5)), cone=Level(Sd(0.012)))
    left = after_first_balls(doubtful, 5).lot.mass
    known = [
        after_first_balls(spread_of_sources(count_lot=0.01 * math.exp(u), count_cone=0.012), 5)
        for u in (-0.05, 0.05)
    ]
    low, high = (one.lot.mass.value_frac for one in known)
    assert left.log_sd == pytest.approx(0.5 * math.log(high / low) / 0.1, rel=0.01)
    perhaps = Spread(lot=Level(Sd(0.0, 0.0, 0.5)), cone=Level(Sd(0.012)))
    assert after_first_balls(perhaps, 5).lot.mass.plus_frac < 0.012 / math.sqrt(5)


def test_more_first_balls_leave_less_and_no_lot_level_stays_none() -> None:
    spread = spread_of_sources(count_lot=0.012, count_cone=0.01)
    left = [after_first_balls(spread, n).lot.mass.value_frac for n in (1, 2, 6, 100)]
    assert left == sorted(left, reverse=True)
    assert left[-1] < 0.0012
    assert after_first_balls(spread_of_sources(count_cone=0.01), 3).lot.mass.none
    with pytest.raises(BadInput, match="no first ball"):
        after_first_balls(spread, 0)
