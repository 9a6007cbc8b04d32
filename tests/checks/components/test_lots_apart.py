"""Two dye lots one after the other: a heavier count is told from longer winding."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from clew.checks.components.lots_apart import lots_apart
from clew.checks.weighings import Factor, Weighings

Floats = NDArray[np.float64]
WINDERS, CONES, BALLS = 4, 10, 8


def shift(
    heavier: float, longer: float, *, reeled: bool = True, lots: int = 2
) -> tuple[Weighings, Floats, Floats]:
    """Balls of lots one after the other; the last is heavier and longer by so much."""
    rng = np.random.default_rng(3)
    rows = lots * WINDERS * CONES * BALLS
    place = np.arange(rows)
    lot = place // (WINDERS * CONES * BALLS)
    cone = place // BALLS
    winder = cone % WINDERS
    last = lot == lots - 1
    of_cone = rng.normal(0.0, 0.010, cone.max() + 1)[cone]
    mass = 100.0 * np.exp(heavier * last + of_cone + rng.normal(0.0, 0.006, rows))
    length = 200.0 * np.exp(longer * last + rng.normal(0.0, 0.005, rows))
    length[place % 5 != 0] = np.nan
    factors = {
        "lot": Factor(lot.astype(np.int32), tuple(f"L-{k}" for k in range(lots))),
        "cone": Factor(cone.astype(np.int32), tuple(f"C-{k}" for k in range(cone.max() + 1))),
        "winder": Factor(winder.astype(np.int32), tuple(str(k + 1) for k in range(WINDERS))),
    }
    numbers = {"mass_g": mass} | ({"length_m": length} if reeled else {})
    return Weighings(rows, numbers, factors), mass, length


def test_a_heavier_count_is_the_yarns() -> None:
    balls, mass, length = shift(0.02, 0.0)
    found = lots_apart(balls, mass, length)
    assert found is not None
    assert (found.before, found.after, found.cause) == ("L-0", "L-1", "count")
    assert found.mass_low_frac < 0.02 < found.mass_high_frac
    assert found.mass_low_frac > 0.0
    assert found.length_low_frac is not None and found.length_high_frac is not None
    assert found.length_low_frac < 0.0 < found.length_high_frac


def test_longer_winding_moves_both() -> None:
    balls, mass, length = shift(0.02, 0.02)
    found = lots_apart(balls, mass, length)
    assert found is not None
    assert found.cause == "winds"
    assert found.length_frac == pytest.approx(0.02, abs=0.003)


def test_the_doubt_counts_the_cones() -> None:
    """Twenty cones a lot of 1 % each: their mean alone is uncertain to 0.2 %."""
    balls, mass, length = shift(0.0, 0.0)
    found = lots_apart(balls, mass, length)
    assert found is not None
    half = (found.mass_high_frac - found.mass_low_frac) / 2.0
    cones = WINDERS * CONES
    assert half == pytest.approx(1.96 * 0.010 * (2.0 / cones) ** 0.5, rel=0.35)


def test_without_lengths_the_cause_is_open() -> None:
    balls, mass, _ = shift(0.02, 0.0, reeled=False)
    found = lots_apart(balls, mass)
    assert found is not None
    assert found.length_frac is None
    assert found.cause == "unknown"


def test_of_three_lots_the_last_two_are_compared() -> None:
    balls, mass, length = shift(0.02, 0.0, lots=3)
    found = lots_apart(balls, mass, length)
    assert found is not None
    assert (found.before, found.after) == ("L-1", "L-2")


def test_one_lot_or_none_is_not_compared() -> None:
    balls, mass, length = shift(0.0, 0.0, lots=1)
    assert lots_apart(balls, mass, length) is None
    unnamed = Weighings(balls.rows, balls.numbers, {"winder": balls.factors["winder"]})
    assert lots_apart(unnamed, mass, length) is None
    mass = shift(0.0, 0.0)[1]
    balls = shift(0.0, 0.0)[0]
    mass[balls.factors["lot"].codes == 1] = np.nan
    assert lots_apart(balls, mass) is None
