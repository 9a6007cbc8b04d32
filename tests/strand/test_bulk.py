"""Steam bulk: length shrinks, dry fibre stays, spreads are carried through."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.strand.bulk import belt_balance, shrink_for_count, steamed, steamed_spread

TEX = st.floats(10.0, 2000.0)
SHRINK = st.floats(0.0, 0.6)
SMALL = st.floats(0.0, 0.3)


@pytest.mark.parametrize(
    ("shrink", "count_tex", "length_m", "overfeed"),
    [(0.15, 470.588, 212.5, 0.17647), (0.20, 500.0, 200.0, 0.25), (0.25, 533.333, 187.5, 0.33333)],
)
def test_400_tex_at_three_shrinks(shrink, count_tex, length_m, overfeed) -> None:
    found = steamed(400.0, shrink)
    assert found.count_tex == pytest.approx(count_tex, abs=5e-4)
    assert found.length_m_per_100g == pytest.approx(length_m, abs=1e-9)
    assert found.overfeed_frac == pytest.approx(overfeed, abs=5e-6)


def test_a_cone_makes_as_many_balls_by_mass_however_it_shrinks() -> None:
    """2 kg of 400 tex: 5000 m come, 4000 m leave at 20 %, and it still is 20 balls of 100 g."""
    found = steamed(400.0, 0.20)
    assert 5000.0 * found.take_up_ratio == pytest.approx(4000.0)
    assert 4000.0 / found.length_m_per_100g == pytest.approx(20.0)


@given(count=TEX, shrink=SHRINK, finish=SMALL, regain_in=SMALL, regain_out=SMALL)
def test_dry_fibre_is_conserved(count, shrink, finish, regain_in, regain_out) -> None:
    """1 km comes: its dry mass less the finish stands on the shortened length."""
    found = steamed(
        count,
        shrink,
        finish_loss_frac=finish,
        regain_in_frac=regain_in,
        regain_out_frac=regain_out,
    )
    dry_in_g = count / (1.0 + regain_in)
    left_km = 1.0 - shrink
    assert found.dry_count_out_tex * left_km == pytest.approx(dry_in_g * (1.0 - finish), rel=1e-12)
    assert found.dry_count_in_tex == pytest.approx(dry_in_g, rel=1e-12)
    wet_out_g = dry_in_g * (1.0 - finish) * (1.0 + regain_out)
    assert found.count_tex == pytest.approx(wet_out_g / left_km, rel=1e-12)


@given(count=TEX, shrink=SHRINK)
def test_overfeed_is_feed_over_take_off(count: float, shrink: float) -> None:
    found = steamed(count, shrink)
    assert found.overfeed_frac == pytest.approx(1.0 / found.take_up_ratio - 1.0, abs=1e-12)


@given(count=TEX, low=SHRINK, more=st.floats(1e-6, 0.3))
def test_more_shrink_makes_a_thicker_yarn(count: float, low: float, more: float) -> None:
    assert steamed(count, low + more).count_tex > steamed(count, low).count_tex


def test_a_point_of_shrink_at_20_percent_is_1_25_percent_of_count() -> None:
    ratio = steamed(400.0, 0.2001).count_tex / steamed(400.0, 0.2).count_tex
    assert (ratio - 1.0) / 0.0001 == pytest.approx(1.25, abs=1e-3)


@given(count=TEX, shrink=SHRINK, finish=SMALL, regain_in=SMALL, regain_out=SMALL)
def test_shrink_comes_back_from_the_count(count, shrink, finish, regain_in, regain_out) -> None:
    rest = {
        "finish_loss_frac": finish,
        "regain_in_frac": regain_in,
        "regain_out_frac": regain_out,
    }
    wanted = steamed(count, shrink, **rest).count_tex
    assert shrink_for_count(count, wanted, **rest) == pytest.approx(shrink, abs=1e-12)


def test_steam_does_not_make_a_yarn_finer() -> None:
    with pytest.raises(BadInput, match="finer"):
        shrink_for_count(400.0, 390.0)


@pytest.mark.parametrize("shrink", [-0.01, 1.0, 20.0, math.nan])
def test_a_shrink_that_cannot_be_is_refused(shrink: float) -> None:
    with pytest.raises(BadInput, match="shrink"):
        steamed(400.0, shrink)


def test_the_spread_agrees_with_drawing_yarns_at_random() -> None:
    found = steamed_spread(
        400.0,
        0.20,
        shrink_sd_frac=0.012,
        count_cv_frac=0.018,
        regain_out_sd_frac=0.01,
        regain_in_frac=0.10,
        regain_out_frac=0.12,
        level=0.90,
    )
    draw = np.random.default_rng(20)
    shrink = draw.normal(0.20, 0.012, 200_000)
    count = 400.0 * draw.normal(1.0, 0.018, 200_000)
    regain = draw.normal(0.12, 0.01, 200_000)
    drawn = count * (1.0 + regain) / 1.10 / (1.0 - shrink)
    assert np.log(drawn).std() == pytest.approx(found.ln_sd, rel=0.01)
    held = np.mean((drawn > found.low_tex) & (drawn < found.high_tex))
    assert held == pytest.approx(0.90, abs=0.005)


@given(
    shrink_sd=st.floats(0.001, 0.05), count_cv=st.floats(0.0, 0.05), regain_sd=st.floats(0.0, 0.05)
)
def test_the_shares_make_the_whole_variance(shrink_sd, count_cv, regain_sd) -> None:
    found = steamed_spread(
        400.0,
        0.2,
        shrink_sd_frac=shrink_sd,
        count_cv_frac=count_cv,
        regain_out_sd_frac=regain_sd,
    )
    shares = (found.shrink_share, found.count_share, found.regain_share)
    assert sum(shares) == pytest.approx(1.0)
    assert found.low_tex < found.count_tex < found.high_tex


@pytest.mark.parametrize("shrink", [0.0, 0.2, 0.4])
def test_the_ends_are_right_to_0_6_percent_at_the_limit_of_validity(shrink: float) -> None:
    """Naive check: the shrink's own quantiles, sent through the formula one by one."""
    sd = (1.0 - shrink) / 20.0
    found = steamed_spread(400.0, shrink, shrink_sd_frac=sd)
    for end, quantile in ((found.low_tex, -1.959964), (found.high_tex, 1.959964)):
        exact = 400.0 / (1.0 - shrink - quantile * sd)
        assert abs(end - exact) < 0.006 * found.count_tex


