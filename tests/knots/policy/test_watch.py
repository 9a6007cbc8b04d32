"""What a detector sees."""

from __future__ import annotations

import numpy as np
import pytest

from clew.faults import BadInput
from clew.knots.knot_map import KnotMap, knot_map
from clew.knots.policy.watch import Detector, seen_joins


@pytest.fixture
def many() -> KnotMap:
    """Twenty thousand joins on 2000 km."""
    return knot_map(np.arange(20_000) * 100.0 + 7.0, 2.0e6)


def test_a_perfect_eye_sees_what_is_there(many: KnotMap) -> None:
    assert np.array_equal(seen_joins(many, Detector(), seed=1), many.positions_nm)
    assert seen_joins(many, Detector(0.0), seed=1).size == 0


def test_shares_of_a_poor_eye(many: KnotMap) -> None:
    seen = seen_joins(many, Detector(0.8, 3.0), seed=2)
    true = np.isin(seen, many.positions_nm)
    assert true.sum() == pytest.approx(16_000, abs=4 * np.sqrt(20_000 * 0.16))
    assert (~true).sum() == pytest.approx(6_000, abs=4 * np.sqrt(6_000))
    assert bool(np.all(np.diff(seen) > 0))
    assert Detector(0.8, 3.0).seen_per_m(0.01) == pytest.approx(0.011)


def test_the_seed_decides(many: KnotMap) -> None:
    eye = Detector(0.5, 1.0)
    assert np.array_equal(seen_joins(many, eye, seed=3), seen_joins(many, eye, seed=3))
    assert not np.array_equal(seen_joins(many, eye, seed=3), seen_joins(many, eye, seed=4))


def test_what_cannot_be_meant_is_refused_at_once(many: KnotMap) -> None:
    with pytest.raises(BadInput) as caught:
        seen_joins(many, Detector(1.2, float("nan")), seed=1)
    assert [fault.key for fault in caught.value.faults] == ["finds_frac", "false_alarms_per_km"]
