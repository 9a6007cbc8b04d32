"""The simpy line against what can be worked out by hand, before anything is held against it."""

from __future__ import annotations

import itertools
import math
import statistics
from collections import Counter
from types import SimpleNamespace
from typing import Any

import pytest
import simpy
from hypothesis import given, settings
from hypothesis import strategies as st

import shared_variates as variates
import simpy_line as line

STILL: dict[str, Any] = {
    # one lane and one hand; nothing random, nothing ends, breaks, rests or changes
    "lanes": 1, "hands": 1, "shift_s": 28_800.0, "feed_m_per_s": 1.0, "wind_m_per_s": 1.5,
    "passage_s": 200.0, "steam_from_s": 20.0, "steam_s": 60.0, "steam_longest_s": math.inf,
    "dry_from_s": 90.0, "dry_s": 80.0, "dry_longest_s": math.inf, "buffer_m": 50.0, "go_m": 8.0,
    "loose_m": 5.0, "start_buffer_frac": 0.5, "ball_m": 1e9, "cone_m": 1e9, "cone_cv": 0.0,
    "cones_per_lane": 3, "feed_breaks_per_km": 0.0, "wind_breaks_per_km": 0.0, "doff_s": 15.0,
    "mend_s": 40.0, "feed_mend_s": 45.0, "load_s": 30.0, "change_s": 25.0, "colour_tie_s": 60.0,
    "service_cv": 0.0, "mend_waste_m": 0.0, "spacing_m": 2.0, "across_m": 12.0,
    "walk_m_per_s": 1.0, "rule": "nearest",
    "first": (("doff", "mend"), ("change", "feed"), ("load", "colour")), "break_s": 0.0,
    "breaks": 0, "colour_at_s": (), "shrink_frac": 0.2, "count_tex": 400.0,
}  # fmt: skip

BUSY = {
    "lanes": 5, "hands": 2, "ball_m": 90.0, "cone_m": 900.0, "cone_cv": 0.15,
    "feed_breaks_per_km": 1.0, "wind_breaks_per_km": 0.8, "service_cv": 0.4, "mend_waste_m": 2.0,
    "break_s": 600.0, "breaks": 2, "colour_at_s": (7_000.0, 15_000.0), "steam_longest_s": 90.0,
    "dry_longest_s": 130.0, "buffer_m": 30.0,
}  # fmt: skip


def layout(**changes: Any) -> SimpleNamespace:
    return SimpleNamespace(**(STILL | changes))


def times(shift: Any, what: str, lane: int = 0) -> list[float]:
    return [at_s for at_s, number, said in shift.log if said == what and number == lane]


@st.composite
def legal(draw: Any) -> SimpleNamespace:
    """Lines of every temper: full buffers, dry winders, starved feeds, many colours."""

    def between(low: float, high: float) -> float:
        return draw(st.floats(low, high))

    steam_s, dry_s = between(5, 90), between(5, 90)
    buffer_m = between(2, 80)
    return layout(
        lanes=draw(st.integers(1, 5)),
        hands=draw(st.integers(1, 3)),
        shift_s=between(1500, 5000),
        feed_m_per_s=between(0.3, 2),
        wind_m_per_s=between(0.3, 3),
        steam_s=steam_s,
        steam_longest_s=steam_s + between(0, 80),
        dry_from_s=steam_s + 25,
        dry_s=dry_s,
        dry_longest_s=draw(st.sampled_from([math.inf, dry_s + 10])),
        passage_s=steam_s + 25 + dry_s + between(0, 40),
        buffer_m=buffer_m,
        go_m=buffer_m * between(0.05, 0.5),
        loose_m=buffer_m * between(0.05, 0.5),
        start_buffer_frac=draw(st.sampled_from([0.0, 0.3, 1.0])),
        ball_m=between(5, 200),
        cone_m=between(50, 2000),
        cone_cv=draw(st.sampled_from([0.0, 0.2])),
        cones_per_lane=draw(st.integers(1, 3)),
        feed_breaks_per_km=draw(st.sampled_from([0.0, 3.0])),
        wind_breaks_per_km=draw(st.sampled_from([0.0, 3.0])),
        doff_s=between(0, 40),
        service_cv=draw(st.sampled_from([0.0, 0.5])),
        mend_waste_m=draw(st.sampled_from([0.0, 4.0])),
        across_m=draw(st.sampled_from([0.0, 6.0])),
        rule=draw(st.sampled_from(["nearest", "longest", "patrol"])),
        break_s=between(1, 400),
        breaks=draw(st.integers(0, 2)),
        colour_at_s=tuple(sorted(draw(st.sets(st.floats(0, 1400), max_size=3)))),
    )


