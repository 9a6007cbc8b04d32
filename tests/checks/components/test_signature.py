"""Mass and length read together: each cause told where it is, and none where balls are few."""

import math

import numpy as np
import pytest
from scipy import stats

from clew.checks.components.signature import (
    CAUSES,
    LengthEffects,
    Priors,
    chances_of,
    length_effects,
    signature,
)

PRIORS = Priors()


def lengths(effect: float, se: float = 0.0015, balls: int = 9) -> LengthEffects:
    return LengthEffects({"4": effect}, {"4": se}, {"4": balls}, se * math.sqrt(balls))


@pytest.mark.parametrize(
    ("mass", "length", "cause", "words"),
    [
        (0.018, 0.018, "winds", "winds long"),
        (-0.018, -0.018, "winds", "winds short"),
        (0.020, 0.000, "count", "count is heavy"),
        (-0.020, 0.000, "count", "count is light"),
        (0.000, -0.020, "drew_back", "drew back after winding"),
        (0.0, 0.0, "none", "as the others do"),
    ],
)
def test_each_cause_is_told_where_it_is(mass: float, length: float, cause: str, words: str) -> None:
    found = signature("4", mass, 0.0015, lengths(length))
    assert found.cause == cause, found.chances
    assert words in found.words
    assert found.unreel_more == 0


def test_mass_alone_cannot_tell_winding_from_count() -> None:
    found = signature("4", 0.02, 0.001, LengthEffects())
    assert found.cause == "unknown"
    assert found.unreel_more is not None and found.unreel_more >= 1
    assert f"unreel {found.unreel_more} ball" in found.words
    assert found.chances["winds"] == pytest.approx(found.chances["count"], rel=0.6)


def test_a_long_ball_has_not_drawn_back() -> None:
    found = chances_of(0.0, 0.0015, 0.02, 0.0015, PRIORS)
    assert found["drew_back"] < 1e-6


@pytest.mark.parametrize(
    ("mass", "length"), [(0.012, 0.001), (0.004, -0.013), (-0.006, 0.007), (0.0, 0.0)]
)
def test_chances_are_those_of_the_integral_written_out(mass: float, length: float) -> None:
    """Integrate each cause's own normal density, drawing back on one side only."""
    sd_m, sd_l = 0.003, 0.004

    norm = stats.norm.pdf
    w, c, d = PRIORS.winds_frac, PRIORS.count_frac, PRIORS.drew_back_frac
    both, step = np.linspace(-0.08, 0.08, 1601, retstep=True)
    back = both[800:]
    ends = np.where(back == 0.0, 0.5, 1.0)  # trapezoids on the one side

    def density(winds: object, count: object, drew: object) -> np.ndarray:
        there = np.asarray(winds), np.asarray(count), np.asarray(drew)
        at_mass = norm(mass, there[0] + there[1], sd_m)
        return np.asarray(at_mass * norm(length, there[0] - there[2], sd_l))

    def total(values: np.ndarray) -> float:
        return float(values.sum() * step**values.ndim)

    drawn_back = ends * 2 * norm(back, 0, d)
    rows = both[:, None]
    seen = {
        "none": float(density(0, 0, 0)),
        "winds": total(norm(both, 0, w) * density(both, 0, 0)),
        "count": total(norm(both, 0, c) * density(0, both, 0)),
        "drew_back": total(drawn_back * density(0, 0, back)),
        "winds and count": total(norm(rows, 0, w) * norm(both, 0, c) * density(rows, both, 0)),
        "winds and drew_back": total(norm(rows, 0, w) * drawn_back * density(rows, 0, back)),
        "count and drew_back": total(norm(rows, 0, c) * drawn_back * density(0, rows, back)),
    }
    weighed = {name: CAUSES[name][0] * value for name, value in seen.items()}
    found = chances_of(mass, sd_m, length, sd_l, PRIORS)
    for name, value in weighed.items():
        assert found[name] == pytest.approx(value / sum(weighed.values()), abs=1e-5)


def test_priors_add_up_to_one() -> None:
    assert sum(prior for prior, _ in CAUSES.values()) == pytest.approx(1.0)


def test_what_is_told_is_right_as_often_as_it_says() -> None:
    """Winders drawn from the priors themselves: the probability told is the share that is so."""
    rng = np.random.default_rng(8)
    names = list(CAUSES)
    told, right = [], 0
    for _ in range(1500):
        cause = names[rng.choice(len(names), p=[CAUSES[name][0] for name in names])]
        moved = {one: rng.normal(0, PRIORS.of(one)) for one in CAUSES[cause][1]}
        back = abs(moved.get("drew_back", 0.0))
        mass = moved.get("winds", 0.0) + moved.get("count", 0.0) + rng.normal(0, 0.002)
        length = moved.get("winds", 0.0) - back + rng.normal(0, 0.002)
        found = chances_of(mass, 0.002, length, 0.002, PRIORS)
        best = max(found, key=lambda name: found[name])
        told.append(found[best])
        right += best == cause
    sd = math.sqrt(sum(p * (1 - p) for p in told))
    assert abs(right - sum(told)) < 3.5 * sd


def test_length_effects_of_few_checks_lean_on_the_usual_spread() -> None:
    alike = {"1": np.log([200.0, 200.0]), "2": np.log([203.0, 203.0]), "3": np.log([201.0])}
    found = length_effects(alike, PRIORS)
    assert found.ball_sd_frac == pytest.approx(0.006 * math.sqrt(4 / 6))
    assert found.effect["3"] == 0.0  # the middle one
    assert found.effect["2"] == pytest.approx(math.log(203 / 201))
    assert found.se["3"] > found.se["1"] > 0.0
    assert found.balls == {"1": 2, "2": 2, "3": 1}


def test_standard_errors_of_length_effects_are_those_of_draws() -> None:
    rng = np.random.default_rng(9)
    sizes = {"1": 2, "2": 5}  # of two, the middle is the mean
    known = Priors(length_sd_frac=0.01, length_sd_df=1e9)
    drawn = [
        length_effects({w: rng.normal(0, 0.01, n) for w, n in sizes.items()}, known)
        for _ in range(6000)
    ]
    for winder in sizes:
        spread = float(np.std([one.effect[winder] for one in drawn]))
        assert drawn[0].se[winder] == pytest.approx(spread, rel=0.04)


def test_one_reeled_winder_stands_against_none() -> None:
    found = length_effects({"1": np.log([200.0, 201.0]), "2": np.array([])}, PRIORS)
    assert not found.effect and found.balls == {"1": 2}
