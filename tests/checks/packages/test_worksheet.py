"""Every figure of the worksheet, and what is said when the sample is not the plan's."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from clew.checks.packages.judge_lot import judge_lot
from clew.checks.packages.rule_sets import RULE_SETS, plan_of
from clew.checks.packages.sample import Sample
from clew.checks.packages.verdict import UNCONFIRMED, Verdict, scale_caution, sheet_sentences
from clew.checks.packages.verdict_plain import plain_sheet
from clew.checks.packages.worksheet import Worksheet, unit_of_measure, work_out
from clew.faults import BadInput
from clew.mill.net_content import read_tables

TABLES = read_tables()


def sample(contents: list[float], quantity: Any = "mass") -> Sample:
    names = tuple(f"ball {place + 1}" for place in range(len(contents)))
    return Sample(quantity, np.array(contents), None, np.zeros(0), names, "")


def sheet(rule: str, contents: list[float], lot: int = 200, **more: Any) -> Worksheet:
    when = more.pop("allowance_when", "after")
    plan = plan_of(rule, "mass", 50.0, lot, TABLES, **more)
    return work_out(plan, sample(contents), lot, allowance_when=when)


def test_too_few_balls_decide_nothing_but_are_shown() -> None:
    found = sheet("us-category-a", [50.0, 50.4, 49.8])
    assert found.passed is None
    assert found.average_pass is None
    assert found.open_reasons == ("3 of 12 balls",)
    assert found.mean == pytest.approx(50.0667, abs=1e-4)
    assert found.sd is not None
    assert found.limit is not None


def test_too_few_balls_can_be_enough_to_fail() -> None:
    """A ball over the limit stays over it, however many more are weighed."""
    found = sheet("us-category-a", [50.0, 46.3, 50.0])
    assert found.individual_pass is False
    assert found.passed is False
    assert found.short_count == 1


def test_one_ball_of_many() -> None:
    found = sheet("us-category-a", [50.0])
    assert found.sd is None
    assert found.limit is None
    assert found.passed is None


def test_one_ball_of_one() -> None:
    assert sheet("us-category-a", [46.4], lot=1).passed is True
    assert sheet("us-category-a", [46.3], lot=1).passed is False


def test_all_equal() -> None:
    found = sheet("us-category-a", [50.0] * 12)
    assert found.sd == 0.0
    assert found.passed is True
    assert found.average_at_limit
    assert sheet("us-category-a", [49.9] * 12).passed is False


def test_balls_beyond_the_plan_are_left_out_and_told() -> None:
    found = sheet("us-category-a", [50.1] * 12 + [40.0, 50.0])
    assert found.passed is True
    assert (found.left_out, found.left_out_short) == (2, 1)
    verdict = judge_lot(
        "us-category-a", [sample([50.1] * 12 + [40.0, 50.0])], {"mass": 50.0}, 200, TABLES
    )
    assert any(
        "2 were left out, 1 of them short; that order must" in one for one in verdict.cautions
    )


def test_the_thread_laws_take_all_balls() -> None:
    found = sheet("us-thread-states", [48.5] * 10 + [47.0] * 10)
    assert found.n_used == 20
    assert found.mean == pytest.approx(47.75)
    assert found.passed is False
    assert sheet("us-thread-states", [48.5] * 10).passed is True  # 97 % exactly: not more than 3 %
    assert sheet("us-thread-states", [48.5] * 9).passed is None


def test_a_double_plan_asks_for_its_second_drawing() -> None:
    contents = [45.0, 45.0] + [52.0] * 28
    found = sheet("eu-average", contents, lot=400)
    assert found.individual_pass is None
    assert found.open_reasons == ("30 of 60 balls",)
    done = sheet("eu-average", contents + [52.0] * 30, lot=400)
    assert done.individual_pass is True
    assert (done.short_count, done.allowed) == (2, 4)
    assert done.n_used == 30


def test_allowance_before_lowers_the_nominal_and_after_only_what_failed() -> None:
    contents = [49.2, 49.5, 49.0, 49.7, 49.3, 49.1, 49.6, 49.4, 49.2, 49.5, 49.0, 49.3]
    after = sheet("us-category-a", contents, allowance=1.0)
    before = sheet("us-category-a", contents, allowance=1.0, allowance_when="before")
    assert after.passed is True
    assert before.passed is True
    assert after.limit == pytest.approx(before.limit)
    assert after.plan.deficiency == pytest.approx(3.6)  # no ball failed: its limit stays
    assert before.plan.deficiency == pytest.approx(4.6)
    assert after.total_error == pytest.approx(-8.2)
    assert before.total_error == pytest.approx(3.8)
    assert len(after.steps) == 1
    assert after.steps != ("not needed",)
    unneeded = sheet("us-category-a", [50.0] * 12, allowance=1.0)
    assert unneeded.steps == ("not needed",)
    assert unneeded.limit == 50.0


def test_allowance_after_for_single_balls_only() -> None:
    found = sheet("us-category-a", [52.0] * 11 + [46.0], allowance=1.0)
    assert found.passed is True
    assert found.steps == ("single balls fail without it; allowable variation 3.6 + 1 = 4.6 g",)
    assert found.plan.floor == 50.0


def test_units_of_measure() -> None:
    assert unit_of_measure(np.array([50.5]), 0.5) == 0.1
    assert unit_of_measure(np.array([50.5]), 1.0) == 1.0
    assert unit_of_measure(np.array([50.5]), 0.002) == 0.001
    assert unit_of_measure(np.array([50.5, 49.25]), None) == 0.01
    assert unit_of_measure(np.array([1 / 3]), None) is None


def test_a_scale_too_coarse_is_told() -> None:
    plan = plan_of("us-category-a", "mass", 113.0, 200, TABLES)
    assert scale_caution(plan, 1.0) == ""
    assert "sixth" in scale_caution(plan, 2.0)
    assert "100 divisions" in scale_caution(plan_of("us-category-a", "mass", 50.0, 9, TABLES), 0.6)
    assert "fifth" in scale_caution(plan_of("uk-2006", "mass", 50.0, 9, TABLES), 1.0)


def test_nothing_to_judge_and_more_than_the_lot() -> None:
    with pytest.raises(BadInput, match="no ball"):
        sheet("us-category-a", [])
    with pytest.raises(BadInput, match="more balls measured \\(3\\) than the lot has \\(2\\)"):
        sheet("us-category-a", [50.0] * 3, lot=2)


def test_never_a_bare_pass_by_a_recalled_table() -> None:
    found = judge_lot("us-category-a", [sample([50.1] * 12)], {"mass": 50.0}, 200, TABLES)
    assert found.passed is True
    assert not found.confirmed
    assert found.word == UNCONFIRMED
    bare = judge_lot("uk-2006", [sample([50.1] * 12)], {"mass": 50.0}, 12, TABLES)
    assert bare.word == "pass"


def test_a_light_ball_by_mass_alone_is_not_decided_by_the_thread_laws() -> None:
    mass = sample([50.0] * 10)
    found = judge_lot("us-thread-states", [mass], {"mass": 50.0}, 200, TABLES)
    assert found.passed is None
    assert "yards" in found.word
    length = sample([175.0] * 10, "length")
    both = judge_lot(
        "us-thread-states", [mass, length], {"mass": 50.0, "length": 175.0}, 200, TABLES
    )
    assert both.passed is True
    short = sample([169.0] * 10, "length")
    fails = judge_lot(
        "us-thread-states", [mass, short], {"mass": 50.0, "length": 175.0}, 200, TABLES
    )
    assert fails.passed is False


def test_an_allowance_needs_a_source_and_a_regain_a_rule_set() -> None:
    with pytest.raises(BadInput, match="without its source"):
        judge_lot("us-category-a", [sample([50.0])], {"mass": 50.0}, 9, TABLES, allowance=1.0)
    with pytest.raises(BadInput, match="commercial regain"):
        judge_lot("us-category-a", [sample([50.0])], {"mass": 50.0}, 9, TABLES, commercial=True)
    found = judge_lot("uk-2006", [sample([51.0] * 9)], {"mass": 50.0}, 9, TABLES, commercial=True)
    assert found.word == UNCONFIRMED


def test_a_text_that_asks_for_the_commercial_regain_is_kept_by_it() -> None:
    def judged(*, commercial: bool) -> Verdict:
        balls = [sample([51.0] * 20)]
        return judge_lot("de-2020", balls, {"mass": 50.0}, 20, TABLES, commercial=commercial)

    assert judged(commercial=True).word == "pass"
    assert not any("trade practice" in told for told in judged(commercial=True).cautions)
    assert any("the allowance the text names" in told for told in judged(commercial=True).cautions)
    assert any("judged as weighed" in told for told in judged(commercial=False).cautions)


@pytest.mark.parametrize("rule", list(RULE_SETS))
def test_every_verdict_says_whose_word_it_is(rule: str) -> None:
    found = judge_lot(rule, [sample([50.0] * 10)], {"mass": 50.0}, 10, TABLES)
    assert found.cautions[-1].startswith("for in-house control")


def test_which_ball_failed_and_why() -> None:
    plan = plan_of("uk-2006", "mass", 50.0, 20, TABLES)
    found = plain_sheet(work_out(plan, sample([52.0] * 18 + [45.4, 40.9]), 20))
    assert found["failed"] == [
        {"ball": "ball 19", "why": "holds 45.4 g, below 45.5 g"},
        {"ball": "ball 20", "why": "holds 40.9 g, below 41 g: one such ball fails the lot"},
    ]
    assert found["far_short_count"] == 1


@pytest.mark.parametrize("rule", ["uk-2006", "eu-average", "oiml-r87", "de-2020"])
def test_a_far_short_ball_fails_the_lot_wherever_it_stands(rule: str) -> None:
    """ "None below 41 g" is of every ball: one found beyond the sample is no secret."""
    contents = [52.0] * 99 + [40.9]
    found = sheet(rule, contents, lot=400)
    assert found.individual_pass is False
    assert found.passed is False
    assert [ball.name for ball in found.left_out_far] == ["ball 100"]
    verdict = judge_lot(rule, [sample(contents)], {"mass": 50.0}, 400, TABLES)
    assert "ball 100, beyond the sample, holds 40.9 g, below 41 g" in " ".join(verdict.sentences)
    assert plain_sheet(found)["failed"][-1]["ball"] == "ball 100"
    assert sheet(rule, [52.0] * 99 + [41.0], lot=400).passed is True


def test_one_ball_is_spoken_of_as_one() -> None:
    verdict = judge_lot("us-category-a", [sample([50.0])], {"mass": 50.0}, 1, TABLES)
    said = verdict.sentences[0]
    assert said == "The one ball holds 50.00 g; nothing is asked of the mean of one ball."


def test_a_ball_a_hair_below_is_not_said_to_lie_below_itself() -> None:
    found = sheet("uk-2006", [52.0] * 19 + [45.49998], lot=20)
    failed = plain_sheet(found)["failed"]
    assert [one["why"] for one in failed] == ["holds 45.49998 g, below 45.5 g"]


def test_a_mean_just_below_its_limit_never_reads_like_it() -> None:
    """Two decimals as a rule; more where two would print a failure as an equality."""
    plain = sheet("uk-2006", [50.1] * 20, lot=20)
    assert "is 50.10 g" in sheet_sentences(plain)[0]
    near = sheet("uk-2006", [50.0] * 19 + [49.98], lot=20)
    assert near.limit is not None and near.mean < near.limit
    said = sheet_sentences(near)[0]
    assert "is 49.999 g, 0.001 g below the lowest that passes, 50.000 g." in said


def test_many_far_short_balls_are_told_in_one_sentence() -> None:
    said = sheet_sentences(sheet("uk-2006", [52.0] * 16 + [40.9, 40.8, 40.7, 40.6], lot=20))
    told = [one for one in said if "fails the lot" in one]
    assert told == [
        "4 of the sample below 41 g, where one such ball fails the lot: ball 17 (40.9 g), "
        "ball 18 (40.8 g), ball 19 (40.7 g), ball 20 (40.6 g)."
    ]
