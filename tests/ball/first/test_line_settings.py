"""Every winder of a line: where it stands, and what a lot is worth."""

from __future__ import annotations

import pytest

from clew.ball.first.belief import update
from clew.ball.first.line_settings import (
    balls_of_lot,
    counter_of,
    expected_wind,
    line_settings,
    targets,
)
from clew.ball.first.next_balls import Wind
from clew.ball.first.start_belief import start_belief
from clew.ball.first.weighed import FirstBall
from clew.ball.from_mill import Terms, terms_of
from clew.ball.turns import TurnsAnswer, set_turns
from clew.faults import BadInput
from clew.mill.model import Mill


@pytest.fixture(scope="module")
def run(demo_mill: Mill) -> tuple[Terms, TurnsAnswer, Wind]:
    terms = terms_of(demo_mill, "Dunnow 50", "SA-340")
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    return terms, answer, expected_wind(terms, answer)


def test_a_winder_stands_at_its_last_ball_or_at_the_cards_counts(
    demo_mill: Mill, run: tuple[Terms, TurnsAnswer, Wind]
) -> None:
    terms, answer, wind = run
    ball, line = demo_mill.find_ball("Dunnow 50"), demo_mill.line[0]
    length_m, mass_g = wind.at(900.0)
    seen = [
        FirstBall(name, "5", (("A", 1.0),), turns, mass_g, length_m, mass_g, length_m)
        for name, turns in (("1", 870.0), ("2", 900.0))
    ]
    belief = update(start_belief(terms, line, answer), seen)
    found = line_settings(belief, wind, terms, ball, line, answer, demo_mill.prices, lot_balls=1000)
    assert [one.winder for one in found] == ["1", "2", "3", "4", "5", "6"]
    assert found[4].present_counts == 90
    for one, winder in zip(found, line.winder, strict=True):
        counter = counter_of(line, ball, winder.number)
        if winder.number != 5:
            assert one.present_counts == counter.counts_for_turns(answer.turns).counts


def test_targets_are_what_the_scale_is_to_show(run: tuple[Terms, TurnsAnswer, Wind]) -> None:
    """A commercial target of 50 g is another mass on the scale; the length is the same."""
    terms, answer, wind = run
    mass_g, length_m = targets(terms, answer)
    assert mass_g == pytest.approx(50.0 * answer.as_weighed_g / answer.mass_g)
    assert length_m == 205.0
    assert wind.at(answer.turns) == pytest.approx((answer.length_m, answer.as_weighed_g))


def test_a_counter_that_is_not_there_is_one_line(demo_mill: Mill) -> None:
    with pytest.raises(BadInput, match="no such winder on Line 1"):
        counter_of(demo_mill.line[0], demo_mill.find_ball("Querl 100"), 7)


def test_a_lot_makes_whole_balls() -> None:
    assert balls_of_lot(101.0, 96, 1600.0) == 1520
    assert balls_of_lot(101.0, 0, 1600.0) == 15
