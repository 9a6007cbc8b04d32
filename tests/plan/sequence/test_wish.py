"""The price of a wish: against a count of all orders that hold it, and what cannot be wished."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from clew.faults import BadInput
from clew.mill.model import Mill
from clew.plan.orders.asked import orders_of_mill
from clew.plan.orders.materials import materials_for
from clew.plan.sequence.change import LineNow
from clew.plan.sequence.from_mill import PresentRun
from clew.plan.sequence.judge import judge
from clew.plan.sequence.plain import wish_plain
from clew.plan.sequence.plan import SequencePlan, sequence_plan
from clew.plan.sequence.wish import price_of_wish

NOW = datetime(2026, 11, 30, 6, tzinfo=ZoneInfo("Europe/London"))
NOW_AT = {"Line 1": LineNow("Querl 100", "SL-211")}


@pytest.fixture(scope="module")
def plan(demo_mill: Mill) -> SequencePlan:
    runs = materials_for(demo_mill, orders_of_mill(demo_mill)).runs
    return sequence_plan(demo_mill, runs, now=NOW, lines_now=NOW_AT, within_s=1.0)


def test_every_wish_of_the_demo_mill(demo_mill: Mill, plan: SequencePlan) -> None:
    problem = plan.terms.problem
    every = [judge(problem, (order,)) for order in itertools.permutations(range(4))]
    for run, place in itertools.product(range(4), (1, 2, 3, 4)):
        wish = price_of_wish(plan, demo_mill, problem.names[run], "Line 1", place)
        assert wish.order[0][place - 1] == run and sorted(wish.order[0]) == [0, 1, 2, 3]
        least = min(one.cost for one in every if one.order[0][place - 1] == run)
        priced = judge(problem, wish.order).cost
        assert wish.money == pytest.approx((priced - plan.answer.best.cost) / 1000)
        # moving and swapping finds the best of these few orders, each time
        assert priced == least and wish.money >= 0
        assert wish.totals.waste_kg - plan.totals.waste_kg == pytest.approx(wish.waste_kg)
        if plan.answer.best.order[0][place - 1] == run:
            assert wish.money == 0 and "costs nothing more (the others in their" in wish.words


def test_a_wish_beyond_the_last_comes_last(demo_mill: Mill, plan: SequencePlan) -> None:
    wish = price_of_wish(plan, demo_mill, "1041", "line 1", 99)
    assert wish.place == 4 and wish.timed[-1].run.name == "1041"
    plain = wish_plain(wish)
    assert plain["place"] == 4 and plain["runs"][-1]["run"] == "1041"
    assert wish.words.startswith(f"1041 as number 4 on Line 1 costs {wish.money:.2f} GBP more, ")


def test_a_wish_that_makes_the_line_wait_pays_for_it(demo_mill: Mill, plan: SequencePlan) -> None:
    held = [
        replace(one, ready=date(2026, 12, 1)) if one.name == "1041" else one
        for one in plan.terms.runs
    ]
    waits = sequence_plan(demo_mill, held, now=NOW, lines_now=NOW_AT, within_s=1.0)
    assert waits.timed[-1].run.name == "1041"
    wish = price_of_wish(waits, demo_mill, "1041", "Line 1", 1)
    assert wish.timed[0].wait_s == 960 * 60.0
    assert wish.wait_s == wish.totals.wait_s - waits.totals.wait_s > 0
    assert wish.money == pytest.approx(wish.totals.cost - waits.totals.cost)
    assert " h more waiting" in wish.words
    assert wish_plain(wish)["more_wait_h"] == wish.wait_s / 3600


def test_what_cannot_be_wished(demo_mill: Mill, plan: SequencePlan) -> None:
    for name, line, place, says in (
        ("77", "Line 1", 1, "no such run in the plan"),
        ("1041", "Line 9", 1, "no such line"),
        ("1041", "Line 1", 0, "no such place"),
    ):
        with pytest.raises(BadInput, match=says):
            price_of_wish(plan, demo_mill, name, line, place)


def test_the_frozen_part_is_not_moved(demo_mill: Mill, plan: SequencePlan) -> None:
    present = [PresentRun("1045", "Line 1", 1, NOW - timedelta(hours=2))]
    frozen = sequence_plan(
        demo_mill, plan.terms.runs, now=NOW, lines_now=NOW_AT, present=present, within_s=0.5
    )
    with pytest.raises(BadInput, match="the first 1 of Line 1 are frozen"):
        price_of_wish(frozen, demo_mill, "1041", "Line 1", 1)
    with pytest.raises(BadInput, match="frozen part"):
        price_of_wish(frozen, demo_mill, "1045", "Line 1", 2)
    wish = price_of_wish(frozen, demo_mill, "1041", "Line 1", 4)
    assert wish.timed[0].run.name == "1045" and wish.timed[0].frozen


def test_a_line_that_cannot_make_it(demo_mill: Mill, plan: SequencePlan) -> None:
    line = demo_mill.line[0]
    mill = demo_mill.model_copy(update={"line": (line, line.model_copy(update={"name": "Line 2"}))})
    both = sequence_plan(mill, plan.terms.runs[:2], now=NOW, within_s=0.5)
    able = [name for name in ("Line 1", "Line 2") if name in both.terms.runs[0].lines]
    assert able == ["Line 1"]
    with pytest.raises(BadInput, match=r"Line 2 cannot make .*expected Line 1"):
        price_of_wish(both, mill, both.terms.runs[0].name, "Line 2", 1)
