"""Balls that knots turn to second quality: against strand drawn ball by ball."""

from dataclasses import replace

import numpy as np
import pytest

from clew.knots.from_mill import knot_terms
from clew.mill.model import Mill
from clew.plan.orders.second_by_knots import _share, knot_share


def test_the_demo_balls_against_drawn_cones(demo_mill: Mill) -> None:
    """Cones of many knots: share, and how unlike cones make numbers spread, drawn one by one."""
    terms = knot_terms(demo_mill, "Dunnow 50", "SA-340")
    terms = replace(terms, sources=replace(terms.sources, breaks_per_m=0.004))
    found = _share(terms)
    random = np.random.default_rng(4)
    ball_m, rule = terms.rule.ball_length_m, terms.rule
    on_a_cone = round(terms.sources.cone_length_m / ball_m)
    scattered_m = terms.sources.line_breaks_per_m + terms.sources.colour_ties_per_m
    second = []
    for _ in range(6000):
        rate = terms.sources.breaks_per_m * random.gamma(
            terms.sources.dispersion, 1.0 / terms.sources.dispersion
        )
        joins = random.poisson((rate + scattered_m) * ball_m, on_a_cone)
        joins[random.integers(on_a_cone)] += 1  # the tie to the next cone
        bad = 0
        for number in joins:
            places = np.sort(random.uniform(0.0, ball_m, number))
            pieces = np.diff(np.concatenate(([0.0], places, [ball_m])))
            bad += number > rule.limit or bool(np.any(pieces < rule.min_piece_m))
        second.append(bad)
    assert found.frac == pytest.approx(np.mean(second) / on_a_cone, rel=0.04)
    assert found.ball_variance == pytest.approx(np.var(second) / on_a_cone, rel=0.1)


def test_a_count_of_more_strand_is_surer(demo_mill: Mill) -> None:
    yarns = {
        metres: tuple(
            yarn.model_copy(update={"breaks_counted_m": metres}) for yarn in demo_mill.yarn
        )
        for metres in (30_000.0, 3_000_000.0)
    }
    little, much = (
        knot_share(demo_mill.model_copy(update={"yarn": yarn}), "Querl 100")
        for yarn in yarns.values()
    )
    assert little.frac == much.frac
    assert little.rate_sd > 3 * much.rate_sd > 0


def test_joins_that_do_not_count_spoil_nothing(demo_mill: Mill) -> None:
    rules = demo_mill.knots.model_copy(update={"made_as": "splice", "splice_counts": 0.0})
    share = knot_share(demo_mill.model_copy(update={"knots": rules}), "Querl 100")
    assert (share.frac, share.ball_variance, share.rate_sd) == (0.0, 0.0, 0.0)
