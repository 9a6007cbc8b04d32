"""Lines to try changes on: one of the demo mill, a small one, and one without any chance."""

from __future__ import annotations

from dataclasses import replace

import pytest

from clew.line.improve.money import ShiftPrices, shift_prices_of
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.mill.model import Mill


@pytest.fixture(scope="session")
def demo_layout(demo_mill: Mill) -> Layout:
    """The demo mill's line on its larger ball, whose winders now and then run dry."""
    return layout_of(demo_mill, "Line 1", "Querl 200")


@pytest.fixture(scope="session")
def demo_prices(demo_mill: Mill) -> ShiftPrices:
    found = shift_prices_of(demo_mill, "Querl 200")
    assert found is not None
    return found


@pytest.fixture(scope="session")
def small(demo_layout: Layout) -> Layout:
    """Two lanes, one hand, two hours: a shift that is walked in no time."""
    return replace(demo_layout, lanes=2, hands=1, shift_s=7200.0, breaks=1, break_s=300.0)


@pytest.fixture(scope="session")
def sure(demo_layout: Layout) -> Layout:
    """One lane and one hand with nothing left to chance but where the first ball begins.

    A ball fills in 40 s and is doffed in 10 s: 7245 s hold 144 rounds of 50 s and 45 s more, so the
    first ball and 144 others are full, wherever the first one begins.
    """
    return replace(
        demo_layout,
        lanes=1,
        hands=1,
        shift_s=7245.0,
        feed_m_per_s=5.0,
        wind_m_per_s=5.0,
        ball_m=200.0,
        cone_m=1e7,
        cone_cv=0.0,
        feed_breaks_per_km=0.0,
        wind_breaks_per_km=0.0,
        doff_s=10.0,
        service_cv=0.0,
        breaks=0,
    )
