"""The regain an inspection sees: its numbers, by hand, and the sentence that says them."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from clew.checks.target.given import Given
from clew.checks.target.inspected import MeanBall
from clew.checks.target.question_condition import condition_seen, inspector_of
from clew.faults import BadInput
from clew.mill.model import Mill
from target_plans import averages_only


def numbers(words: str) -> list[float]:
    """Every number of a sentence, in order."""
    return [float(one) for one in re.findall(r"\d+(?:\.\d+)?", words)]


@pytest.mark.parametrize(("weighed", "seen"), [(0.12, 0.09), (0.09, 0.12), (0.135, 0.135)])
def test_a_typed_regain_is_said_with_what_it_does_to_mass(weighed: float, seen: float) -> None:
    """100 g dry with its water on it: (100 + seen) of (100 + weighed) are left."""
    found = inspector_of(Given(regain_seen=seen), None, None, (), weighed)
    left = (100 + 100 * seen) / (100 + 100 * weighed)
    assert numbers(found.words) == pytest.approx([100 * weighed, 100 * seen, left], abs=5e-5)
    assert (found.regain_frac, found.sd_frac) == (seen, 0.0)


def test_a_typed_doubt_stands_beside_the_regain() -> None:
    found = inspector_of(Given(regain_seen=0.09, regain_seen_sd=0.006), None, None, (), 0.12)
    assert numbers(found.words)[:3] == pytest.approx([12.0, 9.0, 0.6])
    assert found.sd_frac == 0.006


def test_without_any_word_of_it_an_inspection_sees_what_was_weighed() -> None:
    found = inspector_of(Given(regain_seen_sd=0.004), None, None, (), 0.12)
    assert found.regain_frac is None
    assert numbers(found.words) == pytest.approx([0.4])
    ball = MeanBall(100.0, 200.0)
    condition = condition_seen(Given(), ball, None, 0.12, found)
    assert condition.mass_factor == 1.0
    assert condition.regain_seen_sd_frac == 0.004


def test_the_mill_file_s_own_regain_is_said_the_same_way(demo_mill: Mill) -> None:
    """Querl's yarn: 9 % expected, 0.5 % from one inspection to the next."""
    found = inspector_of(Given(), demo_mill, "Querl 100", (averages_only(),), 0.12)
    assert (found.regain_frac, found.sd_frac) == (0.09, 0.005)
    assert numbers(found.words)[:4] == pytest.approx([12.0, 9.0, 0.5, 109 / 112], abs=5e-5)


def test_a_ball_sold_at_the_agreed_regain_is_judged_there(demo_mill: Mill) -> None:
    """Dunnow 50 is sold at 18.25 %; a rule set of mass as weighed only does not follow that."""
    at_agreed = (replace(averages_only(), rule="eu-average"),)
    found = inspector_of(Given(), demo_mill, "Dunnow 50", at_agreed, 0.135)
    assert found.regain_frac == pytest.approx(0.1825)
    said = numbers(found.words)
    assert said[0] == pytest.approx(13.5)
    assert said[-1] == pytest.approx(118.25 / 113.5, abs=5e-5)
    as_weighed = inspector_of(Given(), demo_mill, "Dunnow 50", (averages_only(),), 0.135)
    assert as_weighed.regain_frac == pytest.approx(0.13)


def test_a_typed_regain_needs_that_of_weighing() -> None:
    with pytest.raises(BadInput, match="the regain at weighing is not known"):
        inspector_of(Given(regain_seen=0.09), None, None, (), None)
