"""The whole loop on lines so plain that the truth is known: held to it, chance allowed for.

A winder "runs" an exponential time where only breaks at the winder stop it: the ball is longer than
any strand of the shift, the buffer never empties and never fills. Each mean lies within four
standard errors of the truth; what is left of the start, when all lanes run, is far below one.

What is left out: a hand who patrols without rest (here a hand stands still until a call), more
hands with exponential service, and two machines with exponential repairs behind a buffer (services
here are constant or lognormal, for which those have no closed form).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from clew.line.interference.one_hand import one_hand
from clew.line.layout import RULES, Layout, Rule
from clew.line.simulate.answer import Estimate, ShiftAnswer, shift_answer
from clew.line.simulate.timeline import timeline

RUN_S = 4.0
SHIFTS = 16

STILL = Layout(
    lanes=1,
    hands=1,
    shift_s=86_400.0,
    feed_m_per_s=0.001,
    wind_m_per_s=0.001,
    passage_s=10.0,
    steam_from_s=1.0,
    steam_s=1.0,
    steam_longest_s=1e7,
    dry_from_s=3.0,
    dry_s=1.0,
    dry_longest_s=math.inf,
    buffer_m=1000.0,
    go_m=1.0,
    loose_m=1.0,
    start_buffer_frac=0.5,
    ball_m=1e7,
    cone_m=1e7,
    cone_cv=0.0,
    cones_per_lane=1,
    feed_breaks_per_km=0.0,
    wind_breaks_per_km=0.0,
    doff_s=1.0,
    mend_s=1.0,
    feed_mend_s=1.0,
    load_s=1.0,
    change_s=1.0,
    colour_tie_s=1.0,
    service_cv=0.0,
    mend_waste_m=0.0,
    spacing_m=0.0,
    across_m=0.0,
    walk_m_per_s=1.0,
    rule="longest",
    first=(("doff", "mend", "change"), ("feed", "load", "colour")),
    break_s=0.0,
    breaks=0,
    colour_at_s=(),
    shrink_frac=0.0,
    count_tex=100.0,
)
"""Nothing happens on it but a few balls in a million shifts."""
FAST = replace(STILL, feed_m_per_s=2.0, wind_m_per_s=3.0, buffer_m=1e6, ball_m=60.0, doff_s=6.0)
"""Balls and doffs, and nothing random but where the first ball stands."""


def breaking(lanes: int, servicing: float, **changes: object) -> Layout:
    """Lanes whose winders run an exponential time of mean `RUN_S` from mend to break."""
    per_km = 1000.0 / (RUN_S * STILL.wind_m_per_s)
    line = replace(STILL, lanes=lanes, wind_breaks_per_km=per_km, mend_s=servicing * RUN_S)
    return replace(line, **changes)  # type: ignore[arg-type]


def near(estimate: Estimate, truth: float, shifts: int = SHIFTS) -> bool:
    return abs(estimate.mean - truth) < 4.0 * estimate.sd / math.sqrt(shifts)


def check_row(answer: ShiftAnswer, running: float, servicing: float) -> None:
    """Winders that run, hands at work, and calls, each near its truth."""
    layout = answer.layout
    share = answer.winder_share
    assert near(share["winding"], running / layout.lanes)
    assert share["winding"].mean + share["broken"].mean == pytest.approx(1.0, abs=1e-3)
    assert near(answer.hand_share["serving"], servicing * running / layout.hands)
    assert near(answer.measures["wind_breaks"], running * layout.shift_s / RUN_S)


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize(("lanes", "servicing"), [(1, 0.4), (3, 0.3), (6, 0.2)])
def test_random_stops_with_constant_service(lanes: int, servicing: float, rule: Rule) -> None:
    """One hand (Ashcroft): whom he serves first does not matter to how many run."""
    truth = one_hand(lanes, run_s=RUN_S, service_s=servicing * RUN_S)
    answer = shift_answer(breaking(lanes, servicing, rule=rule), replications=SHIFTS, seed=41)
    check_row(answer, truth.running_mean, servicing)


@pytest.mark.parametrize(
    ("lanes", "servicing", "spread"), [(4, 0.1, 0.3), (6, 0.2, 0.8), (8, 0.15, 1.5)]
)
def test_random_stops_with_lognormal_service(lanes: int, servicing: float, spread: float) -> None:
    """One hand (Takács): how services spread matters, and the law of the loop is the room's."""
    law = {"run_s": RUN_S, "service_s": servicing * RUN_S}
    truth = one_hand(lanes, **law, law="lognormal", service_cv=spread)
    answer = shift_answer(
        breaking(lanes, servicing, service_cv=spread), replications=2 * SHIFTS, seed=42
    )
    assert near(answer.winder_share["winding"], truth.running_mean / lanes, 2 * SHIFTS)
    still = one_hand(lanes, **law)
    if spread > 0.5:
        assert not near(answer.winder_share["winding"], still.running_mean / lanes, 2 * SHIFTS)


