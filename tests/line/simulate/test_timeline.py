"""The drawn shift: one state at a time, levels that run straight, seconds as in the tallies."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

import random_layouts
from clew.faults import BadInput
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.packing import KIND_ORDER
from clew.line.simulate.shifts import Handful, handful
from clew.line.simulate.timeline import (
    BELT_STATES,
    FEED_STATES,
    HAND_STATES,
    WINDER_STATES,
    HandChange,
    LaneChange,
    Timeline,
    timeline,
)
from clew.mill.model import Mill

CLOSE_S = 1e-6
LINES = 60
CAUSE_OF = {"winding": "winding", "starved": "starved"} | {
    f"{words} {kind}": {"mend": "broken", "change": "changing"}.get(kind, other)
    for words, other in (("waits for", "waiting"), ("served:", "doffing"))
    for kind in ("doff", "mend", "change")
}


def random_lines(seed: int, **changes: object) -> list[Layout]:
    rng = np.random.default_rng(seed)
    lines = [random_layouts.random_layout(rng) for _ in range(LINES)]
    return [replace(one, **({"warm_up_s": 0.0} | changes)) for one in lines]


@pytest.fixture(scope="module")
def drawn(demo_mill: Mill) -> list[tuple[Timeline, Handful]]:
    """An hour of the demo line and many short shifts of random lines, drawn and tallied."""
    demo = replace(layout_of(demo_mill, "Line 1", "Querl 100"), shift_s=3600.0, breaks=1)
    demo = replace(demo, colour_at_s=(900.0,), break_s=200.0)
    return [
        (timeline(one, seed=number, replication=3), handful(one, number, 3, 1))
        for number, one in enumerate([demo, *random_lines(5)])
    ]


def told_by_lane(one: Timeline, part: str) -> dict[int, list[LaneChange]]:
    rows: dict[int, list[LaneChange]] = defaultdict(list)
    for row in one.lanes:
        if row.part == part:
            rows[row.lane].append(row)
    return rows


def by_lane(one: Timeline, part: str) -> dict[int, list[LaneChange]]:
    """The same, a call before its service where rounding has them the other way about."""
    told = told_by_lane(one, part)
    for rows in told.values():
        for place, (first, second) in enumerate(pairwise(rows)):
            at_once = second.at_s - first.at_s < 1e-9
            if at_once and first.state.startswith("served: ") and "waits" in second.state:
                rows[place : place + 2] = [second, first]
    return told


def by_hand(one: Timeline) -> dict[int, list[HandChange]]:
    rows: dict[int, list[HandChange]] = defaultdict(list)
    for row in one.hands:
        rows[row.hand].append(row)
    return rows


def spans(rows: list[LaneChange] | list[HandChange], end_s: float) -> list[float]:
    """How long each row's state lasts."""
    ends = [*(row.at_s for row in rows[1:]), end_s][: len(rows)]
    return [end - row.at_s for row, end in zip(rows, ends, strict=True)]


def test_rows_are_in_the_order_of_time(drawn: list[tuple[Timeline, Handful]]) -> None:
    for one, _ in drawn:
        for rows in (one.lanes, one.hands):
            times = [row.at_s for row in rows]
            assert times == sorted(times)
            assert times[0] == 0.0
            assert times[-1] <= one.layout.shift_s


def test_every_lane_and_hand_is_there_from_the_first_moment(
    drawn: list[tuple[Timeline, Handful]],
) -> None:
    for one, _ in drawn:
        layout = one.layout
        winders, hands = by_lane(one, "winder"), by_hand(one)
        assert sorted(winders) == list(range(layout.lanes))
        assert sorted(hands) == list(range(layout.hands))
        for lane in range(layout.lanes):
            first = winders[lane][0]
            assert first.at_s == 0.0
            assert first.buffer_m is not None
            assert 0.0 <= first.buffer_m <= layout.buffer_m * (1.0 + 1e-9)
            if layout.warm_up_s == 0.0:
                assert first.state == "winding"
                assert first.buffer_m == pytest.approx(layout.start_buffer_frac * layout.buffer_m)
        for who in range(layout.hands):
            first_place = hands[who][0]
            assert first_place.at_s == 0.0
            if layout.warm_up_s > 0.0:
                continue
            assert first_place.state == "idle"
            assert first_place.lane == who * layout.lanes // layout.hands
            assert first_place.end == "winder"


