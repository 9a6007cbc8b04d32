"""The creel's answer: it agrees with the rooms it is made of and with plain reckoning."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ball.from_mill import strand_of
from clew.ball.yarn_answer import SAMPLE_BALLS, YarnAnswer, yarn_answer
from clew.mill.model import Mill


@pytest.fixture
def sloe(demo_mill: Mill) -> YarnAnswer:
    yarn = demo_mill.find_yarn("Querl")
    return yarn_answer(yarn, demo_mill.find_blend(yarn.blend), demo_mill.find_dye_lot("SL-207")[1])


def test_the_count_after_steam_is_mass_over_length(sloe: YarnAnswer) -> None:
    """At 9.2 % regain, 0.8 % finish off, 9.5 % regain after, a fifth shorter."""
    count = sloe.strand.count_spun_tex
    assert sloe.steamed.count_tex == pytest.approx(count * 0.992 * 1.095 / 1.092 / 0.8)
    assert sloe.before.count_tex == pytest.approx(count)
    assert sloe.nominal_tex < count < 403.0 == sloe.measured_tex


def test_the_winder_meets_the_strand_that_the_creel_promised(demo_mill: Mill) -> None:
    for colour in demo_mill.colour:
        for lot in colour.dye_lot:
            yarn = demo_mill.find_yarn(lot.yarn)
            blend = demo_mill.find_blend(yarn.blend)
            answer = yarn_answer(yarn, blend, lot)
            assert answer.strand == strand_of(yarn, blend, lot)
            assert answer.after.count_tex == pytest.approx(answer.strand.count_tex)


def test_the_interval_holds_every_source_once(sloe: YarnAnswer) -> None:
    variance = math.fsum(part.ln_sd**2 for part in sloe.parts)
    assert sloe.after.ln_sd == pytest.approx(math.sqrt(variance), rel=2e-3)
    assert math.fsum(part.share for part in sloe.parts) == pytest.approx(1.0)
    assert [part.share for part in sloe.parts] == sorted(
        (part.share for part in sloe.parts), reverse=True
    )


def test_a_mean_is_surer_than_a_ball_and_the_cone_surer_than_after_steam(sloe: YarnAnswer) -> None:
    assert sloe.mean_after.ln_sd < sloe.after.ln_sd
    assert sloe.before.ln_sd < sloe.after.ln_sd


def test_the_mass_of_the_lot_is_its_cones(sloe: YarnAnswer) -> None:
    assert sloe.on_creel.net_mass_kg == pytest.approx(96 * 1.6)
    dry = 96 * 1.6 / 1.092
    assert sloe.on_creel.dry_mass_kg == pytest.approx(dry)
    allowance = 0.55 * 0.1825 + 0.45 * 0.02
    assert sloe.on_creel.commercial_mass_kg == pytest.approx(dry * (1 + allowance))
    assert sloe.as_balls.commercial_mass_kg == pytest.approx(dry * 0.992 * (1 + allowance))


def test_regain_and_content_are_the_same_water(sloe: YarnAnswer) -> None:
    assert sloe.content_in_frac == pytest.approx(0.092 / 1.092)
    assert sloe.content_out_frac == pytest.approx(0.095 / 1.095)


def test_balls_of_one_cone_are_worth_less_than_their_number(sloe: YarnAnswer) -> None:
    assert 1.0 <= sloe.sample_worth < SAMPLE_BALLS / 3


def test_a_yarn_without_a_lot_is_reckoned_by_the_cone(demo_mill: Mill) -> None:
    yarn = demo_mill.find_yarn("Sallowe")
    answer = yarn_answer(yarn, demo_mill.find_blend(yarn.blend))
    assert answer.cones == 1
    assert answer.measured_tex is None
    assert answer.on_creel.net_mass_kg == pytest.approx(2.0)


@given(st.floats(0.5, 0.99), st.floats(0.5, 0.99))
def test_more_confidence_is_a_wider_interval(demo_mill: Mill, one: float, other: float) -> None:
    yarn = demo_mill.yarn[0]
    blend = demo_mill.find_blend(yarn.blend)
    low, high = sorted((one, other))
    narrow, wide = (yarn_answer(yarn, blend, confidence=level).after for level in (low, high))
    assert wide.low_tex <= narrow.low_tex * (1 + 1e-12)
    assert narrow.high_tex <= wide.high_tex * (1 + 1e-12)


def test_every_source_of_doubt_is_named_with_its_own_share(sloe: YarnAnswer) -> None:
    """Key and words of each source stay in their places; its share is its square over the sum."""
    sources = {one.key: one for one in (*sloe.strand.spreads, sloe.strand.moisture)}
    whole = math.fsum(source.cv**2 for source in sources.values())
    assert {part.key for part in sloe.parts} == {key for key, one in sources.items() if one.cv}
    for part in sloe.parts:
        source = sources[part.key]
        assert (part.words, part.ln_sd) == (source.words, source.cv)
        assert part.share == pytest.approx(source.cv**2 / whole)


def test_a_source_without_spread_is_no_part(demo_mill: Mill) -> None:
    yarn = demo_mill.find_yarn("Querl")
    steady = yarn.model_copy(update={"shrink_sd_frac": 0.0})
    blend = demo_mill.find_blend(yarn.blend)
    before, after = ({part.key for part in yarn_answer(one, blend).parts} for one in (yarn, steady))
    assert before - after == {"shrink"}
