"""Corrections of a mill's own ball: what a count winds, and other targets tried."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from clew.checks.components.drift_from_mill import aimed_anew, drift_terms, unreel_for
from clew.checks.components.drifted import Drifted, who_drifted
from clew.checks.weighings import Factor, Weighings
from clew.faults import BadInput
from clew.mill.model import Mill

NAMES = ("1", "5", "6")


def drifted(mill: Mill) -> Drifted:
    """Three winders, the second of which runs heavy."""
    rng = np.random.default_rng(5)
    rows = 360
    winder = np.arange(rows) % 3
    mass = 101.0 + 3.0 * (winder == 1) + rng.normal(0.0, 0.7, rows)
    cone = Factor((np.arange(rows) // 12).astype(np.int32), tuple(f"C-{k}" for k in range(30)))
    balls = Weighings(
        rows, {"mass_g": mass}, {"winder": Factor(winder.astype(np.int32), NAMES), "cone": cone}
    )
    terms = drift_terms(mill, "Querl 100", "", "", NAMES)
    return who_drifted(balls, mass, terms.counts, terms.aim)


def test_a_count_winds_what_its_winders_counter_says(demo_mill: Mill) -> None:
    terms = drift_terms(demo_mill, "Querl 100", "", "", NAMES)
    one, ten, tenth_of_the_ball = (terms.counts[name] for name in NAMES)
    assert one.turns == 1.0
    assert ten.turns == 10.0
    assert ten.mass_g == pytest.approx(10.0 * one.mass_g)
    assert tenth_of_the_ball.turns == pytest.approx(2.038)
    assert one.mass_g / one.length_m == pytest.approx(0.5, abs=0.02)  # about 500 tex
    assert terms.aim.target_mass_g == pytest.approx(101.0)
    assert terms.hand_s == demo_mill.checks.reel_time_s
    assert terms.currency == "GBP"


@pytest.mark.parametrize("name", ["four", "9", ""])
def test_a_winder_the_line_has_not_is_said(demo_mill: Mill, name: str) -> None:
    with pytest.raises(BadInput):
        drift_terms(demo_mill, "Querl 100", "", "", (name,))


def test_another_target_moves_corrections_and_nothing_else(demo_mill: Mill) -> None:
    found = drifted(demo_mill)
    terms = drift_terms(demo_mill, "Querl 100", "", "", NAMES)
    assert aimed_anew(found, terms) == found
    lower = replace(terms, aim=replace(terms.aim, target_mass_g=99.0))
    moved = aimed_anew(found, lower)
    assert moved.components is found.components
    assert [one.standing for one in moved.corrections] == [
        one.standing for one in found.corrections
    ]
    for before, after in zip(found.corrections, moved.corrections, strict=True):
        assert after.offset_g == pytest.approx(before.offset_g + 2.0)
        assert after.counts <= before.counts


def test_what_it_costs_to_know_a_length(demo_mill: Mill) -> None:
    found = drifted(demo_mill)
    terms = drift_terms(demo_mill, "Querl 100", "", "", NAMES)
    unreel = unreel_for(found, terms)
    assert unreel is not None
    each = 4.6 + 180.0 / 3600.0 * 16.0
    assert unreel.cost == pytest.approx(unreel.balls * each)
    assert terms.aim.target_length_m is not None
    assert unreel.half_width_m <= 0.005 * terms.aim.target_length_m
    assert unreel_for(found, replace(terms, aim=replace(terms.aim, target_length_m=None))) is None
