"""Several hands, exponential service: balance, limits, and a chain solved without the formula."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.line.interference.finite_source import exponential_service, stopped_chances

rows = st.tuples(st.integers(1, 60), st.integers(1, 70), st.floats(1e-3, 1e3))


def solved_chain(machines: int, hands: int, servicing: float) -> np.ndarray:
    """Chances from the generator matrix, nothing known of birth and death."""
    rates = np.zeros((machines + 1, machines + 1))
    for n in range(machines + 1):
        if n < machines:
            rates[n, n + 1] = (machines - n) * servicing
        if n:
            rates[n, n - 1] = min(n, hands)
        rates[n, n] = -rates[n].sum()
    system = np.vstack([rates.T[:-1], np.ones(machines + 1)])
    return np.linalg.solve(system, np.eye(machines + 1)[-1])


@pytest.mark.parametrize(
    ("machines", "hands", "servicing"), [(1, 1, 0.3), (6, 2, 0.2), (9, 4, 1.5), (12, 1, 0.05)]
)
def test_chances_are_those_of_the_solved_chain(machines, hands, servicing):
    assert stopped_chances(machines, hands, servicing) == pytest.approx(
        solved_chain(machines, hands, servicing), abs=1e-12
    )


@given(rows)
def test_machines_run_wait_or_are_served(row):
    machines, hands, servicing = row
    found = exponential_service(machines, hands, run_s=100.0, service_s=100.0 * servicing)
    assert found.running_mean + found.stopped_mean == pytest.approx(machines, rel=1e-9)
    assert found.hands_busy <= min(hands, machines) * (1 + 1e-12)
    assert found.waiting_mean >= 0.0


@given(rows)
def test_a_stop_waits_as_often_as_a_call_finds_no_free_hand(row):
    """Calls weighted by the machines that can still make them, counted over all states."""
    machines, hands, servicing = row
    chances = stopped_chances(machines, hands, servicing)
    calls = chances * (machines - np.arange(machines + 1))
    naive = calls[hands:].sum() / calls.sum()
    found = exponential_service(machines, hands, run_s=1.0, service_s=servicing)
    assert found.chance_waits == pytest.approx(naive, abs=1e-9)


@given(st.integers(1, 50), st.floats(1e-3, 1e2))
def test_with_a_hand_a_machine_nothing_waits(machines, servicing):
    found = exponential_service(machines, machines, run_s=1.0, service_s=servicing)
    assert found.waiting_mean == 0.0
    assert found.chance_waits == 0.0
    assert found.efficiency == pytest.approx(1.0 / (1.0 + servicing), rel=1e-12)


def test_one_hand_more_never_stops_more_machines():
    waits = [
        exponential_service(20, hands, run_s=10.0, service_s=4.0).waiting_mean
        for hands in range(1, 21)
    ]
    assert waits == sorted(waits, reverse=True)
    assert len(set(waits)) > 15


def test_rare_stops_hardly_wait_and_endless_stops_keep_every_hand_busy():
    rare = exponential_service(10, 2, run_s=1e6, service_s=1.0)
    assert rare.efficiency == pytest.approx(1.0 - 1e-6, abs=1e-9)
    endless = exponential_service(10, 2, run_s=1.0, service_s=1e6)
    assert endless.hands_busy == pytest.approx(2.0, abs=1e-5)
    assert endless.calls_per_hour == pytest.approx(3600.0 * 2.0 / 1e6, rel=1e-5)


@pytest.mark.parametrize("service_s", [1e-9, 1e-3, 1.0, 1e9])
def test_a_thousand_machines_neither_overflow_nor_vanish(service_s):
    found = exponential_service(1000, 7, run_s=1.0, service_s=service_s)
    assert math.isfinite(found.wait_s)
    assert found.running_mean + found.stopped_mean == pytest.approx(1000.0, rel=1e-10)
    if service_s >= 1.0:
        assert found.running_mean == pytest.approx(7.0 / service_s, rel=1e-9)


def test_a_mean_wait_times_calls_is_what_waits():
    """Little's law, the wait worked out on its own from what a stop finds on arrival."""
    machines, hands, service_s = 9, 2, 3.0
    found = exponential_service(machines, hands, run_s=10.0, service_s=service_s)
    seen = stopped_chances(machines - 1, hands, service_s / 10.0)
    ahead = np.maximum(np.arange(machines) - hands + 1, 0)
    assert found.wait_s == pytest.approx(float(seen @ ahead) * service_s / hands, rel=1e-12)


def test_every_bad_value_is_named_at_once():
    with pytest.raises(BadInput) as bad:
        exponential_service(0, 1001, run_s=math.inf, service_s=0.0)
    assert [fault.key for fault in bad.value.faults] == ["machines", "hands", "run_s", "service_s"]
