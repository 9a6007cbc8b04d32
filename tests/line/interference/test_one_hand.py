"""One hand, any service law: an embedded chain, the exponential case, limits, a simulation."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.line.interference.finite_source import exponential_service
from clew.line.interference.log_sums import log_binomials, log_sum
from clew.line.interference.one_hand import one_hand
from clew.line.interference.service_laws import log_factors


def running_by_embedded_chain(machines: int, rho: float, transform) -> float:
    """Machines running, from the chain at ends of service; alternating sums, so few machines."""

    def stops(still: int, come: int) -> float:
        """Chance that so many of those running stop during one service."""
        return math.comb(still, come) * sum(
            math.comb(come, j) * (-1) ** j * transform((still - come + j) * rho)
            for j in range(come + 1)
        )

    chain = np.zeros((machines, machines))
    for left in range(machines):
        begin = max(left, 1)
        for come in range(machines - begin + 1):
            chain[left, begin - 1 + come] += stops(machines - begin, come)
    system = np.vstack([(chain.T - np.eye(machines))[:-1], np.ones(machines)])
    chances = np.linalg.solve(system, np.eye(machines)[-1])
    # A cycle is one service, and a wait for the first stop when the last left none standing.
    return 1.0 / (rho + chances[0] / machines)


def constant(at: float) -> float:
    return math.exp(-at)


def gamma_half(at: float) -> float:
    return (1.0 + at / 4.0) ** -4


@pytest.mark.parametrize("machines", [1, 2, 3, 6, 9])
@pytest.mark.parametrize("rho", [0.05, 0.2, 0.7])
def test_constant_and_gamma_agree_with_the_embedded_chain(machines, rho):
    # The chain gives services per run time; each ends one run, so it is machines running.
    steady = one_hand(machines, run_s=1.0, service_s=rho)
    assert steady.running_mean == pytest.approx(
        running_by_embedded_chain(machines, rho, constant), rel=1e-9
    )
    spread = one_hand(machines, run_s=1.0, service_s=rho, law="gamma", service_cv=0.5)
    assert spread.running_mean == pytest.approx(
        running_by_embedded_chain(machines, rho, gamma_half), rel=1e-9
    )


def test_lognormal_agrees_with_the_embedded_chain():
    from scipy.integrate import quad

    variance = math.log1p(0.6**2)

    def transform(at: float) -> float:
        def inside(x: float) -> float:
            normal = (math.log(x) + variance / 2.0) ** 2 / (2.0 * variance)
            return math.exp(-at * x - normal) / (x * math.sqrt(2.0 * math.pi * variance))

        return quad(inside, 0.0, 60.0, limit=200)[0]

    found = one_hand(5, run_s=1.0, service_s=0.2, law="lognormal", service_cv=0.6)
    assert found.running_mean == pytest.approx(
        running_by_embedded_chain(5, 0.2, transform), rel=1e-6
    )


@given(st.integers(1, 200), st.floats(1e-3, 10.0))
def test_exponential_service_is_the_repairman_model(machines, rho):
    general = one_hand(machines, run_s=1.0, service_s=rho, law="exponential")
    known = exponential_service(machines, 1, run_s=1.0, service_s=rho)
    assert general.running_mean == pytest.approx(known.running_mean, rel=1e-9)
    assert general.waiting_mean == pytest.approx(known.waiting_mean, rel=1e-9, abs=1e-9)
    assert general.chance_waits == pytest.approx(known.chance_waits, abs=1e-9)


@given(st.integers(1, 40), st.floats(1e-2, 3.0))
def test_gamma_ends_in_constant_and_in_exponential(machines, rho):
    def running(law, cv=0.0):
        found = one_hand(machines, run_s=1.0, service_s=rho, law=law, service_cv=cv)
        return found.running_mean

    assert running("gamma", 1.0) == pytest.approx(running("exponential"), rel=1e-12)
    assert running("gamma", 0.0) == running("constant")
    assert running("lognormal", 0.0) == running("constant")
    assert running("gamma", 1e-4) == pytest.approx(running("constant"), rel=1e-5)
    assert running("lognormal", 1e-4) == pytest.approx(running("constant"), rel=1e-5)
    assert running("constant") >= running("gamma", 0.5) * (1.0 - 1e-12)
    assert running("gamma", 0.5) >= running("exponential") * (1.0 - 1e-12)


@given(st.floats(1e-3, 20.0))
def test_one_and_two_machines_have_short_formulas(rho):
    one = one_hand(1, run_s=1.0, service_s=rho)
    assert one.running_mean == pytest.approx(1.0 / (1.0 + rho), rel=1e-12)
    assert one.waiting_mean == pytest.approx(0.0, abs=1e-12)
    assert one.chance_waits == 0.0
    two = one_hand(2, run_s=1.0, service_s=rho)
    expected = 2.0 * math.exp(rho) / (1.0 + 2.0 * rho * math.exp(rho))
    assert two.running_mean == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("law", ["constant", "gamma", "lognormal"])
@pytest.mark.parametrize("machines", [200, 1000])
def test_many_machines_keep_one_hand_busy_and_no_float_overflows(law, machines):
    for rho in (0.1, 10.0, 1e4):
        found = one_hand(machines, run_s=1.0, service_s=rho, law=law, service_cv=0.5)
        assert found.running_mean == pytest.approx(1.0 / rho, rel=1e-9)
        assert found.chance_waits == pytest.approx(1.0, abs=1e-9)
    rare = one_hand(machines, run_s=1.0, service_s=1e-9, law=law, service_cv=0.5)
    assert rare.efficiency == pytest.approx(1.0, abs=1e-5)


def test_constant_service_against_a_simulation(by_seeds, served_in_order):
    exact = one_hand(8, run_s=60.0, service_s=6.0)

    def simulated(seed: int) -> tuple[float, float]:
        return served_in_order(
            8, 1, lambda c: c.expovariate(1 / 60.0), lambda c: 6.0, stops=15_000, seed=seed
        )

    running, running_error = by_seeds(lambda seed: simulated(seed)[0])
    assert running == pytest.approx(exact.running_mean, abs=4.0 * running_error)
    assert running_error < 0.02
    wait, wait_error = by_seeds(lambda seed: simulated(seed)[1])
    assert wait == pytest.approx(exact.wait_s, abs=4.0 * wait_error)


def test_two_hands_with_constant_service_run_more_than_exponential_says(by_seeds, served_in_order):
    """No closed form is given there; the exponential one is the cautious side."""
    cautious = exponential_service(8, 2, run_s=60.0, service_s=20.0)
    running, error = by_seeds(
        lambda seed: served_in_order(
            8, 2, lambda c: c.expovariate(1 / 60.0), lambda c: 20.0, stops=8_000, seed=seed
        )[0]
    )
    assert running - 4.0 * error > cautious.running_mean


def test_lognormal_transform_far_to_the_right():
    """Where the plain sum underflows, the tail of short services is all there is."""
    from scipy.integrate import quad

    at, variance = 5000.0, math.log1p(0.5**2)

    def log_inside(z: float) -> float:
        x = math.exp(math.sqrt(variance) * z - variance / 2.0)
        return -at * x - z * z / 2.0 - 0.5 * math.log(2.0 * math.pi)

    top = max(log_inside(z) for z in np.linspace(-38.0, 0.0, 4000))
    inside = quad(lambda z: math.exp(log_inside(z) - top), -38.0, 0.0, limit=500)[0]
    found = log_factors("lognormal", 0.5, np.array([at]))[0]
    assert found == pytest.approx(-(top + math.log(inside)), rel=1e-9)


def test_sums_in_logarithms_are_sums():
    assert np.exp(log_binomials(5)) == pytest.approx([1, 5, 10, 10, 5, 1])
    assert log_binomials(0).tolist() == [0.0]
    assert log_sum(np.array([1000.0, 1000.0, -math.inf])) == pytest.approx(1000.0 + math.log(2.0))


def test_a_spread_past_three_is_refused():
    with pytest.raises(BadInput, match="service_cv: out of range"):
        one_hand(3, run_s=1.0, service_s=1.0, law="gamma", service_cv=3.5)
    with pytest.raises(BadInput, match="service_s"):
        one_hand(3, run_s=1.0, service_s=-1.0)
