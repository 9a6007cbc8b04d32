"""What the pages draw and pay: the interval along the dryer, each station's money, fast lines."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.line.heat.answer import heat_answer
from clew.line.heat.dryer import dried
from clew.line.heat.exit_doubt import exit_doubt
from clew.line.heat.from_mill import heat_terms, winding_terms
from clew.line.heat.speed_limits import speed_limits
from clew.line.heat.steamer import steamed
from clew.line.heat.terms import HeatDoubts, HeatTerms
from clew.mill.model import Mill


@pytest.fixture(scope="module")
def terms(demo_mill: Mill) -> HeatTerms:
    return heat_terms(demo_mill, "", "Querl 100")


def test_the_interval_along_the_dryer_ends_in_that_of_its_end(terms: HeatTerms) -> None:
    found = exit_doubt(terms, draws=60, seed=3)
    parts = [part for part, _, _ in found.along]
    assert parts[0] == 0.0
    assert parts[-1] == 1.0
    assert parts == sorted(parts)
    assert found.along[-1][1:] == pytest.approx((found.end_low_frac, found.end_high_frac))
    for side in (1, 2):
        ends = [row[side] for row in found.along]
        assert ends == sorted(ends, reverse=True)
    assert all(low < high for _, low, high in found.along)


def test_without_doubt_the_interval_along_is_the_regain_itself(terms: HeatTerms) -> None:
    none = HeatDoubts(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    steam = steamed(terms)
    out = dried(terms, steam.regain_frac, steam.zone_c)
    for part, low, high in exit_doubt(terms, none, draws=20).along:
        there = out.law.regain_after(out.regain_before_frac, part * terms.dryer_dwell_s)
        assert low == high == pytest.approx(there, rel=1e-12)


def test_the_money_of_steamer_and_dryer_is_that_of_both(terms: HeatTerms) -> None:
    money = heat_answer(terms, draws=20).money
    assert money.steam_money_per_h is not None
    assert money.dryer_money_per_h is not None
    assert money.money_per_h == pytest.approx(money.steam_money_per_h + money.dryer_money_per_h)
    paid = 0.06 * money.steam_kw / terms.heat_efficiency_frac
    assert money.steam_money_per_h == pytest.approx(paid)
    free = heat_answer(replace(terms, fuel_per_kwh=None), draws=20).money
    assert free.steam_money_per_h is free.dryer_money_per_h is None


@given(feed=st.floats(1.4, 100.0), layers=st.floats(1.001, 200.0))
@settings(max_examples=25)
def test_a_fast_line_has_its_limits_too(demo_mill: Mill, feed: float, layers: float) -> None:
    """The search for the dryer's limit never asks for a speed that cannot be meant."""
    own = replace(heat_terms(demo_mill, "", "Querl 100"), feed_m_per_s=feed)
    there = replace(own, belt_m_per_s=own.belt_m_per_s * own.lay_layers / layers)
    found = speed_limits(there, winding_terms(demo_mill, "", "Querl 100"))
    dryer = next(one for one in found.limits if one.station == "dryer")
    assert dryer.feed_m_per_s >= 0.0


def test_the_dryers_limit_goes_with_the_lay_and_not_with_the_feed(demo_mill: Mill) -> None:
    own = heat_terms(demo_mill, "", "Querl 100")
    winding = winding_terms(demo_mill, "", "Querl 100")
    limits = []
    for times in (1.0, 1.3, 4.0):
        faster = replace(
            own,
            feed_m_per_s=times * own.feed_m_per_s,
            belt_m_per_s=times * own.belt_m_per_s,
        )
        found = speed_limits(faster, winding)
        limits.append(next(one.feed_m_per_s for one in found.limits if one.station == "dryer"))
    assert math.isfinite(limits[0])
    assert limits[1:] == pytest.approx([limits[0]] * 2, rel=1e-4)


def test_a_fibre_that_holds_next_to_no_water_has_its_interval(terms: HeatTerms) -> None:
    """Its critical regain is drawn below the least that can be meant, and stays at that."""
    found = exit_doubt(replace(terms, fibres=(("polypropylene", 1.0),)), draws=60, seed=1)
    assert found.end_low_frac < found.end_high_frac


@pytest.mark.parametrize("name", ["feed_m_per_s", "belt_m_per_s"])
def test_next_to_no_speed_is_refused_by_name(terms: HeatTerms, name: str) -> None:
    with pytest.raises(BadInput) as bad:
        replace(terms, **{name: 1e-320})
    assert [fault.key for fault in bad.value.faults] == [name]
