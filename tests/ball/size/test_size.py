"""A mill's ball size: a range until balls are measured, a number once three were."""

from __future__ import annotations

import pytest

from clew.ball.from_mill import Terms, terms_of
from clew.ball.size.of_ball import mean_angle_of_wind_deg, size_of, stated_constants
from clew.ball.turns import TurnsAnswer, set_turns
from clew.mill.balls import MeasuredBall
from clew.mill.model import Mill


@pytest.fixture(scope="module")
def terms(demo_mill: Mill) -> Terms:
    return terms_of(demo_mill, "Querl 100")


@pytest.fixture(scope="module")
def answer(terms: Terms) -> TurnsAnswer:
    return set_turns(terms.strand, terms.promise, terms.winding)


def test_no_single_number_without_measured_balls(
    demo_mill: Mill, terms: Terms, answer: TurnsAnswer
) -> None:
    size = size_of(demo_mill.find_ball("Querl 100"), terms.strand, terms.winding, answer.build)
    assert not size.measured
    for round_size in (size.off_mandrel, size.relaxed):
        assert round_size.diameter_mm.central is None
        assert round_size.diameter_mm.low < round_size.diameter_mm.high
    assert size.pressed is not None
    assert size.pressed.thickness_mm.central is None


def test_measured_balls_narrow_the_range_round_what_was_measured(
    demo_mill: Mill, terms: Terms, answer: TurnsAnswer
) -> None:
    ball = demo_mill.find_ball("Querl 100")
    built = answer.build
    measured = tuple(
        MeasuredBall(
            wound_diameter_mm=f"{built.diameter_mm + off} mm",
            wound_width_mm=f"{built.width_mm + off} mm",
            rest_diameter_mm=f"{built.diameter_mm + off + 2.0} mm",
            rest_width_mm=f"{built.width_mm + off + 2.0} mm",
        )
        for off in (-1.0, 0.0, 1.0)
    )
    before = size_of(ball, terms.strand, terms.winding, built).relaxed.diameter_mm
    after = size_of(
        ball.model_copy(update={"measured": measured}), terms.strand, terms.winding, built
    )
    found = after.relaxed.diameter_mm
    assert after.measured
    assert found.central == pytest.approx(built.diameter_mm + 2.0, abs=1.0)
    assert found.high - found.low < before.high - before.low


def test_the_hoop_modulus_comes_from_the_strands_own(terms: Terms, answer: TurnsAnswer) -> None:
    angle = mean_angle_of_wind_deg(answer.build)
    flat, steep = (
        stated_constants(terms.strand, terms.winding, degrees) for degrees in (0.0, angle)
    )
    assert 10.0 < angle < 80.0
    assert steep.hoop_modulus_kpa.high < flat.hoop_modulus_kpa.high
    assert steep.hoop_modulus_kpa.high == pytest.approx(4 * steep.hoop_modulus_kpa.low)
