"""An open textbook's table of crews for five machines, every cell."""

import pytest

from clew.line.interference.crew_cost import cheapest, crews

HANDS = (1, 2, 3, 4, 5)
STOPPED = (2.674, 1.661, 1.457, 1.430, 1.429)
WAITING = (1.744, 0.325, 0.040, 0.002, 0.000)
SERVED = (0.930, 1.336, 1.417, 1.428, 1.429)
HAND_SHARE = (0.930, 0.668, 0.472, 0.357, 0.286)
COST = (175.460, 129.655, 132.419, 145.816, 160.714)
EFFICIENCY = (0.465, 0.668, 0.709, 0.714, 0.714)


@pytest.fixture(scope="module")
def table():
    return crews(
        5,
        run_s=10 * 3600.0,
        service_s=4 * 3600.0,
        cost_hand_per_hour=15.0,
        cost_waiting_per_hour=60.0,
    )


@pytest.mark.outside(
    document="M. D. Rossetti, Simulation Modeling and Arena (open book)",
    edition="web edition, repository RossettiArenaBook",
    section="appendix Queueing, machine interference, table of results",
    mark="READ",
)
@pytest.mark.parametrize("place", [0, 1, 2, 3, 4])
def test_every_cell(table, place):
    crew = table[place]
    row = crew.interference
    half = 0.00051
    assert row.hands == HANDS[place]
    assert row.stopped_mean == pytest.approx(STOPPED[place], abs=half)
    assert row.waiting_mean == pytest.approx(WAITING[place], abs=half)
    assert row.hands_busy == pytest.approx(SERVED[place], abs=half)
    assert row.hand_share == pytest.approx(HAND_SHARE[place], abs=half)
    assert row.efficiency == pytest.approx(EFFICIENCY[place], abs=half)
    assert crew.cost_per_hour == pytest.approx(COST[place], abs=half)


@pytest.mark.outside(
    document="M. D. Rossetti, Simulation Modeling and Arena (open book)",
    edition="web edition, repository RossettiArenaBook",
    section="appendix Queueing, machine interference, table of results",
    mark="READ",
)
def test_two_hands_are_cheapest(table):
    assert cheapest(table).interference.hands == 2
