"""Causes of all winders read together: no winder is the measure of the others beforehand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clew.checks.components.signature import (
    CAUSES,
    LengthEffects,
    Priors,
    chances_of,
    length_effects,
    signature,
)
from clew.checks.components.together import chances_together

PRIORS = Priors()


def row(
    moved: dict[str, tuple[float, float]], reeled: list[str], balls: int
) -> tuple[dict[str, float], dict[str, float], LengthEffects]:
    """A row of six winders without chance: mass, its errors, and lengths of those reeled."""
    mass = {str(k): moved.get(str(k), (0.0, 0.0))[0] for k in range(1, 7)}
    middle = float(np.median(list(mass.values())))
    wobble = np.linspace(-0.004, 0.004, balls)
    lengths = {k: math.log(200.0) + moved.get(k, (0.0, 0.0))[1] + wobble for k in reeled}
    return (
        {k: one - middle for k, one in mass.items()},
        dict.fromkeys(mass, 0.0015),
        length_effects(lengths, PRIORS),
    )


def test_two_reeled_winders_do_not_make_the_right_one_look_drawn_back() -> None:
    """Winder 4 winds 1.8 % long; against it alone winder 1 is short, which is no fault of it."""
    mass, se, lengths = row({"4": (0.018, 0.018)}, ["1", "4"], 5)
    alone = chances_of(mass["1"], se["1"], lengths.effect["1"], lengths.se["1"], PRIORS)
    assert alone["drew_back"] > 0.5  # what the middle of two says
    found = chances_together(mass, se, lengths, PRIORS)
    assert found["1"]["none"] > found["1"]["drew_back"]
    told = signature("1", mass["1"], se["1"], lengths, PRIORS, together=found["1"])
    assert told.cause in ("none", "unknown")
    told = signature("4", mass["4"], se["4"], lengths, PRIORS, together=found["4"])
    assert told.cause in ("winds", "unknown")
    if told.cause == "unknown":
        assert "unreel" in told.words


@pytest.mark.parametrize(
    ("moved", "cause"),
    [((0.018, 0.018), "winds"), ((0.02, 0.0), "count"), ((0.0, -0.018), "drew_back")],
)
def test_one_winder_of_six_is_told(moved: tuple[float, float], cause: str) -> None:
    mass, se, lengths = row({"4": moved}, list("123456"), 5)
    found = chances_together(mass, se, lengths, PRIORS)
    told = signature("4", mass["4"], se["4"], lengths, PRIORS, together=found["4"])
    assert told.cause == cause
    for name in "12356":
        assert max(found[name], key=lambda one: found[name][one]) == "none"


def test_an_origin_is_no_evidence() -> None:
    """Effects about any point say the same, as only their differences are seen."""
    mass, se, lengths = row({"2": (0.01, 0.0), "4": (0.018, 0.018)}, list("1234"), 3)
    moved = LengthEffects(
        {k: one + 0.011 for k, one in lengths.effect.items()},
        lengths.se,
        lengths.balls,
        lengths.ball_sd_frac,
    )
    one = chances_together(mass, se, lengths, PRIORS)
    two = chances_together({k: m - 0.007 for k, m in mass.items()}, se, moved, PRIORS)
    for name in mass:
        assert sum(one[name].values()) == pytest.approx(1.0)
        for cause in CAUSES:
            assert one[name][cause] == pytest.approx(two[name][cause], abs=1e-6)


def test_rows_drawn_from_the_priors_are_told_as_often_right_as_said() -> None:
    rng = np.random.default_rng(11)
    names = list(CAUSES)
    said, right = [], 0
    known = Priors(length_sd_df=1e9)
    for _ in range(120):
        truth, mass, lengths = {}, {}, {}
        for winder in "123456":
            truth[winder] = names[rng.choice(len(names), p=[CAUSES[one][0] for one in names])]
            moved = {one: rng.normal(0, known.of(one)) for one in CAUSES[truth[winder]][1]}
            wound = moved.get("winds", 0.0)
            mass[winder] = wound + moved.get("count", 0.0) + rng.normal(0, 0.003)
            drawn = wound - abs(moved.get("drew_back", 0.0)) + rng.normal(0, 0.006, 4)
            lengths[winder] = math.log(200.0) + drawn
        se = dict.fromkeys(mass, 0.003)
        found = chances_together(mass, se, length_effects(lengths, known), known)
        for winder, cause in truth.items():
            best = max(found[winder], key=lambda one, w=winder: found[w][one])  # type: ignore[misc]
            said.append(found[winder][best])
            right += best == cause
    sd = math.sqrt(sum(p * (1 - p) for p in said))
    assert abs(right - sum(said)) < 3.5 * sd


def test_nothing_reeled_is_mass_alone() -> None:
    mass, se, _ = row({"4": (0.018, 0.018)}, [], 1)
    found = chances_together(mass, se, LengthEffects(), PRIORS)
    assert found["4"]["winds"] == pytest.approx(found["4"]["count"], rel=0.6)
    assert found["4"]["none"] < 0.01
