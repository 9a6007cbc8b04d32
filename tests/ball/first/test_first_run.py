"""First balls on a mill's own line: what they say, joined with the mill file."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from clew.ball.first.belief import Belief
from clew.ball.first.first_run import FirstRun, WeighedBall, read_first_balls
from clew.ball.from_mill import Terms, terms_of
from clew.ball.plain_build import first_run_plain
from clew.ball.turns import TurnsAnswer, set_turns
from clew.faults import BadInput
from clew.mill.model import Mill


@pytest.fixture(scope="module")
def terms(demo_mill: Mill) -> Terms:
    return terms_of(demo_mill, "Querl 100", "SL-207")


@pytest.fixture(scope="module")
def answer(terms: Terms) -> TurnsAnswer:
    return set_turns(terms.strand, terms.promise, terms.winding)


def read(mill: Mill, terms: Terms, answer: TurnsAnswer, balls: list[WeighedBall]) -> FirstRun:
    ball, line = mill.find_ball("Querl 100"), mill.line[0]
    return read_first_balls(terms, ball, line, mill.prices, answer, balls, lot_balls=1500)


def ball(name: str, answer: TurnsAnswer, winder: int, cone: str, *, long: float) -> WeighedBall:
    """A ball that is so much longer and so much heavier than expected."""
    return WeighedBall(
        name,
        winder,
        ((cone, 1.0),),
        answer.turns,
        answer.as_weighed_g * (1 + long),
        answer.length_m * (1 + long),
    )


def test_balls_as_expected_leave_the_setting_alone(
    demo_mill: Mill, terms: Terms, answer: TurnsAnswer
) -> None:
    found = read(demo_mill, terms, answer, [ball("1", answer, 1, "A", long=0.0)])
    (advice,) = found.advice
    assert advice.setting.present_counts == answer.turns
    assert not (advice.setting.worth_it and advice.setting.change_counts)
    assert advice.view.factor.middle == pytest.approx(1.0, abs=2e-3)


def test_a_winder_that_winds_long_is_told_from_a_heavy_yarn(
    demo_mill: Mill, terms: Terms, answer: TurnsAnswer
) -> None:
    """Mass and length up alike is the winder; mass up alone is the yarn."""
    long = read(
        demo_mill,
        terms,
        answer,
        [ball(str(n), answer, 1, f"C{n}", long=0.02) for n in range(6)],
    )
    heavy = read(
        demo_mill,
        terms,
        answer,
        [
            replace(
                ball(str(n), answer, 1, f"C{n}", long=0.0),
                mass_g=answer.as_weighed_g * 1.02 ** (1 + answer.area_elasticity),
                length_m=answer.length_m * 1.02**answer.area_elasticity,
            )
            for n in range(6)
        ],
    )
    assert long.advice[0].view.factor.middle > 1.01
    assert long.advice[0].view.count_factor.middle < 1.002
    assert heavy.advice[0].view.count_factor.middle > 1.004
    assert heavy.advice[0].view.factor.middle < 1.005


def test_a_long_winder_takes_turns_off(demo_mill: Mill, terms: Terms, answer: TurnsAnswer) -> None:
    balls = [ball(str(n), answer, 4, f"C{n}", long=0.03) for n in range(4)]
    (advice,) = read(demo_mill, terms, answer, balls).advice
    assert advice.setting.worth_it
    assert advice.setting.change_counts < 0
    proposed = advice.setting.proposed
    assert proposed.mass_mean_g.middle >= terms.promise.target_mass_g * (1 - 1e-9)
    assert proposed.mass_mean_g.middle < terms.promise.target_mass_g + 0.3


def test_counts_are_read_in_the_winders_own_counter(
    demo_mill: Mill, terms: Terms, answer: TurnsAnswer
) -> None:
    """Winder 5 counts tens of turns: 79 on its counter are 790 turns."""
    one = replace(ball("1", answer, 5, "A", long=0.0), counts=79)
    (advice,) = read(demo_mill, terms, answer, [one]).advice
    assert advice.setting.present_turns == pytest.approx(790)


def test_every_wrong_winder_is_named_at_once(
    demo_mill: Mill, terms: Terms, answer: TurnsAnswer
) -> None:
    balls = [ball("1", answer, 9, "A", long=0.0), ball("2", answer, 8, "A", long=0.0)]
    with pytest.raises(BadInput) as caught:
        read(demo_mill, terms, answer, balls)
    assert [fault.section for fault in caught.value.faults] == ['ball "1"', 'ball "2"']


def test_faults_carry_the_line_of_the_file(
    demo_mill: Mill, terms: Terms, answer: TurnsAnswer
) -> None:
    """A winder that is not there, then a ball in the wrong unit: both found after reading."""
    balls = [
        replace(ball("1", answer, 9, "A", long=0.0), line=2),
        replace(ball("2", answer, 1, "A", long=0.0), line=5),
    ]
    with pytest.raises(BadInput) as caught:
        read(demo_mill, terms, answer, balls)
    assert [fault.line for fault in caught.value.faults] == [2]
    with pytest.raises(BadInput) as caught:
        read(demo_mill, terms, answer, [replace(balls[1], mass_g=3.5)])
    assert [fault.line for fault in caught.value.faults] == [5]


def test_an_odd_ball_is_marked_and_its_winder_held_back(
    demo_mill: Mill, terms: Terms, answer: TurnsAnswer
) -> None:
    balls = [ball("1", answer, 1, "A", long=0.0), ball("2", answer, 4, "B", long=0.12)]
    found = read(demo_mill, terms, answer, balls)
    assert found.belief.odd == ("2",)
    four = found.advice[1].setting
    assert (four.odd_ball, four.worth_it) == ("ball 2 of winder 4", False)
    assert four.change_counts < 0
    again = read(demo_mill, terms, answer, [*balls, ball("3", answer, 4, "B", long=0.121)])
    assert again.advice[1].setting.worth_it


def test_for_programs_the_belief_can_be_gone_on_from(
    demo_mill: Mill, terms: Terms, answer: TurnsAnswer
) -> None:
    """Each winder and each ball stands there once, in its order, with the values of the answer."""
    balls = [ball("1", answer, 1, "A", long=0.0), ball("2", answer, 4, "B", long=0.01)]
    found = read(demo_mill, terms, answer, balls)
    plain = json.loads(json.dumps(first_run_plain(found), allow_nan=False))
    assert plain["target_mass_g"] == found.target_mass_g
    assert plain["target_length_m"] == found.target_length_m
    assert [one["winder"] for one in plain["winders"]] == [one.winder for one in found.advice]
    for one, advice in zip(plain["winders"], found.advice, strict=True):
        assert one["view"]["factor"]["middle"] == advice.view.factor.middle
        assert one["setting"]["present_counts"] == advice.setting.present_counts
        assert set(one["worth_weighing"]) == set(advice.weighing.__dataclass_fields__)
    assert [one["ball_id"] for one in plain["balls"]] == ["1", "2"]
    assert [one["mass_z"] for one in plain["balls"]] == [one.mass_z for one in found.checks]
    assert Belief.from_plain(plain["belief"]).to_plain() == found.belief.to_plain()
