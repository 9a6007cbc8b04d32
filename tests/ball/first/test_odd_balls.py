"""Balls that do not fit are pointed out in words, and stay in."""

import math
from dataclasses import replace

import numpy as np
import pytest

from clew.ball.first.belief import Belief, FirstBall, ball_rows, prior_belief, update, with_cones
from clew.ball.first.odd_balls import check_fit, held_back
from clew.ball.first.weighed import deviations, scatter
from clew.faults import BadInput


def prior() -> Belief:
    return prior_belief(
        ["1", "2"],
        winder_cv=0.012,
        lot_cv=0.02,
        cone_cv=0.018,
        length_cv=0.005,
        within_cv=0.007,
        scale_sd_g=0.1,
        reel_cv=0.003,
        area_elasticity=0.28,
    )


def ball(
    ball_id: str, mass_g: float, length_m: float | None = 402.0, winder: str = "1", cone: str = "A"
) -> FirstBall:
    return FirstBall(ball_id, winder, ((cone, 1.0),), 950.0, mass_g, length_m, 200.0, 402.0)


GOOD = [
    ball("a", 201.0),
    ball("b", 200.2),
    ball("c", 199.6, 401.0),
    ball("d", 202.0, None, "2", "B"),
]


def test_a_single_ball_is_judged_by_its_standardised_innovation() -> None:
    belief = with_cones(update(prior(), GOOD[:2]), "A")
    one = ball("x", 204.0, 405.0)
    rows = ball_rows(belief, "1", one.cones, with_length=True)
    spread = rows @ belief.covariance @ rows.T
    spread += scatter(belief.spreads, 200.0, with_length=True)
    off = deviations(one) - rows @ belief.mean
    check = check_fit(belief, [one])[0]
    assert check.length_z == pytest.approx(off[0] / math.sqrt(spread[0, 0]))
    assert check.mass_z == pytest.approx(off[1] / math.sqrt(spread[1, 1]))
    ratio = np.array([-1.0, 1.0])
    assert check.count_z == pytest.approx(ratio @ off / math.sqrt(ratio @ spread @ ratio))


def test_each_ball_of_several_is_judged_by_all_the_others() -> None:
    """The same numbers as taking the others into the belief first and judging this one after."""
    together = check_fit(prior(), GOOD)
    for i, one in enumerate(GOOD):
        alone = check_fit(update(prior(), GOOD[:i] + GOOD[i + 1 :]), [one])[0]
        assert together[i].mass_z == pytest.approx(alone.mass_z, rel=1e-9)
        if one.length_m is None:
            assert together[i].length_z is None is together[i].count_z
        else:
            assert together[i].length_z == pytest.approx(alone.length_z, rel=1e-9)
            assert together[i].count_z == pytest.approx(alone.count_z, rel=1e-9)


def test_balls_that_fit_are_left_in_peace() -> None:
    checks = check_fit(prior(), GOOD)
    assert not any(check.odd for check in checks)
    assert checks[0].words == "Ball a fits the rest."


def test_a_ball_that_does_not_fit_is_pointed_out_whatever_its_place() -> None:
    wrong = ball("w", 213.0)
    for balls in ([wrong, *GOOD], [*GOOD, wrong]):
        found = {check.ball_id: check for check in check_fit(prior(), balls)}
        assert [name for name, check in found.items() if check.odd] == ["w"]
        assert "mass for its length" in found["w"].words
        assert "above" in found["w"].words
        assert "kept in" in found["w"].words


def test_pointing_out_drops_nothing() -> None:
    wrong = ball("w", 213.0)
    belief = update(prior(), [*GOOD, wrong])
    assert "w" in {seen.ball_id for seen in belief.balls}
    assert belief.mean[0] > update(prior(), GOOD).mean[0]


def test_a_weighed_ball_can_be_odd_without_a_length() -> None:
    check = check_fit(update(prior(), GOOD), [ball("w", 212.0, None)])[0]
    assert check.odd
    assert check.words.startswith("Ball w does not fit the rest (mass ")


def test_no_balls_no_checks() -> None:
    assert check_fit(prior(), []) == ()


