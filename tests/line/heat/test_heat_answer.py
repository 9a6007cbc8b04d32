"""Steam and dryer together on a line: balances, what goes which way, limits, doubts, the mill."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.ball.from_mill import promise_of
from clew.faults import BadInput
from clew.line.heat.answer import calibrated, heat_answer
from clew.line.heat.dryer import Dried, dried
from clew.line.heat.exit_doubt import exit_doubt
from clew.line.heat.from_mill import heat_doubts, heat_terms, winding_terms
from clew.line.heat.heat_plain import plain_heat, plain_limits
from clew.line.heat.moist_air import air_of_relative_humidity
from clew.line.heat.speed_limits import WindingTerms, at_feed, speed_limits
from clew.line.heat.steamer import steamed
from clew.line.heat.terms import HeatDoubts, HeatTerms
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import shift_answer
from clew.mill.model import Mill

TERMS = HeatTerms(
    fibres=(("wool_combed", 0.55), ("acrylic", 0.45)),
    lanes=6,
    count_tex=400.0,
    shrink_frac=0.2,
    regain_in_frac=0.09,
    regain_wanted_frac=0.095,
    feed_m_per_s=5.0,
    belt_m_per_s=1.1 / 60.0,
    belt_width_m=0.5,
    steamer_m=1.4,
    dryer_m=5.5,
    steam_c=100.0,
    dryer_c=95.0,
    longest_dwell_s=150.0,
    wet_pick_up_frac=0.08,
    air_speed_m_per_s=1.8,
    fuel_per_kwh=0.06,
    dryer_fixed_kw=2.5,
    steam_losses_kg_per_h=5.0,
)
WINDING = WindingTerms(
    wind_m_per_s=5.5,
    ball_m=200.0,
    cone_m=4000.0,
    doff_s=7.0,
    tie_s=25.0,
    cone_load_s=35.0,
    mend_s=30.0,
    hands=2,
    at_work_frac=0.9375,
    lane_spacing_m=1.5,
    across_m=10.0,
    walk_m_per_s=1.1,
    feed_breaks_per_km=0.008,
    wind_breaks_per_km=0.01,
    fastest_feed_m_per_s=400.0 / 60.0,
)


def run(terms: HeatTerms) -> Dried:
    steam = steamed(terms)
    return dried(terms, steam.regain_frac, steam.zone_c)


def warned(terms: HeatTerms) -> set[str]:
    return {one.key for one in heat_answer(terms, draws=20).warnings}


def test_the_worked_line() -> None:
    """12 ends of 71.4 tex acrylic at 600 m/min: flows, load and dwells by hand."""
    line = replace(
        TERMS, fibres=(("acrylic", 1.0),), lanes=12, count_tex=71.4286, feed_m_per_s=10.0,
        belt_m_per_s=1.0 / 60.0, belt_width_m=0.4, regain_in_frac=0.015, steamer_m=0.8, dryer_m=4.0,
    )  # fmt: skip
    assert line.yarn_kg_per_h == pytest.approx(30.857, abs=1e-3)
    assert line.dry_kg_per_h / 60.0 == pytest.approx(0.506685, abs=1e-5)
    assert line.dry_load_kg_per_m2 * 1.015 == pytest.approx(1.285714, abs=1e-5)
    assert line.steam_dwell_s == pytest.approx(48.0)
    assert line.dryer_dwell_s == pytest.approx(240.0)


@settings(max_examples=25)
@given(
    st.floats(60.0, 140.0),
    st.floats(40.0, 800.0),
    st.floats(0.0, 0.4),
    st.floats(0.5, 4.0),
    st.sampled_from(["over", "through"]),
)
def test_water_and_heat_close(
    dryer_c: float, fresh: float, wet: float, speed: float, way: str
) -> None:
    terms = replace(
        TERMS, dryer_c=dryer_c, fresh_air_kg_per_h=fresh, wet_pick_up_frac=wet,
        air_speed_m_per_s=speed, air_way=way,
    )  # fmt: skip
    out = run(terms)
    room = air_of_relative_humidity(terms.room_c, terms.room_humidity)
    gained = fresh * (out.air.humidity_kg_per_kg - room.humidity_kg_per_kg)
    given_up = terms.dry_kg_per_h * (out.regain_before_frac - out.regain_after_frac)
    assert gained == pytest.approx(given_up, abs=1e-9 * max(1.0, given_up))
    assert out.heat.evaporated_kg_per_h == pytest.approx(given_up, rel=1e-9, abs=1e-12)
    steam = steamed(terms)
    whole = terms.regain_in_frac + steam.condensed.condensate_kg_per_kg + wet
    spent = out.flashed_frac + (out.regain_before_frac - out.regain_after_frac)
    assert whole - spent == pytest.approx(out.regain_after_frac, abs=1e-12)
    assert out.regain_cooled_frac <= out.regain_after_frac
    assert out.wet_bulb_c - 1e-9 <= out.yarn_after_c <= dryer_c + 1e-9


def test_air_that_is_hardly_renewed_dries_next_to_nothing() -> None:
    terms = replace(TERMS, dryer_c=45.0, fresh_air_kg_per_h=0.2)
    out = run(terms)
    assert out.air.relative_humidity > 0.85
    # it comes to balance with its own air
    assert out.regain_after_frac == pytest.approx(out.law.balance_frac, rel=0.03)
    assert out.heat.evaporated_kg_per_h < 0.02
    assert "dryer_short" in warned(terms)


@pytest.mark.parametrize(
    ("drier", "change"),
    [
        ("hotter", {"dryer_c": 110.0}),
        ("faster air", {"air_speed_m_per_s": 2.5}),
        ("longer", {"dryer_m": 7.0}),
        ("more fresh air", {"fresh_air_kg_per_h": 300.0}),
        ("drier room", {"room_humidity": 0.2}),
        ("dries faster", {"drying_factor": 1.4}),
        ("less water", {"wet_pick_up_frac": 0.02}),
        ("lower critical regain", {"critical_regain_frac": 0.2}),
        ("through the lay", {"air_way": "through"}),
    ],
)
def test_what_dries_more(drier: str, change: dict[str, float]) -> None:
    assert run(replace(TERMS, **change)).regain_after_frac < run(TERMS).regain_after_frac, drier


@pytest.mark.parametrize("change", [{"lanes": 9}, {"count_tex": 600.0}, {"belt_width_m": 0.3}])
def test_more_yarn_on_the_belt_dries_slower(change: dict[str, float]) -> None:
    assert run(replace(TERMS, **change)).regain_after_frac > run(TERMS).regain_after_frac


def test_the_time_needed_is_the_time_that_dries_it() -> None:
    """A dryer made as long as the time needed gives the regain wanted, in the same air."""
    found = heat_answer(TERMS, draws=20)
    law, start = found.dried.law, found.dried.regain_before_frac
    assert law.regain_after(start, sum(found.needed_s)) == pytest.approx(
        found.regain_end_wanted_frac, rel=1e-9
    )
    assert found.dry_enough and sum(found.needed_s) < TERMS.dryer_dwell_s
    short = heat_answer(replace(TERMS, dryer_m=2.0), draws=20)
    assert not short.dry_enough and sum(short.needed_s) > short.terms.dryer_dwell_s


def test_heat_and_money() -> None:
    found = heat_answer(TERMS, draws=20)
    money = found.money
    fuel_kw = (money.steam_kw + money.dryer_kw) / 0.8
    assert money.money_per_h == pytest.approx(0.06 * fuel_kw, rel=1e-12)
    assert money.money_per_kg == pytest.approx(0.06 * fuel_kw / TERMS.yarn_kg_per_h, rel=1e-12)
    assert money.kwh_per_kg_water is not None and money.kwh_per_kg_water > 0.66
    parts = found.dried.heat
    total = parts.water_kw + parts.air_kw + parts.yarn_kw + parts.fixed_kw
    assert money.dryer_kw == pytest.approx(total, rel=1e-12)
    assert heat_answer(replace(TERMS, fuel_per_kwh=None), draws=20).money.money_per_kg is None


def test_a_weighed_regain_calibrates_the_line() -> None:
    for regain in (0.10, 0.12, 0.14):
        factor = calibrated(TERMS, regain)
        out = run(replace(TERMS, drying_factor=factor))
        assert out.regain_after_frac == pytest.approx(regain, abs=1e-6)
    for regain in (0.0, 0.30):
        with pytest.raises(BadInput) as bad:
            calibrated(TERMS, regain)
        assert bad.value.faults[0].key == "measured_regain"


@pytest.mark.parametrize(
    ("key", "change"),
    [
        ("superheat", {"steam_c": 110.0}),
        ("superheat", {"supply_gauge_kpa": 200.0, "dryness_frac": 1.0}),
        ("cool_steam", {"steam_c": 92.0}),
        ("cool_steam", {"air_kpa": 85.0}),
        ("short_dwell", {"steamer_m": 0.5}),
        ("long_dwell", {"longest_dwell_s": 60.0}),
        ("dryer_short", {"dryer_m": 3.0}),
        ("over_dried", {"dryer_m": 20.0}),
        ("harsh", {"dryer_c": 130.0}),
        ("softening", {"fibres": (("modacrylic", 1.0),), "dryer_c": 150.0}),
        ("assumed_fibre", {"fibres": (("flax", 1.0),)}),
        ("outside_correlation", {"air_speed_m_per_s": 0.3}),
        ("uncalibrated_bed", {"air_way": "through"}),
    ],
)
def test_each_warning_is_given_when_it_is_due(key: str, change: dict[str, object]) -> None:
    assert key in warned(replace(TERMS, **change))  # type: ignore[arg-type]
    assert key not in warned(TERMS)


def test_doubt_with_a_seed() -> None:
    one, again = (exit_doubt(TERMS, draws=60, seed=3) for _ in range(2))
    assert one == again
    assert exit_doubt(TERMS, draws=60, seed=4) != one
    middle = run(TERMS).regain_after_frac
    assert one.end_low_frac < middle < one.end_high_frac
    assert sum(share for _, share in one.shares) == pytest.approx(1.0, rel=1e-12)
    assert one.largest


def test_no_doubt_is_no_spread_and_one_doubt_is_all_of_it() -> None:
    none = HeatDoubts(*[0.0] * 8)
    found = exit_doubt(TERMS, none, draws=20)
    assert found.end_low_frac == pytest.approx(run(TERMS).regain_after_frac, abs=1e-12)
    assert found.end_high_frac == pytest.approx(found.end_low_frac, abs=1e-12)
    assert (found.shares, found.largest) == ((), "")
    only = exit_doubt(TERMS, replace(none, air_speed_cv=0.2), draws=20)
    assert only.shares == (("air_speed_cv", pytest.approx(1.0)),)


def test_spread_against_the_delta_method() -> None:
    """A small doubt of the drying rate moves the regain by its slope."""
    doubt = replace(HeatDoubts(*[0.0] * 8), drying_factor_cv=0.02)
    found = exit_doubt(TERMS, doubt, draws=400, seed=2)
    up, down = (run(replace(TERMS, drying_factor=f)).regain_after_frac for f in (1.02, 0.98))
    width = 2 * 1.96 * 0.5 * abs(up - down)
    assert found.end_high_frac - found.end_low_frac == pytest.approx(width, rel=0.15)


def test_limits_by_hand() -> None:
    found = speed_limits(TERMS, WINDING)
    by_station = {one.station: one.feed_m_per_s for one in found.limits}
    assert by_station["winder"] == pytest.approx(5.5 * (200 / 5.5) / (200 / 5.5 + 7) / 0.8)
    assert by_station["steamer"] == pytest.approx(5.0 * (1.4 / (1.1 / 60)) / (10 * math.log(100)))
    # the 36 pairs of 6 lanes lie 70 spacings apart in all
    along, across = 70 / 36 * 1.5 / 1.1, 10 / 1.1
    busy = 6 * 0.8 / 200 * (7 + along) + 6 / 4000 * (60 + along + 2 * across)
    busy += 6 * 0.01e-3 * (30 + along) + 6 * 0.008e-3 * (25 + along + 2 * across)
    assert by_station["hands"] == pytest.approx(0.85 * 2 * 0.9375 / busy)
    assert found.hands_busy_frac == pytest.approx(busy * 5.0 / 1.875)
    assert by_station["feed"] == pytest.approx(400.0 / 60.0)
    assert found.least_feed_m_per_s == pytest.approx(5.0 * (1.4 / (1.1 / 60)) / 150.0)
    speeds = [one.feed_m_per_s for one in found.limits]
    assert speeds == sorted(speeds)
    assert found.first.station == "hands" and not found.within
    assert speed_limits(TERMS, replace(WINDING, hands=3)).within


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("across_m", 20.0), ("lane_spacing_m", 3.0), ("walk_m_per_s", 0.8), ("mend_s", 60.0),
        ("feed_breaks_per_km", 0.1), ("wind_breaks_per_km", 0.1), ("ball_m", 150.0),
        ("at_work_frac", 0.8), ("hands", 1),
    ],
)  # fmt: skip
def test_more_work_for_fewer_hands_limits_sooner(key: str, value: float) -> None:
    def hands_limit(winding: WindingTerms) -> float:
        found = speed_limits(TERMS, winding)
        return next(one.feed_m_per_s for one in found.limits if one.station == "hands")

    assert hands_limit(replace(WINDING, **{key: value})) < hands_limit(WINDING)


def test_one_lane_has_no_walk_along_the_row() -> None:
    one = replace(TERMS, lanes=1, belt_width_m=0.2)
    near, far = (
        speed_limits(one, replace(WINDING, lane_spacing_m=spacing)).hands_busy_frac
        for spacing in (1.0, 9.0)
    )
    assert near == far


@pytest.mark.parametrize("times", [0.3, 1.5, 3.8])
def test_a_faster_belt_alone_changes_no_regain_while_strand_lies_beside_strand(
    times: float,
) -> None:
    """Load and dwell fall alike, so what a kilogram dries in its time stays."""
    faster = replace(TERMS, belt_m_per_s=times * TERMS.belt_m_per_s)
    assert faster.dryer_dwell_s == pytest.approx(TERMS.dryer_dwell_s / times)
    assert run(faster).regain_cooled_frac == pytest.approx(run(TERMS).regain_cooled_frac, rel=1e-9)


def test_a_lay_thinner_than_one_layer_of_strand_is_refused_where_air_goes_over_it() -> None:
    # by hand: six strands, 4 m/s of each, as wide as a rod of 500 tex and 300 kg/m3
    wide_m = math.sqrt(4 * 500e-6 / (math.pi * 300.0))
    layers = 6 * 4.0 * wide_m / (1.1 / 60.0 * 0.5)
    assert TERMS.lay_layers == pytest.approx(layers)
    just = replace(TERMS, belt_m_per_s=0.999 * layers * TERMS.belt_m_per_s)
    assert run(just).regain_cooled_frac > 0.0
    bare_m_per_s = 1.001 * layers * TERMS.belt_m_per_s
    with pytest.raises(BadInput) as refused:
        replace(TERMS, belt_m_per_s=bare_m_per_s)
    (fault,) = refused.value.faults
    assert fault.key == "belt_m_per_s"
    assert "thinner than one layer" in fault.what
    most = float(fault.expected.removeprefix("at most ").split(" m/min")[0])
    assert 0.99 * layers * 1.1 < most <= layers * 1.1
    # through the lay every strand is dried all round, and less dwell leaves it damper
    through = replace(TERMS, air_way="through")
    thin = replace(through, belt_m_per_s=bare_m_per_s)
    assert run(thin).regain_cooled_frac > run(through).regain_cooled_frac


def test_the_dryers_limit_is_where_the_regain_is_just_right() -> None:
    found = speed_limits(TERMS, WINDING)
    feed = next(one.feed_m_per_s for one in found.limits if one.station == "dryer")
    assert run(at_feed(TERMS, feed)).regain_cooled_frac == pytest.approx(0.095, abs=1e-6)
    # the lay stays as it is
    assert at_feed(TERMS, feed).dry_load_kg_per_m2 == pytest.approx(TERMS.dry_load_kg_per_m2)


def test_a_line_without_a_speed_and_one_without_a_limit() -> None:
    cool = speed_limits(replace(TERMS, steam_c=90.0), replace(WINDING, fastest_feed_m_per_s=None))
    assert (cool.first.station, cool.first.feed_m_per_s) == ("steamer", 0.0)
    assert cool.unknown == ("feed",) and not cool.within
    dry = speed_limits(replace(TERMS, regain_wanted_frac=0.9), WINDING)
    assert dry.limits[-1].feed_m_per_s == math.inf
    assert plain_limits(dry)["limits"][-1]["feed_m_per_min"] is None


def test_every_bad_value_is_told_at_once() -> None:
    with pytest.raises(BadInput) as bad:
        replace(
            TERMS, dryer_c=500.0, feed_m_per_s=-1.0, drying_factor=math.nan, fibres=(("kapok", 1),)
        )
    assert [one.key for one in bad.value.faults] == [
        "feed_m_per_s", "dryer_c", "drying_factor", "fibre",
    ]  # fmt: skip
    with pytest.raises(BadInput):
        HeatDoubts(drying_factor_cv=-0.1)
    with pytest.raises(BadInput) as bad:
        replace(WINDING, ball_m=0.0, doff_s=-1.0, across_m=-1.0, wind_breaks_per_km=math.nan)
    assert len(bad.value.faults) == 4
    with pytest.raises(BadInput):
        exit_doubt(TERMS, draws=3)


def test_plain_values_carry_no_infinity() -> None:
    never = replace(TERMS, dryer_c=25.0, room_humidity=0.95, fresh_air_kg_per_h=1.0)
    plain = plain_heat(heat_answer(never, draws=20))
    assert plain["dryer"]["dry_enough"] is False
    json.dumps(plain, allow_nan=False)


def test_the_demo_lines_dryer_just_manages(demo_mill: Mill) -> None:
    for ball in demo_mill.ball:
        terms = heat_terms(demo_mill, "", ball.name)
        steam = steamed(terms)
        out = dried(terms, steam.regain_frac, steam.zone_c)
        wanted = terms.regain_wanted_frac
        assert 0.8 * wanted < out.regain_cooled_frac <= wanted, ball.name
        assert steam.dwell_s > steam.full_dwell_s


def test_terms_off_the_mill(demo_mill: Mill) -> None:
    terms = heat_terms(demo_mill, "Line 1", "Querl 100", "SL-207")
    nominal = heat_terms(demo_mill, "", "Querl 100")
    assert terms.count_tex != nominal.count_tex == 400.0
    assert (terms.line_name, terms.currency) == ("Line 1", "GBP")
    assert terms.belt_width_m == pytest.approx(0.5)
    assert heat_doubts(demo_mill, "").drying_factor_cv == 0.3
    winding = winding_terms(demo_mill, "", "Querl 100")
    assert winding.cone_m == pytest.approx(4000.0)
    assert winding.at_work_frac == pytest.approx(1.0 - 0.5 / 8.0)
    with pytest.raises(BadInput):
        heat_terms(demo_mill, "Line 9", "Querl 100")


@pytest.mark.parametrize("lot", ["", "SL-207"])
def test_winders_and_hands_are_those_of_the_simulated_shift(demo_mill: Mill, lot: str) -> None:
    """The mass that is declared binds: the ball is longer than its target length."""
    winding = winding_terms(demo_mill, "Line 1", "Querl 100", lot)
    shift = layout_of(demo_mill, "Line 1", "Querl 100", lot)
    kept = 1.0 - shift.shrink_frac
    assert winding.ball_m == pytest.approx(kept * shift.ball_m)
    assert winding.ball_m > promise_of(demo_mill.find_ball("Querl 100")).target_length_m
    assert winding.wind_m_per_s == pytest.approx(kept * shift.wind_m_per_s)
    assert winding.tie_s + winding.cone_load_s == shift.load_s
    for key in (
        "cone_m", "doff_s", "mend_s", "hands", "across_m", "walk_m_per_s",
        "feed_breaks_per_km", "wind_breaks_per_km",
    ):  # fmt: skip
        assert getattr(winding, key) == getattr(shift, key), key


def test_where_the_hands_limit_is_met_the_simulated_line_still_keeps_up(demo_mill: Mill) -> None:
    """At the estimate two hands let the belt fill now and then; a tenth above, it stands."""
    terms = heat_terms(demo_mill, "Line 1", "Querl 100")
    found = speed_limits(terms, winding_terms(demo_mill, "Line 1", "Querl 100"))
    hands = next(one.feed_m_per_s for one in found.limits if one.station == "hands")
    shift = layout_of(demo_mill, "Line 1", "Querl 100")
    at, above = (
        shift_answer(replace(shift, feed_m_per_s=feed), replications=10, seed=1).feed_stop_frac
        for feed in (hands, 1.1 * hands)
    )
    assert at < 0.04
    assert above > 0.06