@settings(max_examples=60)
@given(legal(), st.integers(0, 2**63), st.sampled_from(["shared", "python"]))
def test_no_metre_and_no_second_is_lost(one, seed, source):
    shift = line.simulate(one, seed, source=source, log=True)
    for lane in shift.lanes:
        given_m = lane.initial_m + lane.fed_m
        kept_m = lane.on_belt_m + lane.buffer_m + lane.wound_m + lane.waste_m
        assert kept_m == pytest.approx(given_m, rel=1e-9)
        assert sum(lane.winder_s.values()) == pytest.approx(one.shift_s, rel=1e-9)
        assert min(lane.winder_s.values()) >= -1e-6
        stopped_s = sum(lane.feed_stop_s.values())
        assert lane.fed_m == pytest.approx((one.shift_s - stopped_s) * one.feed_m_per_s, abs=1e-5)
        assert lane.winder_s["winding"] * one.wind_m_per_s == pytest.approx(
            lane.wound_m + lane.pulled_m, abs=1e-5
        )
        assert -1e-6 <= lane.buffer_m <= one.buffer_m + 1e-6
        assert sum(lane.balls_by_joins) == lane.balls
        balls_m = lane.balls * one.ball_m + lane.on_mandrel_m - lane.mandrel_start_m
        if not lane.answered["change"]:
            assert balls_m == pytest.approx(lane.wound_m, abs=1e-5)
    for hand in shift.hands:
        assert hand.serving_s + hand.walking_s + hand.resting_s <= one.shift_s + 1e-6
        assert hand.walked_m == pytest.approx(hand.walking_s * one.walk_m_per_s, abs=1e-6)
    said = {what for _, _, what in shift.log}
    assert said <= set(line.EVENT_WORDS)
    assert [at_s for at_s, _, _ in shift.log] == sorted(at_s for at_s, _, _ in shift.log)


@given(legal(), st.integers(0, 2**20))
@settings(max_examples=30)
def test_what_stops_goes_on_before_it_stops_again(one, seed):
    shift = line.simulate(one, seed, log=True)
    for number in range(one.lanes):
        for turns in (
            ("belt stop", "belt start"),
            ("winder dry", "winder go"),
            ("ball full", "doff start", "doff end"),
        ):
            said = [what for _, lane, what in shift.log if lane == number and what in turns]
            expected = itertools.islice(itertools.cycle(turns), len(said))
            assert said == list(expected)


def test_a_shift_is_the_same_again_and_another_replication_is_another():
    one = layout(**BUSY)
    assert line.simulate(one, 3, 1) == line.simulate(one, 3, 1)
    assert line.simulate(one, 3, 1).lanes != line.simulate(one, 3, 2).lanes
    assert line.simulate(one, 3, 1).lanes != line.simulate(one, 4, 1).lanes


def test_a_log_changes_nothing():
    one = layout(**BUSY)
    silent, logged = line.simulate(one, 5), line.simulate(one, 5, log=True)
    assert silent.log == []
    assert (silent.lanes, silent.events) == (logged.lanes, logged.events)


def test_events_are_those_that_simpy_steps_through(monkeypatch):
    steps = 0

    class Counting(simpy.Environment):
        def step(self) -> None:
            nonlocal steps
            steps += 1
            super().step()

    monkeypatch.setattr(simpy, "Environment", Counting)
    shift = line.simulate(layout(**BUSY, shift_s=3000.0), 1)
    assert shift.events == steps > 1000


# Nothing random: by hand


