"""What cannot be a ball, or a constant, is refused with everything that is wrong with it."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from clew.ball.first.weighed import FirstBall, Spreads, ball_faults, deviations, scatter
from clew.faults import BadInput

SPREADS = Spreads.unstretched(
    winder_cv=0.01,
    lot_cv=0.02,
    cone_cv=0.018,
    length_cv=0.005,
    within_cv=0.007,
    scale_sd_g=0.1,
    reel_cv=0.003,
    area_elasticity=0.28,
)
GOOD = FirstBall("a", "1", (("A", 0.25), ("B", 0.75)), 950.0, 201.0, 400.0, 200.0, 402.0)


def test_a_good_ball_has_no_fault() -> None:
    assert ball_faults(GOOD) == []
    assert ball_faults(replace(GOOD, length_m=None)) == []


@pytest.mark.parametrize(
    ("changed", "key"),
    [
        ({"ball_id": " "}, "ball_id"),
        ({"turns": 0.0}, "turns"),
        ({"mass_g": math.nan}, "mass_g"),
        ({"mass_g": "201"}, "mass_g"),
        ({"length_m": -1.0}, "length_m"),
        ({"expected_mass_g": math.inf}, "expected_mass_g"),
        ({"expected_length_m": True}, "expected_length_m"),
        ({"cones": ()}, "cones"),
        ({"cones": (("A", 0.5), ("A", 0.5))}, "cones"),
        ({"cones": (("A", 0.5), ("B", 0.4))}, "cones"),
        ({"cones": (("A", 1.5), ("B", -0.5))}, "cones"),
        ({"cones": (("", 1.0),)}, "cones"),
        ({"mass_g": 7.09}, "mass_g"),
        ({"length_m": 1312.0}, "length_m"),
    ],
)
def test_one_fault_one_line(changed: dict[str, Any], key: str) -> None:
    """The last two are a ball weighed in ounces and one measured in feet."""
    faults = ball_faults(replace(GOOD, **changed))
    assert [fault.key for fault in faults] == [key]


def test_all_faults_of_a_ball_come_together() -> None:
    faults = ball_faults(replace(GOOD, turns=-1.0, mass_g=0.0, cones=()))
    assert [fault.key for fault in faults] == ["turns", "mass_g", "cones"]
    assert {fault.section for fault in faults} == {'ball "a"'}


def test_all_faults_of_the_constants_come_together() -> None:
    with pytest.raises(BadInput) as refused:
        Spreads(-0.01, 0.9, math.nan, ((0.0, 0.0), (0.0, 0.0)), -0.1, 0.003, -1.5, 9.0)
    assert [fault.key for fault in refused.value.faults] == [
        "winder_cv",
        "lot_cv",
        "cone_cv",
        "scale_sd_g",
        "length_elasticity",
        "mass_elasticity",
        "own_cov",
    ]
    constants = dict.fromkeys(("winder_cv", "lot_cv", "cone_cv", "scale_sd_g", "reel_cv"), 0.01)
    with pytest.raises(BadInput) as refused:
        Spreads.unstretched(length_cv=0.0, within_cv=0.9, area_elasticity=0.3, **constants)
    assert [fault.key for fault in refused.value.faults] == ["length_cv", "within_cv"]


@pytest.mark.parametrize(
    "own",
    [
        ((1e-4, 1e-4), (1e-4, 1e-4)),  # length and mass in perfect step
        ((1e-4, 0.0), (1e-5, 1e-4)),  # not symmetrical
        ((0.3, 0.0), (0.0, 1e-4)),  # a spread of length beyond one half
        ((1e-4, 0.0), (0.0, 1e-16)),  # a mass known exactly
    ],
)
def test_what_a_ball_is_by_itself_has_a_covariance(own: Any) -> None:
    with pytest.raises(BadInput, match="own_cov"):
        replace(SPREADS, own_cov=own)


def test_deviations_are_logarithms_length_first() -> None:
    assert deviations(GOOD).tolist() == [math.log(400.0 / 402.0), math.log(201.0 / 200.0)]
    assert deviations(replace(GOOD, length_m=None)).tolist() == [math.log(201.0 / 200.0)]


def test_scatter_shares_the_length_between_length_and_mass() -> None:
    both = scatter(SPREADS, 200.0, with_length=True)
    e = SPREADS.length_elasticity
    assert both[0, 1] == both[1, 0] == pytest.approx(0.005**2 + e * (1 + e) * 0.007**2)
    assert both[0, 0] == pytest.approx(0.005**2 + (e * 0.007) ** 2 + 0.003**2)
    assert both[1, 1] == pytest.approx(0.005**2 + ((1 + e) * 0.007) ** 2 + 0.0005**2)
    assert np.array_equal(scatter(SPREADS, 200.0, with_length=False), both[1:, 1:])
