"""Sources that the balls cannot tell apart are dropped by name, not fitted and not fatal."""

import numpy as np
import pytest

from clew.checks.components.components import components
from clew.checks.components.components_plain import components_plain
from clew.checks.components.design import design
from clew.checks.weighings import Factor
from clew.faults import BadInput

RNG = np.random.default_rng(3)
Y = RNG.normal(100, 1, 60)


def factor(codes: np.ndarray) -> Factor:
    return Factor(codes.astype(np.int32), tuple(f"n{k}" for k in range(int(codes.max()) + 1)))


WINDER = factor(np.arange(60) % 6)
LANE = factor(5 - np.arange(60) % 6)


def test_lane_and_winder_one_to_one_are_told_as_winder() -> None:
    found = components(Y, {"lane": LANE, "winder": WINDER}, ["lane", "winder"])
    assert found.dropped == ("lane",)
    assert "lane and winder are the same here: told as winder" in found.cautions
    alone = components(Y, {"winder": WINDER}, ["winder"])
    assert found.parts == alone.parts
    assert components_plain(found)["variances"]["lane"] is None


def test_one_level_is_no_source() -> None:
    lot = factor(np.zeros(60))
    found = components(Y, {"lot": lot, "winder": WINDER}, ["lot", "winder"])
    assert found.dropped == ("lot",)
    assert any("only one lot here" in one for one in found.cautions)


def test_a_cone_of_one_ball_is_told_as_within() -> None:
    cone = factor(np.arange(60))
    found = components(Y, {"cone": cone, "winder": WINDER}, ["cone", "winder"])
    assert found.dropped == ("cone",)
    assert any("cone is told as within" in one for one in found.cautions)


def test_two_lots_on_two_cones_are_told_as_cone() -> None:
    half = factor(np.arange(60) // 30)
    found = components(Y, {"cone": half, "lot": half}, ["cone", "lot"])
    assert found.dropped == ("lot",)


def test_cones_of_one_name_in_two_lots_are_two_cones() -> None:
    cone, lot = factor(np.arange(60) // 3 % 10), factor(np.arange(60) // 30)
    cells = design(Y, {"cone": cone, "lot": lot}, ["cone", "lot"])
    assert cells.levels(0) == 20
    assert cells.names[0][0] == "n0 of n0"
    assert any("used again in another lot" in one for one in cells.cautions)


def test_balls_without_value_or_name_are_left_out_and_counted() -> None:
    y = Y.copy()
    y[3] = np.nan
    codes = WINDER.codes.copy()
    codes[7] = -1
    cells = design(y, {"winder": Factor(codes, WINDER.names)}, ["winder"])
    assert (cells.rows, cells.left_out) == (58, 2)


@pytest.mark.parametrize(
    ("y", "words"),
    [
        (np.full(60, 100.0), "nothing varies"),
        (np.where(np.arange(60) < 2, 100.0, np.nan), "too few balls"),
        (100.0 + np.arange(60) % 6, "all but alike"),
    ],
)
def test_what_cannot_be_answered_is_one_clear_line(y: np.ndarray, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        components(y, {"winder": WINDER}, ["winder"])


def test_a_source_that_is_not_there_is_named() -> None:
    with pytest.raises(BadInput, match=r"cone: no such column"):
        components(Y, {"winder": WINDER}, ["cone", "winder"])
