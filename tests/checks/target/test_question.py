"""A target's question from a mill and weighed balls, without a command."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.target.answer_plain import Answered, answered, plain_answer
from clew.checks.target.answer_words import aim_words
from clew.checks.target.ball_now import wound_now
from clew.checks.target.given import Given
from clew.checks.target.question import question_of
from clew.checks.weighings import Factor, Weighings
from clew.faults import BadInput
from clew.mill.model import Mill
from clew.mill.net_content import read_tables


def weighed(mean_g: float = 102.0) -> Weighings:
    """Balls of twelve cones and three winders, alike in all else."""
    rng = np.random.default_rng(11)
    rows = 192
    cone = np.arange(rows) // 16
    mass = mean_g + rng.normal(0.0, 0.8, 12)[cone] + rng.normal(0.0, 0.6, rows)
    factors = {
        "cone": Factor(cone.astype(np.int32), tuple(f"C-{k}" for k in range(12))),
        "winder": Factor((np.arange(rows) % 3).astype(np.int32), ("1", "2", "3")),
    }
    return Weighings(rows, {"mass_g": mass}, factors)


@pytest.fixture(scope="module")
def found(demo_mill: Mill) -> Answered:
    """The least target of the demo ball for those balls."""
    of_mill = wound_now(demo_mill, "Querl 100", "", "Line 1")
    question = question_of(Given(), weighed(), of_mill, read_tables())
    return answered(question, inspections=4000)


def test_the_question_takes_plans_prices_and_spread(found: Answered, demo_mill: Mill) -> None:
    question = found.question
    assert {plan.rule for plan in question.plans} == {"eu-average", "uk-2006"}
    assert question.present_g == pytest.approx(102.0, abs=0.6)
    assert question.price_per_kg == demo_mill.prices.yarn_per_kg
    assert question.risk == demo_mill.checks.inspection_risk_frac
    assert question.of_mill is not None and question.of_mill.line is not None


def test_the_answer_is_plain_and_in_words(found: Answered) -> None:
    plain = plain_answer(found)
    assert plain["declared_mass_g"] == pytest.approx(100.0)
    assert plain["target_mass_g"] == pytest.approx(found.answer.mass_g)
    assert plain["confirmed"] is all(plan.confirmed for plan in found.question.plans)
    assert set(plain["counts"]) == {"1", "2", "3", "4", "5", "6"}  # type: ignore[call-overload]
    assert aim_words(found.question, found.answer).startswith("Aim at ")


def test_without_a_rule_set_or_a_lot_size_one_line_says_so() -> None:
    for given, words in ((Given(), "no lot size"), (Given(lot_size=384), "no rule set")):
        with pytest.raises(BadInput, match=words):
            question_of(given, weighed(), None, read_tables())
