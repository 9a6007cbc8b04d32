"""Lines of stations: chains solved without the closed forms, and their limits."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.line.interference.bernoulli_line import bernoulli_line_a_cycle
from clew.line.interference.blocking_line import blocking_line_per_hour
from clew.line.interference.closed_line import closed_line
from clew.line.interference.fluid_line import fluid_line
from clew.line.interference.two_stations import two_stations

rates = st.floats(0.2, 5.0)


@settings(max_examples=25, deadline=None)
@given(rates, rates, st.integers(0, 12))
def test_two_stations_are_the_shortest_blocking_line(first, second, buffer):
    pair = two_stations(first_per_hour=first, second_per_hour=second, buffer=buffer)
    line = blocking_line_per_hour([first, second], [buffer])
    assert line == pytest.approx(pair.per_hour, rel=1e-9)
    assert pair.per_hour == pytest.approx(first * (1.0 - pair.blocked_frac), rel=1e-9)


@settings(max_examples=15, deadline=None)
@given(rates, rates, rates, st.integers(0, 3), st.integers(0, 3))
def test_a_line_makes_as_much_backwards(one, two, three, left, right):
    """Reversibility: pieces one way are holes the other way."""
    there = blocking_line_per_hour([one, two, three], [left, right])
    back = blocking_line_per_hour([three, two, one], [right, left])
    assert there == pytest.approx(back, rel=1e-9)


@pytest.mark.parametrize("rates_per_hour", [(1e3, 1.0, 1e-3), (1e-3, 1.0, 1e3), (1e3, 1e-3, 1.0)])
def test_a_line_of_very_uneven_stations_makes_what_the_slowest_does(rates_per_hour):
    assert blocking_line_per_hour(rates_per_hour, [6, 6]) == pytest.approx(1e-3, rel=1e-6)


def test_an_endless_buffer_leaves_the_slower_station():
    assert two_stations(
        first_per_hour=9.0, second_per_hour=7.0, buffer=100_000
    ).per_hour == pytest.approx(7.0, rel=1e-9)
    assert two_stations(
        first_per_hour=3.0, second_per_hour=7.0, buffer=500
    ).per_hour == pytest.approx(3.0, rel=1e-9)


def test_a_long_line_is_handed_to_the_simulator():
    with pytest.raises(BadInput, match="too long for an exact answer"):
        blocking_line_per_hour([1.0] * 8, [5] * 7)


def bernoulli_chain(p1: float, p2: float, buffer: int) -> float:
    """Pieces a cycle from the transition matrix, cycle by cycle."""
    chain = np.zeros((buffer + 1, buffer + 1))
    for level in range(buffer + 1):
        for up, down in ((0, 0), (0, 1), (1, 0), (1, 1)):
            chance = (p1 if up else 1 - p1) * (p2 if down else 1 - p2)
            out = down if level else 0
            into = up if level < buffer or out else 0
            chain[level, level + into - out] += chance
    system = np.vstack([(chain.T - np.eye(buffer + 1))[:-1], np.ones(buffer + 1)])
    chances = np.linalg.solve(system, np.eye(buffer + 1)[-1])
    return p2 * (1.0 - chances[0])


@given(st.floats(0.05, 0.99), st.floats(0.05, 0.99), st.integers(1, 12))
def test_bernoulli_line_is_its_chain(p1, p2, buffer):
    found = bernoulli_line_a_cycle(first_works=p1, second_works=p2, buffer=buffer)
    assert found == pytest.approx(bernoulli_chain(p1, p2, buffer), rel=1e-7)


def test_bernoulli_line_with_sure_machines_and_endless_buffers():
    assert bernoulli_line_a_cycle(first_works=1.0, second_works=0.8, buffer=3) == 0.8
    assert bernoulli_line_a_cycle(first_works=0.8, second_works=1.0, buffer=3) == 0.8
    for first, second in ((0.9, 0.7), (0.7, 0.9)):
        endless = bernoulli_line_a_cycle(first_works=first, second_works=second, buffer=100_000)
        assert endless == pytest.approx(0.7, rel=1e-9)


def fluid(p1: float, r1: float, p2: float, r2: float, buffer: float):
    return fluid_line(
        speed_m_per_s=2.0,
        first_run_s=1.0 / p1,
        first_repair_s=1.0 / r1,
        second_run_s=1.0 / p2,
        second_repair_s=1.0 / r2,
        buffer_m=buffer,
    )


stop_rates = st.floats(0.002, 0.5)


@given(stop_rates, stop_rates, stop_rates, stop_rates, st.floats(0.0, 200.0))
def test_fluid_line_between_no_buffer_and_an_endless_one(p1, r1, p2, r2, buffer):
    found = fluid(p1, r1, p2, r2, buffer)
    least = 2.0 / (1.0 + p1 / r1 + p2 / r2)
    most = 2.0 * min(r1 / (r1 + p1), r2 / (r2 + p2))
    assert least * (1 - 1e-9) <= found.speed_m_per_s <= most * (1 + 1e-9)
    back = fluid(p2, r2, p1, r1, buffer)
    assert back.speed_m_per_s == pytest.approx(found.speed_m_per_s, rel=1e-8)
    assert back.level_mean_m == pytest.approx(buffer - found.level_mean_m, rel=1e-6, abs=1e-6)
    assert fluid(p1, r1, p2, r2, 0.0).speed_m_per_s == pytest.approx(least, rel=1e-12)


def test_fluid_line_with_an_endless_buffer():
    assert fluid(0.01, 0.1, 0.02, 0.1, 1e6).speed_m_per_s == pytest.approx(2.0 / 1.2, rel=1e-9)
    assert fluid(0.02, 0.1, 0.01, 0.1, 1e6).speed_m_per_s == pytest.approx(2.0 / 1.2, rel=1e-9)


def test_fluid_line_crosses_equal_machines_smoothly():
    """Where the closed form would be 0/0 a series stands in; both meet."""
    levels = [
        fluid(0.01, 0.1, 0.01 * (1.0 + shift), 0.1, 50.0).level_mean_m
        for shift in (-2e-4, -5e-5, -2e-5, 0.0, 2e-5, 5e-5, 2e-4)
    ]
    assert levels == sorted(levels)
    slopes = np.diff(levels) / np.diff([-2e-4, -5e-5, -2e-5, 0.0, 2e-5, 5e-5, 2e-4])
    assert slopes == pytest.approx(slopes[0], rel=1e-3)


def closed_chain(carriers: int, work: tuple[float, float]) -> float:
    """Rounds a second of a two-station closed line, from its birth and death chain."""
    weights = [(work[0] / work[1]) ** n for n in range(carriers + 1)]
    return (1.0 - weights[0] / sum(weights)) / work[0]


@given(st.integers(1, 30), st.floats(0.2, 5.0), st.floats(0.2, 5.0))
def test_closed_line_is_its_chain(carriers, one, two):
    found = closed_line(carriers, work_s=[one, two])
    assert found.per_hour / 3600.0 == pytest.approx(closed_chain(carriers, (one, two)), rel=1e-9)
    assert math.fsum(found.levels_mean) == pytest.approx(carriers, rel=1e-9)


def test_a_closed_line_with_one_station_is_the_row_of_machines():
    """Machines are carriers, their run the time away, the hand the station."""
    from clew.line.interference.finite_source import exponential_service

    line = closed_line(7, work_s=[4.0], away_s=10.0)
    row = exponential_service(7, 1, run_s=10.0, service_s=4.0)
    assert line.per_hour == pytest.approx(row.calls_per_hour, rel=1e-12)
    assert line.levels_mean[0] == pytest.approx(row.stopped_mean, rel=1e-12)


@pytest.mark.parametrize(
    ("ask", "keys"),
    [
        (
            lambda: two_stations(first_per_hour=0.0, second_per_hour=math.inf, buffer=-1),
            ["station 1", "station 2", "buffer"],
        ),
        (lambda: blocking_line_per_hour([1.0, -1.0], [0, 2]), ["station 2", "buffers"]),
        (lambda: blocking_line_per_hour([1.0], []), ["stations"]),
        (
            lambda: bernoulli_line_a_cycle(first_works=0.0, second_works=1.1, buffer=0),
            ["first_works", "second_works", "buffer"],
        ),
        (lambda: closed_line(0, work_s=[], away_s=-1.0), ["carriers", "away_s", "work_s"]),
        (
            lambda: fluid_line(
                speed_m_per_s=0.0,
                first_run_s=0.0,
                first_repair_s=1.0,
                second_run_s=1.0,
                second_repair_s=1.0,
                buffer_m=math.inf,
            ),
            ["first_run_s", "speed_m_per_s", "buffer_m"],
        ),
    ],
)
def test_bad_values_are_named_at_once(ask, keys):
    with pytest.raises(BadInput) as bad:
        ask()
    assert [fault.key for fault in bad.value.faults] == keys
