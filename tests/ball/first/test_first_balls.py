"""What the first balls say of winder, yarn and the balls to come."""

import math
from collections.abc import Iterable

import numpy as np
import pytest

from clew.ball.first.belief import Belief, FirstBall, prior_belief, update
from clew.ball.first.next_balls import (
    Z95,
    PowerLength,
    Wind,
    next_balls,
    variance_of,
    winder_view,
)
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
WIND = Wind(PowerLength(950.0, 402.0, 1.3), mass_g_per_m=200.0 / 402.0)


def prior(*winders: str, **changed: float) -> Belief:
    return prior_belief(winders or ("1", "2"), **{**CONSTANTS, **changed})


def weighed(
    cones: Iterable[str], *, winder: str = "1", with_length: bool, start: int = 0
) -> list[FirstBall]:
    """Balls a little heavy and long, one for each cone named."""
    return [
        FirstBall(
            f"{winder}-{start + i}",
            winder,
            ((cone, 1.0),),
            950.0,
            203.0,
            404.0 if with_length else None,
            200.0,
            402.0,
        )
        for i, cone in enumerate(cones)
    ]


def mean_sd(belief: Belief) -> float:
    return next_balls(belief, "1", WIND, 950.0).mass_mean_sd


def test_before_any_ball_the_expected_ball_is_expected() -> None:
    """Mean and single ball spread by the stated spreads and nothing else."""
    ahead = next_balls(prior(), "1", WIND, 950.0)
    k = CONSTANTS
    mean_var = k["winder_cv"] ** 2 + 1.28**2 * k["lot_cv"] ** 2
    yarn = k["cone_cv"] ** 2 + k["within_cv"] ** 2
    own = 1.28**2 * yarn + k["length_cv"] ** 2
    assert ahead.mass_mean_g.middle == pytest.approx(200.0)
    assert ahead.length_mean_m.middle == pytest.approx(402.0)
    assert ahead.mass_mean_sd == pytest.approx(math.sqrt(mean_var))
    assert ahead.mass_ball_sd == pytest.approx(math.sqrt(mean_var + own))
    assert ahead.mass_ball_g.high == pytest.approx(
        200.0 * math.exp(Z95 * math.sqrt(mean_var + own))
    )
    own = 0.28**2 * yarn + k["length_cv"] ** 2
    mean_var = k["winder_cv"] ** 2 + 0.28**2 * k["lot_cv"] ** 2
    assert ahead.length_ball_sd == pytest.approx(math.sqrt(mean_var + own))
    assert ahead.length_ball_m.low == pytest.approx(402 * math.exp(-Z95 * ahead.length_ball_sd))


def test_ten_balls_of_one_cone_are_not_ten_samples() -> None:
    """The interval does not shrink as one over root ten, not even as one over root two."""
    one = mean_sd(update(prior(), weighed("A", with_length=True)))
    ten = mean_sd(update(prior(), weighed("A" * 10, with_length=True)))
    million = math.sqrt(
        1.28**2 / (1.0 / CONSTANTS["lot_cv"] ** 2 + 1.0 / CONSTANTS["cone_cv"] ** 2)
    )
    assert ten > one / math.sqrt(2.0) > one / math.sqrt(10.0)
    assert million < ten < 1.03 * million


def test_two_cones_do_better_than_ten_balls_of_one() -> None:
    ten_of_one = mean_sd(update(prior(), weighed("A" * 10, with_length=True)))
    one_of_each = mean_sd(update(prior(), weighed("AB", with_length=True)))
    five_of_each = mean_sd(update(prior(), weighed("AB" * 5, with_length=True)))
    assert five_of_each < one_of_each < ten_of_one


