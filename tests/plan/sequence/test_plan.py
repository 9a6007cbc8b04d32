"""The plan by the clock: it agrees with the judge, keeps what is frozen, says what is late."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from clew.mill.model import Mill
from clew.plan.orders.asked import orders_of_mill
from clew.plan.orders.materials import materials_for
from clew.plan.pace import pace_of
from clew.plan.runs import PlannedRun
from clew.plan.sequence.change import ChangeBook, LineNow, change_between
from clew.plan.sequence.from_mill import PresentRun
from clew.plan.sequence.judge import judge
from clew.plan.sequence.plain import plan_plain
from clew.plan.sequence.plan import SequencePlan, sequence_plan

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 11, 30, 6, tzinfo=LONDON)
NOW_AT = {"Line 1": LineNow("Querl 100", "SL-211")}


@pytest.fixture(scope="module")
def runs(demo_mill: Mill) -> tuple[PlannedRun, ...]:
    return materials_for(demo_mill, orders_of_mill(demo_mill)).runs


@pytest.fixture(scope="module")
def plan(demo_mill: Mill, runs: tuple[PlannedRun, ...]) -> SequencePlan:
    return sequence_plan(demo_mill, runs, now=NOW, lines_now=NOW_AT, within_s=1.0)


def test_the_demo_mill_end_to_end(
    demo_mill: Mill, runs: tuple[PlannedRun, ...], plan: SequencePlan
) -> None:
    """Four runs on one line: the best of all 24 orders, priced here from the changes alone."""

    names = [one.name for one in runs]
    price = {
        (before, after.name): change_between(
            demo_mill, "", NOW_AT["Line 1"] if before == "now" else runs[names.index(before)], after
        ).cost
        for before in ("now", *names)
        for after in runs
    }

    def cost(order: tuple[str, ...]) -> float:
        return sum(price[pair] for pair in itertools.pairwise(("now", *order)))

    assert plan.kept and not plan.late and len(plan.timed) == 4
    best = min(cost(order) for order in itertools.permutations(names))
    assert plan.totals.cost == pytest.approx(best, abs=0.003)
    assert plan.totals.cost == pytest.approx(sum(one.change.cost for one in plan.timed), abs=0.003)
    assert plan.light_to_dark.cost >= plan.totals.cost
    assert plan.words[0].startswith(
        f"{plan.timed[0].run.colour_name} before {plan.timed[1].run.colour_name}"
    )
    assert "Every order ends in time on average." in plan.words


def test_times_agree_with_the_judge_and_with_the_shifts(plan: SequencePlan) -> None:
    judged = judge(plan.terms.problem, plan.answer.best.order)
    assert judged.cost == plan.answer.best.cost
    calendar = plan.terms.calendars[0]
    for one, timed in zip(plan.timed, judged.timed, strict=True):
        assert calendar.working_min(one.change_from) == timed.change_from_min
        assert calendar.working_min(one.start) == timed.from_min
        assert calendar.working_min(one.end) == timed.upto_min
        for moment in (one.change_from, one.start, one.end - timedelta(minutes=1)):
            assert moment.weekday() < 5 and 6 <= moment.hour < 22
        assert one.end_early <= one.end <= one.end_late
    for first, then in itertools.pairwise(plan.timed):
        assert first.end <= then.change_from <= then.start < then.end
        assert then.start - then.change_from >= timedelta(seconds=then.change.stand_s)


def test_doubt_grows_with_the_root_of_the_shifts(demo_mill: Mill, plan: SequencePlan) -> None:
    calendar = plan.terms.calendars[0]
    variance = 0.0
    for one in plan.timed:
        pace = pace_of(demo_mill, "Line 1", one.run.ball_name)
        minutes = calendar.working_min(one.end) - calendar.working_min(one.start)
        sd_min = 60 * pace.balls_sd_per_shift * math.sqrt(minutes / 480) / pace.balls_per_h
        variance += sd_min**2
        late = calendar.working_min(one.end_late) - calendar.working_min(one.end)
        assert late == pytest.approx(1.96 * math.sqrt(variance), abs=1.01)


def test_what_it_saves_is_the_difference(plan: SequencePlan) -> None:
    plain = plan_plain(plan)
    ours, other = plain["plan"], plain["light_to_dark"]
    changes = [run["change"] for run in plain["lines"][0]["runs"]]
    assert ours["waste_kg"] == pytest.approx(sum(one["waste_kg"] for one in changes))
    assert sum(sum(p["money"] for p in one["parts"]) for one in changes) == pytest.approx(
        ours["change_cost_money"], abs=0.003
    )
    less = other["cost_money"] - ours["cost_money"]
    said = [one for one in plan.words if one.startswith("Against light to dark: ")]
    assert less > 0 and said and f"{less:.2f} GBP less" in said[0]


def test_two_lines_and_one_that_is_not_free(demo_mill: Mill, runs: tuple[PlannedRun, ...]) -> None:
    """The second line has a third hand: it is used only where that is worth its wage."""
    line = demo_mill.line[0]
    mill = demo_mill.model_copy(
        update={"line": (line, line.model_copy(update={"name": "Line 2", "crew": 3}))}
    )
    both = [replace(one, lines=("Line 1", "Line 2")) for one in runs]
    now_at = NOW_AT | {"Line 2": LineNow("Querl 100", "SL-207", NOW + timedelta(hours=3))}
    plan = sequence_plan(mill, both, now=NOW, lines_now=now_at, within_s=1.0)
    lines = plan.by_line()
    assert plan.kept and all(lines.values())  # a change of yarn costs more than the third hand
    assert min(one.change_from for one in lines["Line 2"]) >= NOW + timedelta(hours=3)
    for name, timed in lines.items():
        before: LineNow | PlannedRun = now_at[name]
        for one in timed:
            assert one.change == change_between(mill, name, before, one.run)
            before = one.run
    dearer = sum(
        (3 * 16 + 38) * pace_of(mill, "Line 2", one.run.ball_name).run_s(one.run.wound_balls)
        - (2 * 16 + 38) * pace_of(mill, "Line 1", one.run.ball_name).run_s(one.run.wound_balls)
        for one in lines["Line 2"]
    )
    assert plan.totals.run_cost == pytest.approx(dearer / 3600, abs=0.003)
    alone = sequence_plan(mill, both[:1], now=NOW, lines_now=NOW_AT, within_s=0.3)
    assert "Not needed: Line 2." in alone.words


def test_frozen_hours_stay(demo_mill: Mill, runs: tuple[PlannedRun, ...]) -> None:
    """The dearest start stays first where the present plan has begun with it."""
    present = [
        PresentRun("1045", "Line 1", 1, NOW - timedelta(hours=2)),
        PresentRun("1041", "Line 1", 2, NOW + timedelta(hours=5)),
    ]
    plan = sequence_plan(demo_mill, runs, now=NOW, lines_now=NOW_AT, present=present, within_s=0.5)
    assert plan.timed[0].run.name == "1045" and plan.timed[0].frozen
    assert not any(one.frozen for one in plan.timed[1:])
    assert plan.present is not None and plan.present.cost >= plan.totals.cost
    assert "Left as they are, as the present plan has them: 1045." in plan.words


def test_a_late_order_says_how_late_and_what_frees_it(
    demo_mill: Mill, runs: tuple[PlannedRun, ...]
) -> None:
    yesterday = [replace(runs[0], due=date(2026, 11, 29)), replace(runs[1], due=date(2026, 11, 30))]
    plan = sequence_plan(demo_mill, yesterday, now=NOW, lines_now=NOW_AT, within_s=0.5)
    late = plan.late[0]
    end = next(one.end for one in plan.timed if one.run.name == late.run_name)
    assert not plan.kept and late.alone and late.run_name == runs[0].name
    assert late.late_min == plan.terms.calendars[0].working_min(end)
    assert late.late_cost == pytest.approx(0.062 * late.late_min)
    assert f"a due date of {end.date()} or later" in late.frees
    assert any("would be late even if it came first" in said for said in plan.words)


def test_a_run_that_stands_behind_others_says_so(
    demo_mill: Mill, runs: tuple[PlannedRun, ...]
) -> None:
    many = [replace(one, due=date(2026, 11, 30), wound_balls=2500.0) for one in runs]
    plan = sequence_plan(demo_mill, many, now=NOW, lines_now=NOW_AT, within_s=0.5)
    behind = [late for late in plan.late if not late.alone]
    assert behind and all(late.behind for late in behind)
    assert all("being made before" in late.frees[-1] for late in behind)


def test_a_run_no_line_can_make_is_left_out_and_named(
    demo_mill: Mill, runs: tuple[PlannedRun, ...]
) -> None:
    lost = replace(runs[0], lines=("Line 9",))
    plan = sequence_plan(demo_mill, [lost, runs[1]], now=NOW, within_s=0.2)
    assert [one.run.name for one in plan.timed] == [runs[1].name]
    assert not plan.kept and plan.cannot[0].run_name == lost.name
    assert any("cannot be made: none of Line 9 is a line of this mill" in one for one in plan.words)


def test_a_line_that_waits(demo_mill: Mill, runs: tuple[PlannedRun, ...]) -> None:
    """The best of all 24 orders, priced here minute by minute from changes, paces and wages."""
    held = [replace(runs[0], ready=date(2026, 12, 1)), *runs[1:]]
    plan = sequence_plan(demo_mill, held, now=NOW, lines_now=NOW_AT, within_s=1.0)

    book = ChangeBook(demo_mill)
    run_min = {
        one.name: math.ceil(pace_of(demo_mill, "Line 1", one.ball_name).run_s(one.wound_balls) / 60)
        for one in held
    }

    def waits_and_cost(order: tuple[PlannedRun, ...]) -> tuple[int, float]:
        minute, waited, cost = 0, 0, 0.0
        before: LineNow | PlannedRun = NOW_AT["Line 1"]
        for run in order:
            ready = 960 if run.ready else 0
            waited += max(ready - minute, 0)
            change = book.between("Line 1", before, run)
            minute = max(minute, ready) + math.ceil(change.stand_s / 60) + run_min[run.name]
            cost += change.cost
            before = run
        return waited, cost + waited * 1.167

    waited, cost = min(map(waits_and_cost, itertools.permutations(held)), key=lambda one: one[1])
    assert plan.kept and plan.answer.proven
    assert plan.totals.cost == pytest.approx(cost, abs=0.003)
    assert plan.totals.wait_s == 60 * waited > 0
    assert plan.totals.wait_cost == pytest.approx(waited * 1.167)
    waits = [one for one in plan.timed if one.wait_s]
    assert [one.run.name for one in waits] == [runs[0].name]
    place = plan.timed.index(waits[0])
    assert waits[0].wait_from == (plan.timed[place - 1].end if place else NOW)
    assert waits[0].change_from == datetime(2026, 12, 1, 6, tzinfo=LONDON)
    said = [one for one in plan.words if one.startswith("Line 1 waits ")]
    assert len(said) == 1 and said[0].endswith(f" for the yarn of {runs[0].name}.")
    assert any(f"Waiting costs {plan.totals.wait_cost:.2f} GBP." in one for one in plan.words)
    assert plan_plain(plan)["plan"]["wait_h"] == pytest.approx(waited / 60)


def test_a_run_late_for_want_of_yarn_is_not_told_to_come_first(
    demo_mill: Mill, runs: tuple[PlannedRun, ...]
) -> None:
    held = replace(runs[0], ready=date(2026, 12, 1), due=date(2026, 11, 30), wound_balls=300.0)
    plan = sequence_plan(demo_mill, [held, runs[1]], now=NOW, lines_now=NOW_AT, within_s=0.5)
    late = plan.late[0]
    assert late.run_name == held.name and late.behind == (runs[1].name,)
    assert f"yarn that is there {late.late_min} working minutes sooner" in late.frees
    assert not any("being made before" in one for one in late.frees)
    sooner = replace(held, ready=date(2026, 11, 30))
    freed = sequence_plan(demo_mill, [sooner, runs[1]], now=NOW, lines_now=NOW_AT, within_s=0.5)
    assert freed.kept


@pytest.mark.parametrize(
    ("bound_by", "words"),
    [
        ("assignment", "the assignment relaxation"),
        ("count of all orders", "a count of all orders"),
        ("colours", "the best order of the colours alone"),
        ("walks", "the cheapest walks in time"),
        ("CP-SAT", "constraint programming"),
    ],
)
def test_how_good_a_plan_is_is_said_of_its_own_cost(
    plan: SequencePlan, bound_by: str, words: str
) -> None:
    """A plan of 536 with a bound three quarters of it: no order is more than a quarter cheaper."""
    cost = plan.answer.best.cost
    answer = replace(plan.answer, bound=cost - cost // 4, bound_by=bound_by, proven=False)
    said = replace(plan, answer=answer).words
    least = f"{(cost - cost // 4) / 1000:.2f} GBP ({words}), so none is more than 25.0 % cheaper."
    assert any(one.endswith(f"no order can cost less than {least}") for one in said)
    none = replace(plan, answer=replace(answer, bound=0)).words
    assert any(one.endswith("how near it is to the best order is not known.") for one in none)
    assert not any("%" in one for one in none)


def test_nothing_to_make_is_a_plan(demo_mill: Mill) -> None:
    plan = sequence_plan(demo_mill, (), now=NOW)
    assert plan.kept and plan.timed == () and plan.words == ("Nothing is to be made.",)