@pytest.mark.parametrize(("feed", "wind"), [(0.8, 1.5), (1.0, 1.5), (1.3, 1.5), (2.0, 1.5)])
def test_a_lane_winds_what_the_feed_or_the_winder_allows(feed, wind):
    one = layout(feed_m_per_s=feed, wind_m_per_s=wind, ball_m=100.0, shift_s=86_400.0)
    shift = line.simulate(one, 1)
    most = min(feed, 100.0 / (100.0 / wind + 15.0))
    assert shift.lanes[0].wound_m / 86_400.0 == pytest.approx(most, abs=2e-3)
    if most < feed:
        assert shift.lanes[0].winder_s["starved"] == 0.0
        assert shift.lanes[0].feed_stop_s["full"] == pytest.approx(
            86_400.0 * (1.0 - most / feed), abs=100.0
        )
    else:
        assert shift.lanes[0].belt_stops == 0


def test_a_dry_winder_goes_on_by_the_level_and_dries_by_the_difference():
    shift = line.simulate(layout(), 1, log=True)
    dry, go = times(shift, "winder dry"), times(shift, "winder go")
    assert dry[0] == pytest.approx(25.0 / 0.5)
    assert [b - a for a, b in zip(dry, go, strict=False)] == pytest.approx([8.0] * len(go))
    assert [b - a for a, b in zip(go, dry[1:], strict=False)] == pytest.approx(
        [8.0 / 0.5] * (len(dry) - 1)
    )
    assert len(go) > 1000


def test_a_slow_winder_lets_the_belt_stop_for_what_is_loose():
    shift = line.simulate(layout(wind_m_per_s=0.6), 1, log=True)
    stop, start = times(shift, "belt stop"), times(shift, "belt start")
    assert stop[0] == pytest.approx(25.0 / 0.4)
    assert [b - a for a, b in zip(stop, start, strict=False)] == pytest.approx(
        [5.0 / 0.6] * len(start)
    )
    assert [b - a for a, b in zip(start, stop[1:], strict=False)] == pytest.approx(
        [5.0 / 0.4] * (len(stop) - 1)
    )
    assert shift.lanes[0].winder_s["winding"] == pytest.approx(28_800.0)


def test_a_full_buffer_stops_the_belt_at_the_first_moment():
    shift = line.simulate(layout(start_buffer_frac=1.0), 1, log=True)
    assert shift.log[:2] == [(0.0, 0, "belt stop"), (pytest.approx(5.0 / 1.5), 0, "belt start")]


def test_single_cones_starve_the_feed_for_the_way_and_the_loading():
    one = layout(cones_per_lane=1, cone_m=1000.0)
    shift = line.simulate(one, 1, log=True)
    ends = times(shift, "cone end")
    key = variates.stream_key(1, 0, 0, variates.START)
    assert ends[0] == pytest.approx(1000.0 * variates.uniform(key, 1))
    waits_s = [12.0 + 30.0] + [30.0] * (len(ends) - 2)
    assert [b - a for a, b in itertools.pairwise(ends)] == pytest.approx(
        [1000.0 + wait_s for wait_s in waits_s]
    )
    assert shift.lanes[0].feed_stop_s["starved"] == pytest.approx(12.0 + 30.0 * len(ends), abs=30.0)
    assert shift.lanes[0].ties == shift.lanes[0].answered["load"]


def test_a_hand_between_two_lanes_walks_for_every_cone():
    one = layout(cones_per_lane=1, cone_m=1000.0, lanes=2, spacing_m=20.0)
    shift = line.simulate(one, 1, log=True)
    for lane in (0, 1):
        ends = times(shift, "cone end", lane)[2:]
        assert [b - a for a, b in itertools.pairwise(ends)] == pytest.approx(
            [1000.0 + 20.0 + 30.0] * (len(ends) - 1)
        )
    loads = sum(lane.answered["load"] for lane in shift.lanes)
    assert shift.hands[0].walked_m == pytest.approx(12.0 + 20.0 * (loads - 1), abs=20.0)


def test_a_tied_cone_keeps_the_feed_going():
    shift = line.simulate(layout(cones_per_lane=2, cone_m=1000.0), 1)
    assert shift.lanes[0].fed_m == pytest.approx(28_800.0)
    assert shift.lanes[0].ties == shift.lanes[0].cones == 29 - (shift.lanes[0].ties == 28)


