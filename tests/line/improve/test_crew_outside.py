"""The open textbook's five machines, simulated: what of its table a line can be made to say.

Runs of a line are exponential where nothing but breaks stops a winder. Its services are lognormal,
which the table's are not: with a hand for every machine none waits, and the law of service does
not matter, so the table's last row is met exactly. One hand has an exact closed form for lognormal
services too. Of the rows between only the order of costs is held.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from clew.line.improve.paired import SideBySide, Tried, all_measures, side_by_side
from clew.line.interference.one_hand import one_hand
from clew.line.layout import Layout

RUN_S, SERVICE_S = 100.0, 40.0  # ten hours and four, in one unit that a shift holds many of
SHIFT_S = 86_400.0
HAND, STOPPED = 15.0, 60.0
BOOK = {
    "document": "M. D. Rossetti, Simulation Modeling and Arena (open book)",
    "edition": "web edition, repository RossettiArenaBook",
    "section": "appendix Queueing, machine interference, table of results",
    "mark": "READ",
}


@pytest.fixture(scope="module")
def found(demo_layout: Layout) -> SideBySide:
    """Five winders that stop at breaks only, a crew of 1 to 5 who need not walk."""
    wind = 0.01
    five = replace(
        demo_layout,
        lanes=5,
        shift_s=SHIFT_S,
        wind_m_per_s=wind,
        feed_m_per_s=wind,
        buffer_m=1e6,
        go_m=1.0,
        loose_m=1.0,
        ball_m=1e7,
        cone_m=1e7,
        cone_cv=0.0,
        feed_breaks_per_km=0.0,
        wind_breaks_per_km=1000.0 / (RUN_S * wind),
        mend_s=SERVICE_S,
        service_cv=1.0,
        mend_waste_m=0.0,
        spacing_m=0.0,
        across_m=0.0,
        breaks=0,
        rule="longest",
    )
    return side_by_side(
        [Tried(replace(five, hands=hands), all_measures) for hands in range(1, 6)],
        replications=100,
        seed=11,
    )


def running(found: SideBySide, hands: int) -> tuple[float, float]:
    """Mean of the machines running, and half its interval at 999 in 1000."""
    one = found.estimate(hands - 1, "winder_winding_s", 0.999).times(1.0 / SHIFT_S)
    return one.mean, one.high - one.mean


def cost(found: SideBySide, hands: int) -> float:
    return HAND * hands + STOPPED * (5.0 - running(found, hands)[0])


@pytest.mark.outside(**BOOK)
def test_a_hand_for_every_machine(found: SideBySide) -> None:
    """0.714 of machine time runs and an hour costs 160.714; the start of a shift adds a little."""
    mean, half = running(found, 5)
    begin = 5.0 * RUN_S / SHIFT_S  # all machines run when it begins: a run each, at most
    assert mean / 5.0 == pytest.approx(0.714, abs=half / 5.0 + begin / 5.0 + 0.0005)
    assert cost(found, 5) == pytest.approx(160.714, abs=STOPPED * (half + begin))


@pytest.mark.outside(**BOOK)
def test_two_hands_are_cheapest(found: SideBySide) -> None:
    """As in the table: 2, 3, 4, 5 hands, each dearer than the one before; one hand is dearest."""
    order = sorted(range(1, 6), key=lambda hands: cost(found, hands))
    assert order == [2, 3, 4, 5, 1]


def test_one_hand_with_lognormal_service(found: SideBySide) -> None:
    mean, half = running(found, 1)
    exact = one_hand(5, run_s=RUN_S, service_s=SERVICE_S, law="lognormal", service_cv=1.0)
    assert mean == pytest.approx(exact.running_mean, abs=half + 5.0 * RUN_S / SHIFT_S)
    assert half < 0.03


def test_more_hands_never_run_less(found: SideBySide) -> None:
    for hands in range(1, 4):
        more = found.difference(hands, hands - 1, "winder_winding_s")
        assert more.low > 0.0
