"""Finite queuing tables of Peck and Hazelwood, as a page quotes them; one cell is misprinted."""

import pytest

from clew.line.interference.crew_cost import cheapest, crews
from clew.line.interference.finite_source import exponential_service


def found(factor: float, machines: int, hands: int):
    return exponential_service(machines, hands, run_s=1.0 - factor, service_s=factor)


@pytest.mark.outside(
    document="L. G. Peck & R. N. Hazelwood, Finite Queuing Tables (quoted by holooly.com)",
    edition="Wiley 1958; page p=558956, table 10.37",
    section="D and F by service factor, population and channels",
    mark="READ",
)
@pytest.mark.parametrize(
    ("factor", "machines", "hands", "waits", "efficiency"),
    [
        (0.05, 4, 1, 0.149, 0.992),
        (0.05, 5, 1, 0.198, 0.989),
        (0.05, 6, 1, 0.247, 0.985),
        (0.05, 6, 2, 0.023, 0.999),
        (0.05, 7, 1, 0.296, 0.981),
        (0.05, 7, 2, 0.034, 0.999),
        (0.10, 12, 1, 0.879, 0.764),
        (0.10, 14, 1, 0.946, 0.690),
        (0.10, 14, 2, 0.469, 0.954),
        (0.10, 14, 3, 0.151, 0.992),
        (0.20, 10, 1, 0.987, 0.497),
        (0.20, 10, 2, 0.692, 0.854),
        (0.20, 10, 3, 0.300, 0.968),
        (0.20, 10, 5, 0.020, 0.999),
        (0.20, 12, 1, 0.998, 0.416),
        (0.20, 12, 2, 0.841, 0.778),
    ],
)
def test_quoted_cells(factor, machines, hands, waits, efficiency):
    row = found(factor, machines, hands)
    assert row.chance_waits == pytest.approx(waits, abs=0.00051)
    assert 1.0 - row.waiting_mean / machines == pytest.approx(efficiency, abs=0.00051)


@pytest.mark.outside(
    document="L. G. Peck & R. N. Hazelwood, Finite Queuing Tables (quoted by holooly.com)",
    edition="Wiley 1958; page p=558956, table 10.37",
    section="X = .20, 10 machines, 4 channels: D printed .992, a misprint for .092; F .994",
    mark="READ",
)
def test_misprinted_cell_is_not_followed():
    row = found(0.20, 10, 4)
    assert row.chance_waits == pytest.approx(0.092, abs=0.0006)
    assert abs(row.chance_waits - 0.992) > 0.8
    assert 1.0 - row.waiting_mean / 10 == pytest.approx(0.994, abs=0.0006)


@pytest.mark.outside(
    document="L. G. Peck & R. N. Hazelwood, Finite Queuing Tables (quoted by holooly.com)",
    edition="Wiley 1958; page p=558956, table 10.37",
    section="worked example: 20 machines, run 45 min, service 5 min; $500, $200 and $60 an hour",
    mark="READ",
)
def test_worked_example_of_a_crew():
    """The page works with F to three digits, which is $3 off at its best crew."""
    table = crews(
        20,
        run_s=2700.0,
        service_s=300.0,
        cost_hand_per_hour=60.0,
        cost_waiting_per_hour=500.0,
        cost_served_per_hour=200.0,
        most_hands=5,
    )
    shares = [1.0 - crew.interference.waiting_mean / 20 for crew in table]
    assert shares == pytest.approx([0.500, 0.878, 0.975, 0.995, 0.999], abs=0.0006)
    best = cheapest(table)
    assert best.interference.hands == 4
    rounded = round(shares[3], 3)
    by_their_digits = 500 * 20 * (1 - rounded) + 200 * 20 * rounded * 0.10 + 60 * 4
    assert by_their_digits == pytest.approx(688.0, abs=0.5)
    assert best.cost_per_hour == pytest.approx(688.0, abs=3.0)