@pytest.mark.parametrize("tie_s", [1.0, 60.0, 150.0])
def test_a_colour_reaches_the_winder_after_belt_and_buffer(tie_s):
    """Also when the winder has wound all old strand and the new is still far off."""
    one = layout(wind_m_per_s=1.0, colour_at_s=(5000.0,), colour_tie_s=tie_s)
    shift = line.simulate(one, 1, log=True)
    assert times(shift, "colour mark") == [pytest.approx(5000.0 + 12.0 + tie_s)]
    assert times(shift, "change") == [pytest.approx(5000.0 + 200.0 + 25.0)]
    books = shift.lanes[0]
    assert books.pulled_m == pytest.approx(5225.0)
    assert books.winder_s["changing"] == pytest.approx(12.0 + 25.0)
    assert books.feed_stop_s["changing"] == pytest.approx(12.0 + tie_s)
    assert times(shift, "winder dry")[:1] != [pytest.approx(5225.0)]


def test_a_tie_longer_than_the_belt_is_found_when_the_winder_goes_on():
    one = layout(wind_m_per_s=1.0, colour_at_s=(5000.0,), colour_tie_s=500.0)
    shift = line.simulate(one, 1, log=True)
    assert times(shift, "winder dry")[0] == pytest.approx(5225.0)
    go_s = 5000.0 + 12.0 + 500.0 + 200.0 + 8.0
    assert times(shift, "winder go")[0] == pytest.approx(go_s)
    assert times(shift, "change")[0] == pytest.approx(go_s)


def test_a_wait_while_every_hand_rests_is_the_rests():
    one = layout(ball_m=3000.0, breaks=1, break_s=7000.0)
    shift = line.simulate(one, 1, log=True)
    begin = next(at_s for at_s in times(shift, "doff start") if at_s >= 14_400.0)
    full = [at_s for at_s in times(shift, "ball full") if at_s < begin][-1]
    assert begin == pytest.approx(14_400.0 + 7000.0)
    assert shift.lanes[0].winder_s["resting"] == pytest.approx(begin - full)
    assert shift.lanes[0].winder_s["waiting"] == pytest.approx(0.0, abs=1e-6)
    assert shift.hands[0].resting_s == 7000.0


def test_idle_hands_take_every_rest_one_after_another():
    """Times of rests as awkward as floats are."""
    one = layout(hands=3, breaks=7, break_s=311.1, shift_s=28_801.3)
    for hand in line.simulate(one, 1).hands:
        assert hand.resting_s == pytest.approx(7 * 311.1)


def test_joins_land_in_balls_or_are_still_to_come():
    shift = line.simulate(layout(ball_m=60.0, cone_m=700.0), 2)
    books = shift.lanes[0]
    assert books.ties - 2 <= books.joins_landed <= books.ties
    assert books.balls_by_joins == [books.balls - books.joins_landed, books.joins_landed, 0, 0]


def stood_too_long(shift: Any, one: SimpleNamespace, step_m: float) -> list[bool]:
    """Every so many metres taken by the winder: whether that point stood too long, from the log.

    Knows only when the belt stopped and when the feed was whole; one lane without mends.
    """
    runs, whole, clock_s = True, True, 0.0
    stops: list[tuple[float, float]] = []
    fed = [(-one.passage_s, -one.passage_s * one.feed_m_per_s), (0.0, 0.0)]
    at_s = stopped_s = 0.0
    states = {"belt stop": (0, False), "belt start": (0, True), "feed break": (1, False),
              "feed goes": (1, True)}  # fmt: skip
    for now_s, _, what in [*shift.log, (one.shift_s, 0, "end")]:
        clock_s += (now_s - at_s) * runs
        fed.append((clock_s, fed[-1][1] + (now_s - at_s) * runs * whole * one.feed_m_per_s))
        at_s = now_s
        if what == "belt stop":
            stopped_s = now_s
        if what == "belt start":
            stops.append((clock_s, now_s - stopped_s))
        if what in states:
            which, state = states[what]
            runs, whole = (state, whole) if which == 0 else (runs, state)
    bad = []
    initial_m = one.passage_s * one.feed_m_per_s + one.start_buffer_frac * one.buffer_m
    points = int(shift.lanes[0].wound_m / step_m)
    piece = 0
    for point in range(points):
        fed_m = (point + 0.5) * step_m - initial_m
        if fed_m < fed[0][1]:
            bad.append(False)
            continue
        while fed[piece + 1][1] < fed_m:
            piece += 1
        (from_s, from_m), (to_s, to_m) = fed[piece], fed[piece + 1]
        laid_s = from_s + (fed_m - from_m) / (to_m - from_m) * (to_s - from_s)
        in_s = laid_s + one.steam_from_s
        stood_s = sum(d for c, d in stops if in_s < c < in_s + one.steam_s)
        bad.append(one.steam_s + stood_s > one.steam_longest_s)
    return bad


