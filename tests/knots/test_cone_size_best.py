"""The best cone target, the spread above which it does not pay, lots, and what a tie costs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clew.faults import BadInput
from clew.knots.cone_size import ConeMoney, start_anew, wind_on
from clew.knots.cone_size_best import (
    anew_condition,
    anew_pays_below_cv,
    best_cones,
    size_matters_below_cv,
    spare_sds,
)
from clew.knots.cone_size_lot import lot_of_cones
from clew.knots.cone_size_near import drop_when_short
from clew.knots.cone_size_tie import tie_loss
from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.renewal import Cones
from clew.knots.sources import Sources

BALL_M = 100.0
MONEY = ConeMoney(ball_price=6.0, tie_loss=2.0, waste_per_m=0.01, parting=0.02, tie_cost=0.1)


@pytest.mark.parametrize("cv", [0.001, 0.003, 0.006])
def test_the_condition_vanishes_at_the_best_target(cv):
    best = best_cones(cv, BALL_M, MONEY, 2950.0, 3050.0).start_anew
    assert 2950.0 < best.cones.mean_m < 3050.0
    assert anew_condition(best.cones, BALL_M, MONEY) == pytest.approx(0.0, abs=1e-3)
    nearby = [
        anew_condition(Cones(best.cones.mean_m + step, cv), BALL_M, MONEY) for step in (-1.0, 1.0)
    ]
    assert nearby[0] > 0.0 > nearby[1]


@pytest.mark.parametrize("mean_m", [2990.0, 3005.0, 3020.0])
def test_the_condition_is_the_derivative(mean_m):
    """C^2 / a times the slope of the money itself, taken by a difference."""
    step, cv = 1e-3, 0.004
    high, low = (
        start_anew(Cones(mean_m + way, cv), BALL_M, MONEY).money_per_km for way in (step, -step)
    )
    slope = (high - low) / (2.0 * step) / 1000.0
    a_ball = MONEY.ball_price + MONEY.waste_per_m * BALL_M
    assert anew_condition(Cones(mean_m, cv), BALL_M, MONEY) == pytest.approx(
        slope * mean_m**2 / a_ball, rel=1e-4, abs=1e-5
    )


def test_the_spare_is_the_newsvendors():
    """phi(z) = sd / L; the exact best target lies near nL + z sd; none from 0.4 balls on."""
    for sd_balls in (0.01, 0.1, 0.3):
        z = spare_sds(sd_balls)
        assert math.exp(-z * z / 2.0) / math.sqrt(2.0 * math.pi) == pytest.approx(sd_balls)
    assert spare_sds(0.4) == 0.0
    free = ConeMoney(6.0, 2.0)
    best = best_cones(0.002, BALL_M, free, 2950.0, 3050.0).start_anew
    assert best.cones.mean_m == pytest.approx(3000.0 + 6.0 * spare_sds(0.06), abs=0.3)
    with pytest.raises(BadInput):
        spare_sds(0.0)


def test_a_size_stands_out_only_below_its_edge():
    """From one whole number of balls to the next: money falls somewhere below the edge only."""
    free, edge = ConeMoney(6.0, 2.0), size_matters_below_cv(3000.0, BALL_M)
    humps = []
    for cv in (0.97 * edge, 1.03 * edge):
        money = [
            start_anew(Cones(mean_m, cv), BALL_M, free).money_per_km
            for mean_m in np.linspace(2950.0, 3050.0, 201)
        ]
        humps.append(bool(np.any(np.diff(money) < 0.0)))
    assert humps == [True, False]


@pytest.mark.parametrize("cv", [0.0, 0.002, 0.01, 0.05])
def test_no_target_on_a_fine_grid_beats_the_best(cv):
    best = best_cones(cv, BALL_M, MONEY, 2950.0, 3050.0)
    for mean_m in np.linspace(2950.0, 3050.0, 41):
        cones = Cones(float(mean_m), cv)
        assert start_anew(cones, BALL_M, MONEY).money_per_km <= best.start_anew.money_per_km + 1e-9
        assert wind_on(cones, BALL_M, MONEY).money_per_km <= best.wind_on.money_per_km + 1e-9
        short = drop_when_short(cones, BALL_M, MONEY, best.drop_short.drop_up_to_m)
        assert short.money_per_km <= best.drop_short.money_per_km + 1e-5
    assert best.drop_short.money_per_km >= best.wind_on.money_per_km
    assert best.drop_short.money_per_km >= best.start_anew.money_per_km


def test_even_cones_are_wound_to_whole_balls():
    best = best_cones(0.0, BALL_M, MONEY, 2950.0, 3140.0)
    assert best.start_anew.cones.mean_m == 3100.0
    assert best.drop_short.tied_share == 0.0


def test_a_wider_spread_never_brings_more():
    found = [best_cones(cv, BALL_M, MONEY, 2990.0, 3060.0) for cv in (0.0, 0.002, 0.005, 0.01)]
    for name in ("start_anew", "drop_short"):
        money = [getattr(one, name).money_per_km for one in found]
        assert money == sorted(money, reverse=True)


def test_the_spread_above_which_starting_anew_loses():
    cv = anew_pays_below_cv(BALL_M, MONEY, 2950.0, 3050.0)
    assert cv is not None
    below, above = (best_cones(cv * by, BALL_M, MONEY, 2950.0, 3050.0) for by in (0.98, 1.02))
    assert below.start_anew.money_per_km > below.wind_on.money_per_km
    assert above.start_anew.money_per_km < above.wind_on.money_per_km


def test_it_may_pay_always_or_never():
    always = ConeMoney(6.0, tie_loss=6.0)
    assert anew_pays_below_cv(BALL_M, always, 2950.0, 3050.0) is None
    never = ConeMoney(6.0, tie_loss=0.01, parting=0.02)
    assert anew_pays_below_cv(BALL_M, never, 2950.0, 3050.0) == 0.0


@pytest.mark.parametrize(
    ("ends", "key"),
    [
        ((3100.0, 2900.0), "shortest_m"),
        ((1000.0, 6000.0), "longest_m"),
        ((0.0, 10.0), "cone_length_m"),
    ],
)
def test_a_range_that_cannot_be_used(ends, key):
    with pytest.raises(BadInput) as bad:
        best_cones(0.01, BALL_M, MONEY, *ends)
    assert key in {fault.key for fault in bad.value.faults}


@pytest.mark.parametrize(("mean_m", "cv"), [(1010.0, 0.01), (140.0, 0.3), (60.0, 0.3)])
def test_a_lot_against_cones_drawn(mean_m, cv):
    random = np.random.default_rng(11)
    cones, number, lots = Cones(mean_m, cv), 12, 60_000
    ends = random.gamma(cones.shape, cones.mean_m / cones.shape, (lots, number)).cumsum(axis=1)
    place = np.floor(ends / BALL_M)
    whole = place[:, -1]
    fresh = np.diff(place[:, :-1], prepend=-1.0, axis=1) > 0
    inside = fresh & (place[:, :-1] < whole[:, None])
    tied = inside.sum(axis=1)
    off = np.abs(ends[:, :-1] - np.round(ends[:, :-1] / BALL_M) * BALL_M)
    near = (off <= 5.0).mean(axis=0)
    found = lot_of_cones(cones, BALL_M, number, 5.0)
    assert found.balls == pytest.approx(whole.mean(), abs=4.5 * whole.std() / math.sqrt(lots))
    assert found.tied == pytest.approx(tied.mean(), abs=4.5 * tied.std() / math.sqrt(lots) + 1e-9)
    assert found.near_end == pytest.approx(near, abs=4.5 * 0.5 / math.sqrt(lots))


def test_a_long_lot_is_the_long_run():
    cones = Cones(150.0, 0.25)
    long_run = wind_on(cones, BALL_M, MONEY).tied_share
    found = [lot_of_cones(cones, BALL_M, number, 5.0).tied_share for number in (10, 100, 1000)]
    errors = [abs(one - long_run) for one in found]
    assert errors[0] > 5.0 * errors[1] > 25.0 * errors[2]
    assert errors[2] < 1e-3


def test_near_even_cones_keep_their_place_for_a_short_lot():
    """Cones of 30 balls with 0.5 %: the first ties crowd at ball ends, later ones do not."""
    found = lot_of_cones(Cones(3000.0, 0.005), BALL_M, 60, 5.0)
    assert found.near_end[0] > 0.25
    assert found.near_end[-1] == pytest.approx(found.near_share_anywhere, abs=1e-9)
    assert found.near_share > found.near_share_anywhere
    wide = lot_of_cones(Cones(3000.0, 0.05), BALL_M, 60, 5.0)
    assert wide.near_share == pytest.approx(0.1, abs=1e-9)


def test_a_lot_of_even_cones():
    found = lot_of_cones(Cones(325.0, 0.0), BALL_M, 10, 5.0)
    assert (found.balls, found.tied) == (32.0, 7.0)
    assert found.near_end.tolist() == [0, 0, 0, 1, 0, 0, 0, 1, 0]
    one = lot_of_cones(Cones(325.0, 0.0), BALL_M, 1, 5.0)
    assert (one.tied_share, one.near_share) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("number", "near_m", "keys"), [(0, 60.0, {"lot_cones", "near_m"}), (2001, 5.0, {"lot_cones"})]
)
def test_a_lot_that_cannot_be_used(number, near_m, keys):
    with pytest.raises(BadInput) as bad:
        lot_of_cones(Cones(3000.0, 0.01), BALL_M, number, near_m)
    assert {fault.key for fault in bad.value.faults} == keys


def test_a_tie_costs_the_step_in_price_where_the_limit_is_reached():
    """Poisson of other joins that touch 100 m with 0.1 m each, no least piece: limit 0 loses every
    first, limit 1 those with one."""
    sources = Sources(breaks_per_m=0.002, cone_length_m=3000.0)
    prices, mean = CutPrices(first=6.0, second=4.0), 0.2002
    none = tie_loss(sources, FirstRule(BALL_M, 0, 0.0, 0.1), prices)
    assert none.tie_loss == pytest.approx(2.0 * math.exp(-mean))
    assert none.ball_price == pytest.approx(4.0 + 2.0 * math.exp(-mean))
    one = tie_loss(sources, FirstRule(BALL_M, 1, 0.0, 0.1), prices)
    assert one.tie_loss == pytest.approx(2.0 * mean * math.exp(-mean))
    half = tie_loss(sources, FirstRule(BALL_M, 1, 0.0, 0.1), prices, join_counts=0.5)
    assert half.tie_loss == pytest.approx(mean**2 * math.exp(-mean))


@pytest.mark.parametrize("min_piece_m", [0.0, 5.0, 150.0])
def test_a_splice_that_counts_nothing_costs_nothing(min_piece_m):
    sources = Sources(breaks_per_m=0.002, cone_length_m=3000.0)
    rule = FirstRule(BALL_M, 0, min_piece_m, 0.1)
    found = tie_loss(sources, rule, CutPrices(6.0, 4.0), join_counts=0.0)
    assert (found.first_frac, found.ball_price, found.tie_loss) == (1.0, 6.0, 0.0)


def test_where_no_piece_is_long_enough_no_ball_is_first_and_a_tie_takes_nothing():
    rule = FirstRule(BALL_M, 3, BALL_M + 1.0, 0.1)
    found = tie_loss(Sources(breaks_per_m=0.002, cone_length_m=3000.0), rule, CutPrices(6.0, 4.0))
    assert (found.first_frac, found.first_tied_frac) == (0.0, 0.0)
    assert (found.ball_price, found.tie_loss) == (4.0, 0.0)


@pytest.mark.parametrize("join_m", [0.001, 0.1, 8.0])
def test_a_tie_also_leaves_short_pieces(join_m):
    """No other join: of L + w places from which a tie touches, 2 (m + w) are too near an end."""
    found = tie_loss(
        Sources(cone_length_m=3000.0), FirstRule(BALL_M, 3, 5.0, join_m), CutPrices(6.0, 4.0)
    )
    assert found.first_frac == 1.0
    near = 2.0 * (5.0 + join_m) / (BALL_M + join_m)
    assert found.tie_loss == pytest.approx(2.0 * near)


def test_a_tie_costs_what_it_does_to_joins_placed_at_random():
    """Other joins and a tie put down at random, graded one by one."""
    random = np.random.default_rng(5)
    join_m, least_m, limit, number = 2.0, 5.0, 2, 30_000

    def first(count, tie):
        joins = random.uniform(-join_m, BALL_M, count + tie)
        edges = np.concatenate(([0.0], np.sort(joins) + join_m))
        pieces = np.concatenate((np.sort(joins), [BALL_M])) - edges
        return joins.size <= limit and (joins.size == 0 or pieces.min() >= least_m)

    counts = random.poisson(0.01 * (BALL_M + join_m), number)
    drawn = [np.mean([first(count, tie) for count in counts]) for tie in (0, 1)]
    rule = FirstRule(BALL_M, limit, least_m, join_m)
    found = tie_loss(Sources(breaks_per_m=0.01), rule, CutPrices(6.0, 4.0))
    # pieces shorter than nothing, where joins overlap, are short too
    assert found.first_frac == pytest.approx(drawn[0], abs=4.5 * 0.5 / math.sqrt(number))
    assert found.first_tied_frac == pytest.approx(drawn[1], abs=4.5 * 0.5 / math.sqrt(number))
