"""A shift of a plan: balls, ends, cones, changes, hands, and what is refused."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from clew.ball.run_card import run_card_of
from clew.faults import BadInput
from clew.line.layout_from_mill import layout_of
from clew.mill.model import Mill
from clew.plan.pace import pace_of
from clew.plan.sequence.timed_run import TimedRun
from clew.plan.shift.plain import plain_shift_plan
from clew.plan.shift.shift_plan import shift_plan
from clew.plan.shift.terms import ShiftPlan
from clew.plan.shift.words import shift_plan_words

ZONE = ZoneInfo("Europe/London")
SHIFT_FROM = datetime(2026, 11, 26, 6, tzinfo=ZONE)
SHIFT_UPTO = datetime(2026, 11, 26, 14, tzinfo=ZONE)
SHIFT = {"shift_from": SHIFT_FROM, "shift_upto": SHIFT_UPTO}
Make = Callable[..., TimedRun]


@pytest.fixture(scope="module")
def plan(demo_mill: Mill, three_runs: tuple[TimedRun, ...]) -> ShiftPlan:
    return shift_plan(demo_mill, three_runs, **SHIFT)


def test_runs_end_when_the_plan_says_and_within_their_interval(
    plan: ShiftPlan, three_runs: tuple[TimedRun, ...]
) -> None:
    for run, timed in zip(plan.lines[0].runs, three_runs, strict=True):
        assert run.start.early <= run.start.at <= run.start.late
        assert run.end.early < run.end.at < run.end.late
        assert run.end.early <= timed.end <= run.end.late
        assert run.balls.low <= run.balls.mean <= run.balls.high <= timed.run.wound_balls + 1e-6
        share = timed.run.balls / timed.run.wound_balls
        assert run.first_balls.mean == pytest.approx(run.balls.mean * share)


def test_doubt_adds_up_along_the_line(plan: ShiftPlan) -> None:
    first, second, third = plan.lines[0].runs
    reach = [run.end.late - run.end.early for run in (first, second)]
    assert reach[1] >= reach[0] * 0.9
    assert third.start.late - third.start.early >= reach[1] - timedelta(minutes=2)


def test_what_ends_and_what_goes_on(plan: ShiftPlan) -> None:
    first, second, third = plan.lines[0].runs
    assert (first.ends_here_frac, second.ends_here_frac) == (1.0, 1.0)
    assert first.balls.mean == first.wound_of_run
    assert third.ends_here_frac < 1.0
    assert third.balls.mean < third.wound_of_run


def test_cones_to_fetch_cover_the_balls(plan: ShiftPlan, demo_mill: Mill) -> None:
    for run in plan.lines[0].runs:
        layout = layout_of(demo_mill, "Line 1", run.ball_name, run.lot_name)
        cones = run.cones
        fetched = cones.before + len(cones.calls)
        assert fetched * layout.cone_m >= run.balls.mean * layout.ball_m
        assert fetched + cones.later + (cones.spare if run.ends_here else 0) <= 200
        assert [one.number for one in cones.calls] == list(range(1, len(cones.calls) + 1))
        assert sum(one.first_fill for one in cones.calls) == layout.lanes * layout.cones_per_lane
        for one in cones.calls:
            assert one.free.early <= one.free.at <= one.free.late
            assert one.free.at <= one.dry_at
            assert SHIFT_FROM <= one.free.at < SHIFT_UPTO


def test_a_run_going_is_split_between_the_shifts(demo_mill: Mill, make_run: Make) -> None:
    going = make_run("7", "Querl 100", "SL-207", 4000, datetime(2026, 11, 25, 18, tzinfo=ZONE))
    run = shift_plan(demo_mill, [going], **SHIFT).lines[0].runs[0]
    pace = pace_of(demo_mill, "Line 1", "Querl 100", "SL-207")
    assert run.going
    assert run.change is None
    # Worked before: 18:00 to 22:00; the night shift is not worked in the demo mill.
    assert run.wound_before == pytest.approx(4.0 * pace.balls_per_h, rel=0.01)
    assert run.cones.before > 0
    assert not any(one.first_fill for one in run.cones.calls)
    whole = shift_plan(
        demo_mill, [going], shift_from=datetime(2026, 11, 25, 14, tzinfo=ZONE),
        shift_upto=datetime(2026, 11, 25, 22, tzinfo=ZONE),
    ).lines[0].runs[0]  # fmt: skip
    assert len(whole.cones.calls) == run.cones.before
    assert whole.cones.later == len(run.cones.calls) + run.cones.later


def test_an_end_after_the_shift_skips_hours_that_are_not_worked(
    demo_mill: Mill, make_run: Make
) -> None:
    start = datetime(2026, 11, 27, 14, tzinfo=ZONE)  # a Friday
    late = make_run("7", "Querl 100", "SL-207", 4000, start)
    plan = shift_plan(demo_mill, [late], shift_from=start, shift_upto=start + timedelta(hours=8))
    end = plan.lines[0].runs[0].end.at
    assert (end.date().isoformat(), 6 <= end.hour < 22) == ("2026-11-30", True)


def test_settings_and_changes_are_those_of_card_and_plan(
    plan: ShiftPlan, demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    first, second, _ = plan.lines[0].runs
    card = run_card_of(demo_mill, "Querl 100", "SL-207", "Line 1")
    assert first.settings == card.settings
    assert first.change is None
    assert second.change is not None
    assert second.change.from_lot == "SL-207"
    assert second.change.change is three_runs[1].change
    steps = " ".join(second.change.steps)
    for words in ("SL-207 off the creel", "5 min", "Tie lot OA-023", "Querl 200", "about 12 go",
                  "about 400 m (0.16 kg)"):  # fmt: skip
        assert words in steps


def test_words_say_crew_cones_and_a_lane_down(plan: ShiftPlan) -> None:
    words = shift_plan_words(plan)
    assert words.headline.startswith("Thursday 2026-11-26, 06:00 to 14:00: 3 runs on 1 line")
    line = words.lines[0]
    assert any("Querl 100: 1 more would make a ball" in one for one in line.crew)
    assert "24 to fill the creel, lane after lane" in line.runs[0].cones
    assert "run on with 5 lanes" in line.runs[0].lane_down
    assert "hand 1 08:32" in line.rests
    assert "7 cones of Querl (1.6 kg each)" in words.lifting
    assert "seed 1" in words.doubt


def test_plain_is_json_and_the_same_again(
    plan: ShiftPlan, demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    again = shift_plan(demo_mill, three_runs, **SHIFT)
    assert again == plan
    plain = json.loads(json.dumps(plain_shift_plan(plan), allow_nan=False))
    run = plain["lines"][0]["runs"][0]
    assert run["run"] == "1041"
    assert run["cones"]["to_fetch"][0]["place"] == 1
    assert run["lane_down"]["lanes_left"] == 5
    other = shift_plan(demo_mill, three_runs, **SHIFT, seed=2)
    assert plain_shift_plan(other) != plain_shift_plan(plan)


def test_a_shift_without_runs_says_so(demo_mill: Mill, three_runs: tuple[TimedRun, ...]) -> None:
    later = {key: moment + timedelta(days=30) for key, moment in SHIFT.items()}
    found = shift_plan(demo_mill, three_runs, **later)
    assert (found.lines, found.idle) == ((), ("Line 1",))
    assert "no run touches this shift" in shift_plan_words(found).headline


def test_no_lift_stated_and_cones_too_heavy(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    said = []
    for lift in (None, 1000.0):
        safety = demo_mill.safety.model_copy(update={"heaviest_lift_g": lift})
        mill = demo_mill.model_copy(update={"safety": safety})
        found = shift_plan(mill, three_runs[:1], **SHIFT)
        said.append((found.lines[0].runs[0].cones.per_load, shift_plan_words(found).lifting))
    assert said[0][0] is None
    assert "states no heaviest lift" in said[0][1]
    assert said[1][0] == 0
    assert "no cone of Querl (1.6 kg): two people or a lift table" in said[1][1]


def test_a_ball_without_a_price_has_no_cheapest_crew(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    balls = tuple(one.model_copy(update={"price": None}) for one in demo_mill.ball)
    mill = demo_mill.model_copy(update={"ball": balls})
    found = shift_plan(mill, three_runs[:1], **SHIFT, replications=20)
    assert found.lines[0].runs[0].crew.cheapest is None
    assert "without its price" in shift_plan_words(found).lines[0].crew[0]


def test_bad_shifts_are_refused_with_every_fault(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    with pytest.raises(BadInput) as bad:
        shift_plan(demo_mill, three_runs, shift_from=SHIFT_UPTO, shift_upto=SHIFT_FROM,
                   replications=1)  # fmt: skip
    assert {one.key for one in bad.value.faults} == {"shift", "replications"}
    with pytest.raises(BadInput):
        shift_plan(demo_mill, three_runs, shift_from=SHIFT_FROM.replace(tzinfo=None),
                   shift_upto=SHIFT_UPTO)  # fmt: skip
    with pytest.raises(BadInput):
        shift_plan(demo_mill, three_runs, **SHIFT, line_name="Line 9")
    elsewhere = dataclasses.replace(three_runs[0], line_name="Line 9")
    with pytest.raises(BadInput):
        shift_plan(demo_mill, [elsewhere], **SHIFT)
