"""The cost as it is drawn, said and handed on."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace

import pytest

from clew.plan.costing.ball_cost import cost_of
from clew.plan.costing.plain import plain_cost
from clew.plan.costing.waterfall import waterfall
from clew.plan.costing.words import cost_words


@pytest.mark.parametrize("least_frac", [0.0, 0.01, 0.5, 2.0])
def test_a_waterfall_has_no_gaps_and_ends_at_the_total(querl, least_frac) -> None:
    *bars, total, price = waterfall(querl, least_frac=least_frac)
    assert bars[0].start == 0.0
    for one, after in itertools.pairwise(bars):
        assert one.end == after.start
    assert bars[-1].end == pytest.approx(total.end, rel=1e-12)
    assert (total.key, total.start, total.end) == ("total", 0.0, querl.total)
    assert (price.key, price.end) == ("price", 4.6)
    assert len({one.key for one in bars}) == len(bars)


def test_small_parts_are_drawn_as_one(querl) -> None:
    few, all_of_them = waterfall(querl, least_frac=0.01), waterfall(querl)
    assert len(few) < len(all_of_them) == len(querl.parts) + 2
    assert "knots_other" in {one.key for one in few}


def test_words_say_the_answer_first(by_hand) -> None:
    cost = cost_of(by_hand, 100, None, (), seed=1, replications=2)
    said = cost_words(cost)
    assert said[0] == "A ball of Ball costs 2.85 GBP, between 2.83 and 2.87; yarn is 70 % of it."
    assert said[1].startswith("That is 28.50 GBP for a declared kg.")
    assert "100.0 % leaves" in said[1]
    assert said[3] == "At a price of 4.00 GBP, 1.15 GBP is left."
    assert len(said) == 4


def test_words_of_a_loss_and_of_dear_second_quality(by_hand) -> None:
    lossy = replace(by_hand, line_first_frac=0.8, price=2.0, second_fetches=1.0)
    said = cost_words(cost_of(lossy, 100, None, (), seed=1, replications=2))
    assert "it loses" in said[3]
    assert "25 of second quality, each fetching 1.00 GBP" in said[4]
    assert len(said) == 5
    dear = replace(by_hand, line_first_frac=0.8, price=6.0, second_fetches=3.0)
    said = cost_words(cost_of(dear, 100, None, (), seed=1, replications=2))
    assert "without that a ball would cost 3.49" in said[4]
    assert "fetches more than one costs" in said[5] and "no gain" in said[5]
    assert "0.750 GBP" in said[5]
    free = replace(by_hand, line_first_frac=0.8, price=None, second_fetches=0.0)
    assert (
        "taken to fetch nothing"
        in cost_words(cost_of(free, 100, None, (), seed=1, replications=2))[3]
    )


def test_plain_values_are_all_there(querl) -> None:
    found = json.loads(json.dumps(plain_cost(querl), allow_nan=False))
    parts = [part for stage in found["stages"] for part in stage["parts"]]
    assert sum(part["money_per_ball"] for part in parts) == pytest.approx(found["money_per_ball"])
    assert found["money_per_ball_low"] < found["money_per_ball"] < found["money_per_ball_high"]
    assert found["change"]["kind"] == "colour"
    assert found["waterfall"][-2]["to"] == found["money_per_ball"]
    assert plain_cost(replace(querl, change=None))["change"] is None


def test_a_cost_below_nothing_has_no_share_of_yarn(by_hand) -> None:
    """Absurdly dear second quality: a share of it would be said with the sign turned."""
    lossy = replace(by_hand, line_first_frac=0.8, price=6000.0, second_fetches=3000.0)
    said = cost_words(cost_of(lossy, 100, None, (), seed=1, replications=2))
    assert "yarn is" not in said[0] and said[0].startswith("A ball of Ball costs -")


def test_first_balls_that_are_reeled_are_named_beside_the_yield(by_hand) -> None:
    said = cost_words(cost_of(by_hand, 100, None, (), seed=1, replications=2))
    assert said[1].endswith(
        "leaves in first-quality balls, 10 first balls of a run of 100 left aside."
    )
    none = replace(by_hand, first_balls=0.0)
    assert cost_words(cost_of(none, 100, None, (), seed=1, replications=2))[1].endswith("balls.")