def test_every_state_comes_about(drawn: list[tuple[Timeline, Handful]]) -> None:
    """Or the tests here would hold of nothing."""
    seen: dict[str, set[str]] = defaultdict(set)
    for one, _ in drawn:
        for row in one.lanes:
            seen[row.part].add(row.state)
        seen["hand"] |= {row.state for row in one.hands}
    at_winder = ("doff", "mend", "change")
    assert seen["winder"] == {
        words
        for words in WINDER_STATES.values()
        if " " not in words or words.rsplit(" ", 1)[1] in at_winder
    }
    at_creel = ("feed", "load", "colour")
    assert seen["feed"] == {
        words
        for words in FEED_STATES.values()
        if " " not in words or words.rsplit(" ", 1)[1] in at_creel
    }
    assert seen["belt"] == set(BELT_STATES.values())
    assert seen["hand"] == set(HAND_STATES.values())


def test_winders_seconds_are_those_of_the_tallies(drawn: list[tuple[Timeline, Handful]]) -> None:
    """A wait is booked as resting while every hand rests: these go together."""
    for one, found in drawn:
        for lane, rows in by_lane(one, "winder").items():
            booked = dict.fromkeys(("winding", "waiting", "doffing", "starved"), 0.0)
            booked |= {"broken": 0.0, "changing": 0.0}
            for row, lasts_s in zip(rows, spans(rows, one.layout.shift_s), strict=True):
                booked[CAUSE_OF[row.state]] += lasts_s
            tally = found.lanes[0][lane]
            told = {
                "winding": tally["winder_s"][0],
                "starved": tally["winder_s"][1],
                "doffing": tally["doffing_s"],
            }
            for cause, seconds in told.items():
                assert booked[cause] == pytest.approx(seconds, abs=CLOSE_S), (cause, one.layout)
            called = ("waiting", "broken", "changing")
            waits_s = sum(tally[f"{cause}_s"] for cause in (*called, "resting"))
            assert sum(booked[cause] for cause in called) == pytest.approx(waits_s, abs=CLOSE_S)
            if tally["resting_s"] == 0.0:
                for cause in called:
                    assert booked[cause] == pytest.approx(tally[f"{cause}_s"], abs=CLOSE_S)


def test_belts_stops_are_those_of_the_tallies(drawn: list[tuple[Timeline, Handful]]) -> None:
    for one, found in drawn:
        belts = by_lane(one, "belt")
        for lane in range(one.layout.lanes):
            rows = [row for row in belts[lane] if row.state in ("stopped", "running")]
            stood_s = [
                lasts
                for row, lasts in zip(rows, spans(rows, one.layout.shift_s), strict=True)
                if row.state == "stopped"
            ]
            tally = found.lanes[0][lane]
            assert len(stood_s) == tally["belt_stops"]
            assert sum(stood_s) == pytest.approx(tally["feed_s"][1], abs=CLOSE_S)
            assert max(stood_s, default=0.0) == pytest.approx(tally["longest_stop_s"], abs=CLOSE_S)


def test_balls_are_those_of_the_tallies(drawn: list[tuple[Timeline, Handful]]) -> None:
    for one, found in drawn:
        assert one.balls == tuple(found.lanes[0]["balls"])
        winders = by_lane(one, "winder")
        for lane, balls in enumerate(one.balls):
            full = [row for row in winders[lane] if row.state == "waits for doff"]
            assert len(full) == balls
            for row in full:
                assert row.on_ball_m == pytest.approx(one.layout.ball_m, rel=1e-6)


def test_the_buffer_is_never_below_empty_or_above_full(
    drawn: list[tuple[Timeline, Handful]],
) -> None:
    """A hand's arrival tells no level: it changes none."""
    for one, _ in drawn:
        for row in one.lanes:
            assert row.buffer_m is None or not row.state.startswith("served: ")
            assert (row.on_ball_m is None) == (row.buffer_m is None)
            if row.buffer_m is not None:
                assert -1e-6 <= row.buffer_m <= one.layout.buffer_m * (1.0 + 1e-9)
            if row.on_ball_m is not None:
                assert -1e-6 <= row.on_ball_m <= one.layout.ball_m * (1.0 + 1e-9)


