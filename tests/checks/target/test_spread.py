"""Levels of spread, and what first balls leave of the lots'."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clew.checks.target.spread import after_first_balls, spread_of_sources
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
    assert left.lot.length == spread.lot.length


def test_more_first_balls_leave_less_and_no_lot_level_stays_none() -> None:
    spread = spread_of_sources(count_lot=0.012, count_cone=0.01)
    left = [after_first_balls(spread, n).lot.mass.value_frac for n in (1, 2, 6, 100)]
    assert left == sorted(left, reverse=True)
    assert left[-1] < 0.0012
    assert after_first_balls(spread_of_sources(count_cone=0.01), 3).lot.mass.none
    with pytest.raises(BadInput, match="no first ball"):
        after_first_balls(spread, 0)