@pytest.mark.parametrize("longest_s", [70.0, 100.0, 140.0])
def test_spoilt_balls_are_those_with_a_point_that_stood_too_long(longest_s):
    one = layout(
        ball_m=40.0, doff_s=40.0, service_cv=0.8, buffer_m=20.0, feed_breaks_per_km=2.0,
        steam_longest_s=longest_s,
    )  # fmt: skip
    shift = line.simulate(one, 6, log=True)
    step_m = 0.1
    bad = stood_too_long(shift, one, step_m)
    books = shift.lanes[0]
    first_m = one.ball_m - books.mandrel_start_m
    spoilt = set()
    for point, is_bad in enumerate(bad):
        if is_bad:
            spoilt.add(max(math.floor(((point + 0.5) * step_m - first_m) / one.ball_m) + 1, 0))
    spoilt = {ball for ball in spoilt if ball < books.balls}
    assert books.second_quality_balls == len(spoilt)
    assert 0 < len(spoilt) < books.balls


# Machines that stop and hands who mend them, without strand


class ExponentialService(variates.PythonVariates):
    def lognormal(self, lane: int, purpose: int, mean: float, cv: float) -> float:
        return self.exponential(lane, purpose, mean)


def turning(machines: int, hands: int, run_s: float, service_s: float) -> float:
    """Machines turning on average, exponential runs and services: the product of the chances."""
    weights = [1.0]
    for stopped in range(machines):
        arrive = (machines - stopped) / run_s
        serve = min(stopped + 1, hands) / service_s
        weights.append(weights[-1] * arrive / serve)
    stopped = sum(n * weight for n, weight in enumerate(weights)) / sum(weights)
    return machines - stopped


@pytest.mark.parametrize(("machines", "hands"), [(1, 1), (5, 1), (6, 2)])
def test_mended_winders_are_a_finite_queue(machines, hands):
    """Feed faster than winders, no way to walk: M/M/c//N with a run of 1000 m at 1 m/s."""
    one = layout(
        lanes=machines, hands=hands, wind_m_per_s=1.0, feed_m_per_s=2.0, wind_breaks_per_km=1.0,
        mend_s=300.0, service_cv=1.0,
        spacing_m=0.0, across_m=0.0, buffer_m=4000.0, loose_m=3900.0,
        shift_s=4e5, rule="longest",
    )  # fmt: skip
    found = [
        sum(lane.winder_s["winding"] for lane in shift.lanes) / one.shift_s
        for shift in (
            line.simulate(one, seed, source=ExponentialService(seed, 0)) for seed in range(12)
        )
    ]
    error = statistics.stdev(found) / math.sqrt(len(found))
    expected = turning(machines, hands, 1000.0, 300.0)
    assert statistics.mean(found) == pytest.approx(expected, abs=4.0 * error)
    assert error < 0.01 * expected


def test_one_hand_with_equal_services_is_the_constant_service_result():
    from clew.line.interference.one_hand import one_hand

    one = layout(
        lanes=5, wind_m_per_s=1.0, feed_m_per_s=2.0, wind_breaks_per_km=1.0, mend_s=300.0,
        spacing_m=0.0, across_m=0.0, buffer_m=4000.0, loose_m=3900.0,
        shift_s=4e5, rule="longest",
    )  # fmt: skip
    found = [
        sum(lane.winder_s["winding"] for lane in line.simulate(one, seed).lanes) / one.shift_s
        for seed in range(12)
    ]
    error = statistics.stdev(found) / math.sqrt(len(found))
    expected = one_hand(5, run_s=1000.0, service_s=300.0, law="constant").running_mean
    assert statistics.mean(found) == pytest.approx(expected, abs=4.0 * error)
    assert error < 0.01 * expected


# Who goes where


def a_call(kind: str, lane: int, raised_s: float) -> Any:
    lane_at = SimpleNamespace(env=simpy.Environment(), number=lane)
    return line.Call(kind, lane_at, raised_s, 0.0)


