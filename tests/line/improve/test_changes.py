"""Improvements one by one: what each changes, and which a line cannot have."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest

from clew.faults import BadInput
from clew.line.improve.changes import ChangeSizes, changes_for, with_buffer
from clew.line.layout import Layout
from clew.line.layout_checks import layout_faults

TOUCHED = {
    "one_more_hand": {"hands"},
    "one_hand_fewer": {"hands"},
    "one_more_lane": {"lanes"},
    "splicer": {"mend_s", "feed_mend_s", "colour_tie_s", "load_s"},
    "doff_faster": {"doff_s"},
    "bigger_cones": {"cone_m"},
    "one_more_cone": {"cones_per_lane"},
    "bigger_buffer": {"buffer_m", "start_buffer_frac"},
    "faster_winders": {"wind_m_per_s"},
    "faster_feed": {"feed_m_per_s"},
    "fewer_breaks": {"feed_breaks_per_km", "wind_breaks_per_km"},
    "shorter_way": {"spacing_m", "across_m"},
    "stand_in": {"breaks"},
    "doffs_first": {"first"},
    "rule_longest": {"rule"},
    "rule_patrol": {"rule"},
}


def changed_fields(one: Layout, other: Layout) -> set[str]:
    return {
        each.name for each in fields(one) if getattr(one, each.name) != getattr(other, each.name)
    }


def test_each_changes_its_own_thing_and_nothing_else(demo_layout: Layout) -> None:
    done, left = changes_for(demo_layout)
    assert left == ()
    assert {one.key: changed_fields(demo_layout, one.layout) for one in done} == TOUCHED
    assert len({one.label for one in done}) == len(done)


def test_a_splicer_spares_the_tie_in_a_loading_too(demo_layout: Layout) -> None:
    spliced = next(one.layout for one in changes_for(demo_layout)[0] if one.key == "splicer")
    assert (spliced.mend_s, spliced.feed_mend_s, spliced.colour_tie_s) == (8.0, 8.0, 8.0)
    tie_s = demo_layout.feed_mend_s
    assert spliced.load_s == pytest.approx(demo_layout.load_s - tie_s + 8.0)


def test_a_larger_buffer_brings_room_not_yarn(demo_layout: Layout) -> None:
    for times in (0.3, 1.5, 20.0):
        made = with_buffer(demo_layout, times * demo_layout.buffer_m)
        start_m = demo_layout.start_buffer_frac * demo_layout.buffer_m
        held_m = made.start_buffer_frac * made.buffer_m
        assert held_m == pytest.approx(min(start_m, made.buffer_m))


def test_a_stand_in_is_paid_for_the_rests(demo_layout: Layout) -> None:
    by_key = {one.key: one for one in changes_for(demo_layout)[0]}
    rests_s = demo_layout.hands * demo_layout.breaks * demo_layout.break_s
    assert by_key["stand_in"].extra_hand_s == rests_s > 0.0
    assert all(one.extra_hand_s == 0.0 for key, one in by_key.items() if key != "stand_in")


def test_what_a_line_cannot_have_is_left_out_with_its_reason(demo_layout: Layout) -> None:
    poor = replace(
        demo_layout,
        hands=1,
        lanes=64,
        doff_s=1.5,
        mend_s=5.0,
        feed_mend_s=5.0,
        colour_tie_s=5.0,
        feed_breaks_per_km=0.0,
        wind_breaks_per_km=0.0,
        spacing_m=0.0,
        across_m=0.0,
        breaks=0,
        cones_per_lane=64,
        first=(("doff",), ("mend", "change", "feed", "load", "colour")),
        rule="patrol",
    )
    assert layout_faults(poor) == ()
    done, left = changes_for(poor)
    reasons = {one.key: one.reason for one in left}
    assert reasons.keys() == {
        "one_hand_fewer", "one_more_lane", "splicer", "doff_faster", "one_more_cone",
        "fewer_breaks", "shorter_way", "stand_in", "doffs_first",
    }  # fmt: skip
    assert reasons["one_hand_fewer"] == "there is only one"
    assert "64" in reasons["one_more_lane"]
    assert reasons["doff_faster"] == "a doff takes no more than 1.5 s"
    assert reasons["shorter_way"] == "it is so already"
    assert {one.key for one in done} >= {"rule_nearest", "rule_longest", "one_more_hand"}


def test_every_change_that_is_tried_can_be_walked(demo_layout: Layout) -> None:
    for one in changes_for(demo_layout)[0]:
        assert layout_faults(one.layout) == (), one.key


def test_sizes_are_in_the_words(demo_layout: Layout) -> None:
    sizes = ChangeSizes(splice_s=6.0, cone_times=3.0, feed_times=0.9)
    labels = {one.key: one.label for one in changes_for(demo_layout, sizes)[0]}
    assert labels["splicer"] == "a splicer: joins in 6 s"
    assert labels["bigger_cones"] == "cones 3 times as heavy"
    assert labels["faster_feed"] == "feed 10 % down"
    assert labels["fewer_breaks"] == "breaks halved"


def test_sizes_that_cannot_be_meant(demo_layout: Layout) -> None:
    with pytest.raises(BadInput) as bad:
        changes_for(demo_layout, ChangeSizes(splice_s=0.0, wind_times=float("nan")))
    assert {fault.key for fault in bad.value.faults} == {"splice_s", "wind_times"}
