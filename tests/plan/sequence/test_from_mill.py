"""The problem of a sequence: its tables against the changes and hours they stand for."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from clew.faults import BadInput
from clew.mill.model import Mill
from clew.plan.pace import pace_of
from clew.plan.runs import PlannedRun
from clew.plan.sequence.change import LineNow, change_between
from clew.plan.sequence.checks import check_problem
from clew.plan.sequence.from_mill import PresentRun, terms_of_runs
from clew.plan.sequence.problem import NEVER_MIN

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 11, 30, 6, tzinfo=LONDON)
BOTH = ("Line 1", "Line 2")


def planned(name: str, ball: str, lot: str, *, lines: tuple[str, ...] = BOTH) -> PlannedRun:
    return PlannedRun(
        name=name, order_number=name, customer="C", ball_name=ball,
        yarn_name="", colour_name="", lot_name=lot, balls=1000, wound_balls=1030.0,
        cones=60, due=date(2026, 12, 2), priority=1.0, lines=lines,
    )  # fmt: skip


RUNS = (
    planned("1", "Querl 100", "SL-207"),
    planned("2", "Querl 100", "KC-501"),
    planned("3", "Querl 200", "OA-023", lines=("Line 2",)),
    replace(planned("4", "Dunnow 50", "SA-340"), ready=date(2026, 12, 1), priority=2.0),
)


@pytest.fixture(scope="module")
def two_lines(demo_mill: Mill) -> Mill:
    """The demo mill with a second line, whose crew is larger."""
    line = demo_mill.line[0]
    other = line.model_copy(update={"name": "Line 2", "crew": 3})
    return demo_mill.model_copy(update={"line": (line, other)})


def test_every_change_is_what_change_between_says(two_lines: Mill) -> None:
    now_at = {"Line 2": LineNow("Querl 200", "SL-207")}
    terms = terms_of_runs(two_lines, RUNS, now=NOW, lines_now=now_at)
    problem, lightness = terms.problem, terms.lightness
    check_problem(problem)
    for at, line in enumerate(problem.lines):
        for after in range(4):
            for before in range(5):
                if before == after or NEVER_MIN in (
                    problem.run_min[at, after], problem.run_min[at, min(before, 3)]
                    if before < 4 else 0,
                ):  # fmt: skip
                    continue
                was = RUNS[before] if before < 4 else now_at.get(line)
                change = change_between(two_lines, line, was, RUNS[after])
                assert problem.change_cost[at, before, after] == round(1000 * change.cost)
                assert problem.change_min[at, before, after] == math.ceil(change.stand_s / 60)
    assert list(lightness) == [24.0, 78.5, 82.0, 45.5]


def test_times_and_money_of_runs(two_lines: Mill) -> None:
    problem = terms_of_runs(two_lines, RUNS, now=NOW).problem
    hours = []
    for line, hour in (("Line 1", 2 * 16 + 38), ("Line 2", 3 * 16 + 38)):
        pace = pace_of(two_lines, line, "Querl 100")
        assert problem.run_min[BOTH.index(line), 0] == math.ceil(60 * 1030 / pace.balls_per_h)
        hours.append(hour * 1030 / pace.balls_per_h)
    least = min(hours)
    assert list(problem.run_cost[:, 0]) == [round(1000 * (money - least)) for money in hours]
    assert problem.run_min[0, 2] == NEVER_MIN and problem.run_cost[1, 2] == 0
    assert set(problem.due_min.ravel()) == {3 * 960}
    assert list(problem.ready_min[0]) == [0, 0, 0, 960]
    # 60 money a day late, a day of two shifts of 8 h; twice for priority 2
    assert list(problem.late_cost_per_min) == [62, 62, 62, 125]
    # a crew of two and of three at 16, the line at 38: 70 and 86 an hour
    assert list(problem.wait_cost_per_min) == [1167, 1433]
    assert list(problem.free_min) == [0, 0]


def test_a_line_that_is_not_free_yet(two_lines: Mill) -> None:
    until = NOW + timedelta(hours=5)
    now_at = {"line 1": LineNow("querl 100", "sl-207", until)}
    problem = terms_of_runs(two_lines, RUNS, now=NOW, lines_now=now_at).problem
    assert list(problem.free_min) == [300, 0]
    assert problem.ready_min.tolist() == 2 * [[0, 0, 0, 960]]
    assert problem.change_cost[0, 4, 0] == 0


def test_the_present_plan_and_its_frozen_hours(two_lines: Mill) -> None:
    """The mill freezes 4 h: what begins in them stays first; what is new comes at an end."""
    present = [
        PresentRun("2", "Line 1", 1, NOW - timedelta(hours=1)),
        PresentRun("gone", "Line 1", 2, NOW + timedelta(hours=1)),
        PresentRun("1", "Line 1", 3, NOW + timedelta(hours=3)),
        PresentRun("3", "Line 2", 1, NOW + timedelta(hours=4)),
    ]
    terms = terms_of_runs(two_lines, RUNS, now=NOW, present=present)
    assert terms.problem.frozen == ((1, 0), ())
    assert terms.present == ((1, 0), (2, 3))
    thawed = two_lines.model_copy(
        update={"plan": two_lines.plan.model_copy(update={"frozen_s": 0.0})}
    )
    terms = terms_of_runs(thawed, RUNS, now=NOW, present=present)
    assert terms.problem.frozen == ((), ()) and terms.present == ((1, 0), (2, 3))
    assert terms_of_runs(two_lines, RUNS, now=NOW).present is None


def test_what_conflicts_is_said_all_at_once(two_lines: Mill) -> None:
    with pytest.raises(BadInput) as bad:
        terms_of_runs(two_lines, [*RUNS, RUNS[0], RUNS[1]], now=NOW)
    assert [fault.value for fault in bad.value.faults] == ["1", "2"]
    nowhere = [replace(one, lines=("Line 1",)) for one in RUNS[2:3]]
    slow = two_lines.line[0].model_copy(update={"belt_speed_m_per_s": 0.002})
    mill = two_lines.model_copy(update={"line": (slow, two_lines.line[1])})
    with pytest.raises(BadInput, match=r'run "3".*no line can make this run: Line 1'):
        terms_of_runs(mill, nowhere, now=NOW)
    with pytest.raises(BadInput, match="frozen on a line that cannot make it"):
        terms_of_runs(two_lines, RUNS, now=NOW, present=[PresentRun("3", "Line 1", 1, NOW)])
    with pytest.raises(BadInput) as bad:
        now_at = {"Line 7": LineNow("a", "b"), "Line 1": LineNow("Querl 100", "ZZ")}
        terms_of_runs(two_lines, RUNS, now=NOW, lines_now=now_at)
    assert len(bad.value.faults) == 2
    with pytest.raises(BadInput, match="time zone"):
        terms_of_runs(two_lines, RUNS, now=datetime(2026, 11, 30, 6))


def test_no_runs_are_a_problem_too(two_lines: Mill) -> None:
    terms = terms_of_runs(two_lines, (), now=NOW)
    problem, lightness = terms.problem, terms.lightness
    assert problem.runs == 0 and lightness.shape == (0,) and problem.run_min.shape == (2, 0)
