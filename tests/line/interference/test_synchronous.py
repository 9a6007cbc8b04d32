"""Fixed fills fall into step: a simulation, the cost of a whole number, Wright's."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.line.interference.one_hand import one_hand
from clew.line.interference.synchronous import cheapest_machines, ideal_machines, synchronous
from clew.line.interference.wright import wright_wait_s

times = st.floats(0.5, 50.0)


@pytest.mark.parametrize("machines", [1, 3, 6, 9, 10, 14])
def test_a_simulation_of_fixed_fills_falls_into_step(machines, served_in_order):
    """The first round sorts the machines; after thousands of stops its waits do not show."""
    exact = synchronous(machines, fill_s=90.0, service_s=10.0, walk_s=0.0)
    running, wait = served_in_order(
        machines, 1, lambda chance: 90.0, lambda chance: 10.0, stops=20_000, seed=1
    )
    assert running == pytest.approx(exact.interference.running_mean, rel=3e-3)
    assert wait == pytest.approx(exact.machine_idle_s, abs=0.05)


def test_nine_machines_in_step_do_not_wait_where_breaks_would():
    """The same times, random: the hand is as busy, and machines wait."""
    in_step = synchronous(9, fill_s=90.0, service_s=10.0, walk_s=0.0).interference
    at_random = one_hand(9, run_s=90.0, service_s=10.0)
    assert in_step.waiting_mean == 0.0
    assert in_step.chance_waits == 0.0
    assert at_random.waiting_mean > 0.8
    assert in_step.running_mean > at_random.running_mean


@given(st.integers(1, 60), times, times, st.floats(0.0, 5.0))
def test_a_cycle_is_filled_by_hand_or_by_machine(machines, fill, service, walk):
    found = synchronous(machines, fill_s=fill, service_s=service, walk_s=walk)
    row = found.interference
    assert min(found.hand_idle_s, found.machine_idle_s) == pytest.approx(0.0, abs=1e-9)
    assert row.wait_s == pytest.approx(found.machine_idle_s, abs=1e-6)
    assert row.running_mean + row.stopped_mean == pytest.approx(machines, rel=1e-9)
    waits = machines > found.ideal_machines * (1 + 1e-9)
    assert (found.machine_idle_s > 1e-9 * found.cycle_s) <= (machines > found.ideal_machines)
    assert row.chance_waits == 1.0 or not waits


@given(times, times, st.floats(0.0, 5.0), st.floats(0.1, 50.0), st.floats(0.0, 50.0))
def test_no_other_number_is_cheaper(fill, service, walk, machine_cost, hand_cost):
    best = cheapest_machines(
        fill_s=fill,
        service_s=service,
        walk_s=walk,
        cost_machine_per_hour=machine_cost,
        cost_hand_per_hour=hand_cost,
    )
    every = [
        (hand_cost + n * machine_cost)
        * synchronous(n, fill_s=fill, service_s=service, walk_s=walk).cycle_s
        / n
        / 3600.0
        for n in range(1, 120)
    ]
    assert best[0].cost_a_fill == pytest.approx(min(every), rel=1e-12)
    assert best[0].cost_a_fill <= best[-1].cost_a_fill


def test_dear_machines_want_fewer_and_dear_hands_more():
    case = {"fill_s": 260.4, "service_s": 84.6, "walk_s": 4.8}
    assert ideal_machines(**case) == pytest.approx(345.0 / 89.4)
    few = cheapest_machines(**case, cost_machine_per_hour=100.0, cost_hand_per_hour=1.0)
    many = cheapest_machines(**case, cost_machine_per_hour=1.0, cost_hand_per_hour=100.0)
    assert (few[0].machines, many[0].machines) == (3, 4)


def test_a_walk_longer_than_the_fill_leaves_one_machine():
    best = cheapest_machines(
        fill_s=1.0, service_s=1.0, walk_s=9.0, cost_machine_per_hour=1.0, cost_hand_per_hour=1.0
    )
    assert [one.machines for one in best] == [1]


@given(st.integers(7, 400), st.floats(1.0, 1e6))
def test_wright_is_the_printed_root(machines, ratio):
    """And loses no digits where the hand has all the time there is."""
    from fractions import Fraction

    spare = 1 + Fraction(ratio) - machines
    found = wright_wait_s(machines, run_s=ratio, service_s=1.0)
    # From (2I + s)² = s² + 2N with I in services: I² + I s = N / 2.
    assert float(Fraction(found) ** 2 + Fraction(found) * spare) == pytest.approx(
        machines / 2.0, rel=1e-9
    )


def test_bad_values_are_named():
    with pytest.raises(BadInput) as bad:
        synchronous(0, fill_s=0.0, service_s=math.inf, walk_s=-1.0)
    assert [fault.key for fault in bad.value.faults] == [
        "machines",
        "fill_s",
        "service_s",
        "walk_s",
    ]
    with pytest.raises(BadInput, match="a whole number from 7"):
        wright_wait_s(6, run_s=10.0, service_s=1.0)
    with pytest.raises(BadInput, match="cost_hand_per_hour"):
        cheapest_machines(
            fill_s=1.0,
            service_s=1.0,
            walk_s=0.0,
            cost_machine_per_hour=1.0,
            cost_hand_per_hour=math.nan,
        )
