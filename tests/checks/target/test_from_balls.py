"""The spread read off weighed balls and off a mill file."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clew.ball.from_mill import terms_of
from clew.ball.turns import set_turns
from clew.checks.target.from_balls import seen_balls_per_cone, seen_number, spread_from_balls
from clew.checks.target.from_mill import spread_of_contributions, turns_for
from clew.checks.weighings import Factor
from clew.faults import BadInput
from clew.mill.model import Mill

CONES, PER_CONE, WINDERS = 120, 12, 6


def made(seed: int = 4) -> tuple[np.ndarray, np.ndarray, dict[str, Factor]]:
    """Balls with known parts: count by cone, turns by winder, both by the ball."""
    rng = np.random.default_rng(seed)
    cone = np.repeat(np.arange(CONES), PER_CONE)
    winder = cone % WINDERS
    turns = 0.008 * rng.normal(size=WINDERS)[winder] + 0.006 * rng.normal(size=cone.size)
    count = 0.012 * rng.normal(size=CONES)[cone] + 0.004 * rng.normal(size=cone.size)
    mass = 100.0 * (1 + turns + count)
    length = 200.0 * (1 + turns)
    length[rng.random(cone.size) > 0.3] = np.nan
    factors = {
        "cone": Factor(cone.astype(np.int32), tuple(f"c{i}" for i in range(CONES))),
        "winder": Factor(winder.astype(np.int32), tuple(str(i + 1) for i in range(WINDERS))),
    }
    return mass, length, factors


def test_the_parts_come_back() -> None:
    mass, length, factors = made()
    found = spread_from_balls(mass, length, factors)
    within = found.spread.within
    assert found.spread.cone.mass.value_frac == pytest.approx(0.012, rel=0.25)
    assert within.mass.value_frac == pytest.approx(math.hypot(0.006, 0.004), rel=0.06)
    assert within.length.value_frac == pytest.approx(0.006, rel=0.15)
    assert within.correlation == pytest.approx(0.006 / math.hypot(0.006, 0.004), abs=0.1)
    assert found.spread.winder.correlation == 1.0
    assert found.spread.cone.length.none
    assert found.mean_length_m == pytest.approx(200.0, rel=0.02)
    assert (seen_balls_per_cone(factors), seen_number(factors, ("winder", "lane"))) == (12, 6)


def test_few_cones_leave_more_doubt() -> None:
    mass, _, factors = made()
    few = {k: Factor(f.codes[:144], f.names) for k, f in factors.items()}
    one = spread_from_balls(mass, None, factors).spread.cone.mass
    two = spread_from_balls(mass[:144], None, few).spread.cone.mass
    assert two.log_sd > one.log_sd > 0.0


def test_two_dye_lots_are_taken_as_found_and_said() -> None:
    mass, _, factors = made()
    lot = np.repeat(np.array([0, 1], dtype=np.int32), mass.size // 2)
    mass = mass * np.where(lot == 1, 1.012, 1.0)
    found = spread_from_balls(mass, None, factors | {"lot": Factor(lot, ("A", "B"))})
    assert found.spread.lot.mass.value_frac == pytest.approx(0.012 / math.sqrt(2), rel=0.5)
    assert found.spread.lot.mass.log_sd == pytest.approx(1 / math.sqrt(2))
    assert any("--lot-sd" in note for note in found.notes)


def test_balls_without_names_have_only_their_own_spread() -> None:
    mass, _, _ = made()
    found = spread_from_balls(mass, None, {})
    assert found.spread.within.mass.value_frac == pytest.approx(mass.std() / mass.mean(), rel=0.01)
    assert seen_balls_per_cone({}) is None
    assert seen_number({}, ("winder",)) is None


@pytest.mark.parametrize("values", [[], [100.0], [100.0, 100.0, 100.0], [math.nan] * 3])
def test_too_little_is_one_clear_line(values: list[float]) -> None:
    with pytest.raises(BadInput) as caught:
        spread_from_balls(np.array(values), None, {})
    assert len(str(caught.value).splitlines()) == 1


def test_the_mill_file_says_the_same_as_its_own_ball(demo_mill: Mill) -> None:
    """Levels add up to the doubt of one ball that `clew ball turns` prints."""
    terms = terms_of(demo_mill, "Querl 100")
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    spread = spread_of_contributions(answer.contributions)
    assert spread.mass_frac == pytest.approx(answer.mass_log_sd, rel=1e-6)
    assert spread.length_frac == pytest.approx(answer.length_log_sd, rel=1e-6)
    assert spread.winder.correlation == pytest.approx(1.0)


def test_turns_reach_the_target_and_one_fewer_does_not(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    ball, line = demo_mill.find_ball("Querl 100"), demo_mill.line[0]
    for mass_g, length_m in ((102.4, 0.0), (0.0, 206.0), (98.0, 190.0)):
        found = turns_for(terms, ball, line, answer, mass_g, length_m)
        assert found.mass_g >= mass_g
        assert found.length_m >= length_m
        less = set_turns(terms.strand, terms.promise, terms.winding, turns=found.turns - 1)
        assert less.as_weighed_g < mass_g or less.length_m < length_m
        by_winder = dict(found.counts)
        assert by_winder[1].counts == found.turns
        assert by_winder[5].counts == math.ceil(found.turns / 10)
