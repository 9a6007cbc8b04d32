"""Ashcroft's numbers: the quantity of his table; the printed table itself was not obtained."""

import pytest

from clew.line.interference.finite_source import exponential_service
from clew.line.interference.one_hand import one_hand

SERVICING = (0.01, 0.02, 0.03, 0.05, 0.08, 0.10, 0.15, 0.20, 0.30, 0.50)
RUNNING = {
    2: (1.9801, 1.9604, 1.9409, 1.9025, 1.8465, 1.8102, 1.7231, 1.6411, 1.4916, 1.2449),
    3: (2.9700, 2.9400, 2.9100, 2.8501, 2.7606, 2.7012, 2.5543, 2.4107, 2.1380, 1.6731),
    4: (3.9598, 3.9192, 3.8782, 3.7948, 3.6666, 3.5791, 3.3541, 3.1234, 2.6665, 1.9063),
    5: (4.9495, 4.8979, 4.8452, 4.7361, 4.5625, 4.4398, 4.1091, 3.7521, 3.0349, 1.9843),
    6: (5.9391, 5.8761, 5.8110, 5.6734, 5.4457, 5.2779, 4.8009, 4.2640, 3.2340, 1.9985),
    8: (7.9179, 7.8310, 7.7387, 7.5335, 7.1587, 6.8532, 5.8961, 4.8497, 3.3296, 2.0000),
    10: (9.8962, 9.7836, 9.6599, 9.3675, 8.7617, 8.2100, 6.4786, 4.9882, 3.3333, 2.0000),
    12: (11.8740, 11.7335, 11.5733, 11.1644, 10.1803, 9.2122, 6.6447, 4.9997, 3.3333, 2.0000),
    15: (14.8397, 14.6524, 14.4243, 13.7495, 11.7234, 9.8938, 6.6665, 5.0000, 3.3333, 2.0000),
    20: (19.7794, 19.4971, 19.0988, 17.4548, 12.4791, 9.9998, 6.6667, 5.0000, 3.3333, 2.0000),
}


@pytest.mark.outside(
    document="H. Ashcroft, J. Roy. Statist. Soc. B 12 (1950) 145-151",
    edition="formula; the table was not opened",
    section="A_N, machines running under one hand with constant service, recomputed elsewhere",
    mark="COMPUTED",
)
@pytest.mark.parametrize("machines", [2, 3, 4, 5, 6, 8, 10, 12, 15, 20])
def test_machines_running_under_constant_service(machines):
    running = [one_hand(machines, run_s=1.0, service_s=rho).running_mean for rho in SERVICING]
    assert running == pytest.approx(RUNNING[machines], abs=0.00006)


@pytest.mark.outside(
    document="machine repairman model, one hand, exponential service",
    edition="recomputed elsewhere",
    section="machines running, M/M/1//N",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("rho", "running"),
    [
        (0.05, {2: 1.9005, 5: 4.7128, 10: 9.2407, 20: 16.8222}),
        (
            0.1,
            {2: 1.8033, 3: 2.6794, 4: 3.5334, 5: 4.3605, 6: 5.1549}
            | {8: 6.6168, 10: 7.8542, 12: 8.8026, 20: 9.9813},
        ),
        (0.2, {2: 1.6216, 5: 3.5757, 10: 4.9081}),
        (0.5, {2: 1.2, 3: 1.5789, 5: 1.9266}),
    ],
)
def test_machines_running_under_exponential_service(rho, running):
    for machines, expected in running.items():
        row = exponential_service(machines, 1, run_s=1.0, service_s=rho)
        assert row.running_mean == pytest.approx(expected, abs=0.00006)


@pytest.mark.outside(
    document="H. Ashcroft, J. Roy. Statist. Soc. B 12 (1950) 145-151",
    edition="formula; the table was not opened",
    section="simulated elsewhere, 400 000 time units",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("machines", "rho", "simulated"), [(6, 0.1, 5.2816), (10, 0.1, 8.2194), (5, 0.2, 3.7615)]
)
def test_near_a_long_simulation(machines, rho, simulated):
    row = one_hand(machines, run_s=1.0, service_s=rho)
    assert row.running_mean == pytest.approx(simulated, abs=0.01)
