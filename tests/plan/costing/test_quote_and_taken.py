"""What runs cost together, and what is taken where nobody says."""

from __future__ import annotations

import datetime

import pytest

from clew.plan.costing.ball_cost import ball_cost
from clew.plan.costing.quote import quote_of
from clew.plan.costing.taken import mean_change, taken_change, taken_run_balls
from clew.plan.runs import PlannedRun
from clew.plan.sequence.change import LineNow, change_between
from clew.plan.sequence.timed_run import Change, MoneyPart, TimedRun

NOON = datetime.datetime(2026, 12, 1, 12, tzinfo=datetime.UTC)


def planned(name: str, lot: str, colour: str, balls: int) -> PlannedRun:
    return PlannedRun(
        name=name,
        order_number=name.split("/", maxsplit=1)[0],
        customer="Customer 12",
        ball_name="Querl 100",
        yarn_name="Querl",
        colour_name=colour,
        lot_name=lot,
        balls=balls,
        wound_balls=1.04 * balls,
        cones=10,
        due=datetime.date(2026, 12, 4),
        priority=1.0,
        lines=("Line 1",),
    )


def timed(mill, run: PlannedRun, before: str, late_cost: float) -> TimedRun:
    change = change_between(mill, "Line 1", LineNow("Querl 100", before), run)
    return TimedRun(run, "Line 1", change, NOON, NOON, NOON, NOON, NOON, late_cost)


def test_a_plan_is_the_sum_of_its_runs(demo_mill) -> None:
    runs = [
        timed(demo_mill, planned("1041/1", "SL-207", "Sloe", 700), "OA-023", 0.0),
        timed(demo_mill, planned("1041/2", "SL-211", "Sloe", 500), "SL-207", 25.0),
        timed(demo_mill, planned("1050", "OA-023", "Oatmeal", 300), "SL-211", 0.0),
    ]
    quote = quote_of(demo_mill, runs, replications=10)
    each = [
        ball_cost(
            demo_mill,
            "Querl 100",
            one.run.lot_name,
            "Line 1",
            run_balls=one.run.balls,
            change=one.change,
            replications=10,
        ).total
        for one in runs
    ]
    assert quote.money == pytest.approx(700 * each[0] + 500 * each[1] + 300 * each[2])
    assert quote.late == 25.0
    assert quote_of(demo_mill, []).money == 0


def test_a_given_change_is_taken_as_it_is(demo_mill) -> None:
    after = planned("1050", "OA-023", "Oatmeal", 500)
    change = change_between(demo_mill, "", LineNow("Querl 100", "SL-207"), after)
    cost = ball_cost(
        demo_mill, "Querl 100", "OA-023", run_balls=500, change=change, replications=10
    )
    assert cost.change == change
    cleaning = next(part.money for part in change.parts if part.key == "cleaning")
    assert cost.money_of("change_cleaning") == pytest.approx(cleaning / 500.0)
    assert not any("Each run begins" in note for note in cost.notes)


def test_a_run_is_the_median_order(edited, querl) -> None:
    mill = edited(
        ('ball = "Querl 200"\ncolour = "Oatmeal"\nballs = 400',
         'ball = "Querl 100"\ncolour = "Oatmeal"\nballs = 401'),
    )  # fmt: skip
    assert taken_run_balls(mill, querl.figures, None)[0] == 800
    assert taken_run_balls(mill, querl.figures, 7) == (7, ())


def test_changes_are_averaged_part_by_part() -> None:
    one = Change("colour", 10.0, 4.0, 8.0, 2.0, 0.0, 0.0, 6.0, (MoneyPart("ties", "ties", 3.0),))
    other = Change(
        "colour", 20.0, 0.0, 4.0, -2.0, 0.0, 0.0, 6.0,
        (MoneyPart("ties", "ties", 1.0), MoneyPart("cleaning", "cleaning", 5.0)),
    )  # fmt: skip
    mean = mean_change([one, other])
    assert (mean.stand_s, mean.clean_s, mean.de00, mean.lightness_rise) == (15.0, 2.0, 6.0, 0.0)
    assert {part.key: part.money for part in mean.parts} == {"ties": 2.0, "cleaning": 2.5}
    assert mean.cost == pytest.approx((one.cost + other.cost) / 2.0)


def test_the_mean_change_is_over_the_other_colours_of_the_yarn(demo_mill, querl) -> None:
    """Into Sloe, the darkest of the yarn's four colours, nothing is cleaned."""
    lot = ball_cost(demo_mill, "Querl 100", "SL-207", replications=10)
    change, notes = taken_change(demo_mill, lot.figures)
    into = [
        change_between(
            demo_mill, "", LineNow("Querl 100", before), planned("x", "SL-207", "Sloe", 1)
        )
        for before in ("BR-088", "OA-023", "KC-501")
    ]
    assert change.cost == pytest.approx(sum(one.cost for one in into) / 3.0)
    assert change.clean_s == 0.0 < querl.change.clean_s
    assert "the mean of 3" in notes[0]
