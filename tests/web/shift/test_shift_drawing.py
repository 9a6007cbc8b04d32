"""The drawn shift: at every moment what the timeline says, and strand that stood too long."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from itertools import pairwise

import pytest

from clew.languages import speaking, tongue_of
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.packing import KIND_ORDER
from clew.line.simulate.shifts import shifts
from clew.line.simulate.timeline import LaneChange, Timeline, timeline
from clew.line.simulate.words import CAUSE_WORDS
from clew.mill.model import Mill
from clew.web.shift.drawing import ball_radius, hand_place, shift_drawing
from clew.web.shift.forms import NARROW, WIDE, Form
from clew.web.shift.replay import HandFrame, Replay, replay_of
from clew.web.shift.states import (
    FEED_ORDER,
    HAND_ORDER,
    STATES,
    WINDER_ORDER,
    cause_of,
    hand_words,
    line_title,
    player_words,
    state_of_line,
    winder_words,
    words_by_state,
)
from clew.web.shift.strip import SPAN_S, near_strip, shift_strip
from clew.web.shift.strip import WIDE as WIDE_STRIP

NUMBERS = tuple(range(1, 7))


@pytest.fixture(scope="module")
def line(demo_mill_of_module: Mill) -> Layout:
    """The demo line, with one hand and many breaks, so that everything happens."""
    own = layout_of(demo_mill_of_module)
    return replace(
        own, hands=1, feed_breaks_per_km=0.1, wind_breaks_per_km=0.1, cones_per_lane=2,
        colour_at_s=(9000.0,), shift_s=14_400.0,
    )  # fmt: skip


@pytest.fixture(scope="module")
def demo_mill_of_module(tmp_path_factory: pytest.TempPathFactory) -> Mill:
    """The demo mill."""
    from clew.mill import read_mill, write_demo

    folder = tmp_path_factory.mktemp("mill") / "demo"
    write_demo(folder)
    return read_mill(folder)


@pytest.fixture(scope="module")
def shift(line: Layout) -> Timeline:
    """One shift of it."""
    return timeline(line, seed=3)


@pytest.fixture(scope="module")
def played(shift: Timeline) -> Replay:
    """The same as frames."""
    return replay_of(shift)


def last(changes: list[LaneChange], part: str, at_s: float, otherwise: str) -> str:
    """The state that the timeline gives last before a moment, read plainly."""
    said = [one.state for one in changes if one.part == part and one.at_s <= at_s]
    return said[-1] if said else otherwise


def test_at_each_moment_the_drawing_says_what_the_timeline_says(
    shift: Timeline, played: Replay
) -> None:
    seen = set()
    for at_s in (0.0, 123.4, 3600.0, 7200.5, 9000.0, 9100.0, 10_950.0, 14_399.0):
        for form in (WIDE, NARROW):
            drawing = shift_drawing(played, at_s, NUMBERS, form, "the line")
            drawn = re.findall(r'data-lane="(\d+)" data-winder="([^"]+)"', drawing)
            assert len(drawn) == played.layout.lanes
            for lane, winder in drawn:
                mine = [one for one in shift.lanes if one.lane == int(lane)]
                assert winder == last(mine, "winder", at_s, "winding")
                seen.add(winder.split(":")[0].split(" ")[0])
    assert seen >= {"winding", "waits", "served"}


def test_every_change_of_a_winder_begins_a_frame_with_the_timelines_own_figures(
    shift: Timeline, played: Replay
) -> None:
    for change in shift.lanes:
        frame = played.lane_at(change.lane, change.at_s)
        if change.part == "winder":
            mine = [one for one in shift.lanes if one.lane == change.lane]
            assert frame.winder == last(mine, "winder", change.at_s, "")
        if change.buffer_m is not None:
            assert frame.buffer_m == pytest.approx(change.buffer_m, abs=1e-6)
            assert frame.on_ball_m == pytest.approx(change.on_ball_m, abs=1e-6)


def test_between_changes_buffer_and_ball_run_straight_to_the_next(played: Replay) -> None:
    layout, jumps = played.layout, 0
    for frames in played.lanes:
        for before, after in pairwise(frames):
            there = before.moved_to(after.at_s, layout)
            gap_m = abs(there.buffer_m - after.buffer_m)
            mended = before.winder == "served: mend" and after.turns
            assert gap_m <= (layout.mend_waste_m if mended else 1e-6) + 1e-6
            jumps += mended
            assert there.clock_s == pytest.approx(after.clock_s, abs=1e-6)
    assert jumps > 0


def test_the_creel_is_empty_just_when_the_feed_starves(shift: Timeline, played: Replay) -> None:
    starved = [one for one in shift.lanes if one.part == "feed" and one.state == "starved"]
    assert len(starved) > 3
    for one in starved:
        frame = played.lane_at(one.lane, one.at_s)
        assert frame.reserve == 0
        assert frame.dry
    most = played.layout.cones_per_lane - 1
    assert {frame.reserve for frames in played.lanes for frame in frames} == set(range(most + 1))


def test_balls_are_counted_as_the_tallies_count_them(shift: Timeline, played: Replay) -> None:
    assert tuple(frames[-1].balls for frames in played.lanes) == shift.balls


def test_a_gap_reaches_the_belts_end_when_the_timeline_says_so(
    shift: Timeline, played: Replay
) -> None:
    arrives = [one for one in shift.lanes if one.state == "a gap arrives"]
    assert len(arrives) > 10
    for one in arrives:
        clock_s = played.lane_at(one.lane, one.at_s).clock_s - played.layout.passage_s
        begins = [gap.from_s for gap in played.gaps if gap.lane == one.lane]
        assert min(abs(begin - clock_s) for begin in begins) < 1e-6


def test_a_belt_shows_the_gaps_that_lie_on_it(played: Replay) -> None:
    gap = played.gaps[0]
    middle = 0.5 * (gap.from_s + gap.to_s)
    ((begins, ends),) = played.gaps_on(gap.lane, middle)
    assert begins == 0.0
    assert ends == pytest.approx((middle - gap.from_s) / played.layout.passage_s)
    assert played.gaps_on(gap.lane, gap.to_s + played.layout.passage_s + 1e-3) == () or any(
        one.from_s > gap.to_s for one in played.gaps if one.lane == gap.lane
    )


def test_what_stood_too_long_is_what_stood_longer_than_the_yarn_bears(line: Layout) -> None:
    shift = timeline(replace(line, warm_up_s=0.0, dry_longest_s=math.inf), seed=3)
    replay = replay_of(shift)
    layout = replay.layout
    spare_s = layout.steam_longest_s - layout.steam_s
    marked = bare = 0
    for lane, frames in enumerate(replay.lanes):
        stops = [
            (frame.clock_s, after.at_s - frame.at_s)
            for frame, after in pairwise(frames)
            if not frame.runs
        ]
        mine = [one for one in replay.spoilt if one.lane == lane]
        # coil by coil in the steamer, the dryer bearing any stop
        for laid_s in range(0, int(frames[-1].clock_s - layout.passage_s), 7):
            enters_s = laid_s + layout.steam_from_s
            inside = [one for at, one in stops if enters_s < at < enters_s + layout.steam_s]
            spoilt = any(one.from_s < laid_s < one.to_s for one in mine)
            assert spoilt == (sum(inside) > spare_s), (lane, laid_s)
            marked += spoilt
            bare += not spoilt
    assert marked > 20
    assert bare > 20
    first = replay.spoilt[0]
    clock_s = replay.lane_at(first.lane, first.since_s + 1.0).clock_s
    assert replay.spoilt_on(first.lane, first.since_s + 1.0, clock_s)
    assert not replay.spoilt_on(first.lane, first.since_s - 1.0, clock_s)


def test_a_ball_is_marked_when_the_simulation_calls_it_second_quality(line: Layout) -> None:
    layout = replace(line, warm_up_s=0.0)  # or strand from before the shift would be in some balls
    shift = timeline(layout, seed=3)
    replay = replay_of(shift)
    tallies = next(iter(shifts(layout, replications=1, seed=3))).lanes["second_balls"][0]
    full = [one for one in shift.lanes if one.state == "waits for doff"]
    for lane, second in enumerate(tallies):
        mine = [one.at_s for one in full if one.lane == lane]
        marked = sum(replay.ball_spoilt(lane, at_s) for at_s in mine)
        assert marked == second
        assert 0 < marked < len(mine)
    lane = 0
    begins = replay.spoilt_balls[lane][0][0]
    for at_s, ball in ((begins - 1.0, "sound"), (begins + 1.0, "spoilt")):
        drawing = shift_drawing(replay, at_s, NUMBERS, WIDE, "the line")
        assert re.findall(r'data-ball="(\w+)"', drawing)[lane] == ball


@pytest.mark.parametrize("form", [WIDE, NARROW])
def test_a_hand_walks_from_where_he_was_to_where_he_serves(played: Replay, form: Form) -> None:
    layout, crossed = played.layout, 0
    for before, walk, after in zip(
        played.hands[0], played.hands[0][1:], played.hands[0][2:], strict=False
    ):
        if walk.state != "walking":
            continue
        begins = hand_place(layout, walk, 0, walk.at_s, form)
        ends = hand_place(layout, walk, 0, walk.until_s, form)
        assert begins == pytest.approx(hand_place(layout, before, 0, walk.at_s, form))
        assert ends == pytest.approx(hand_place(layout, after, 0, after.at_s, form))
        crossed += walk.creel != walk.from_creel
    assert crossed > 5


def test_a_ball_grows_as_its_strand_fills_it() -> None:
    assert ball_radius(0.0, WIDE) == pytest.approx(WIDE.ball_least)
    assert ball_radius(1.0, WIDE) == pytest.approx(WIDE.ball_most)
    half = (0.5 * (WIDE.ball_least**3 + WIDE.ball_most**3)) ** (1 / 3)
    assert ball_radius(0.5, WIDE) == pytest.approx(half)


def test_every_state_that_can_come_has_its_words() -> None:
    at_winder = {"doff", "mend", "change"}
    for state in WINDER_ORDER:
        kind = state.split(" ")[-1]
        if kind in KIND_ORDER and kind not in at_winder:
            continue  # calls at the creel leave the winder alone
        assert cause_of(state) in STATES
        assert winder_words(state) == CAUSE_WORDS[cause_of(state)]
    said = words_by_state()
    assert all(said["hand"])
    assert len(said["feed"]) == len(FEED_ORDER)


def test_the_strips_give_every_second_a_block(played: Replay) -> None:
    from clew.web.shift.strip import _spells  # what the paths are made of

    near = near_strip(played, 3600.0, 4000.0, NUMBERS, WIDE_STRIP)
    assert {"winding", "waiting_for_doff", "doffing", "serving", "walking"} <= set(
        re.findall(r'class="part-of (\w+)"', near)
    )
    whole = shift_strip(played, 4000.0, NUMBERS, WIDE_STRIP)
    assert whole.count('class="part-of winding"') == played.layout.lanes
    for frames in played.lanes:
        spells = _spells(frames, 3600.0, 3600.0 + SPAN_S)
        assert spells[0][0] == 3600.0
        assert spells[-1][1] == 3600.0 + SPAN_S
        assert all(a[1] == b[0] for a, b in pairwise(spells))


def filled(words: str, **fields: object) -> str:
    """Fill the open places of what the script is given, as it does."""
    for name, value in fields.items():
        words = words.replace(f"{{{name}}}", str(value))
    return words


def test_the_script_says_a_moment_as_the_server_does() -> None:
    words = json.loads(player_words())
    for counts, belts in (
        ({"winding": 4, "doffing": 1, "waiting_for_doff": 1}, 0),
        ({"starved": 2, "winding": 1}, 1),
        ({"broken": 1}, 3),
    ):
        lanes = sum(counts.values())
        each = [
            filled(words["so_many"][one], n=counts[one]) for one in words["order"] if one in counts
        ]
        said = [filled(words["winders"][lanes != 1], n=lanes, told=", ".join(each))]
        if belts:
            said.append(filled(words["belts"][belts != 1], n=belts))
        assert " ".join(said) == state_of_line(counts, belts)
    assert filled(words["title"], clock="1:00:00") == line_title("1:00:00")


def test_the_script_says_of_hands_what_the_server_does() -> None:
    words = json.loads(player_words())
    for place, state in enumerate(HAND_ORDER):
        for creel in (False, True):
            hand = HandFrame(0.0, 9.0, state, 2, creel, 0, False)
            pattern = words["hand_at_creel" if creel else "hand"][place]
            assert filled(pattern, number=7) == hand_words(hand, (5, 6, 7))
            assert hand_words(hand, (5, 6, 7)).endswith(" 7")
    walks = HandFrame(0.0, 9.0, "walking", 0, True, 0, False)
    assert hand_words(walks, (5,)) == "walks to creel 5"
    assert hand_words(replace(walks, creel=False), (5,)) == "walks to winder 5"


def test_what_the_script_says_is_in_the_readers_language(monkeypatch: pytest.MonkeyPatch) -> None:
    german = tongue_of("de")
    monkeypatch.setattr(german, "message", lambda english: f"<{english}>")
    monkeypatch.setattr(german, "plural", lambda one, many, n: f"<{one if n == 1 else many}>")
    with speaking(german):
        words = json.loads(player_words())
    assert words["balls"] == ["<{n} ball>", "<{n} balls>"]
    assert words["causes"]["winding"] == "<winding>"
    assert words["hand"][HAND_ORDER.index("walking")] == "<walks to winder {number}>"
    assert words["doing"] == words_by_state()["doing"]  # what paint goes by is no word
