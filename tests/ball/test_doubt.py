"""Intervals: the analytic answer against balls drawn at random, and what dominates."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from clew.ball.doubt import doubt_of, draw_balls
from clew.ball.from_mill import terms_of
from clew.ball.turns import set_turns
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
    low, high = drawn.interval(drawn.mass_g, 0.95)
    assert low == pytest.approx(found.mass_g_interval.low, rel=0.003)
    assert high == pytest.approx(found.mass_g_interval.high, rel=0.003)


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
