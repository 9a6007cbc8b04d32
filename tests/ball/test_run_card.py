"""A run card's numbers: each winder's own counts, the scale's masses, the belt."""

from __future__ import annotations

import math

import pytest

from clew.ball.ball_answer import CALL_OUT_CONFIDENCE, strand_width_mm
from clew.ball.doubt import draw_balls
from clew.ball.from_mill import terms_of
from clew.ball.run_card import run_card_of
from clew.ball.turns import set_turns
from clew.faults import BadInput
from clew.mill.model import Mill


def test_each_winder_is_set_to_the_fewest_counts_that_give_the_turns(demo_mill: Mill) -> None:
    card = run_card_of(demo_mill, "Querl 100", "SL-207")
    assert [row.lane for row in card.settings] == [1, 2, 3, 4, 5, 6]
    for row in card.settings:
        a_count = row.turns / row.counts
        assert row.turns >= card.answer.turns > row.turns - a_count


def test_a_coarse_counter_gives_the_ball_it_really_gives(demo_mill: Mill) -> None:
    """Winder 5 counts tens of turns: its ball is the one of its own turns, not of those asked."""
    card = run_card_of(demo_mill, "Querl 100", "SL-207")
    five = card.settings[4]
    terms = card.terms
    at_its_turns = set_turns(terms.strand, terms.promise, terms.winding, turns=round(five.turns))
    assert five.turns % 10 == 0
    assert five.mass_g == pytest.approx(at_its_turns.mass_g, rel=1e-6)
    assert five.length_m == pytest.approx(at_its_turns.length_m, rel=1e-6)


def test_a_commercial_ball_is_called_out_as_the_scale_shows_it(demo_mill: Mill) -> None:
    """The scale sees regain spread that the commercial mass does not: its band is wider."""
    card = run_card_of(demo_mill, "Dunnow 50", "SA-340")
    answer, scale = card.answer, card.call_out_scale_g
    ratio = answer.as_weighed_g / answer.mass_g
    assert scale.high - scale.low > ratio * (card.call_out_mass_g.high - card.call_out_mass_g.low)
    assert card.settings[0].scale_mass_g == pytest.approx(ratio * card.settings[0].mass_g)


def test_three_in_a_thousand_drawn_balls_are_called_out(demo_mill: Mill) -> None:
    card = run_card_of(demo_mill, "Querl 100", "SL-207")
    terms = terms_of(demo_mill, "Querl 100", "SL-207")
    drawn = draw_balls(
        card.answer.law, terms.strand, terms.promise, terms.winding, balls=60_000, seed=2
    )
    outside = (drawn.mass_g < card.call_out_scale_g.low) | (
        drawn.mass_g > card.call_out_scale_g.high
    )
    wanted = 1 - CALL_OUT_CONFIDENCE
    assert float(outside.mean()) == pytest.approx(wanted, abs=5 * math.sqrt(wanted / 60_000) + 5e-4)


def test_the_belt_takes_off_what_steam_leaves(demo_mill: Mill) -> None:
    card = run_card_of(demo_mill, "Querl 100", "SL-207")
    assert card.belt.take_off_m_per_s == pytest.approx(card.feed_m_per_s * 0.8)
    assert card.dryer_dwell_s == pytest.approx(5.5 / (1.1 / 60))
    assert card.belt.dwell_s == pytest.approx(1.4 / (1.1 / 60))


def test_a_strand_is_as_broad_as_it_is_high() -> None:
    assert strand_width_mm(4.0) == 2.0


def test_a_lot_of_another_yarn_is_refused(demo_mill: Mill) -> None:
    with pytest.raises(BadInput, match="is of Dunnow"):
        run_card_of(demo_mill, "Querl 100", "SA-340")
