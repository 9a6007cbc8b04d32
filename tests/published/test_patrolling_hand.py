"""The patrolling hand of Mack, Murphy and Webb: formula from memory, numbers simulated."""

import pytest

from clew.line.interference.patrol import patrol


@pytest.mark.outside(
    document="C. Mack, T. Murphy & N. L. Webb, J. Roy. Statist. Soc. B 19 (1957) 166-172",
    edition="formula MEMORY; numbers recomputed and simulated elsewhere",
    section="efficiency under constant walk and repair",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("machines", "rate", "walk", "service", "served", "round_s", "efficiency", "simulated"),
    [
        (4, 0.05, 2.0, 1.0, 0.4382, 2.4382, 0.8987, 0.8990),
        (8, 0.02, 4.0, 1.5, 0.7583, 5.1375, 0.9225, 0.9227),
    ],
)
def test_round_and_efficiency(
    machines, rate, walk, service, served, round_s, efficiency, simulated
):
    found = patrol(machines, run_s=1.0 / rate, service_s=service, walk_round_s=walk)
    assert found.served_a_round == pytest.approx(served, abs=0.00006)
    assert found.round_s == pytest.approx(round_s, abs=0.00006)
    assert found.interference.efficiency == pytest.approx(efficiency, abs=0.00006)
    assert found.interference.efficiency == pytest.approx(simulated, abs=0.0006)
