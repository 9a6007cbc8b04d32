"""Ashcroft's numbers and fixed fill times again, by the simulated line instead of a formula."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import shift_answer
from clew.line.simulate.timeline import timeline
from clew.mill.model import Mill

RUN_S = 4.0


@pytest.fixture(scope="module")
def plain(demo_mill: Mill) -> Layout:
    """A day of a line on which strand never lacks, nothing spreads and nobody walks."""
    return replace(
        layout_of(demo_mill, "Line 1", "Querl 100", shift_s=86_400.0),
        hands=1,
        cone_m=1e7,
        feed_breaks_per_km=0.0,
        wind_breaks_per_km=0.0,
        service_cv=0.0,
        mend_waste_m=0.0,
        spacing_m=0.0,
        across_m=0.0,
        breaks=0,
    )


@pytest.mark.outside(
    document="H. Ashcroft, J. Roy. Statist. Soc. B 12 (1950) 145-151",
    edition="formula; the table was not opened",
    section="A_N, machines running under one hand with constant service, recomputed elsewhere",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("machines", "rho", "running"),
    [
        (2, 0.5, 1.2449),
        (3, 0.1, 2.7012),
        (5, 0.2, 3.7521),
        (6, 0.1, 5.2779),
        (8, 0.15, 5.8961),
        (10, 0.1, 8.2100),
    ],
)
def test_winders_running_under_constant_service(
    plain: Layout, machines: int, rho: float, running: float
) -> None:
    layout = replace(
        plain,
        lanes=machines,
        feed_m_per_s=0.001,
        wind_m_per_s=0.001,
        buffer_m=1000.0,
        go_m=1.0,
        loose_m=1.0,
        ball_m=1e7,
        wind_breaks_per_km=1000.0 / (RUN_S * 0.001),
        mend_s=rho * RUN_S,
    )
    share = shift_answer(layout, replications=16, seed=31).winder_share["winding"]
    error = machines * share.sd / math.sqrt(16) + 0.00005
    assert machines * share.mean == pytest.approx(running, abs=4.0 * error)


@pytest.mark.outside(
    document="Synchronous servicing, Industrial Engineer Calculators",
    edition="read in the project's facts, operations 1.5",
    section="cycle of N machines: the longer of l + m and N(l + w), here without walk",
    mark="READ",
)
@pytest.mark.parametrize(("service", "run"), [(2.0, 15.0), (1.5, 8.0), (3.0, 12.0)])
@pytest.mark.parametrize("machines", [3, 5, 6, 9])
def test_cycle_of_machines_in_step(
    plain: Layout, service: float, run: float, machines: int
) -> None:
    layout = replace(
        plain,
        shift_s=3600.0,
        lanes=machines,
        wind_m_per_s=4.0,
        feed_m_per_s=2.0,
        buffer_m=1e5,
        start_buffer_frac=0.9,
        ball_m=4.0 * run,
        doff_s=service,
    )
    starts = [
        row.at_s
        for row in timeline(layout, seed=3).lanes
        if row.lane == machines - 1 and row.state == "served: doff" and row.at_s > 600.0
    ]
    assert np.diff(starts) == pytest.approx(max(service + run, machines * service), abs=1e-6)
