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
    "bigger_buffer": {"buffer_m", "go_m", "loose_m"},
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


def test_a_buffer_brings_its_restarts_with_it(demo_layout: Layout) -> None:
    for times in (0.3, 1.5, 20.0):
        made = with_buffer(demo_layout, times * demo_layout.buffer_m)
        assert made.buffer_m == pytest.approx(times * demo_layout.buffer_m)
        assert made.go_m == pytest.approx(times * demo_layout.go_m)
        assert made.loose_m == pytest.approx(times * demo_layout.loose_m)
        assert made.start_buffer_frac == demo_layout.start_buffer_frac
    assert with_buffer(demo_layout, demo_layout.buffer_m) == demo_layout


def test_only_a_stand_in_is_paid_for_rests(demo_layout: Layout) -> None:
    paid = {one.key for one in changes_for(demo_layout)[0] if one.rests_paid}
    assert paid == {"stand_in"}


def test_no_feed_beyond_what_the_rollers_can(demo_layout: Layout) -> None:
    fed = 1.05 * demo_layout.feed_m_per_s
    done, left = changes_for(demo_layout, fastest_feed_m_per_s=0.999 * fed)
    assert "faster_feed" not in {one.key for one in done}
    (out,) = left
    assert out.key == "faster_feed"
    assert f"{60.0 * fed:.4g} m/min" in out.reason
    assert "rollers" in out.reason
    done, left = changes_for(demo_layout, fastest_feed_m_per_s=1.001 * fed)
    assert left == ()
    assert "faster_feed" in {one.key for one in done}


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
