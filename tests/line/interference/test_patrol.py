"""The walking hand: a simulation, the limits of no walk and of nothing but walk."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.line.interference.one_hand import one_hand
from clew.line.interference.patrol import patrol


@given(st.integers(1, 60), st.floats(0.01, 2.0))
def test_without_walking_it_is_constant_service_in_any_order(machines, rho):
    still = patrol(machines, run_s=1.0, service_s=rho, walk_round_s=0.0)
    nearly = patrol(machines, run_s=1.0, service_s=rho, walk_round_s=1e-11)
    known = one_hand(machines, run_s=1.0, service_s=rho).running_mean
    assert still.interference.running_mean == known
    assert still.walking_frac == 0.0
    assert nearly.interference.running_mean == pytest.approx(known, rel=1e-6)


@given(st.floats(0.01, 5.0), st.floats(0.01, 5.0))
def test_one_machine_is_a_renewal_of_walks(walk, service):
    """It restarts as the hand leaves, and waits for the first return after its stop."""
    found = patrol(1, run_s=1.0, service_s=service, walk_round_s=walk)
    rounds = 1.0 / -math.expm1(-walk)
    assert found.interference.running_mean == pytest.approx(
        1.0 / (rounds * walk + service), rel=1e-9
    )


def test_more_walking_runs_less():
    running = [
        patrol(10, run_s=300.0, service_s=20.0, walk_round_s=walk).interference.running_mean
        for walk in (0.0, 1.0, 10.0, 60.0, 600.0)
    ]
    assert running == sorted(running, reverse=True)


@pytest.mark.parametrize("walk", [1e-6, 1.0, 1e5])
def test_a_thousand_heavy_machines_do_not_overflow(walk):
    """Every machine stands at every visit: a round is all the walking and all the work."""
    found = patrol(1000, run_s=1.0, service_s=5.0, walk_round_s=walk)
    assert found.served_a_round == pytest.approx(1000.0, rel=1e-9)
    assert found.round_s == pytest.approx(5000.0 + walk, rel=1e-9)


@pytest.mark.parametrize(
    ("machines", "run_s", "service_s", "walk_round_s"), [(6, 40.0, 3.0, 12.0), (3, 10.0, 4.0, 3.0)]
)
def test_against_a_simulation(machines, run_s, service_s, walk_round_s, by_seeds, patrolled):
    exact = patrol(machines, run_s=run_s, service_s=service_s, walk_round_s=walk_round_s)
    per_s, error = by_seeds(
        lambda seed: patrolled(
            machines,
            lambda chance: chance.expovariate(1.0 / run_s),
            service_s,
            walk_round_s / machines,
            rounds=3_000,
            seed=seed,
        )
    )
    assert per_s * run_s == pytest.approx(exact.interference.running_mean, abs=4.0 * error * run_s)
    assert exact.served_a_round / exact.round_s == pytest.approx(per_s, abs=4.0 * error)
    assert error < 0.01 * per_s


def test_every_bad_value_is_named():
    with pytest.raises(BadInput) as bad:
        patrol(1001, run_s=0.0, service_s=math.nan, walk_round_s=-1.0)
    keys = [fault.key for fault in bad.value.faults]
    assert keys == ["machines", "run_s", "service_s", "walk_round_s"]
