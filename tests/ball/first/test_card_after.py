"""The run card after first balls: set as they advise, called out by what they left."""

from __future__ import annotations

import pytest

from clew.ball.first.about import about_of
from clew.ball.first.belief import Belief, update
from clew.ball.first.line_settings import expected_wind
from clew.ball.first.start_belief import start_belief
from clew.ball.first.weighed import FirstBall
from clew.ball.from_mill import terms_of
from clew.ball.run_card import run_card_of
from clew.ball.turns import set_turns
from clew.faults import BadInput
from clew.mill.model import Mill


def start(mill: Mill, ball: str, lot: str) -> Belief:
    terms = terms_of(mill, ball, lot)
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    return start_belief(terms, mill.line[0], answer, about_of(mill, ball, lot))


def long_winder(mill: Mill, ball: str, lot: str) -> Belief:
    """Six balls of winder 4, each 3 % long and heavy."""
    terms = terms_of(mill, ball, lot)
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    length_m, mass_g = expected_wind(terms, answer).at(answer.turns)
    balls = [
        FirstBall(
            str(i),
            "4",
            ((f"C{i}", 1.0),),
            float(answer.turns),
            1.03 * mass_g,
            1.03 * length_m,
            mass_g,
            length_m,
        )
        for i in range(6)
    ]
    return update(start(mill, ball, lot), balls)


@pytest.mark.parametrize(("ball", "lot"), [("Querl 100", "SL-207"), ("Dunnow 50", "SA-340")])
def test_before_any_ball_the_belief_changes_nothing_on_the_card(
    demo_mill: Mill, ball: str, lot: str
) -> None:
    plain = run_card_of(demo_mill, ball, lot)
    card = run_card_of(demo_mill, ball, lot, "", start(demo_mill, ball, lot))
    assert (plain.first_balls, card.first_balls) == (0, 0)
    assert [row.counts for row in card.settings] == [row.counts for row in plain.settings]
    for row, wanted in zip(card.settings, plain.settings, strict=True):
        assert row.turns == wanted.turns
        assert row.mass_g == pytest.approx(wanted.mass_g, rel=1e-6)
        assert row.scale_mass_g == pytest.approx(wanted.scale_mass_g, rel=1e-6)
        assert row.length_m == pytest.approx(wanted.length_m, rel=1e-6)
    for band in ("call_out_mass_g", "call_out_scale_g", "call_out_length_m"):
        found, wanted_band = getattr(card, band), getattr(plain, band)
        # coarse counters set some winders higher, so the middle of all lies a little above
        assert found.high / found.low == pytest.approx(wanted_band.high / wanted_band.low, rel=5e-3)
        assert found.low == pytest.approx(wanted_band.low, rel=5e-3)


def test_a_long_winder_is_set_lower_and_its_ball_is_then_on_target(demo_mill: Mill) -> None:
    belief = long_winder(demo_mill, "Querl 100", "SL-207")
    before = run_card_of(demo_mill, "Querl 100", "SL-207")
    card = run_card_of(demo_mill, "Querl 100", "SL-207", "", belief)
    assert card.first_balls == 6
    four, was = card.settings[3], before.settings[3]
    assert four.counts < was.counts
    assert four.turns == four.counts
    assert 101.0 <= four.mass_g < 101.3
    assert four.scale_mass_g == pytest.approx(four.mass_g)


def test_the_band_narrows_with_what_is_known(demo_mill: Mill) -> None:
    card = run_card_of(
        demo_mill, "Dunnow 50", "SA-340", "", long_winder(demo_mill, "Dunnow 50", "SA-340")
    )
    before = run_card_of(demo_mill, "Dunnow 50", "SA-340")
    for band in ("call_out_mass_g", "call_out_scale_g"):
        found, wanted = getattr(card, band), getattr(before, band)
        assert found.high / found.low < wanted.high / wanted.low
    # a commercial mass never spreads as a scale's does
    promised, scale = card.call_out_mass_g, card.call_out_scale_g
    assert promised.high / promised.low < scale.high / scale.low


def test_a_belief_about_something_else_is_refused(demo_mill: Mill) -> None:
    belief = long_winder(demo_mill, "Querl 100", "SL-207")
    for ball, lot, words in (
        ("Querl 200", "SL-207", "about ball Querl 100, not Querl 200"),
        ("Querl 100", "BR-088", "about dye lot SL-207, not BR-088"),
        ("Querl 100", "", "without its dye lot"),
    ):
        with pytest.raises(BadInput, match=words):
            run_card_of(demo_mill, ball, lot, "", belief)
