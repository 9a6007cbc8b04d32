"""A knot map is read rightly or refused with every fault named."""

from __future__ import annotations

import pytest

from clew.faults import BadInput
from clew.knots.knot_map import knot_map


def test_joins_out_of_order_are_sorted_with_their_kinds_and_a_note() -> None:
    knots = knot_map([30.0, 10.5], 100.0, ["tie", "re-tie"])
    assert knots.positions_m.tolist() == [10.5, 30.0]
    assert knots.kinds == ("re-tie", "tie")
    assert "sorted" in knots.notes[0]
    assert knot_map([10.5, 30.0], 100.0).notes == ()


def test_no_joins_and_joins_at_both_ends_are_maps() -> None:
    assert knot_map([], 100.0).positions_m.size == 0
    assert knot_map([0.0, 100.0], 100.0).positions_m.tolist() == [0.0, 100.0]


@pytest.mark.parametrize(
    ("position", "said"),
    [
        (-0.5, "before the strand's head"),
        (-1e-10, "before the strand's head"),
        (100.000001, "beyond the strand"),
        (float("nan"), "not a number"),
        (float("inf"), "not a number"),
        (1e300, "beyond the strand"),
        (20.0, "the same place as position 1"),
    ],
)
def test_a_bad_position_is_named(position: float, said: str) -> None:
    with pytest.raises(BadInput) as bad:
        knot_map([20.0, position], 100.0)
    assert [fault.key for fault in bad.value.faults] == ["position 2"]
    assert said in str(bad.value)


def test_faults_carry_the_lines_of_their_file_all_at_once() -> None:
    with pytest.raises(BadInput) as bad:
        knot_map([20.0, 20.0, 500.0, 7.0], 100.0, ["tie", "tie", "tie", "3"], lines=[2, 3, 5, 6])
    assert [(fault.line, fault.key) for fault in bad.value.faults] == [
        (5, "position"),
        (3, "position"),
        (6, "kind"),
    ]
    assert "line 2" in bad.value.faults[1].what


@pytest.mark.parametrize("strand", [0.0, -1.0, float("nan"), 2e9])
def test_a_strand_must_have_a_length(strand: float) -> None:
    with pytest.raises(BadInput, match="strand length"):
        knot_map([], strand)


def test_a_kind_for_each_position() -> None:
    with pytest.raises(BadInput, match="differ in number"):
        knot_map([1.0, 2.0], 10.0, ["tie"])
