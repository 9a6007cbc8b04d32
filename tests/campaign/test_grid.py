"""A grid's points: all of them, in order, on the record they belong to."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import pytest

from clew.campaign.grid import Axis, Grid
from clew.faults import BadInput, Fault


@dataclass(frozen=True, slots=True)
class Setting:
    feed_m_per_s: float
    hands: int
    rule: str = "nearest"

    def __post_init__(self) -> None:
        if self.hands < 0:
            raise BadInput(Fault("below 0", key="hands"))


TWO = Grid((Axis("hands", (3, 1)), Axis("feed_m_per_s", (1.0, 1.5, 2.0))))


def test_the_last_axis_changes_fastest_and_values_keep_their_order() -> None:
    assert [(point["hands"], point["feed_m_per_s"]) for point in TWO.points()] == [
        (3, 1.0), (3, 1.5), (3, 2.0), (1, 1.0), (1, 1.5), (1, 2.0),
    ]  # fmt: skip
    assert TWO.shape == (2, 3)
    assert len(TWO) == 6


def test_points_are_set_on_a_record_and_leave_its_other_fields() -> None:
    base = Setting(9.0, 9, "patrol")
    found = TWO.around(base)
    assert found[4] == Setting(1.5, 1, "patrol")
    assert found == tuple(replace(base, **point) for point in TWO.points())


@pytest.mark.parametrize(
    ("axes", "words"),
    [
        ((), "nothing to sweep"),
        ((("hands", ()),), "hands: has no value"),
        ((("hands", (1, 2, 1)),), "hands: has a value twice (got 1)"),
        ((("hands", (1,)), ("hands", (2,))), "hands: is swept twice"),
        ((("feed_m_per_s", (1.0, math.nan)),), "feed_m_per_s: is not a number (got nan)"),
    ],
)
def test_what_is_no_grid_is_refused(
    axes: tuple[tuple[str, tuple[float, ...]], ...], words: str
) -> None:
    with pytest.raises(BadInput) as bad:
        Grid(tuple(Axis(name, values) for name, values in axes))
    assert words in str(bad.value)


def test_an_axis_that_the_record_does_not_have_is_named_with_those_it_has() -> None:
    with pytest.raises(BadInput) as bad:
        Grid((Axis("hnads", (1,)), Axis("feed", (1.0,)))).around(Setting(1.0, 1))
    assert [fault.key for fault in bad.value.faults] == ["hnads", "feed"]
    assert "feed_m_per_s, hands, rule" in bad.value.faults[0].expected


def test_a_value_the_record_refuses_is_the_records_fault() -> None:
    with pytest.raises(BadInput, match="hands: below 0"):
        Grid((Axis("hands", (1, -1)),)).around(Setting(1.0, 1))
