"""What is said of a winder, and of chasing every ball, against the numbers it is said from."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from clew.checks.components.corrections import Aim, Correction, Count, Standing, corrections
from clew.checks.components.drifted import Drifted, who_drifted
from clew.checks.components.drifted_plain import (
    correction_words,
    drifted_plain,
    funnel_words,
    left_words,
)
from clew.checks.components.funnel import OverCorrection, over_correction
from clew.checks.weighings import Factor, Weighings

COUNT = Count(turns=1.0, mass_g=0.14, length_m=0.28)
TARGET_G = 100.0
AIM = Aim(target_mass_g=TARGET_G)


def correction(off_g: float, se_g: float) -> Correction:
    """What becomes of a winder that stands so far off."""
    (one,) = corrections(
        [Standing("4", 300, TARGET_G + off_g, se_g)], {"4": COUNT}, {"4": 1000}, AIM
    )
    return one


@pytest.fixture(scope="module")
def found() -> Drifted:
    """Two winders, the second 0.8 g heavy."""
    rng = np.random.default_rng(3)
    rows = 60
    winder = np.arange(rows) % 2
    mass = TARGET_G + 0.2 + 0.8 * (winder == 1) + rng.normal(0.0, 0.3, rows)
    balls = Weighings(
        rows, {"mass_g": mass}, {"winder": Factor(winder.astype(np.int32), ("1", "2"))}
    )
    return who_drifted(balls, mass, {"1": COUNT, "2": COUNT}, AIM)


@pytest.mark.parametrize("off_g", [0.3, 0.7, 1.3, 4.0])
def test_heavy_and_light_are_told_by_the_sign_alone(off_g: float) -> None:
    """A winder so much over its target and one as much under it, surely known."""
    for off, word, deed in ((off_g, "heavy", "take off"), (-off_g, "light", "add")):
        one = correction(off, 0.01)
        assert one.make
        words = correction_words(one, None, "")
        assert f"{off_g:.1f} g {word}" in words
        assert deed in words


@pytest.mark.parametrize("off_g", [0.3, 0.7, 1.3])
def test_a_winder_left_alone_seems_to_run_the_way_it_stands(off_g: float) -> None:
    for off, word in ((off_g, "heavy"), (-off_g, "light")):
        one = correction(off, 2.0)
        assert not one.make
        assert f"{off_g:.1f} g {word}" in left_words(one, None)


def chased(found: Drifted, funnel: OverCorrection) -> str:
    return funnel_words(replace(found, funnel=funnel))


def test_chasing_costs_target_or_length_by_which_spread_is_wider(found: Drifted) -> None:
    """Balls by themselves: sd 1 becomes sqrt 2. Cones of eight balls: mass narrows instead."""
    alone = over_correction(0.0, 1.0, balls=25)
    assert f"{2.0 * (2.0**0.5 - 1.0):.2g} g a ball in target" in chased(found, alone)
    followed = over_correction(0.0, 0.1, balls=25, cone_sd_g=1.0, balls_per_cone=8.0)
    assert followed.every_ball_sd_g < followed.right_sd_g
    words = chased(found, followed)
    assert "pay for it in length" in words
    assert "in target" not in words


def test_a_loss_of_nothing_is_no_cost(found: Drifted) -> None:
    """Ball 1, cone 2, 8/3 balls a cone: 2 + 2 x 4/(8/3) = 5 = 1 + 4, so nothing is lost."""
    even = over_correction(0.0, 1.0, balls=25, cone_sd_g=2.0, balls_per_cone=8.0 / 3.0)
    assert even.lost_g == pytest.approx(0.0, abs=1e-12)
    assert "in target" not in chased(found, replace(even, lost_g=0.0))


def test_plain_values_are_those_of_the_answer_and_go_into_json(found: Drifted) -> None:
    plain = drifted_plain(found, "GBP")
    assert json.loads(json.dumps(plain)) == plain
    first, second = plain["winders"]
    assert (first["winder"], second["winder"]) == ("1", "2")
    assert second["mean_g"] - first["mean_g"] == pytest.approx(0.8, abs=0.3)
    for one in (first, second):
        assert one["offset_g"] == pytest.approx(one["mean_g"] - TARGET_G)
        assert one["turns"] == pytest.approx(one["counts"] * COUNT.turns)
        assert one["signature"] is not None
    assert second["counts"] < 0 and second["make"]
    funnel = plain["funnel"]
    assert funnel["lost_g"] == pytest.approx(
        2.0 * (funnel["every_ball_sd_g"] - funnel["right_sd_g"])
    )
    assert drifted_plain(found, "")["currency"] is None