def test_no_spread_gives_an_interval_of_one_point() -> None:
    found = steamed_spread(400.0, 0.2, shrink_sd_frac=0.0)
    assert found.low_tex == found.count_tex == found.high_tex
    assert found.shrink_share == found.count_share == found.regain_share == 0.0


@pytest.mark.parametrize("level", [0.0, 1.0, 95.0, math.nan])
def test_a_level_lies_between_0_and_1(level: float) -> None:
    with pytest.raises(BadInput, match="level"):
        steamed_spread(400.0, 0.2, shrink_sd_frac=0.01, level=level)


def test_a_worked_line_of_twelve_ends() -> None:
    """12 ends of 2/28 Nm at 600 m/min on a belt at 1 m/min, 0.4 m wide, 0.8 m of steam."""
    found = belt_balance(
        600 / 60,
        0.20,
        1.0 / 60,
        count_tex=1000 / 14,
        ends=12,
        belt_width_m=0.40,
        coil_diameter_m=0.18,
        steam_length_m=0.8,
    )
    assert found.take_off_m_per_s * 60 == pytest.approx(480.0)
    assert found.overfeed_frac == pytest.approx(0.25)
    assert found.lay_ratio == pytest.approx(600.0)
    assert found.belt_load_kg_per_m == pytest.approx(0.514286, abs=5e-7)
    assert found.belt_load_kg_per_m2 == pytest.approx(1.285714, abs=5e-7)
    assert found.coils_per_s * 60 == pytest.approx(1061, abs=0.5)
    assert found.coil_pitch_m * 1000 == pytest.approx(0.942, abs=5e-4)
    assert found.dwell_s == pytest.approx(48.0)


@given(feed=st.floats(0.1, 30.0), belt=st.floats(0.001, 1.0), shrink=SHRINK, count=TEX)
def test_what_the_belt_carries_away_is_what_is_fed(feed, belt, shrink, count) -> None:
    found = belt_balance(feed, shrink, belt, count_tex=count, ends=3, coil_diameter_m=0.2)
    fed_kg_per_s = 3 * feed * count * 1e-6
    assert found.belt_load_kg_per_m * belt == pytest.approx(fed_kg_per_s, rel=1e-12)
    taken_kg_per_s = 3 * found.take_off_m_per_s * steamed(count, shrink).count_tex * 1e-6
    assert taken_kg_per_s == pytest.approx(fed_kg_per_s, rel=1e-9)
    assert found.coil_pitch_m * found.coils_per_s == pytest.approx(belt, rel=1e-12)


def test_what_was_not_given_is_not_answered() -> None:
    found = belt_balance(10.0, 0.2, 0.02, count_tex=70.0)
    assert found.belt_load_kg_per_m2 is None
    assert found.coil_pitch_m is found.coils_per_s is found.dwell_s is None


@given(count=st.floats(20.0, 3000.0))
def test_a_count_finer_by_rounding_alone_is_no_shrink_below_nothing(count: float) -> None:
    assert shrink_for_count(count, count) == pytest.approx(0.0, abs=1e-12)
    assert shrink_for_count(count, count * (1.0 - 5e-13)) == 0.0