def test_a_ball_already_taken_in_is_refused() -> None:
    with pytest.raises(BadInput, match="already"):
        check_fit(update(prior(), GOOD), [GOOD[0]])


def test_the_values_are_standardised() -> None:
    """Over many balls drawn from the model their mean is nil and their spread one."""
    random = np.random.default_rng(3)
    values = []
    for _ in range(500):
        tau, omega, gamma = random.normal(0.0, [0.02, 0.012, 0.018])
        made = []
        for i in range(4):
            count = tau + gamma + random.normal(0.0, 0.007)
            length = omega + 0.28 * count + random.normal(0.0, 0.005)
            mass = length + count + random.normal(0.0, 0.0005)
            reeled = length + random.normal(0.0, 0.003)
            made.append(ball(str(i), 200.0 * math.exp(mass), 402.0 * math.exp(reeled)))
        first = check_fit(prior(), made)[0]
        values.append((first.mass_z, first.length_z, first.count_z))
    numbers = np.array(values, dtype=float)
    # standard errors over 500 draws: 0.045 for a mean, 0.032 for a spread
    assert np.abs(numbers.mean(axis=0)).max() < 4.0 * 0.045
    assert np.abs(numbers.std(axis=0) - 1.0).max() < 4.0 * 0.032


def pair(cones: tuple[float, float], length_sd: float, mass_sd: float) -> tuple[Belief, FirstBall]:
    """An odd ball of cone A, and one as expected from cones A and B with these shares.

    They lie so many standard deviations of their difference apart, worked out by hand: cones they
    share cancel, what each is by itself and what measuring adds counts twice.
    """
    unlike = (1.0 - cones[0]) ** 2 + cones[1] ** 2
    length_var = unlike * (0.28 * 0.018) ** 2 + 2.0 * (0.005**2 + (0.28 * 0.007) ** 2 + 0.003**2)
    mass_var = unlike * (1.28 * 0.018) ** 2
    mass_var += 2.0 * (0.005**2 + (1.28 * 0.007) ** 2 + (0.1 / 200.0) ** 2)
    mass_g = 200.0 * math.exp(mass_sd * math.sqrt(mass_var))
    odd = ball("odd", mass_g, 402.0 * math.exp(length_sd * math.sqrt(length_var)))
    shares = tuple((name, share) for name, share in zip("AB", cones, strict=True) if share)
    other = replace(ball("b", 200.0), cones=shares)
    return replace(prior(), balls=(odd, other), odd=("odd",)), other


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize("cones", [(1.0, 0.0), (0.0, 1.0), (0.4, 0.6)])
def test_a_second_ball_agrees_within_three_deviations_of_the_difference(
    cones: tuple[float, float], way: float
) -> None:
    """In length and in mass; a winder whose two balls differ by more is held back."""
    for length, mass, held in (
        (2.99, 2.99, {}), (3.01, 0.0, {"1": "odd"}), (0.0, 3.01, {"1": "odd"}),
    ):  # fmt: skip
        assert held_back(pair(cones, way * length, way * mass)[0]) == held


@pytest.mark.parametrize("cones", [(1.0, 0.0), (0.0, 1.0)])
def test_where_one_ball_was_only_weighed_the_masses_decide(cones: tuple[float, float]) -> None:
    for mass, held in ((2.99, {}), (3.01, {"1": "odd"})):
        belief, other = pair(cones, 30.0, mass)
        weighed = replace(other, length_m=None)
        for balls in ((belief.balls[0], weighed), (weighed, belief.balls[0])):
            assert held_back(replace(belief, balls=balls)) == held


def test_only_another_ball_of_the_same_winder_lets_it_go() -> None:
    belief, other = pair((1.0, 0.0), 0.0, 0.0)
    odd = belief.balls[0]
    assert held_back(belief) == {}
    assert held_back(replace(belief, balls=(odd,))) == {"1": "odd"}
    elsewhere = replace(other, winder="2")
    assert held_back(replace(belief, balls=(odd, elsewhere))) == {"1": "odd"}
    assert held_back(replace(belief, balls=(odd, elsewhere), odd=())) == {}
