"""The belief is the exact conditional distribution, however the balls come in."""

import json
import math
from dataclasses import replace
from itertools import permutations
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal

from clew.ball.first.belief import Belief, FirstBall, ball_rows, prior_belief, update, with_cones
from clew.faults import BadInput

CONSTANTS: dict[str, float] = {
    "winder_cv": 0.012,
    "lot_cv": 0.02,
    "cone_cv": 0.018,
    "length_cv": 0.005,
    "within_cv": 0.007,
    "scale_sd_g": 0.1,
    "reel_cv": 0.003,
    "area_elasticity": 0.28,
}


def prior(*winders: str, **changed: float) -> Belief:
    return prior_belief(winders or ("1", "2", "3"), **{**CONSTANTS, **changed})


def ball(ball_id: str, winder: str = "1", cone: str = "A", **changed: Any) -> FirstBall:
    made = FirstBall(ball_id, winder, ((cone, 1.0),), 950.0, 201.0, 400.0, 200.0, 402.0)
    return replace(made, **changed)


BALLS = (
    ball("a", "1", "A", mass_g=203.1, length_m=404.0),
    ball("b", "1", "A", mass_g=202.7, length_m=None),
    ball("c", "2", "B", mass_g=197.0, length_m=396.5),
    ball("d", "2", cones=(("B", 0.3), ("C", 0.7)), mass_g=199.0, length_m=398.0),
    ball("e", "3", "D", mass_g=205.5, length_m=None),
    ball("f", "1", cones=(("A", 0.5), ("D", 0.5)), mass_g=204.0, length_m=405.0),
)


def state(belief: Belief) -> tuple[dict[str, float], dict[tuple[str, str], float]]:
    """Means and covariances by name, so that the order of cones does not matter."""
    names = belief.names
    means = dict(zip(names, belief.mean.tolist(), strict=True))
    pairs = {
        (a, b): float(belief.covariance[i, j])
        for i, a in enumerate(names)
        for j, b in enumerate(names)
    }
    return means, pairs


def assert_same(left: Belief, right: Belief, tolerance: float = 1e-12) -> None:
    (means, pairs), (wanted_means, wanted_pairs) = state(left), state(right)
    assert means == pytest.approx(wanted_means, rel=tolerance, abs=tolerance * 1e-3)
    assert pairs == pytest.approx(wanted_pairs, rel=tolerance, abs=tolerance * 1e-3)


def conditioned_by_hand(balls: tuple[FirstBall, ...], names: tuple[str, ...]) -> tuple[Any, Any]:
    """Dense conditioning of the joint normal distribution, every covariance written out by hand."""
    k = CONSTANTS
    e = k["area_elasticity"]
    # each quantity: winder, its weights on cones, its weight on the count
    seen: list[tuple[FirstBall, str, float]] = []
    for one in balls:
        if one.length_m is not None:
            seen.append((one, "length", e))
        seen.append((one, "mass", 1.0 + e))
    n = len(seen)
    observed = np.zeros((n, n))
    for i, (ball_i, kind_i, weight_i) in enumerate(seen):
        for j, (ball_j, kind_j, weight_j) in enumerate(seen):
            shared = sum(share * dict(ball_j.cones).get(cone, 0.0) for cone, share in ball_i.cones)
            value = weight_i * weight_j * (k["lot_cv"] ** 2 + shared * k["cone_cv"] ** 2)
            value += k["winder_cv"] ** 2 if ball_i.winder == ball_j.winder else 0.0
            if ball_i is ball_j:
                value += k["length_cv"] ** 2 + weight_i * weight_j * k["within_cv"] ** 2
                if kind_i == kind_j == "length":
                    value += k["reel_cv"] ** 2
                if kind_i == kind_j == "mass":
                    value += (k["scale_sd_g"] / ball_i.expected_mass_g) ** 2
            observed[i, j] = value
    cross = np.zeros((len(names), n))
    own = np.zeros(len(names))
    for row, name in enumerate(names):
        what, _, which = name.partition(" ")
        own[row] = k[f"{what}_cv"] ** 2
        for column, (one, _, weight) in enumerate(seen):
            if what == "lot":
                cross[row, column] = weight * own[row]
            elif what == "winder":
                cross[row, column] = own[row] if one.winder == which else 0.0
            else:
                cross[row, column] = weight * dict(one.cones).get(which, 0.0) * own[row]
    values = np.array(
        [
            math.log((one.length_m or 0.0) / one.expected_length_m)
            if kind == "length"
            else math.log(one.mass_g / one.expected_mass_g)
            for one, kind, _ in seen
        ]
    )
    inverse = np.linalg.inv(observed)
    return cross @ inverse @ values, np.diag(own) - cross @ inverse @ cross.T


def test_update_is_dense_conditioning_of_the_joint_distribution() -> None:
    after = update(prior(), BALLS)
    mean, covariance = conditioned_by_hand(BALLS, after.names)
    np.testing.assert_allclose(after.mean, mean, rtol=0, atol=1e-14)
    np.testing.assert_allclose(after.covariance, covariance, rtol=0, atol=1e-16)


