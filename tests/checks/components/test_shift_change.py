"""Today against yesterday: parts that add up, and the part that moved named."""

import numpy as np
import pytest

from clew.checks.components.shift_change import ShiftChange, joined, shift_change
from clew.checks.components.shift_change_plain import shift_change_plain
from clew.checks.weighings import Factor, Weighings
from clew.faults import BadInput


def shift(seed: int, lot: str, *, yarn: float = 0.0, winder_4: float = 0.0, all_: float = 0.0):  # type: ignore[no-untyped-def]
    rng = np.random.default_rng(seed)
    rows = 1200
    winder = np.arange(rows) % 6
    cone = np.arange(rows) // 6 // 20 * 6 + winder
    y = 100 + all_ + yarn + rng.normal(0, 0.5, int(cone.max()) + 1)[cone] + rng.normal(0, 0.6, rows)
    y += winder_4 * (winder == 3)
    factors = {
        "winder": Factor(winder.astype(np.int32), tuple("123456")),
        "cone": Factor(cone.astype(np.int32), tuple(f"{lot}-{k}" for k in range(60))),
        "lot": Factor(np.zeros(rows, dtype=np.int32), (lot,)),
    }
    return Weighings(rows, {"mass_g": y}, factors), y


def change(**moved: float) -> ShiftChange:
    before, y_before = shift(1, "L1")
    after, y_after = shift(2, "L2", **moved)
    return shift_change(before, after, y_before, y_after)


@pytest.mark.parametrize("moved", [{}, {"yarn": 1.0}, {"winder_4": 2.0}, {"all_": -1.0}])
def test_parts_add_up_to_the_change_exactly(moved: dict[str, float]) -> None:
    found = change(**moved)
    assert sum(one.change for one in found.parts) == pytest.approx(found.change, abs=1e-12)
    assert found.change == pytest.approx(found.after - found.before)
    assert all(one.low <= one.change <= one.high for one in found.parts)


def test_a_winder_that_moved_is_named() -> None:
    found = change(winder_4=3.0)
    parts = {one.name: one for one in found.parts}
    assert max(found.parts, key=lambda one: abs(one.change)).name == "winder 4"
    assert parts["winder 4"].low > 0.0
    own = parts["winder 4"].own_change
    assert own == pytest.approx(3.0, abs=0.7)
    assert any("winder 4" in line for line in found.words)


def test_a_shift_of_new_cones_only_moves_no_winder_for_sure() -> None:
    found = change()
    clear = [one.name for one in found.parts if one.low > 0.0 or one.high < 0.0]
    assert set(clear) <= {"yarn"}


def test_intervals_of_the_parts_hold_as_often_as_they_say() -> None:
    """Fresh cones on six winders, one of which moves in every second pair of shifts."""
    rng = np.random.default_rng(2)
    held, widths = [], []
    for pair in range(60):
        stands = np.tile(rng.normal(0, 0.7, 6), (2, 1))
        stands[1, 3] += 1.5 * (pair % 2)
        shifts, of_cones = [], []
        for today in (False, True):
            cone = np.arange(36)
            its = rng.normal(0, 1.1, 36)
            mass = np.repeat(101 + stands[int(today)][cone % 6] + its, 8)
            rows = np.repeat(cone, 8).astype(np.int32)
            factors = {
                "winder": Factor((rows % 6).astype(np.int32), tuple("123456")),
                "cone": Factor(rows, tuple(f"{today}-{k}" for k in range(36))),
            }
            y = mass + rng.normal(0, 0.7, len(rows))
            shifts.append((Weighings(len(rows), {"mass_g": y}, factors), y))
            of_cones.append(float(its.mean()))
        (before, y_before), (after, y_after) = shifts
        found = shift_change(before, after, y_before, y_after)
        truth = {f"winder {k + 1}": (stands[1, k] - stands[0, k]) / 6 for k in range(6)}
        truth["yarn"] = of_cones[1] - of_cones[0]
        told = [one for one in found.parts if one.name in truth]
        held.append([one.low <= truth[one.name] <= one.high for one in told])
        widths += [one.high - one.low for one in told]
    of_yarn, of_winders = np.array(held)[:, 0], np.array(held)[:, 1:]
    assert float(of_yarn.mean()) > 0.88
    assert 0.91 < float(of_winders.mean()) < 0.99
    assert min(widths) > 0.01  # no part is known for certain


def test_a_shift_against_itself_has_not_moved() -> None:
    before, y = shift(1, "L1")
    found = shift_change(before, before, y, y, wanted=("winder",))
    assert found.change == 0.0
    assert [one.change for one in found.parts] == pytest.approx([0.0] * len(found.parts), abs=1e-9)
    assert "No part of it is clear of chance." in found.words


def test_a_heavier_lot_is_the_yarn_and_no_winder() -> None:
    found = change(yarn=1.2)
    parts = {one.name: one for one in found.parts}
    assert parts["yarn"].change == pytest.approx(found.change, abs=0.1)
    assert parts["yarn"].low > 0.5
    assert not [one.name for one in found.parts if one.name != "yarn" and one.low * one.high > 0]
    assert any("told as lot" in one for one in found.cautions)


def test_all_winders_alike_on_one_lot_are_told_so() -> None:
    before, y_before = shift(1, "L1")
    after, y_after = shift(2, "L1", all_=-1.0)
    cone = after.factors["cone"]
    after = Weighings(
        after.rows,
        after.numbers,
        dict(after.factors) | {"cone": Factor(cone.codes, tuple(f"new-{k}" for k in range(240)))},
    )
    found = shift_change(before, after, y_before, y_after)
    parts = {one.name: one for one in found.parts}
    assert parts["all alike"].high < 0.0
    assert parts["all alike"].change == pytest.approx(-1.0, abs=0.25)


def test_joined_names_keep_yarn_and_part_winders() -> None:
    first = Factor(np.array([0, 1, -1], dtype=np.int32), ("a", "b"))
    second = Factor(np.array([0, 1, -1], dtype=np.int32), ("b", "c"))
    yarn = joined(first, second, apart=False)
    assert yarn.names == ("a", "b", "c")
    assert yarn.codes.tolist() == [0, 1, -1, 1, 2, -1]
    winders = joined(first, second, apart=True)
    assert len(winders.names) == 4
    assert winders.codes.tolist() == [0, 1, -1, 2, 3, -1]


def test_shifts_without_a_source_in_common_are_refused() -> None:
    before, y = shift(1, "L1")
    bare = Weighings(3, {"mass_g": np.array([1.0, 2.0, 3.0])}, {})
    with pytest.raises(BadInput, match="no source in common"):
        shift_change(before, bare, y, bare.numbers["mass_g"])


def test_a_shift_without_balls_is_refused() -> None:
    before, y = shift(1, "L1")
    with pytest.raises(BadInput, match="a shift without balls"):
        shift_change(before, before, y, np.full(1200, np.nan))


def test_plain_keys() -> None:
    plain = shift_change_plain(change(winder_4=3.0), "g")
    assert {"before_g", "after_g", "change_g", "parts", "words"} <= set(plain)
    assert plain["parts"][-1]["name"] == "rest"
    assert plain["parts"][-1]["own_change_g"] is None
