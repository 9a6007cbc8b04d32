"""Turns for a declared mass and length: whole turns, the binding declaration, what changes do."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.ball.bounds import short_frac
from clew.ball.from_mill import Terms, terms_of
from clew.ball.outcome import area_of, length_law, outcome, rest_count_tex, strain_of
from clew.ball.tension import relaxed_length_m
from clew.ball.turns import TurnsAnswer, balance, set_turns
from clew.ball.wind.build import build
from clew.faults import BadInput
from clew.mill.model import Mill

BALLS = ["Querl 100", "Querl 200", "Dunnow 50", "Sallowe 100"]


def answered(terms: Terms, **keys: int) -> TurnsAnswer:
    return set_turns(terms.strand, terms.promise, terms.winding, **keys)


@pytest.mark.parametrize("name", BALLS)
def test_whole_turns_are_the_fewest_on_both_targets(demo_mill: Mill, name: str) -> None:
    terms = terms_of(demo_mill, name)
    found = answered(terms)
    assert found.mass_g >= terms.promise.target_mass_g * (1 - 1e-9)
    assert found.length_m >= terms.promise.target_length_m * (1 - 1e-9)
    fewer = answered(terms, turns=found.turns - 1)
    assert (
        fewer.mass_g < terms.promise.target_mass_g or fewer.length_m < terms.promise.target_length_m
    )


@pytest.mark.parametrize("name", BALLS)
def test_the_binding_declaration_follows_from_the_count_alone(demo_mill: Mill, name: str) -> None:
    """Mass binds exactly when the yarn is finer than target mass over target length."""
    terms = terms_of(demo_mill, name)
    wanted = balance(terms.strand, terms.promise, terms.winding).rest_count_tex
    finer = rest_count_tex(terms.strand, terms.winding) < wanted
    assert answered(terms).binding == ("mass" if finer else "length")


def test_the_demo_shows_both_kinds(demo_mill: Mill) -> None:
    assert {answered(terms_of(demo_mill, name)).binding for name in BALLS} == {"mass", "length"}


@pytest.mark.parametrize("name", BALLS)
def test_mass_is_length_at_rest_times_count_at_rest(demo_mill: Mill, name: str) -> None:
    found = answered(terms_of(demo_mill, name))
    assert found.as_weighed_g == pytest.approx(
        found.length_m * found.rest_count_tex / 1000, rel=1e-9
    )


@pytest.mark.parametrize("name", BALLS)
def test_length_at_rest_is_laid_length_let_go(demo_mill: Mill, name: str) -> None:
    terms = terms_of(demo_mill, name)
    found = answered(terms)
    by_hand = relaxed_length_m(
        found.laid_length_m, strain_of(terms.strand, terms.winding), terms.strand.recovery_frac
    )
    assert found.length_m == pytest.approx(by_hand, rel=1e-6)


def test_commercial_mass_is_dry_mass_with_the_allowance(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Dunnow 50")
    found = answered(terms)
    assert found.mass_g == pytest.approx(found.commercial_g)
    assert found.dry_g * (1 + terms.strand.regain_out_frac) == pytest.approx(found.as_weighed_g)
    assert found.commercial_g / found.dry_g == pytest.approx(1.1825)


@pytest.mark.parametrize("name", BALLS)
def test_the_stated_count_change_puts_both_targets_on_one_turn(demo_mill: Mill, name: str) -> None:
    terms = terms_of(demo_mill, name)
    change = balance(terms.strand, terms.promise, terms.winding).count_change_frac
    strand = replace(terms.strand, count_tex=terms.strand.count_tex * (1 + change))
    found = set_turns(strand, terms.promise, terms.winding)
    assert found.turns_mass == pytest.approx(found.turns_length, rel=1e-9)


def test_a_soft_yarn_that_keeps_its_stretch_is_balanced_too(demo_mill: Mill) -> None:
    """At a hard pull, stretch that stays, and a tension that is set: by count and by shrink."""
    terms = terms_of(demo_mill, "Querl 100")
    strand = replace(terms.strand, recovery_frac=0.0)
    winding = replace(terms.winding, tension_cn=800.0)
    found = balance(strand, terms.promise, winding)
    assert found.shrink_frac is not None
    for factor in (
        1 + found.count_change_frac,
        (1 - strand.shrink_frac) / (1 - found.shrink_frac),
    ):
        answer = set_turns(
            replace(strand, count_tex=strand.count_tex * factor), terms.promise, winding
        )
        assert answer.turns_mass == pytest.approx(answer.turns_length, rel=1e-9)


def test_the_stated_tension_puts_both_targets_on_one_turn(demo_mill: Mill) -> None:
    """Stretch that stays makes a finer yarn, so a ball bound by length can be balanced."""
    terms = terms_of(demo_mill, "Dunnow 50")
    strand = replace(terms.strand, recovery_frac=0.2)
    found = balance(strand, terms.promise, terms.winding)
    assert found.tension_cn is not None
    answer = set_turns(strand, terms.promise, replace(terms.winding, tension_cn=found.tension_cn))
    assert answer.turns_mass == pytest.approx(answer.turns_length, rel=1e-6)


def test_tension_cannot_balance_a_yarn_that_recovers_whole(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Dunnow 50")
    found = balance(replace(terms.strand, recovery_frac=1.0), terms.promise, terms.winding)
    assert found.tension_cn is None
    assert found.tension_words


def test_the_length_law_meets_balls_wound_at_other_areas(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    area = area_of(terms.strand, terms.winding)
    law = length_law(terms.winding, area, 800)
    for shift in (-0.22, -0.07, 0.05, 0.17):
        other = area * math.exp(shift)
        assert float(law.laid_m(other)) == pytest.approx(
            build(terms.winding.setting, other, turns=800.0).length_m, rel=1e-4
        )


@pytest.mark.parametrize("key", ["count", "tension", "bulk", "regain"])
def test_a_sensitivity_is_what_a_second_run_says(demo_mill: Mill, key: str) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    before = answered(terms)
    strand, winding = terms.strand, terms.winding
    if key == "count":
        strand = replace(strand, count_tex=strand.count_tex * 1.01)
    elif key == "regain":
        strand = replace(
            strand,
            count_tex=strand.count_tex
            * (1.01 + strand.regain_out_frac)
            / (1 + strand.regain_out_frac),
            regain_out_frac=strand.regain_out_frac + 0.01,
        )
    elif key == "tension":
        winding = replace(winding, tension_cn=winding.tension_cn + 1)
    else:
        winding = replace(winding, pack_density_kg_m3=winding.pack_density_kg_m3 / 1.01)
    after = set_turns(strand, terms.promise, winding, turns=before.turns)
    stated = next(row for row in before.sensitivities if row.key == key)
    assert stated.mass_g == pytest.approx(after.mass_g - before.mass_g, rel=2e-3, abs=2e-5)
    assert stated.length_m == pytest.approx(after.length_m - before.length_m, rel=2e-3, abs=2e-5)
    # the stated correction puts the binding mass back to first order
    put_back = set_turns(strand, terms.promise, winding, turns=before.turns + round(stated.turns))
    one_turn = next(row for row in before.sensitivities if row.key == "turn").mass_g
    assert abs(put_back.mass_g - before.mass_g) <= 0.5 * one_turn + 0.02 * abs(stated.mass_g) + 1e-9


@settings(max_examples=25)
@given(grams=st.floats(20, 300), more=st.floats(1.02, 1.6))
def test_more_mass_takes_more_turns(demo_mill: Mill, grams: float, more: float) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    few, many = (
        set_turns(
            terms.strand,
            replace(terms.promise, target_mass_g=mass, target_length_m=1.0),
            terms.winding,
        )
        for mass in (grams, grams * more)
    )
    assert many.turns > few.turns
    assert many.build.diameter_mm > few.build.diameter_mm


@settings(max_examples=15)
@given(heavier=st.floats(1.02, 1.5))
def test_a_heavier_yarn_takes_fewer_turns_to_a_mass_and_more_grams_to_a_length(
    demo_mill: Mill, heavier: float
) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    light = answered(terms)
    heavy = set_turns(
        replace(terms.strand, count_tex=terms.strand.count_tex * heavier),
        terms.promise,
        terms.winding,
    )
    assert heavy.turns_mass < light.turns_mass
    assert heavy.mass_g / heavy.length_m > light.mass_g / light.length_m


def test_turns_out_of_reach_are_one_line(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    with pytest.raises(BadInput, match="turns out of reach"):
        answered(terms, turns=0)
    with pytest.raises(BadInput, match="a confidence out of reach"):
        set_turns(terms.strand, terms.promise, terms.winding, confidence=1.0)


def test_outcome_takes_arrays(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    law = answered(terms).law
    found = outcome(
        law, terms.strand, terms.promise, terms.winding, log_count=np.array([-0.01, 0.0, 0.01])
    )
    assert np.all(np.diff(found.mass_g) > 0)


def test_the_chance_of_a_short_run_is_that_of_drawn_runs(demo_mill: Mill) -> None:
    """Runs are drawn whole: a count and a shrink, six winders, ninety-six cones, their balls."""
    terms = terms_of(demo_mill, "Querl 100", "SL-207")
    found, run, draw = answered(terms), terms.winding.run, np.random.default_rng(4)
    cv = {spread.key: spread.cv for spread in terms.strand.spreads}
    short = 0
    for _ in range(1500):
        lot = draw.normal(0.0, math.hypot(cv["count_mean"], cv["shrink"]))
        cones = draw.normal(0.0, cv["count_cone"], run.cones)
        winders = draw.normal(0.0, terms.winding.turn_length_cv, run.winders)
        ball = np.arange(run.balls)
        drawn = outcome(
            found.law,
            terms.strand,
            terms.promise,
            terms.winding,
            log_count=lot
            + cones[ball % run.cones]
            + draw.normal(0.0, cv["count_within"], run.balls),
            log_turn_length=winders[ball % run.winders],
        )
        short += float(np.mean(drawn.mass_g)) < terms.promise.declared_mass_g
    share = short / 1500
    assert found.mass_short_frac == pytest.approx(share, abs=0.03)
    assert found.length_short_frac < found.mass_short_frac


def test_no_doubt_is_no_chance() -> None:
    assert short_frac(101.0, 100.0, 0.0) == 0.0
    assert short_frac(99.0, 100.0, 0.0) == 1.0
    assert short_frac(100.0, 100.0, 0.01) == pytest.approx(0.5)
