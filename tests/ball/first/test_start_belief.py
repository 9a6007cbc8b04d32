"""A belief starts where the run card stands, and goes on only with what it is about."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from clew.ball.doubt import doubt_of
from clew.ball.first.about import about_of
from clew.ball.first.belief import Belief, update
from clew.ball.first.line_settings import expected_wind
from clew.ball.first.next_balls import next_balls
from clew.ball.first.start_belief import going_on, start_belief
from clew.ball.first.weighed import FirstBall
from clew.ball.from_mill import Terms, terms_of
from clew.ball.turns import set_turns
from clew.faults import BadInput
from clew.mill.model import Mill


def soft_terms(mill: Mill, _: str, lot: str) -> Terms:
    """A soft yarn wound hard, none of whose stretch comes back."""
    terms = terms_of(mill, "Querl 100", lot)
    strand = replace(terms.strand, modulus_cn_per_tex=9.0, recovery_frac=0.0)
    winding = replace(terms.winding, tension_cn=800.0, tension_sd_cn=40.0)
    return replace(terms, strand=strand, winding=winding)


@pytest.mark.parametrize(
    ("make", "ball", "lot"),
    [
        (terms_of, "Querl 100", "SL-207"),
        (terms_of, "Dunnow 50", "SA-340"),
        (terms_of, "Sallowe 100", "SA-352"),
        (soft_terms, "soft", "SL-207"),
    ],
)
def test_the_belief_and_the_card_tell_one_ball_the_same(
    demo_mill: Mill, make: Callable[[Mill, str, str], Terms], ball: str, lot: str
) -> None:
    """Before any ball is weighed, a single ball spreads as the card says: one model, not two."""
    terms = make(demo_mill, ball, lot)
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    weighed = replace(terms.promise, commercial=False)
    card = doubt_of(answer.law, terms.strand, weighed, terms.winding)
    belief = start_belief(terms, demo_mill.line[0], answer)
    told = next_balls(belief, "1", expected_wind(terms, answer), float(answer.turns))
    assert told.mass_ball_sd == pytest.approx(card.mass_log_sd, rel=1e-3)
    assert told.length_ball_sd == pytest.approx(card.length_log_sd, rel=1e-3)
    assert told.mass_mean_g.middle == pytest.approx(answer.as_weighed_g, rel=1e-6)
    assert told.length_mean_m.middle == pytest.approx(answer.length_m, rel=1e-6)


def test_hard_winding_parts_the_elasticities_from_area_alone(demo_mill: Mill) -> None:
    """A heavier yarn also stretches less: at 800 cN by far more than rounding."""
    terms = soft_terms(demo_mill, "", "SL-207")
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    spreads = start_belief(terms, demo_mill.line[0], answer).spreads
    strain = 800.0 / (terms.strand.count_tex * 9.0)
    more = 1.0 + strain / (1.0 + strain)
    assert spreads.length_elasticity == pytest.approx(answer.area_elasticity * more, rel=1e-4)
    assert spreads.mass_elasticity == pytest.approx((1 + answer.area_elasticity) * more, rel=1e-4)


def test_the_belief_starts_from_the_mill_files_own_spreads(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Querl 100", "SL-207")
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    spreads = start_belief(terms, demo_mill.line[0], answer).spreads
    assert spreads.winder_cv == terms.winding.turn_length_cv
    assert spreads.cone_cv == demo_mill.find_yarn("Querl").count_cone_cv
    run = [spread.cv for spread in terms.strand.spreads if not spread.per_ball]
    assert spreads.lot_cv == pytest.approx(float(np.hypot(*run)))
    assert (spreads.scale_sd_g, spreads.reel_cv) == (0.1, 0.003)


def spread_terms(mill: Mill, factor: float) -> Terms:
    """Terms with every spread times a factor."""
    terms = terms_of(mill, "Querl 100", "SL-207")
    strand, winding = terms.strand, terms.winding
    return replace(
        terms,
        strand=replace(
            strand,
            spreads=tuple(replace(one, cv=factor * one.cv) for one in strand.spreads),
            moisture=replace(strand.moisture, cv=factor * strand.moisture.cv),
        ),
        winding=replace(
            winding,
            pack_density_cv=factor * winding.pack_density_cv,
            tension_sd_cn=factor * winding.tension_sd_cn,
            turn_length_cv=factor * winding.turn_length_cv,
        ),
    )


def test_a_mill_that_states_no_spread_still_gets_a_belief(demo_mill: Mill) -> None:
    terms = spread_terms(demo_mill, 0.0)
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    line = demo_mill.line[0].model_copy(update={"reel_cv": 0.0})
    belief = start_belief(terms, line, answer)
    assert belief.spreads.own_cov == ((1e-12, 0.0), (0.0, 1e-12))
    ball = FirstBall("1", "1", (("A", 1.0),), 785.0, 101.5, 201.0, 101.0, 200.0)
    after = update(belief, [ball, replace(ball, ball_id="2", length_m=None)])
    assert not after.mean.any()
    assert Belief.from_plain(after.to_plain()).balls == after.balls


def test_too_wide_a_spread_is_refused_under_the_mill_files_own_keys(demo_mill: Mill) -> None:
    """Shrink of 89 % known to 10 points: what stays of a strand may be anything."""
    terms = terms_of(demo_mill, "Querl 100", "SL-207")
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    wide = tuple(
        replace(one, cv=0.10 / 0.11) if one.key == "shrink" else one for one in terms.strand.spreads
    )
    terms = replace(
        terms,
        strand=replace(terms.strand, spreads=wide),
        winding=replace(terms.winding, turn_length_cv=0.9),
    )
    with pytest.raises(BadInput) as caught:
        start_belief(terms, demo_mill.line[0], answer)
    assert [fault.key for fault in caught.value.faults] == [
        "turn_length_cv",
        "count_spun_cv, shrink_sd beside shrink",
    ]


def about_belief(mill: Mill, ball: str, lot: str) -> Belief:
    terms = terms_of(mill, ball, lot)
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    return start_belief(terms, mill.line[0], answer, about_of(mill, ball, lot))


def weighed(belief: Belief) -> Belief:
    balls = [
        FirstBall("1", "1", (("A", 1.0),), 785.0, 103.0, 204.0, 101.0, 200.0),
        FirstBall("2", "2", (("B", 1.0),), 785.0, 100.0, 199.0, 101.0, 200.0),
    ]
    return update(belief, balls)


def test_another_lot_keeps_the_winders_and_forgets_the_yarn(demo_mill: Mill) -> None:
    saved = weighed(about_belief(demo_mill, "Querl 100", "SL-207"))
    fresh = about_belief(demo_mill, "Querl 100", "BR-088")
    now, words = going_on(saved, fresh)
    winders = slice(1, 7)
    assert np.array_equal(now.mean[winders], saved.mean[winders])
    assert np.array_equal(now.covariance[winders, winders], saved.covariance[winders, winders])
    assert now.mean[0] == 0.0
    assert now.covariance[0, 0] == fresh.covariance[0, 0]
    assert not now.covariance[0, 1:].any()
    assert (now.cones, now.balls, now.odd) == ((), (), ())
    assert now.about == fresh.about
    assert "winders are carried over from dye lot SL-207" in words
    assert "BR-088 starts afresh" in words


def test_the_same_lot_goes_on_as_it_was(demo_mill: Mill) -> None:
    fresh = about_belief(demo_mill, "Querl 100", "SL-207")
    saved = weighed(fresh)
    now, words = going_on(saved, fresh)
    assert now is saved
    assert words == ""


def test_a_belief_about_another_ball_is_refused(demo_mill: Mill) -> None:
    saved = weighed(about_belief(demo_mill, "Querl 100", "SL-207"))
    with pytest.raises(BadInput, match="ball Querl 100, not Dunnow 50; yarn Querl, not Dunnow"):
        going_on(saved, about_belief(demo_mill, "Dunnow 50", "SA-340"))
    with pytest.raises(BadInput, match="does not say what it is about"):
        going_on(replace(saved, about=None), about_belief(demo_mill, "Querl 100", "SL-207"))