@pytest.mark.parametrize("spread", [0.0, 0.7])
def test_a_hand_for_every_lane(spread: float) -> None:
    """Nobody waits: each winder runs 1/(1 + servicing) of the time, whatever the services' law."""
    servicing = 0.5
    layout = breaking(4, servicing, hands=4, service_cv=spread)
    check_row(shift_answer(layout, replications=SHIFTS, seed=43), 4 / (1 + servicing), servicing)


def doff_starts(layout: Layout, seed: int = 1) -> list[np.ndarray]:
    """When each lane's doffs begin."""
    rows = timeline(layout, seed=seed).lanes
    starts: list[list[float]] = [[] for _ in range(layout.lanes)]
    for row in rows:
        if row.part == "winder" and row.state == "served: doff":
            starts[row.lane].append(row.at_s)
    return [np.array(one) for one in starts]


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("lanes", [1, 2, 4, 5, 8])
def test_lanes_that_fill_in_a_fixed_time_fall_into_step(lanes: int, rule: Rule) -> None:
    """Synchronous servicing, no walk: a cycle is the longer of fill + doff and all doffs in turn.

    A fill takes 20 s, a doff 6 s: four lanes do without waiting, five wait.
    """
    layout = replace(FAST, lanes=lanes, rule=rule, shift_s=3600.0)
    cycle_s = max(20.0 + 6.0, lanes * 6.0)
    for starts in doff_starts(layout):
        settled = starts[starts > 600.0]
        assert len(settled) > 3000.0 / cycle_s - 2.0
        assert np.diff(settled) == pytest.approx(cycle_s, abs=1e-6)


def test_two_lanes_too_far_apart_for_one_hand() -> None:
    """He goes to and fro: a cycle is two doffs and two walks, longer than fill and doff."""
    layout = replace(FAST, lanes=2, ball_m=3.0, spacing_m=4.0, shift_s=3600.0)
    for starts in doff_starts(layout):
        assert np.diff(starts[2:]) == pytest.approx(2 * (6.0 + 4.0), abs=1e-6)


@pytest.mark.parametrize(
    ("feed", "wind", "ball", "doff"),
    [
        (2.0, 3.0, 60.0, 6.0),  # the feed holds it up
        (2.0, 2.1, 60.0, 6.0),  # doffs do
        (2.0, 1.5, 60.0, 0.5),  # the winder is slower than the feed
        (2.0, 3.0, 600.0, 100.5),  # hardly enough
    ],
)
def test_balls_of_one_lane(feed: float, wind: float, ball: float, doff: float) -> None:
    """Balls come at the pace of the feed, or of winding and doffing, whichever is slower."""
    layout = replace(
        FAST, feed_m_per_s=feed, wind_m_per_s=wind, ball_m=ball, doff_s=doff, buffer_m=500.0
    )
    answer = shift_answer(replace(layout, start_buffer_frac=0.0), replications=3, seed=5)
    pace = min(feed / ball, 1.0 / (ball / wind + doff))
    assert answer.balls.mean == pytest.approx(pace * layout.shift_s, abs=500.0 / ball + 2.0)
    share = answer.winder_share
    assert share["winding"].mean == pytest.approx(pace * ball / wind, abs=0.01)
    assert share["doffing"].mean == pytest.approx(pace * doff, abs=0.01)
    assert share["waiting_for_doff"].mean == pytest.approx(0.0, abs=1e-9)
    assert answer.feed_stop_frac == pytest.approx(1.0 - pace * ball / feed, abs=0.01)


