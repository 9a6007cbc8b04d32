"""Many cases at once against each by itself, and the interval against its plain definition."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.line.heat.answer import heat_answer, heat_balance
from clew.line.heat.crossing import crossing, settled
from clew.line.heat.dryer import regains_out
from clew.line.heat.exit_doubt import exit_doubt
from clew.line.heat.from_mill import heat_terms, winding_terms
from clew.line.heat.if97 import saturation_pressure_mpa, saturation_pressures_mpa
from clew.line.heat.many_crossings import all_settled, crossings
from clew.line.heat.many_regains import Cases, many_regains
from clew.line.heat.speed_limits import least_feed_m_per_s, speed_limits, steamer_limit
from clew.line.heat.steamer import steamed
from clew.line.heat.terms import HeatDoubts, HeatTerms, held_within
from clew.mill.model import Mill

DRAWN = [one.name for one in fields(Cases)]


@pytest.fixture(scope="module")
def terms(demo_mill: Mill) -> HeatTerms:
    return heat_terms(demo_mill, "", "Querl 100")


def alone(terms: HeatTerms) -> tuple[float, float, float, list[float]]:
    """Regain before, after and cooled, and along the dryer, of one case by itself."""
    steam = steamed(terms)
    law, before, after, cooled = regains_out(terms, steam.regain_frac, steam.zone_c)
    dwell = terms.dryer_dwell_s
    along = [law.regain_after(before, part / 24 * dwell) for part in range(25)]
    return before, after, cooled, along


def cases_of(many: list[HeatTerms]) -> Cases:
    return Cases(**{
        name: np.array([one.critical_frac if name == "critical_regain_frac" else getattr(one, name)
                        for one in many])
        for name in DRAWN
    })  # fmt: skip


one_case = st.fixed_dictionaries({
    "drying_factor": st.floats(0.05, 5.0),
    "air_speed_m_per_s": st.floats(0.2, 6.0),
    "fresh_air_kg_per_h": st.floats(2.0, 900.0),
    "dryer_c": st.floats(40.0, 175.0),
    "regain_in_frac": st.floats(0.0, 0.6),
    "wet_pick_up_frac": st.floats(0.0, 1.0),
    "critical_regain_frac": st.one_of(st.none(), st.floats(0.002, 0.8)),
    "fibre_heat_factor": st.floats(0.6, 1.6),
})  # fmt: skip
SHEEP, PLASTIC = (("wool_combed", 1.0),), (("polypropylene", 1.0),)
a_line = st.fixed_dictionaries({
    "air_way": st.sampled_from(["over", "through"]),
    "fibres": st.sampled_from([SHEEP, PLASTIC]),
    "room_humidity": st.sampled_from([0.0, 0.5, 1.0]),
    "air_kpa": st.floats(70.0, 105.0),
    "steam_c": st.floats(80.0, 120.0),
})  # fmt: skip


@settings(max_examples=30)
@given(a_line, st.lists(one_case, min_size=1, max_size=6))
def test_many_cases_come_out_as_each_by_itself(
    demo_mill: Mill, line: dict[str, Any], drawn: list[dict[str, Any]]
) -> None:
    own = replace(heat_terms(demo_mill, "", "Querl 100"), **line)
    many = [replace(own, **one) for one in drawn]
    found = many_regains(own, cases_of(many))
    dwells = own.dryer_dwell_s * np.array([np.arange(25) / 24]).T
    along = found.law.regain_after(found.before_frac, dwells)
    for place, one in enumerate(many):
        before, after, cooled, on_the_way = alone(one)
        assert found.before_frac[place] == pytest.approx(before, rel=1e-8, abs=1e-10)
        assert found.after_frac[place] == pytest.approx(after, rel=1e-8, abs=1e-10)
        assert found.cooled_frac[place] == pytest.approx(cooled, rel=1e-8, abs=1e-10)
        assert along[:, place] == pytest.approx(on_the_way, rel=1e-8, abs=1e-10)


def test_the_interval_is_that_of_its_draws_one_by_one(terms: HeatTerms) -> None:
    """The definition written out: draw all inputs, run the line, sort what comes out."""
    doubts = HeatDoubts()
    found = exit_doubt(terms, doubts, draws=60, seed=3)
    steps = np.random.default_rng(3).standard_normal((60, 8)).tolist()

    def moved(row: list[float]) -> HeatTerms:
        times = {
            key: min(20.0, max(0.05, math.exp(math.sqrt(math.log1p(spread**2)) * step)))
            for (key, spread), step in zip(spreads.items(), row, strict=True)
        }
        hotter = terms.dryer_c + doubts.dryer_sd_c * row[3]
        return replace(
            terms,
            drying_factor=terms.drying_factor * times["drying_factor_cv"],
            air_speed_m_per_s=terms.air_speed_m_per_s * times["air_speed_cv"],
            fresh_air_kg_per_h=terms.fresh_air_kg_per_h * times["fresh_air_cv"],
            dryer_c=min(180.0, max(terms.room_c + 5.0, hotter)),
            regain_in_frac=max(0.0, terms.regain_in_frac + doubts.regain_in_sd_frac * row[4]),
            wet_pick_up_frac=terms.wet_pick_up_frac * times["wet_pick_up_cv"],
            critical_regain_frac=terms.critical_frac * times["critical_cv"],
            fibre_heat_factor=terms.fibre_heat_factor * times["heat_cv"],
        )

    spreads = {one.name: getattr(doubts, one.name) for one in fields(doubts)}
    each = [alone(moved(row)) for row in steps]
    ends = np.quantile([one[1] for one in each], [0.025, 0.975])
    cooled = np.quantile([one[2] for one in each], [0.025, 0.975])
    assert (found.end_low_frac, found.end_high_frac) == pytest.approx(tuple(ends), rel=1e-8)
    assert (found.cooled_low_frac, found.cooled_high_frac) == pytest.approx(tuple(cooled), rel=1e-8)
    damp = sum(one[2] > terms.regain_wanted_frac for one in each) / 60
    assert found.too_damp_share == pytest.approx(damp)
    low, high = np.quantile([one[3] for one in each], [0.025, 0.975], axis=0)
    assert [row[1:] for row in found.along] == [
        pytest.approx(pair, rel=1e-8) for pair in zip(low, high, strict=True)
    ]
    halves = {}
    for place, key in enumerate(spreads):
        up, down = (
            alone(moved([sign * float(at == place) for at in range(8)]))[1] for sign in (1, -1)
        )
        halves[key] = 0.5 * (up - down)
    total = sum(half**2 for half in halves.values())
    assert dict(found.shares) == pytest.approx(
        {key: half**2 / total for key, half in halves.items()}, rel=1e-6
    )


def test_a_draw_that_leaves_what_can_be_meant_stays_at_its_end(terms: HeatTerms) -> None:
    assert held_within("dryer_c", np.array([5.0, 95.0, 500.0])).tolist() == [20.0, 95.0, 180.0]
    fast = replace(terms, drying_factor=99.0)
    found = exit_doubt(fast, HeatDoubts(drying_factor_cv=1.0), draws=60)
    assert found.end_low_frac <= found.end_high_frac
    cool = replace(terms, dryer_c=21.0, room_c=5.0)
    assert math.isfinite(exit_doubt(cool, HeatDoubts(dryer_sd_c=20.0), draws=60).end_high_frac)


def test_an_answer_is_its_balance_and_its_doubt(terms: HeatTerms) -> None:
    whole, balance = heat_answer(terms, draws=20, seed=2), heat_balance(terms)
    for one in fields(balance):
        assert getattr(whole, one.name) == getattr(balance, one.name)
    assert whole.doubt == exit_doubt(terms, draws=20, seed=2)
    assert whole.dry_enough is balance.dry_enough


def test_the_steamers_limits_are_those_of_the_whole_line(terms: HeatTerms, demo_mill: Mill) -> None:
    for one in (terms, replace(terms, steam_c=90.0)):
        found = speed_limits(one, winding_terms(demo_mill, "", "Querl 100"))
        assert steamer_limit(one) in found.limits
        assert least_feed_m_per_s(one) == found.least_feed_m_per_s


@given(
    st.lists(
        st.tuples(st.floats(-5.0, 5.0), st.floats(0.1, 3.0), st.booleans()), min_size=1, max_size=8
    )
)
def test_where_many_cross_is_where_each_does(shapes: list[tuple[float, float, bool]]) -> None:
    """A cube and a line with its root anywhere, inside the ends or beyond them."""
    root, bend = (np.array([shape[at] for shape in shapes]) for at in (0, 1))
    sign = np.array([1.0 if shape[2] else -1.0 for shape in shapes])
    low, high = np.full(len(shapes), -3.0), np.full(len(shapes), 3.0)

    def curve(x: Any, at: Any) -> Any:
        return sign[at] * ((x - root[at]) ** 3 + bend[at] * (x - root[at]))

    everywhere = slice(None)
    found = crossings(lambda x: curve(x, everywhere), low, high, 1e-10)
    for place, each in enumerate(found):
        one = crossing(lambda x, at=place: curve(x, at), -3.0, 3.0, 1e-10)
        assert each == pytest.approx(one, abs=1e-9)
        assert each == pytest.approx(min(3.0, max(-3.0, root[place])), abs=1e-9)


@given(st.lists(st.tuples(st.floats(-0.4, 0.4), st.floats(-9.0, 9.0)), min_size=1, max_size=8))
def test_what_a_function_gives_back_is_found_alone_and_among_many(
    shapes: list[tuple[float, float]],
) -> None:
    steep, level = (np.array(one) for one in zip(*shapes, strict=True))
    found = all_settled(lambda x: level + steep * np.cos(x), np.zeros(len(shapes)), 1e-10)
    assert found == pytest.approx(level + steep * np.cos(found), abs=1e-9)
    for each, (slope, height) in zip(found, shapes, strict=True):
        alone = settled(lambda x, a=slope, b=height: b + a * math.cos(x), 0.0, 1e-10)
        assert each == pytest.approx(alone, abs=1e-9)
    assert settled(lambda _: 4.0, 0.0, 1e-10) == 4.0


def test_vapour_pressures_of_many_temperatures() -> None:
    kelvin = np.linspace(273.15, 640.0, 50)
    one_by_one = [saturation_pressure_mpa(one) for one in kelvin.tolist()]
    assert saturation_pressures_mpa(kelvin) == pytest.approx(one_by_one, rel=1e-13)