@pytest.mark.parametrize(
    ("cones", "percent"),
    [("", 5.54), ("A", 3.61), ("AA", 3.49), ("A" * 10, 3.39), ("AB", 2.91), ("ABCD", 2.23)],
)
def test_the_table_in_the_manual(cones: str, percent: float) -> None:
    """The half widths that docs/first_balls.md prints are the ones computed here."""
    belief = update(prior(), weighed(cones, with_length=True))
    assert 100.0 * Z95 * mean_sd(belief) == pytest.approx(percent, abs=0.005)


def test_without_cone_differences_balls_do_average_out() -> None:
    """Only then does the interval go on shrinking, nearly as one over the root."""
    few = mean_sd(update(prior(cone_cv=0.0), weighed("A" * 10, with_length=True)))
    many = mean_sd(update(prior(cone_cv=0.0), weighed("A" * 40, with_length=True)))
    assert many / few == pytest.approx(0.5, abs=0.02)


def test_balls_of_another_winder_tell_of_the_yarn_but_not_of_the_winder() -> None:
    after = update(prior(), weighed("ABCDEFGH", winder="2", with_length=True))
    before_view, after_view = winder_view(prior(), "1"), winder_view(after, "1")
    assert after_view.factor == before_view.factor
    assert after_view.balls == 0
    assert "no ball of its own" in after_view.words
    width = after_view.count_factor.high - after_view.count_factor.low
    assert width < 0.6 * (before_view.count_factor.high - before_view.count_factor.low)


def test_further_balls_of_a_known_cone_are_surer_than_those_of_new_ones() -> None:
    belief = update(prior(), weighed("AA", with_length=True))
    same = next_balls(belief, "1", WIND, 950.0, cone="A")
    new = next_balls(belief, "1", WIND, 950.0)
    assert same.mass_ball_sd < new.mass_ball_sd
    assert same.mass_mean_sd < new.mass_mean_sd
    assert same.mass_mean_g.middle > new.mass_mean_g.middle > 200.0


@pytest.mark.parametrize("cones", ["A", "AAAA", "AB", "ABCD"])
def test_masses_alone_do_not_part_winder_and_count(cones: str) -> None:
    view = winder_view(update(prior("1"), weighed(cones, with_length=False)), "1")
    assert view.parted_frac == pytest.approx(0.0, abs=1e-12)
    assert view.lengths == 0
    assert "cannot part" in view.words
    assert view.correlation is not None
    assert view.correlation < -0.4


def test_one_measured_length_parts_them() -> None:
    masses = update(prior("1"), weighed("AAA", with_length=False))
    view = winder_view(update(masses, weighed("A", with_length=True, start=9)), "1")
    assert view.parted_frac is not None
    assert view.parted_frac > 0.7
    assert (view.balls, view.lengths, view.cones) == (4, 1, 1)
    assert "only weighed" not in view.words


def test_other_winders_help_masses_a_little() -> None:
    """Five more winders on the same lot show what is common to all, and so in part the yarn."""
    winders = "123456"
    balls = [b for w in winders for b in weighed([f"cone {w}"], winder=w, with_length=False)]
    alone = winder_view(update(prior(*winders), balls[:1]), "1")
    together = winder_view(update(prior(*winders), balls), "1")
    assert alone.parted_frac == pytest.approx(0.0, abs=1e-12)
    assert together.parted_frac is not None
    assert 0.02 < together.parted_frac < 0.7


def test_nothing_to_part_where_nothing_is_in_doubt() -> None:
    view = winder_view(prior(winder_cv=0.0), "1")
    assert view.correlation is None
    assert view.parted_frac is None
    assert view.factor.low == view.factor.high == 1.0


def test_words_name_the_side() -> None:
    heavy = winder_view(update(prior(), weighed("AB", with_length=True)), "1")
    assert "long" in heavy.words
    assert "heavy" in heavy.words
    light = FirstBall("x", "1", (("A", 1.0),), 950.0, 196.0, 400.0, 200.0, 402.0)
    view = winder_view(update(prior(), [light]), "1")
    assert "short" in view.words
    assert "light" in view.words