def own_by_hand() -> tuple[float, float, float]:
    """Variance of a ball's own length, its covariance with its mass, and that of its mass."""
    chance, yarn, e = CONSTANTS["length_cv"] ** 2, CONSTANTS["within_cv"] ** 2, 0.28
    return (
        chance + e * e * yarn,
        chance + e * (1.0 + e) * yarn,
        chance + (1.0 + e) ** 2 * yarn,
    )


def test_update_is_the_sum_of_precisions() -> None:
    """The same posterior by another road: precisions of prior and balls add up."""
    before = with_cones(prior(), "ABCD")
    after = update(before, BALLS)
    precision = np.linalg.inv(before.covariance)
    k = CONSTANTS
    pull = np.zeros(len(before.mean))
    for one in BALLS:
        rows = ball_rows(before, one.winder, one.cones, with_length=one.length_m is not None)
        length, both, mass = own_by_hand()
        weighed = mass + (k["scale_sd_g"] / 200.0) ** 2
        noise = np.array([[weighed]])
        seen = [math.log(one.mass_g / 200.0)]
        if one.length_m is not None:
            noise = np.array([[length + k["reel_cv"] ** 2, both], [both, weighed]])
            seen.insert(0, math.log(one.length_m / 402.0))
        precision += rows.T @ np.linalg.inv(noise) @ rows
        pull += rows.T @ np.linalg.inv(noise) @ np.array(seen)
    np.testing.assert_allclose(after.covariance, np.linalg.inv(precision), rtol=1e-9, atol=1e-15)
    np.testing.assert_allclose(after.mean, np.linalg.solve(precision, pull), rtol=1e-9, atol=1e-15)


def test_posterior_density_follows_bayes_theorem() -> None:
    """ln p(x | y) and ln p(y | x) + ln p(x) differ by the same number wherever x is."""
    before = with_cones(prior("1"), "A")
    one = BALLS[0]
    after = update(before, [one])
    k = CONSTANTS
    length, both, mass = own_by_hand()
    noise = np.array([[length + k["reel_cv"] ** 2, both], [both, mass + (0.1 / 200.0) ** 2]])
    y = np.array([math.log(404.0 / 402.0), math.log(203.1 / 200.0)])
    constants = []
    for tau, omega, gamma in np.random.default_rng(5).normal(0.0, 0.02, (20, 3)):
        count = tau + gamma
        expected = np.array([omega + 0.28 * count, omega + 1.28 * count])
        joint = multivariate_normal(expected, noise).logpdf(y)
        joint += multivariate_normal(before.mean, before.covariance).logpdf([tau, omega, gamma])
        posterior = multivariate_normal(after.mean, after.covariance).logpdf([tau, omega, gamma])
        constants.append(joint - posterior)
    assert np.ptp(constants) < 1e-9


def test_balls_one_by_one_all_at_once_or_by_way_of_json() -> None:
    at_once = update(prior(), BALLS)
    one_by_one = prior()
    for one in BALLS:
        one_by_one = update(one_by_one, [one])
        one_by_one = Belief.from_plain(json.loads(json.dumps(one_by_one.to_plain())))
    assert_same(one_by_one, at_once)
    assert one_by_one.balls == at_once.balls


def test_order_of_balls_does_not_matter() -> None:
    wanted = update(prior(), BALLS)
    for order in list(permutations(BALLS))[::97]:
        assert_same(update(prior(), order), wanted)


def test_json_brings_every_bit_back() -> None:
    belief = update(prior(), BALLS)
    again = Belief.from_plain(json.loads(json.dumps(belief.to_plain())))
    assert np.array_equal(again.mean, belief.mean)
    assert np.array_equal(again.covariance, belief.covariance)
    assert (again.winders, again.cones, again.spreads, again.balls) == (
        belief.winders,
        belief.cones,
        belief.spreads,
        belief.balls,
    )


def test_a_new_cone_leaves_the_rest_alone() -> None:
    before = update(prior(), BALLS[:2])
    after = with_cones(before, ["Z", "A", "Z"])
    assert after.cones == ("A", "Z")
    size = len(before.mean)
    assert np.array_equal(after.covariance[:size, :size], before.covariance)
    assert after.covariance[size, size] == CONSTANTS["cone_cv"] ** 2
    assert not after.covariance[size, :size].any()


def test_a_belief_cannot_be_written_over() -> None:
    belief = update(prior(), BALLS)
    with pytest.raises(ValueError, match="read-only"):
        belief.mean[0] = 1.0
    with pytest.raises(ValueError, match="read-only"):
        belief.covariance[0, 0] = 1.0


def test_no_balls_change_nothing() -> None:
    belief = update(prior(), BALLS)
    assert_same(update(belief, []), belief, tolerance=0.0)


def test_a_tie_shares_the_surprise_between_its_cones() -> None:
    """A heavy ball half of each of two cones moves both alike, and less than one cone alone."""
    tied = update(prior(), [ball("t", cones=(("A", 0.5), ("B", 0.5)), mass_g=208.0)])
    whole = update(prior(), [ball("t", cone="A", mass_g=208.0)])
    assert tied.mean[tied.cone_at("A")] == pytest.approx(tied.mean[tied.cone_at("B")], rel=1e-12)
    assert 0.0 < tied.mean[tied.cone_at("A")] < whole.mean[whole.cone_at("A")]
    assert tied.mean[0] > whole.mean[0]


