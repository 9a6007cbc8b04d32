"""The last turn of a ball, read off a longer one, is that of the ball itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from clew.ball.first.line_settings import expected_wind
from clew.ball.from_mill import Terms, terms_of
from clew.ball.last_turn import last_turn
from clew.ball.turns import set_turns
from clew.faults import BadInput
from clew.mill.model import Mill


def terms_for(mill: Mill, ball: str, mass_frac: float) -> Terms:
    """Terms of a ball set to another mass than the mill file's."""
    terms = terms_of(mill, ball, "", mill.line[0].name)
    promise = terms.promise
    return replace(terms, promise=replace(promise, target_mass_g=mass_frac * promise.target_mass_g))


@pytest.mark.parametrize("commercial", [False, True])
@pytest.mark.parametrize("mass_frac", [0.9, 1.0, 1.013, 1.3])
@pytest.mark.parametrize("ball", ["Querl 100", "Dunnow 50"])
def test_it_says_what_the_whole_answer_says(
    demo_mill: Mill, ball: str, mass_frac: float, commercial: bool
) -> None:
    terms = terms_for(demo_mill, ball, mass_frac)
    terms = replace(terms, promise=replace(terms.promise, commercial=commercial))
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    wind = expected_wind(terms, answer)
    last = last_turn(terms.strand, terms.promise, terms.winding)
    assert last.turns == answer.turns
    assert last.as_weighed_g == pytest.approx(answer.as_weighed_g, rel=1e-12)
    length_m = wind.at(answer.turns)[0] - wind.at(answer.turns - 1)[0]
    assert last.length_m == pytest.approx(length_m, rel=1e-10)
    assert last.mass_g == pytest.approx(length_m * wind.mass_g_per_m, rel=1e-10)


@pytest.mark.parametrize("step", [1.001, 3.0])
def test_it_is_the_same_to_the_last_digit_however_far_the_ball_is_wound(
    demo_mill: Mill, monkeypatch: pytest.MonkeyPatch, step: float
) -> None:
    terms = terms_for(demo_mill, "Querl 100", 1.01)
    plain = last_turn(terms.strand, terms.promise, terms.winding)
    monkeypatch.setattr("clew.ball.last_turn._STEP", step)
    assert last_turn(terms.strand, terms.promise, terms.winding) == plain


def test_a_ball_that_no_winder_makes_is_refused(demo_mill: Mill) -> None:
    terms = terms_for(demo_mill, "Querl 100", 1e4)
    with pytest.raises(BadInput):
        last_turn(terms.strand, terms.promise, terms.winding)
