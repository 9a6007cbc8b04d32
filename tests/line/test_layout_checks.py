"""A layout with which no shift can be walked is refused, each fault under its own name."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from typing import Any

import pytest

from clew.faults import BadInput
from clew.line.layout import KINDS, Layout, checked_layout
from clew.line.layout_checks import MOST_EVENTS, events_per_lane, layout_faults

ONE_CLASS = (KINDS,)
LAYOUT = Layout(
    lanes=6,
    hands=2,
    shift_s=28_800.0,
    feed_m_per_s=5.0,
    wind_m_per_s=6.875,
    passage_s=545.0,
    steam_from_s=33.0,
    steam_s=76.0,
    steam_longest_s=150.0,
    dry_from_s=109.0,
    dry_s=300.0,
    dry_longest_s=math.inf,
    buffer_m=1125.0,
    go_m=50.0,
    loose_m=60.0,
    start_buffer_frac=0.5,
    ball_m=250.0,
    cone_m=4000.0,
    cone_cv=0.03,
    cones_per_lane=4,
    feed_breaks_per_km=0.01,
    wind_breaks_per_km=0.02,
    doff_s=7.0,
    mend_s=25.0,
    feed_mend_s=25.0,
    load_s=60.0,
    change_s=7.0,
    colour_tie_s=25.0,
    service_cv=0.3,
    mend_waste_m=1.25,
    spacing_m=1.5,
    across_m=10.0,
    walk_m_per_s=1.1,
    rule="nearest",
    first=ONE_CLASS,
    break_s=900.0,
    breaks=2,
    colour_at_s=(9600.0, 19_200.0),
    shrink_frac=0.2,
    count_tex=400.0,
)

NOT_ABOVE_ZERO = (0.0, -1.0, math.nan, math.inf)
NOT_FROM_ZERO = (-0.001, math.nan, math.inf)
REFUSED: dict[str, tuple[Any, ...]] = {
    "lanes": (0, 65, 2.5, True),
    "hands": (0, 17, -1),
    "shift_s": (*NOT_ABOVE_ZERO, 86_401.0),
    "feed_m_per_s": (*NOT_ABOVE_ZERO, 101.0),
    "wind_m_per_s": NOT_ABOVE_ZERO,
    "passage_s": NOT_ABOVE_ZERO,
    "steam_from_s": (*NOT_FROM_ZERO, 469.1),
    "steam_s": (*NOT_ABOVE_ZERO, 150.1),
    "steam_longest_s": NOT_ABOVE_ZERO,
    "dry_from_s": (*NOT_FROM_ZERO, 245.1),
    "dry_s": NOT_ABOVE_ZERO,
    "dry_longest_s": (0.0, -1.0, math.nan),
    "buffer_m": NOT_ABOVE_ZERO,
    "go_m": (*NOT_ABOVE_ZERO, 1065.1),
    "loose_m": NOT_ABOVE_ZERO,
    "start_buffer_frac": (-0.1, 1.1, math.nan),
    "ball_m": (*NOT_ABOVE_ZERO, 0.1),
    "cone_m": (*NOT_ABOVE_ZERO, 0.1),
    "cone_cv": (-0.1, 0.31, math.nan),
    "cones_per_lane": (0, 65),
    "feed_breaks_per_km": (*NOT_FROM_ZERO, 10_000.0),
    "wind_breaks_per_km": (*NOT_FROM_ZERO, 10_000.0),
    "doff_s": NOT_ABOVE_ZERO,
    "mend_s": NOT_ABOVE_ZERO,
    "feed_mend_s": NOT_ABOVE_ZERO,
    "load_s": NOT_ABOVE_ZERO,
    "change_s": NOT_ABOVE_ZERO,
    "colour_tie_s": NOT_ABOVE_ZERO,
    "service_cv": (-0.1, 3.1, math.nan),
    "mend_waste_m": NOT_FROM_ZERO,
    "spacing_m": NOT_FROM_ZERO,
    "across_m": NOT_FROM_ZERO,
    "walk_m_per_s": NOT_ABOVE_ZERO,
    "rule": ("first come", ""),
    "first": (
        (),
        (KINDS[:-1],),
        (KINDS, ("doff",)),
        (KINDS, ("tea",)),
    ),
    "break_s": NOT_FROM_ZERO,
    "breaks": (-1, 101, 32, 2.0),
    "colour_at_s": (
        (-1.0,),
        (28_800.0,),
        (math.nan,),
        (math.inf,),
        (200.0, 100.0),
        (100.0, 100.0),
        tuple(place / 100.0 for place in range(1_000_001)),
    ),
    "shrink_frac": (-0.1, 0.91, math.nan),
    "count_tex": NOT_ABOVE_ZERO,
    "regain_in_frac": (-0.1, 1.1, math.nan),
    "regain_out_frac": (-0.1, 1.1, math.nan),
    "warm_up_s": (-1.0, 90_000.0, math.nan),
    "finish_loss_frac": (-0.1, 0.6, math.nan),
}


def refused(layout: Layout) -> list[str]:
    with pytest.raises(BadInput) as bad:
        checked_layout(layout)
    return [fault.key for fault in bad.value.faults]


def test_a_sound_layout_is_given_back() -> None:
    assert checked_layout(LAYOUT) is LAYOUT


def test_every_attribute_has_values_that_are_refused() -> None:
    assert set(REFUSED) == {field.name for field in fields(Layout)}


@pytest.mark.parametrize(
    ("key", "value"),
    [(key, value) for key, values in REFUSED.items() for value in values],
    ids=lambda one: one if isinstance(one, str) else str(one)[:20],
)
def test_an_illegal_value_is_refused_under_its_name(key: str, value: Any) -> None:
    faults = layout_faults(replace(LAYOUT, **{key: value}))
    assert {fault.key for fault in faults} == {key}
    for fault in faults:
        assert fault.expected
        assert str(fault).startswith(f"{key}: ")


@pytest.mark.parametrize(
    "changes",
    [
        {"lanes": 1, "hands": 1, "cones_per_lane": 1},
        {"lanes": 64, "hands": 16, "cones_per_lane": 64},
        {"dry_s": 436.0, "dry_longest_s": 436.0},
        {"steam_s": 150.0},
        {"go_m": 1065.0},
        {"start_buffer_frac": 0.0},
        {"start_buffer_frac": 1.0},
        {"cone_cv": 0.3, "service_cv": 3.0},
        {"service_cv": 0.0, "feed_breaks_per_km": 0.0, "wind_breaks_per_km": 0.0},
        {"spacing_m": 0.0, "across_m": 0.0, "mend_waste_m": 0.0},
        {"breaks": 31},
        {"break_s": 0.0, "breaks": 100},
        {"colour_at_s": (0.0,)},
        {"colour_at_s": ()},
        {"shift_s": 86_400.0},
        {"shrink_frac": 0.0},
        {"first": (("load",), ("doff", "mend"), ("change", "feed", "colour"))},
    ],
)
def test_what_is_just_legal_is_not_refused(changes: dict[str, Any]) -> None:
    assert layout_faults(replace(LAYOUT, **changes)) == ()


def test_all_that_is_wrong_is_told_at_once() -> None:
    """What goes together is judged as well, of the values that are well each on its own."""
    layout = replace(
        LAYOUT,
        lanes=0,
        doff_s=math.nan,
        rule="first come",  # type: ignore[arg-type]
        first=(KINDS[1:],),
        go_m=1100.0,
        steam_s=200.0,
        breaks=40,
        colour_at_s=(-5.0,),
        ball_m=0.01,
    )
    assert refused(layout) == [
        *("lanes", "doff_s", "rule", "first"),
        *("go_m", "breaks", "steam_s", "colour_at_s", "ball_m"),
    ]


def test_what_cannot_be_judged_with_a_value_astray_is_left() -> None:
    assert refused(replace(LAYOUT, shift_s=math.nan, breaks=40, ball_m=0.01)) == ["shift_s"]
    assert refused(replace(LAYOUT, buffer_m=-1.0, go_m=2000.0)) == ["buffer_m"]


def test_a_belt_too_slow_for_steam_or_dryer_says_so() -> None:
    slow = replace(LAYOUT, steam_s=160.0, dry_longest_s=280.0)
    assert [str(fault) for fault in layout_faults(slow)] == [
        "steam_s: the belt is too slow: 160 s in steam though it never stops (got 160); "
        "expected at most 150 s, the longest the yarn bears",
        "dry_s: the belt is too slow: 300 s in the dryer though it never stops (got 300); "
        "expected at most 280 s, the longest the yarn bears",
    ]


def test_a_passage_is_no_longer_than_the_shift() -> None:
    assert refused(replace(LAYOUT, shift_s=500.0, breaks=0, colour_at_s=())) == ["passage_s"]


def test_the_events_of_a_lane_are_counted_by_what_makes_them() -> None:
    """144 km fed and 198 km wound in eight hours."""
    assert events_per_lane(LAYOUT) == pytest.approx(
        {
            "ball_m": 198_000.0 / 250.0,
            "cone_m": 36.0,
            "feed_breaks_per_km": 1.44,
            "wind_breaks_per_km": 3.96,
            "go_m": 144_000.0 / 50.0,
            "loose_m": 3300.0,
            "colour_at_s": 2.0,
        }
    )


@pytest.mark.parametrize(
    ("key", "just", "beyond"),
    [
        ("ball_m", 0.2, 0.19),
        ("go_m", 0.15, 0.14),
        ("loose_m", 0.2, 0.19),
        ("cone_m", 0.15, 0.14),
    ],
)
def test_more_events_than_can_be_walked_are_refused(key: str, just: Any, beyond: Any) -> None:
    """198 km in pieces of 0.2 m are 990 000 pieces, and the rest of LAYOUT makes 7 000."""
    assert layout_faults(replace(LAYOUT, **{key: just})) == ()
    (fault,) = layout_faults(replace(LAYOUT, **{key: beyond}))
    assert (fault.key, fault.value) == (key, str(beyond))
    assert str(MOST_EVENTS) in fault.expected