def test_a_winder_that_winds_long_and_a_yarn_that_is_heavy() -> None:
    """Mass and length up alike move the winder; mass up alone moves the count."""
    long = update(prior(), [ball("l", mass_g=204.0, length_m=402.0 * 1.02)])
    heavy = update(prior(), [ball("h", mass_g=204.0, length_m=402.0 * 1.02**0.22)])
    winder, strand = long.winder_at("1"), [0, long.cone_at("A")]
    assert long.mean[winder] > 3.0 * abs(long.mean[strand].sum())
    assert heavy.mean[strand].sum() > 3.0 * abs(heavy.mean[winder])


def test_a_ball_is_never_believed_twice() -> None:
    belief = update(prior(), BALLS[:2])
    with pytest.raises(BadInput) as refused:
        update(belief, [ball("a"), ball("x"), ball("y"), ball("y")])
    assert [str(fault) for fault in refused.value.faults] == [
        "ball a is in the belief already; expected only new ones",
        '[ball "y"] ball: a ball named twice; expected each ball once',
    ]
    resumed = Belief.from_plain(belief.to_plain())
    with pytest.raises(BadInput, match="already"):
        update(resumed, [ball("b")])


def test_an_unknown_winder_is_refused_with_those_known() -> None:
    with pytest.raises(BadInput, match="one of 1, 2, 3"):
        update(prior(), [ball("a", "7")])
    with pytest.raises(BadInput, match="one of 1, 2, 3"):
        prior().winder_at("7")
    with pytest.raises(BadInput, match="none so far"):
        prior().cone_at("A")


@pytest.mark.parametrize("winders", [(), ("1", "1"), ("1", " ")])
def test_winders_need_names_of_their_own(winders: tuple[str, ...]) -> None:
    with pytest.raises(BadInput, match="told apart"):
        prior_belief(winders, **CONSTANTS)


def test_balls_taken_in_before_are_one_line() -> None:
    numbered = [ball(str(number)) for number in range(1, 13)]
    belief = update(prior(), numbered)
    with pytest.raises(BadInput) as refused:
        update(belief, numbered)
    assert str(refused.value) == ("balls 1 to 12 are in the belief already; expected only new ones")
    with pytest.raises(BadInput, match="balls 3, 9 are in the belief already"):
        update(belief, [ball("3"), ball("9"), ball("13")])
    lettered = [ball(f"b{number}") for number in range(9)]
    with pytest.raises(BadInput, match="balls b0, b1, b2, b3, b4, b5 and 3 more are"):
        update(update(belief, lettered), lettered)


cvs = st.floats(0.0, 0.1)
drawn_constants = st.fixed_dictionaries(
    {
        "winder_cv": cvs,
        "lot_cv": cvs,
        "cone_cv": cvs,
        "length_cv": st.floats(1e-4, 0.1),
        "within_cv": st.floats(1e-4, 0.1),
        "scale_sd_g": st.floats(0.0, 2.0),
        "reel_cv": cvs,
        "area_elasticity": st.floats(0.0, 0.6),
    }
)
drawn_balls = st.lists(
    st.builds(
        lambda winder, cones, share, mass_g, length_m: FirstBall(
            "",
            winder,
            tuple(zip(cones, (share, 1.0 - share), strict=True)),
            900.0,
            mass_g,
            length_m,
            200.0,
            400.0,
        ),
        st.sampled_from("12"),
        st.sampled_from([("A", "B"), ("B", "C"), ("C", "A")]),
        st.floats(0.05, 0.95),
        st.floats(150.0, 260.0),
        st.none() | st.floats(300.0, 500.0),
    ),
    max_size=6,
).map(lambda balls: [replace(one, ball_id=str(i)) for i, one in enumerate(balls)])


@settings(deadline=None, max_examples=60)
@given(drawn_constants, drawn_balls)
def test_no_ball_makes_anything_less_sure(
    constants: dict[str, float], balls: list[FirstBall]
) -> None:
    belief = with_cones(prior_belief("12", **constants), "ABC")
    for one in balls:
        after = update(belief, [one])
        assert (np.diag(after.covariance) <= np.diag(belief.covariance)).all()
        assert np.linalg.eigvalsh(after.covariance)[0] > -1e-13
        assert np.isfinite(after.mean).all()
        belief = after


@settings(deadline=None, max_examples=40)
@given(drawn_constants, drawn_balls, st.randoms(use_true_random=False))
def test_any_order_gives_the_same_belief(
    constants: dict[str, float], balls: list[FirstBall], random: Any
) -> None:
    mixed = list(balls)
    random.shuffle(mixed)
    start = with_cones(prior_belief("12", **constants), "ABC")
    left, right = update(start, balls), update(start, mixed)
    np.testing.assert_allclose(left.mean, right.mean, rtol=0, atol=1e-9)
    np.testing.assert_allclose(left.covariance, right.covariance, rtol=0, atol=1e-12)
