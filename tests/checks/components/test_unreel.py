"""Balls to unreel: fewest that are enough, and what they cost."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.components.unreel import balls_to_know_length, balls_to_tell, unreel_cost
from clew.faults import BadInput


def test_fewest_balls_for_a_half_width() -> None:
    found = balls_to_know_length(1.0, within_sd_m=1.2, ball_price=5.0, hand_s=360, hand_per_hour=20)
    assert found.balls == math.ceil((1.959963984540054 * 1.2) ** 2) == 6
    assert found.cost == pytest.approx(6 * (5 + 2))
    assert found.half_width_m <= 1.0


@given(half=st.floats(0.3, 5), within=st.floats(0.1, 3), cone=st.floats(0, 2))
def test_one_ball_fewer_is_not_enough(half: float, within: float, cone: float) -> None:
    found = balls_to_know_length(half, within_sd_m=within, cone_sd_m=cone)
    variance = within**2 + cone**2
    assert 1.959963984540054 * math.sqrt(variance / found.balls) <= half * (1 + 1e-12)
    if found.balls > 1:
        assert 1.959963984540054 * math.sqrt(variance / (found.balls - 1)) > half


def test_few_cones_set_a_floor() -> None:
    found = balls_to_know_length(1.5, within_sd_m=1.0, cone_sd_m=1.0, cones=2)
    assert found.floor_m == pytest.approx(1.959963984540054 / math.sqrt(2))
    with pytest.raises(BadInput, match="more cones"):
        balls_to_know_length(1.2, within_sd_m=1.0, cone_sd_m=1.0, cones=2)


@pytest.mark.parametrize(
    "terms", [{"half_width_m": 0.0}, {"within_sd_m": -1.0}, {"cones": -2}, {"cone_sd_m": math.nan}]
)
def test_what_cannot_be_used_is_refused(terms: dict[str, float]) -> None:
    with pytest.raises(BadInput):
        balls_to_know_length(**({"half_width_m": 1.0, "within_sd_m": 1.0} | terms))  # type: ignore[arg-type]


def test_cost_and_telling() -> None:
    assert unreel_cost(3, ball_price=4.0) == 12.0
    assert balls_to_tell(lambda balls: 1 - 0.5**balls, 0.9) == 4
    assert balls_to_tell(lambda balls: 0.5, 0.9) is None
