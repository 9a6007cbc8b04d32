"""A written belief that cannot be one is refused in plain words, whatever stands in it."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from clew.ball.first.about import About
from clew.ball.first.belief import Belief, FirstBall, prior_belief, update
from clew.faults import BadInput

ABOUT = About("M", "L", "B", "Y", "D", (("ball tilt", "0: 42°"), ("yarn shrink_frac", 0.2)), ())
PYTHON = re.compile(
    r"None|True|False|nan|inf\b|float|\bint\b|str\b|dict|tuple|object|Error|unexpected|argument|"
    r"NoneType|__|array|shape|iterable|unpack|subscript|0x",
)


def good() -> dict[str, Any]:
    start = prior_belief(
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
    balls = [
        FirstBall("a", "1", (("A", 1.0),), 950.0, 201.0, 400.0, 200.0, 402.0),
        FirstBall("b", "2", (("A", 0.4), ("B", 0.6)), 950.0, 199.0, None, 200.0, 402.0),
    ]
    belief = replace(update(replace(start, about=ABOUT), balls), odd=("b",))
    plain = json.loads(json.dumps(belief.to_plain()))
    assert isinstance(plain, dict)
    return plain


def test_a_good_belief_comes_back_to_the_last_bit() -> None:
    again = Belief.from_plain(good())
    assert json.loads(json.dumps(again.to_plain())) == good()
    assert again.about == ABOUT
    assert again.odd == ("b",)
    assert not np.shares_memory(again.mean, Belief.from_plain(good()).mean)


def put(*path: Any) -> Callable[[Any], dict[str, Any]]:
    """Put a value (the last of the path) at a place in a good belief."""

    def spoil(value: Any) -> dict[str, Any]:
        plain = good()
        where: Any = plain
        for key in path[:-1]:
            where = where[key]
        where[path[-1]] = value
        return plain

    return spoil


def without(key: str) -> dict[str, Any]:
    plain = good()
    del plain[key]
    return plain


def nested(depth: int) -> Any:
    made: Any = []
    for _ in range(depth):
        made = [made]
    return made


NASTY: dict[str, Any] = {
    "no section": [],
    "another form": put("form")("first-ball belief 1"),
    "a form that is a list": put("form")(["first-ball belief 2"]),
    "a key missing": without("spreads"),
    "an unknown key": put("notes")("hello"),
    "winders in one word": put("winders")("123456"),
    "no winders": put("winders")([]),
    "winders alike": put("winders")(["1", "1"]),
    "a winder that is a number": put("winders")([1, 2]),
    "a huge mean": put("mean", 0)(1e300),
    "a mean of 400 figures": put("mean", 1)(10**400),
    "a mean that is not meant": put("mean", 1)(0.71),
    "a mean that is no number": put("mean", 1)(math.nan),
    "a mean in words": put("mean")("heavy"),
    "a mean that is true": put("mean", 0)(True),
    "a mean too short": put("mean")([0.0]),
    "an infinite covariance": put("covariance", 0, 0)(math.inf),
    "a spread that is not meant": put("covariance", 0, 0)(0.26),
    "a covariance that is not symmetrical": put("covariance", 0, 1)(1e-4),
    "a negative variance": put("covariance", 1, 1)(-1e-3),
    "a covariance that is not positive": put("covariance")(
        [[1e-4 if i == j else 9e-5 * (-1) ** (i + j) * 1.2 for j in range(5)] for i in range(5)]
    ),
    "a ragged covariance": put("covariance", 2)([0.0]),
    "a flat covariance": put("covariance")([0.0] * 5),
    "no constants": put("spreads")({}),
    "constants in a list": put("spreads")([1, 2]),
    "a spread below nil": put("spreads", "cone_cv")(-0.5),
    "an own spread of 3": put("spreads", "own_cov")([[1e-4, 0.0, 0.0], [0.0, 1e-4, 0.0]]),
    "an own spread in step": put("spreads", "own_cov")([[1e-4, 1e-4], [1e-4, 1e-4]]),
    "balls in words": put("balls")("two"),
    "a ball that is a word": put("balls", 0)("a"),
    "a ball of an unknown winder": put("balls", 0, "winder")("9"),
    "a ball of an unknown cone": put("balls", 0, "cones")([["Z", 1.0]]),
    "a ball without a cone": put("balls", 0, "cones")([]),
    "a ball with half a cone": put("balls", 0, "cones")([["A"]]),
    "a ball without a mass": put("balls", 0, "mass_g")(None),
    "a ball that weighs nothing": put("balls", 0, "mass_g")(0),
    "a ball taken in twice": put("balls", 1, "ball_id")("a"),
    "an odd ball that was not seen": put("odd")(["z"]),
    "a deep nest": put("mean")(nested(5000)),
    "about in words": put("about")("Querl"),
    "about without an end": put("about", "inputs")([["a", 1.0, 2.0]]),
    "about a number": put("about", "mill")(7),
    "a long name": put("about", "ball")("x" * 10_000),
}


@pytest.mark.parametrize("plain", NASTY.values(), ids=NASTY.keys())
def test_a_spoilt_belief_is_refused_in_plain_words(plain: Any) -> None:
    with pytest.raises(BadInput) as caught:
        Belief.from_plain(plain)
    for fault in caught.value.faults:
        line = str(fault)
        assert "\n" not in line
        assert len(line) < 300
        assert not PYTHON.search(line), line


def test_every_fault_comes_at_once() -> None:
    plain = good()
    plain["mean"][0] = 5.0
    plain["balls"][0]["winder"] = "9"
    plain["odd"] = ["z"]
    with pytest.raises(BadInput) as caught:
        Belief.from_plain(plain)
    assert len(caught.value.faults) == 3


WIDEST = {
    "winder_cv": (0.0, 0.5), "lot_cv": (0.0, 0.5), "cone_cv": (0.0, 0.5), "reel_cv": (0.0, 0.5),
    "scale_sd_g": (0.0, 1e6), "length_elasticity": (-1.0, 2.0), "mass_elasticity": (0.1, 4.0),
    "own_cov": (((1e-12, 0.0), (0.0, 1e-12)), ((0.25, -0.2), (-0.2, 0.25))),
}  # fmt: skip
"""The least and the most that `Spreads` says it takes."""


@pytest.mark.parametrize("at", [0, 1])
@pytest.mark.parametrize("key", WIDEST)
def test_every_constant_comes_back_at_the_ends_of_its_range(key: str, at: int) -> None:
    """What can be held can be written and read again, to the last bit."""
    belief = Belief.from_plain(good())
    held = replace(belief, spreads=replace(belief.spreads, **{key: WIDEST[key][at]}))
    assert Belief.from_plain(json.loads(json.dumps(held.to_plain()))).spreads == held.spreads


def test_all_constants_beyond_their_ranges_are_told_at_once() -> None:
    """Each by its place in the file, the covariance of a ball too."""
    plain = good()
    beyond = {"winder_cv": 0.51, "scale_sd_g": 2e6, "length_elasticity": 2.1, "mass_elasticity": 5}
    plain["spreads"] |= {**beyond, "own_cov": [[0.26, 0.0], [0.0, 1e-4]]}
    with pytest.raises(BadInput) as caught:
        Belief.from_plain(plain)
    assert sorted(fault.key for fault in caught.value.faults) == sorted(
        f"spreads {key}" for key in (*beyond, "own_cov")
    )


@pytest.mark.parametrize(("value", "taken"), [(0.7, True), (-0.7, True), (0.701, False)])
def test_a_mean_is_taken_up_to_twice_or_half(value: float, taken: bool) -> None:
    plain = put("mean", 1)(value)
    if taken:
        assert Belief.from_plain(plain).mean[1] == value
    else:
        with pytest.raises(BadInput):
            Belief.from_plain(plain)