def test_every_change_but_a_hands_arrival_tells_the_level(
    drawn: list[tuple[Timeline, Handful]],
) -> None:
    for one, _ in drawn:
        for row in one.lanes:
            assert (row.buffer_m is None) == row.state.startswith("served: ")


def test_a_winder_calls_before_it_is_served_and_then_winds(
    drawn: list[tuple[Timeline, Handful]],
) -> None:
    """Or the drawing shows a winder that waits all through its doff."""
    follows = {
        "winding": {"starved", "waits"},
        "starved": {"winding", "waits"},
        "waits": {"served:"},
        "served:": {"winding"},
    }
    for one, _ in drawn:
        for rows in told_by_lane(one, "winder").values():
            for row, after in pairwise(rows):
                assert after.state.split()[0] in follows[row.state.split()[0]], (row, after)


def test_the_buffer_runs_straight_between_changes() -> None:
    """What is told between two changes, and what runs in and out of it then, agree."""
    for number, layout in enumerate(random_lines(6, mend_waste_m=0.0)):
        one = timeline(layout, seed=number)
        rows_of_lane: dict[int, list[LaneChange]] = defaultdict(list)
        for row in one.lanes:
            rows_of_lane[row.lane].append(row)
        for rows in rows_of_lane.values():
            winding, runs, arrives = True, True, True
            at_s, level_m = rows[0].at_s, rows[0].buffer_m
            assert level_m is not None
            for row in rows:
                inflow = layout.feed_m_per_s if runs and arrives else 0.0
                outflow = layout.wind_m_per_s if winding else 0.0
                level_m += (inflow - outflow) * (row.at_s - at_s)
                at_s = row.at_s
                if row.buffer_m is not None:
                    assert row.buffer_m == pytest.approx(level_m, abs=2e-5), layout
                    level_m = row.buffer_m
                if row.part == "winder":
                    winding = row.state == "winding"
                elif row.part == "belt" and row.state in ("stopped", "running"):
                    runs = row.state == "running"
                elif row.part == "belt":
                    arrives = row.state == "strand arrives"


def test_hands_seconds_are_those_of_the_tallies(drawn: list[tuple[Timeline, Handful]]) -> None:
    for one, found in drawn:
        for who, rows in by_hand(one).items():
            told = {"serving": 0.0, "walking": 0.0, "resting": 0.0, "idle": 0.0}
            served = dict.fromkeys(KIND_ORDER, 0)
            for row, lasts_s in zip(rows, spans(rows, one.layout.shift_s), strict=True):
                told[row.state.split(":")[0].replace("serves", "serving")] += lasts_s
                if row.state.startswith("serves: "):
                    served[row.state.removeprefix("serves: ")] += 1
            tally = found.hands[0][who]
            for what in ("serving", "walking", "resting"):
                assert told[what] == pytest.approx(tally[f"{what}_s"], abs=CLOSE_S), what
            assert list(served.values()) == list(tally["served"])


def test_hands_walk_at_their_pace_and_jump_nowhere(drawn: list[tuple[Timeline, Handful]]) -> None:
    """A walk takes as long as its way, and nothing but a walk brings a hand elsewhere."""
    for one, _ in drawn:
        layout = one.layout
        for rows in by_hand(one).values():
            place = (rows[0].lane, rows[0].end)
            ends = [row.at_s for row in rows[1:]] + [layout.shift_s]
            for row, end_s, last in zip(
                rows, ends, [False] * (len(rows) - 1) + [True], strict=True
            ):
                if row.state != "walking":
                    assert (row.lane, row.end) == place
                    continue
                way_m = layout.spacing_m * abs(row.lane - place[0])
                way_m += layout.across_m if row.end != place[1] else 0.0
                walk_s = end_s - row.at_s
                if last:  # the shift ended on the way
                    assert walk_s <= way_m / layout.walk_m_per_s + CLOSE_S
                else:
                    assert walk_s == pytest.approx(way_m / layout.walk_m_per_s, abs=CLOSE_S)
                place = (row.lane, row.end)