@pytest.mark.parametrize(
    ("rule", "kinds", "taken"),
    [
        ("nearest", "doff doff doff doff", 2),
        ("longest", "doff doff doff doff", 0),
        ("patrol", "doff doff doff doff", 3),
        ("nearest", "doff load load load", 0),
        ("nearest", "load load load feed", 3),
        ("patrol", "mend mend load load", 0),
    ],
)
def test_a_free_hand_takes_the_call_of_his_rule(rule, kinds, taken):
    """He stands at the winder of lane 3; calls wait, oldest first, in lanes 0, 1, 2 and 5."""
    one = layout(lanes=6, rule=rule)
    crew = line.Crew(simpy.Environment(), one, None)
    hand = line.Hand(crew, 0)
    hand.lane = 3
    calls = [
        a_call(kind, lane, float(at))
        for at, (kind, lane) in enumerate(zip(kinds.split(), (0, 1, 2, 5), strict=True))
    ]
    crew.waiting = list(calls)
    assert crew.take(hand) is calls[taken]
    assert len(crew.waiting) == 3


def test_calls_of_one_moment_go_to_idle_hands_lane_by_lane():
    """Four lanes change colour together: each hand loads the cones that his change asks for."""
    one = layout(lanes=4, hands=2, colour_at_s=(1000.0,), across_m=0.0, spacing_m=10.0)
    shift = line.simulate(one, 1, log=True)
    marks = [times(shift, "colour mark", lane)[0] for lane in range(4)]
    assert marks == pytest.approx([1060.0, 1070.0, 1200.0, 1210.0])


# The variates


def test_the_words_are_those_of_splitmix64():
    """The first words from states 0 and 1234567, as its implementations print them."""
    step = 0x9E3779B97F4A7C15
    assert variates.mix(0) == 0xE220A8397B1DCDAF
    assert [variates.mix(1234567 + k * step) for k in range(3)] == [
        6457827717110365317, 3203168211198807973, 9817491932198370423,
    ]  # fmt: skip


@given(st.floats(1e-15, 1.0 - 1e-15))
def test_the_normal_quantile_is_as_close_as_its_author_says(u):
    exact = statistics.NormalDist().inv_cdf(u)
    assert variates.normal_quantile(u) == pytest.approx(exact, rel=1.15e-9, abs=1e-15)


@pytest.mark.parametrize("source", ["shared", "python"])
def test_the_laws_have_their_means_and_spreads(source):
    count = 20_000
    draw = variates.SharedVariates(9, 0, 1) if source == "shared" else variates.PythonVariates(9, 0)
    laws = {
        "exponential": (lambda: draw.exponential(0, variates.WIND_BREAK, 5.0), 1.0),
        "lognormal": (lambda: draw.lognormal(0, variates.DOFF, 5.0, 0.4), 0.4),
        "cone": (lambda: draw.cone(0, 5.0, 0.2), 0.2),
    }
    for law, cv in laws.values():
        drawn = [law() for _ in range(count)]
        assert statistics.mean(drawn) == pytest.approx(5.0, rel=4.0 * cv / math.sqrt(count))
        assert statistics.stdev(drawn) == pytest.approx(5.0 * cv, rel=0.04)


def test_both_sources_tell_of_the_same_line():
    one = layout(**BUSY)
    seen: dict[str, list[Counter[str]]] = {}
    for source in ("shared", "python"):
        seen[source] = [
            Counter(
                {
                    "balls": sum(lane.balls for lane in shift.lanes),
                    "starved": sum(lane.winder_s["starved"] for lane in shift.lanes),
                    "waiting": sum(lane.winder_s["waiting"] for lane in shift.lanes),
                    "joins": sum(lane.joins_landed for lane in shift.lanes),
                    "spoilt": sum(lane.second_quality_balls for lane in shift.lanes),
                    "walked": sum(hand.walked_m for hand in shift.hands),
                }
            )
            for shift in line.shifts(one, 11, 24, source=source)
        ]
    for what in seen["shared"][0]:
        a, b = ([one_shift[what] for one_shift in seen[source]] for source in seen)
        error = math.sqrt((statistics.variance(a) + statistics.variance(b)) / len(a))
        assert abs(statistics.mean(a) - statistics.mean(b)) < 4.0 * error
        assert statistics.mean(a) > 0.0