@pytest.mark.parametrize(
    ("cones", "load", "cycle"),
    [
        (1, 40.0, 100.0 + 40.0),  # every cone is waited for
        (2, 40.0, 100.0),  # the next one is tied in time
        (2, 150.0, 150.0),  # the hand ties without rest
        (3, 150.0, 150.0),
    ],
)
def test_cones_of_one_lane(cones: int, load: float, cycle: float) -> None:
    """A cone feeds 100 s; a lane without a tied one stands until the hand has loaded it."""
    layout = replace(FAST, cone_m=200.0, cones_per_lane=cones, load_s=load, ball_m=1e7)
    answer = shift_answer(layout, replications=3, seed=6)
    assert answer.measures["cones"].mean == pytest.approx(layout.shift_s / cycle, abs=4.0)
    assert answer.measures["laid_m"].mean == pytest.approx(
        200.0 * layout.shift_s / cycle, abs=800.0
    )
    assert answer.feed_share["starved"].mean == pytest.approx(1.0 - 100.0 / cycle, abs=0.003)


def two_stations(**changes: object) -> Layout:
    """A feed that breaks after 1000 s and is mended in 300 s, a winder after 600 s and 150 s."""
    layout = replace(
        STILL,
        hands=2,
        feed_breaks_per_km=1.0 / 0.001,
        feed_mend_s=300.0,
        wind_breaks_per_km=1.0 / 0.0006,
        mend_s=150.0,
    )
    return replace(layout, **changes)  # type: ignore[arg-type]


def test_feed_and_winder_without_a_buffer() -> None:
    """No room between them: one stands with the other, 1/(1 + 0.3 + 0.25) of the time both run.

    Source: Buzacott 1967, line without buffers whose stations break only while they work, MEMORY.
    Here half a second of strand lies between them, against runs of 1000 s and 600 s.
    """
    layout = two_stations(
        passage_s=0.2,
        steam_from_s=0.0,
        steam_s=0.05,
        dry_from_s=0.1,
        dry_s=0.05,
        buffer_m=4e-4,
        go_m=2e-4,
        loose_m=2e-4,
    )
    answer = shift_answer(layout, replications=300, seed=8)
    assert near(answer.winder_share["winding"], 1.0 / 1.55, 300)
    assert near(answer.winder_share["starved"], 0.30 / 1.55, 300)
    assert near(answer.winder_share["broken"], 0.25 / 1.55, 300)
    assert near(answer.feed_share["full"], 0.25 / 1.55, 300)


def test_feed_and_winder_with_all_the_buffer_they_want() -> None:
    """Each is on its own: the feed lays 1/1.3 of the time, the winder turns 1/1.25 of it."""
    layout = two_stations(feed_breaks_per_km=1e5, feed_mend_s=3.0, wind_breaks_per_km=1e5 / 0.6)
    answer = shift_answer(replace(layout, mend_s=1.5), replications=SHIFTS, seed=9)
    assert near(answer.winder_share["winding"], 1.0 / 1.25)
    assert answer.winder_share["starved"].mean == 0.0
    assert near(answer.feed_share["broken"], 0.3 / 1.3)
    assert near(answer.measures["laid_m"], 0.001 * STILL.shift_s / 1.3)