def test_a_wind_that_gives_no_length_is_refused() -> None:
    for turns in (0.0, -5.0):
        with pytest.raises(BadInput, match="no ball"):
            Wind(lambda turns: turns, 0.5).at(turns)
    with pytest.raises(BadInput, match="does not know"):
        next_balls(prior(), "9", WIND, 950.0)


def test_intervals_cover_what_they_say() -> None:
    """Draw truths and balls from the model: 95 % of the intervals hold the truth, within 4 sd.

    One ball in the draw holds a tie, two are weighed only, and the balls to come are from a new
    cone, so that every term of the model is in play.
    """
    k = CONSTANTS
    e = k["area_elasticity"]
    draws = 1500
    random = np.random.default_rng(20240611)
    hits = dict.fromkeys(("winder", "count", "mean", "ball mass", "ball length", "same cone"), 0)
    plan = [
        ("1", {"A": 1.0}, True),
        ("1", {"A": 1.0}, False),
        ("1", {"A": 0.4, "B": 0.6}, True),
        ("2", {"C": 1.0}, True),
        ("2", {"C": 1.0}, False),
    ]
    start = prior()

    def inside(value: float, low: float, high: float) -> bool:
        return low <= value <= high

    for _ in range(draws):
        tau = random.normal(0.0, k["lot_cv"])
        omega = dict(zip("12", random.normal(0.0, k["winder_cv"], 2), strict=True))
        gamma = dict(zip("ABCN", random.normal(0.0, k["cone_cv"], 4), strict=True))

        def wound(winder: str, cones: dict[str, float]) -> tuple[float, float]:
            count = tau + sum(share * gamma[cone] for cone, share in cones.items())  # noqa: B023
            count += random.normal(0.0, k["within_cv"])
            length = omega[winder] + e * count + random.normal(0.0, k["length_cv"])  # noqa: B023
            return length, length + count

        balls = []
        for i, (winder, cones, with_length) in enumerate(plan):
            length, mass = wound(winder, cones)
            mass_g = 200.0 * (math.exp(mass) + random.normal(0.0, k["scale_sd_g"]) / 200.0)
            length_m = 402.0 * math.exp(length + random.normal(0.0, k["reel_cv"]))
            balls.append(
                FirstBall(
                    str(i),
                    winder,
                    tuple(cones.items()),
                    950.0,
                    mass_g,
                    length_m if with_length else None,
                    200.0,
                    402.0,
                )
            )
        belief = update(start, balls)
        view, ahead = winder_view(belief, "1"), next_balls(belief, "1", WIND, 950.0)
        again = next_balls(belief, "1", WIND, 950.0, cone="A")
        next_length, next_mass = wound("1", {"N": 1.0})
        same_mass = wound("1", {"A": 1.0})[1]
        truth = 200.0 * math.exp(omega["1"] + (1.0 + e) * tau)
        hits["winder"] += inside(math.exp(omega["1"]), view.factor.low, view.factor.high)
        hits["count"] += inside(math.exp(tau), view.count_factor.low, view.count_factor.high)
        hits["mean"] += inside(truth, ahead.mass_mean_g.low, ahead.mass_mean_g.high)
        hits["ball mass"] += inside(
            200.0 * math.exp(next_mass), ahead.mass_ball_g.low, ahead.mass_ball_g.high
        )
        hits["ball length"] += inside(
            402.0 * math.exp(next_length), ahead.length_ball_m.low, ahead.length_ball_m.high
        )
        hits["same cone"] += inside(
            200.0 * math.exp(same_mass), again.mass_ball_g.low, again.mass_ball_g.high
        )
    sd = math.sqrt(0.95 * 0.05 / draws)
    for name, count in hits.items():
        assert abs(count / draws - 0.95) < 4.0 * sd, name


def test_variance_is_never_below_nil() -> None:
    assert variance_of(np.array([[-1e-20]]), np.array([1.0])) == 0.0
