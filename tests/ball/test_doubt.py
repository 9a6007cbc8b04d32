"""Intervals: the analytic answer against balls drawn at random, and what dominates."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from clew.ball.doubt import doubt_of, draw_balls
from clew.ball.from_mill import terms_of
from clew.ball.terms import RunSize
from clew.ball.turns import set_turns
from clew.ball.wind.build import build
from clew.mill.model import Mill


@pytest.mark.parametrize("name", ["Querl 100", "Dunnow 50", "Sallowe 100"])
def test_analytic_and_drawn_intervals_agree(demo_mill: Mill, name: str) -> None:
    """40 000 drawn balls: standard deviations to 3 %, interval ends to 0.3 % of the mean."""
    terms = terms_of(demo_mill, name)
    found = set_turns(terms.strand, terms.promise, terms.winding)
    drawn = draw_balls(found.law, terms.strand, terms.promise, terms.winding, balls=40_000, seed=11)
    doubt = doubt_of(found.law, terms.strand, terms.promise, terms.winding)
    assert np.std(np.log(drawn.mass_g)) == pytest.approx(doubt.mass_log_sd, rel=0.03)
    assert np.std(np.log(drawn.length_m)) == pytest.approx(doubt.length_log_sd, rel=0.03)
    for values, told in (
        (drawn.mass_g, found.mass_g_interval),
        (drawn.length_m, found.length_m_interval),
    ):
        low, high = drawn.interval(values, 0.95)
        assert low == pytest.approx(told.low, rel=0.003)
        assert high == pytest.approx(told.high, rel=0.003)


def test_one_seed_draws_the_same_balls(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    law = set_turns(terms.strand, terms.promise, terms.winding).law
    first, again, other = (
        draw_balls(law, terms.strand, terms.promise, terms.winding, balls=50, seed=seed)
        for seed in (3, 3, 4)
    )
    assert np.array_equal(first.mass_g, again.mass_g)
    assert not np.array_equal(first.mass_g, other.mass_g)


def test_shares_add_up_and_the_largest_comes_first(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    found = set_turns(terms.strand, terms.promise, terms.winding)
    assert math.fsum(row.mass_share for row in found.contributions) == pytest.approx(1.0)
    assert math.fsum(row.length_share for row in found.contributions) == pytest.approx(1.0)
    shares = [row.mass_share for row in found.contributions]
    assert shares == sorted(shares, reverse=True)


def test_the_runs_mean_is_surer_than_one_ball(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    found = set_turns(terms.strand, terms.promise, terms.winding)
    assert found.mass_g_interval.low < found.mean_mass_g_interval.low < found.mass_g
    assert found.mass_g < found.mean_mass_g_interval.high < found.mass_g_interval.high


def test_no_spread_is_no_doubt(demo_mill: Mill) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    strand = replace(
        terms.strand,
        spreads=tuple(replace(spread, cv=0.0) for spread in terms.strand.spreads),
        moisture=replace(terms.strand.moisture, cv=0.0),
    )
    winding = replace(terms.winding, pack_density_cv=0.0, tension_sd_cn=0.0, turn_length_cv=0.0)
    found = set_turns(strand, terms.promise, winding)
    assert found.contributions == ()
    assert found.mass_g_interval.low == found.mass_g_interval.high == found.mass_g


def test_balls_wound_one_by_one_spread_as_told(demo_mill: Mill) -> None:
    """Without the length law and without the room's outcome: 300 balls, each wound turn by turn.

    Spread to four standard errors of 300 draws, 16 %.
    """
    terms = terms_of(demo_mill, "Querl 100")
    found = set_turns(terms.strand, terms.promise, terms.winding)
    winding, strand = terms.winding, terms.strand
    draw = np.random.default_rng(8)
    log_masses, log_lengths = [], []
    for _ in range(300):
        count = strand.count_tex * math.exp(
            sum(draw.normal(0.0, one.cv) for one in (*strand.spreads, strand.moisture))
        )
        tension = draw.normal(winding.tension_cn, winding.tension_sd_cn)
        stretch = tension / count / strand.modulus_cn_per_tex
        density = winding.pack_density_kg_m3 * math.exp(draw.normal(0.0, winding.pack_density_cv))
        wound = build(
            winding.setting, count / (1 + stretch) / density, turns=float(found.turns)
        ).length_m * math.exp(draw.normal(0.0, winding.turn_length_cv))
        log_masses.append(math.log(wound * count / (1 + stretch) / 1000))
        left = 1 + stretch * (1 - strand.recovery_frac)
        log_lengths.append(math.log(wound * left / (1 + stretch)))
    assert np.std(log_masses) == pytest.approx(found.mass_log_sd, rel=0.16)
    assert np.std(log_lengths) == pytest.approx(found.length_log_sd, rel=0.16)
    assert np.mean(log_masses) == pytest.approx(math.log(found.as_weighed_g), abs=0.006)


def test_wide_spreads_are_not_clipped(demo_mill: Mill) -> None:
    """The widest the mill file allows, fifths in count and density: law and draws still agree."""
    terms = terms_of(demo_mill, "Querl 100")
    strand = replace(
        terms.strand, spreads=tuple(replace(one, cv=0.12) for one in terms.strand.spreads)
    )
    winding = replace(terms.winding, pack_density_cv=0.2)
    found = set_turns(strand, terms.promise, winding)
    drawn = draw_balls(found.law, strand, terms.promise, winding, balls=40_000, seed=5)
    assert found.law.reach > 1.0
    assert np.std(np.log(drawn.mass_g)) == pytest.approx(found.mass_log_sd, rel=0.03)
    other = float(np.exp(found.law.log_area_0 + 0.8))
    again = build(winding.setting, other, turns=float(found.turns)).length_m
    assert float(found.law.laid_m(other)) == pytest.approx(again, rel=1e-3)


def test_what_differs_within_a_run_averages_out_over_it(demo_mill: Mill) -> None:
    """One lane and one cone leave their whole deviation in the run's mean; many leave a share."""
    terms = terms_of(demo_mill, "Querl 100", "SL-207")
    few, many = (
        set_turns(terms.strand, terms.promise, replace(terms.winding, run=run))
        for run in (RunSize(1, 1, 1), RunSize(6, 96, 1500))
    )
    assert few.mean_mass_g_interval == few.mass_g_interval
    by_key = {row.key: row.mass_log_sd for row in many.contributions}
    by_hand = math.hypot(
        by_key["count_mean"],
        by_key["shrink"],
        by_key["winder"] / math.sqrt(6),
        by_key["count_cone"] / math.sqrt(96),
        *(
            by_key[key] / math.sqrt(1500)
            for key in ("count_within", "regain", "pack_density", "tension")
        ),
    )
    reach = math.log(many.mean_mass_g_interval.high / many.mass_g)
    assert reach == pytest.approx(1.959964 * by_hand, rel=1e-6)
