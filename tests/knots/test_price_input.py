"""What a question about limits may not say, the complaint table, and the plain form."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from clew.faults import BadInput
from clew.knots.complaints import complaint_faults, complaints_at
from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.price import LimitQuestion, price_of_limits
from clew.knots.price_plain import MEASURES, plain_price
from clew.knots.sources import Sources

QUESTION = LimitQuestion(
    sources=Sources(0.004, 2.0, 2000.0, 0.05),
    rule=FirstRule(100.0, 1, 5.0, 0.1),
    limits=(0, 1),
    prices=CutPrices(6.0, 3.0),
    ball_mass_g=50.0,
    habit="straight",
)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"limits": ()}, "limits"),
        ({"limits": (0, -1)}, "limits"),
        ({"prices": CutPrices(3.0, 6.0)}, "price second"),
        ({"prices": CutPrices(math.nan, 6.0)}, "price first"),
        ({"prices": CutPrices(6.0, 3.0, -1.0)}, "waste per m"),
        ({"ball_mass_g": 0.0}, "ball mass"),
        ({"ball_mass_g": math.nan}, "ball mass"),
        ({"made_a_year": -1}, "made a year"),
        ({"shelf_multiple": -2.0}, "shelf multiple"),
        ({"complaints_per_10000": (1.0, -2.0)}, "complaints"),
        ({"complaints_per_10000": (3.0, 2.0)}, "complaints"),
        ({"breaks_band": (1.2, 1.4)}, "breaks band"),
        ({"breaks_band": (0.5, math.nan)}, "breaks band"),
        ({"join_counts": 1.5}, "join counts"),
        ({"breaks_left_frac": -0.1}, "breaks left"),
        ({"habit": "guess"}, "habit"),
        ({"seed": -1}, "seed"),
        ({"rule": FirstRule(0.0, 1, 5.0, 0.1)}, "ball length"),
        ({"rule": FirstRule(100.0, 1, -5.0, 0.1)}, "min piece"),
        ({"rule": FirstRule(100.0, 1, 5.0, 0.0)}, "join length"),
        ({"habit": "best", "strand_m": 1000.0}, "strand length"),
        ({"habit": "best", "strand_m": math.nan}, "strand length"),
        ({"habit": "best", "strand_m": 9e8}, "strand length"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_name(change: dict[str, object], key: str) -> None:
    with pytest.raises(BadInput) as refused:
        price_of_limits(replace(QUESTION, **change))  # type: ignore[arg-type]
    assert [fault.key for fault in refused.value.faults] == [key]


def test_all_faults_at_once() -> None:
    with pytest.raises(BadInput) as refused:
        price_of_limits(replace(QUESTION, limits=(-1,), ball_mass_g=-1.0, seed=-1))
    assert [fault.key for fault in refused.value.faults] == ["limits", "ball mass", "seed"]


def test_complaints_between_and_past_the_entries() -> None:
    """A splice that counts a half stands between two entries; the last value holds."""
    joins = np.array([0, 1, 2, 3, 9])
    table = (1.0, 2.0, 8.0)
    assert complaints_at(joins, table, 1.0).tolist() == [1.0, 2.0, 8.0, 8.0, 8.0]
    assert complaints_at(joins, table, 0.5).tolist() == [1.0, 1.5, 2.0, 5.0, 8.0]
    assert complaints_at(joins, table, 0.0).tolist() == [1.0] * 5


def test_a_flat_table_is_a_table_and_a_falling_one_a_slip() -> None:
    assert complaint_faults((2.0, 2.0)) == []
    assert complaint_faults(()) == []
    (fault,) = complaint_faults((1.0, 8.0, 2.0))
    assert "2 joins than with 1" in str(fault)


def test_limits_come_once_and_in_order_with_none_last() -> None:
    rows = price_of_limits(replace(QUESTION, limits=(2, 0, 2))).rows
    assert [row.limit for row in rows] == [0, 2, None]


def test_what_is_not_known_is_not_worked_out() -> None:
    for row in price_of_limits(QUESTION).rows:
        assert row.landfill_kg_a_year is None
        assert row.complaints_per_10000 is None


def test_the_plain_form_is_json_with_every_measure() -> None:
    plain = plain_price(price_of_limits(replace(QUESTION, made_a_year=1000)))
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert plain["complaints_are"] == "the mill's own estimate"
    for row in plain["rows"]:
        assert list(row) == ["limit", *MEASURES]
        assert list(row["cost_per_ball"]) == ["low", "value", "high"]
        assert row["complaints_per_10000"] is None
    assert [step["stricter"] for step in plain["steps"]] == [1, 0]
    assert plain["exact"] is True


def test_the_plain_form_has_null_where_there_is_no_bound() -> None:
    rule = replace(QUESTION.rule, min_piece_m=200.0)
    plain = plain_price(price_of_limits(replace(QUESTION, rule=rule)))
    assert plain["rows"][0]["cost_per_ball"]["value"] is None
    assert plain["doubt"]["breaks_half_per_ball"] is None
    json.dumps(plain, allow_nan=False)
