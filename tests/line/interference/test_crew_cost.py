"""The cheapest crew, and what it depends on."""

import math

import pytest

from clew.faults import BadInput
from clew.line.interference.crew_cost import cheapest, crews


def best(hand: float, stopped: float, **more: float) -> int:
    table = crews(
        12,
        run_s=600.0,
        service_s=120.0,
        cost_hand_per_hour=hand,
        cost_waiting_per_hour=stopped,
        **more,
    )
    return cheapest(table).interference.hands


def test_dear_hands_make_a_small_crew_and_dear_machines_a_large_one():
    assert best(1000.0, 1.0) == 1
    sizes = [best(20.0, stopped) for stopped in (1.0, 20.0, 100.0, 1e4)]
    assert sizes == sorted(sizes)
    assert sizes[0] < sizes[-1]


def test_free_hands_cost_nothing_and_all_stand_ready():
    table = crews(3, run_s=10.0, service_s=5.0, cost_hand_per_hour=0.0, cost_waiting_per_hour=6.0)
    assert len(table) == 3
    assert cheapest(table).interference.hands == 3
    assert table[-1].cost_per_hour == pytest.approx(6.0 * 3 * 5.0 / 15.0)


def test_machines_being_served_may_cost_otherwise():
    shared = {"run_s": 10.0, "service_s": 5.0, "cost_hand_per_hour": 1.0}
    one = crews(4, **shared, cost_waiting_per_hour=6.0, cost_served_per_hour=0.0, most_hands=1)[0]
    assert one.cost_per_hour == pytest.approx(1.0 + 6.0 * one.interference.waiting_mean)


def test_bad_costs_are_named_at_once():
    with pytest.raises(BadInput) as bad:
        crews(
            4,
            run_s=1.0,
            service_s=1.0,
            cost_hand_per_hour=-1.0,
            cost_waiting_per_hour=math.inf,
            most_hands=51,
        )
    keys = [fault.key for fault in bad.value.faults]
    assert keys[:2] == ["cost_hand_per_hour", "cost_waiting_per_hour"]
    assert keys[-1] == "most_hands"
