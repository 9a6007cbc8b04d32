"""The rule of thumb against drawn cycles and a plain search for its length."""

from __future__ import annotations

import numpy as np
import pytest

from clew.faults import BadInput
from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.policy.thumb import no_offence_yet, thumb_rule

PRICES = CutPrices(5.0, 2.5, 0.002, 0.05)


def offences(joins_per_m: float, rule: FirstRule, balls: int) -> np.ndarray:
    """Where a join first offends in each of many fresh balls; infinite where none does."""
    random = np.random.default_rng(5)
    at = np.full(balls, np.inf)
    for ball in range(balls):
        place, before, joins = 0.0, 0.0, 0
        while True:
            place += random.exponential(1.0 / joins_per_m)
            if place >= rule.ball_length_m:
                break
            joins += 1
            tail = max(rule.ball_length_m - place - rule.join_length_m, 0.0)
            if joins > rule.limit or min(max(place - before, 0.0), tail) < rule.min_piece_m:
                at[ball] = place
                break
            before = place + rule.join_length_m
    return at


RULES = [
    FirstRule(200.0, 0, 0.0, 1.0),
    FirstRule(200.0, 1, 0.0, 0.5),
    FirstRule(200.0, 2, 15.0, 2.0),
    FirstRule(200.0, 5, 30.0, 1.0),
]


@pytest.mark.parametrize("rule", RULES)
def test_offences_fall_as_drawn(rule: FirstRule) -> None:
    at = offences(0.008, rule, 20_000)
    for wound in (10.0, 60.0, 120.0, 183.0, 195.0, 200.0):
        expected = float(no_offence_yet(np.array([wound]), 0.008, rule)[0])
        error = np.sqrt(expected * (1.0 - expected) / at.size)
        assert abs(float(np.mean(at >= wound)) - expected) < 4.0 * error + 1e-12


@pytest.mark.parametrize("rule", RULES)
def test_the_best_length_beats_the_others_on_drawn_cycles(rule: FirstRule) -> None:
    at = offences(0.008, rule, 20_000)

    def earned(before_m: float) -> float:
        parted = at <= before_m
        dropped = np.where(parted, at + rule.join_length_m, 0.0)
        price = np.where(np.isinf(at), PRICES.first, PRICES.second)
        cost = np.where(parted, PRICES.parting + PRICES.waste_per_m * dropped, 0.0)
        worth = np.where(parted, -cost, price)
        length = np.where(parted, dropped, rule.ball_length_m)
        return float(1000.0 * worth.sum() / length.sum())

    found = thumb_rule(0.008, rule, PRICES)
    assert earned(found.before_m) == pytest.approx(found.value_per_km, rel=0.02)
    tried = [earned(float(one)) for one in range(0, 200, 4)]
    assert earned(found.before_m) > max(tried) - 0.005 * abs(max(tried))


@pytest.mark.parametrize(("breaks_per_km", "value"), [(0.5, 24.0521), (1.0, 23.1528)])
def test_values_worked_out_before(breaks_per_km: float, value: float) -> None:
    """The same equation solved once by other code, with joins of no length."""
    found = thumb_rule(breaks_per_km / 1000.0, FirstRule(200.0, 0, 0.0, 1e-9), PRICES)
    assert found.value_per_km == pytest.approx(value, abs=5e-5)
    gain = found.value_per_km / 1000.0
    assert found.before_m == pytest.approx((gain * 200.0 - 2.55) / (0.002 + gain), abs=1e-6)


def test_the_ends_of_the_scale() -> None:
    rule = FirstRule(200.0, 0, 0.0, 1.0)
    none = thumb_rule(0.0, rule, PRICES)
    assert none.value_per_km == pytest.approx(25.0)
    assert thumb_rule(0.001, rule, CutPrices(5.0, 5.0)).before_m == 0.0
    assert thumb_rule(0.001, rule, CutPrices(0.0, 0.0)).value_per_km == 0.0
    worthless = thumb_rule(0.001, rule, CutPrices(5.0, 0.0))
    # a worthless ball in the making is dropped whenever a join shows, but for the join's length
    assert worthless.before_m == pytest.approx(199.0)
    assert worthless.value_per_km > worthless.straight_per_km
    dear = thumb_rule(0.001, rule, CutPrices(5.0, 2.5, 0.0, 100.0))
    assert (dear.before_m, dear.value_per_km) == (0.0, pytest.approx(dear.straight_per_km))


def test_what_cannot_be_meant_is_refused_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        thumb_rule(0.001, FirstRule(200.0, -1, 300.0, 0.0), CutPrices(1.0, 2.0, -1.0))
    assert len(caught.value.faults) == 5
    with pytest.raises(BadInput, match="200 joins"):
        thumb_rule(3.0, FirstRule(200.0, 1, 0.0, 0.1), PRICES)