def test_a_hand_is_where_a_lane_is_served(drawn: list[tuple[Timeline, Handful]]) -> None:
    """Each service of a lane has its hand, and each end of a lane one service at a moment."""
    for one, _ in drawn:
        by_lanes = sorted(
            (row.at_s, row.lane, row.state.removeprefix("served: "))
            for row in one.lanes
            if row.state.startswith("served: ")
        )
        by_hands = sorted(
            (row.at_s, row.lane, row.state.removeprefix("serves: "))
            for row in one.hands
            if row.state.startswith("serves: ")
        )
        assert by_lanes == by_hands


def test_mean_number_waiting_is_calls_times_mean_wait(
    drawn: list[tuple[Timeline, Handful]],
) -> None:
    """Little's law, every wait counted up to the shift's end: seconds waited, either way."""
    for one, found in drawn:
        lanes = found.lanes[0]
        waits_s, moments = [], []
        for rows in by_lane(one, "winder").values():
            for row, lasts_s in zip(rows, spans(rows, one.layout.shift_s), strict=True):
                if row.state.startswith("waits for "):
                    waits_s.append(lasts_s)
                    moments += [(row.at_s, 1), (row.at_s + lasts_s, -1)]
        area_s, number, before_s = 0.0, 0, 0.0
        for at_s, step in sorted(moments):
            area_s += number * (at_s - before_s)
            number, before_s = number + step, at_s
        calls_per_s = len(waits_s) / one.layout.shift_s
        mean_wait_s = sum(waits_s) / max(len(waits_s), 1)
        assert area_s / one.layout.shift_s == pytest.approx(calls_per_s * mean_wait_s)
        assert len(waits_s) >= (lanes["balls"] + lanes["wind_breaks"]).sum()


def test_a_drawn_shift_is_one_of_the_many(demo_mill: Mill) -> None:
    layout = replace(layout_of(demo_mill, "Line 1", "Querl 100"), shift_s=3600.0, breaks=0)
    assert timeline(layout, seed=7, replication=2) == timeline(layout, seed=7, replication=2)
    many = handful(layout, 7, 0, 4)
    for number in range(4):
        drawn = timeline(layout, seed=7, replication=number)
        assert drawn.balls == tuple(many.lanes[number]["balls"])
        assert (drawn.seed, drawn.replication) == (7, number)


def test_a_shift_of_more_rows_than_there_was_room_for(
    demo_mill: Mill, monkeypatch: pytest.MonkeyPatch
) -> None:
    layout = replace(layout_of(demo_mill, "Line 1", "Querl 100"), shift_s=600.0, breaks=0)
    roomy = timeline(layout, seed=7)
    monkeypatch.setattr("clew.line.simulate.timeline._FIRST_ROWS", 10)
    assert timeline(layout, seed=7) == roomy
    assert len(roomy.lanes) > 10


def test_a_line_with_more_under_way_than_can_be_followed_is_refused(demo_mill: Mill) -> None:
    """As `shifts` refuses it: cones of centimetres put a tie on every centimetre of the belt."""
    layout = replace(
        layout_of(demo_mill, "Line 1", "Querl 100"),
        shift_s=2000.0,
        passage_s=1500.0,
        cone_m=0.05,
        cone_cv=0.0,
        cones_per_lane=64,
        load_s=0.001,
        service_cv=0.0,
        spacing_m=0.0,
        across_m=0.0,
        breaks=0,
    )
    with pytest.raises(BadInput, match="under way"):
        timeline(layout, seed=1)


@pytest.mark.parametrize(
    ("key", "chance"),
    [("seed", {"seed": -1}), ("replications", {"seed": 1, "replication": -1})],
)
def test_a_shift_that_cannot_be_drawn_is_refused(
    demo_mill: Mill, key: str, chance: dict[str, int]
) -> None:
    with pytest.raises(BadInput) as bad:
        timeline(layout_of(demo_mill, "Line 1", "Querl 100"), **chance)
    assert [fault.key for fault in bad.value.faults] == [key]
