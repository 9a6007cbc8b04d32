"""Changes worked by hand on the demo mill, part by part."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from clew.faults import BadInput
from clew.line.layout_from_mill import layout_of
from clew.mill.model import Mill
from clew.plan.runs import PlannedRun
from clew.plan.sequence.change import LineNow, change_between
from clew.plan.sequence.timed_run import Change

HOUR = 2 * 16.0 + 38.0  # the crew's and the line's
FIRST = 12 * 2.5
TIES = 6 * 25 / 3600 * 16.0
MIXED = 6 * (4.6 - 0.45 * 4.6)
YARN = 17.5 + 0.4
SLOE = LineNow("Querl 100", "SL-211")  # 400 tex: no cone of it was measured


def run(ball: str, lot: str) -> PlannedRun:
    return PlannedRun(
        name="1", order_number="1", customer="", ball_name=ball, yarn_name="", colour_name="",
        lot_name=lot, balls=100, wound_balls=103.0, cones=12, due=date(2026, 12, 4), priority=1.0,
        lines=("Line 1",),
    )  # fmt: skip


def parts(change: Change) -> dict[str, float]:
    return {part.key: part.money for part in change.parts}


def test_nothing_changes(demo_mill: Mill) -> None:
    change = change_between(demo_mill, "Line 1", SLOE, run("Querl 100", "SL-211"))
    assert (change.kind, change.cost, change.stand_s, change.waste_kg) == ("none", 0.0, 0.0, 0.0)


def test_a_lighter_colour_after_a_dark_one(demo_mill: Mill) -> None:
    change = change_between(demo_mill, "", SLOE, run("Querl 100", "KC-501"))
    assert change.kind == "colour" and change.de00 > 40 and change.lightness_rise == 54.5
    assert (change.stand_s, change.clean_s) == (300 + 1200, 1200)
    assert (change.strand_m, change.waste_kg, change.second_balls) == (0.0, 0.0, 6)
    assert parts(change) == pytest.approx(
        {
            "mixed_balls": MIXED,
            "ties": TIES,
            "standing": HOUR / 12,
            "cleaning": HOUR / 3,
            "first_balls": FIRST,
        }
    )
    assert change.cost == pytest.approx(15.18 + 2 / 3 + 35 / 6 + 70 / 3 + 30)


def test_a_darker_colour_asks_for_no_cleaning(demo_mill: Mill) -> None:
    change = change_between(
        demo_mill, "", LineNow("Querl 100", "KC-501"), run("Querl 100", "SL-211")
    )
    assert change.clean_s == 0.0 and "cleaning" not in parts(change) and change.stand_s == 300
    assert change.lightness_rise == -54.5


def test_cleaning_is_a_share_below_its_full_distance(demo_mill: Mill) -> None:
    rules = demo_mill.plan.model_copy(update={"clean_full_de00": 100.0})
    mill = demo_mill.model_copy(update={"plan": rules})
    change = change_between(mill, "", SLOE, run("Querl 100", "KC-501"))
    assert 40 < change.de00 < 100
    assert change.clean_s == pytest.approx(1200 * change.de00 / 100)


def test_hardly_lighter_is_not_cleaned_for(demo_mill: Mill) -> None:
    """From Slate (L* 45.5) to Bracken (41) and back: 4.5 lighter is cleaned for, 2 is not."""
    back = run("Dunnow 50", "SA-340")
    bracken = LineNow("Dunnow 50", "BR-091")
    assert change_between(demo_mill, "", bracken, back).clean_s > 0
    colours = tuple(
        one.model_copy(update={"lab": one.lab.model_copy(update={"lightness": 43.5})})
        if one.name == "Bracken" else one
        for one in demo_mill.colour
    )  # fmt: skip
    mill = demo_mill.model_copy(update={"colour": colours})
    assert change_between(mill, "", bracken, back).clean_s == 0.0


def test_another_lot_of_the_colour(demo_mill: Mill) -> None:
    change = change_between(demo_mill, "", SLOE, run("Querl 100", "SL-207"))
    assert (change.kind, change.stand_s, change.clean_s, change.de00) == ("lot", 25.0, 0.0, 0.0)
    assert parts(change) == pytest.approx(
        {"mixed_balls": MIXED, "ties": TIES, "standing": HOUR * 25 / 3600, "first_balls": FIRST}
    )


def test_another_ball_of_the_yarn(demo_mill: Mill) -> None:
    """Half a ball of 400 tex a lane is thrown away."""
    change = change_between(demo_mill, "", SLOE, run("Querl 200", "SL-211"))
    layout = layout_of(demo_mill, "Line 1", "Querl 100", "SL-211")
    lost_kg = 6 * 0.5 * layout.ball_m * 400e-6
    assert change.kind == "ball" and change.stand_s == 1200 and change.second_balls == 0
    assert change.waste_kg == pytest.approx(lost_kg)
    # a ball of 101 g as weighed holds about 101 g of strand: water and finish hardly differ
    assert lost_kg == pytest.approx(0.303, rel=0.02)
    assert parts(change) == pytest.approx(
        {"part_balls": lost_kg * YARN, "standing": HOUR / 3, "first_balls": FIRST}
    )
    lighter = change_between(demo_mill, "", SLOE, run("Querl 200", "KC-501"))
    assert lighter.kind == "ball" and lighter.stand_s == 1200 + 1200
    assert parts(lighter)["ties"] == pytest.approx(TIES) and "mixed_balls" not in parts(lighter)


def test_another_yarn_throws_the_strand_in_the_line_away(demo_mill: Mill) -> None:
    """Belt 10 m at 1.1 m/min, fed at 5 m/s, and half of 900 m of buffer at 20 % shrink."""
    change = change_between(demo_mill, "", SLOE, run("Sallowe 100", "OA-019"))
    lane_m = 10 / (1.1 / 60) * 5 + 0.5 * 900 / 0.8
    layout = layout_of(demo_mill, "Line 1", "Querl 100", "SL-211")
    assert change.strand_m == pytest.approx(6 * (lane_m + 0.5 * layout.ball_m))
    assert parts(change)["strand"] == pytest.approx(6 * lane_m * 400e-6 * YARN)
    assert change.waste_kg == pytest.approx(change.strand_m * 400e-6)
    assert parts(change)["standing"] == pytest.approx(HOUR * 2 / 3)
    assert "ties" not in parts(change) and change.second_balls == 0


def test_an_empty_line_is_threaded(demo_mill: Mill) -> None:
    change = change_between(demo_mill, "", None, run("Querl 100", "SL-211"))
    assert change.kind == "yarn" and change.waste_kg == 0.0 and change.stand_s == 2400
    assert parts(change) == pytest.approx({"standing": HOUR * 2 / 3, "first_balls": FIRST})


def test_a_ball_without_a_price_loses_its_yarn(demo_mill: Mill) -> None:
    balls = tuple(one.model_copy(update={"price": None}) for one in demo_mill.ball)
    mill = demo_mill.model_copy(update={"ball": balls})
    change = change_between(mill, "", SLOE, run("Querl 100", "SL-207"))
    layout = layout_of(mill, "Line 1", "Querl 100", "SL-211")
    assert parts(change)["mixed_balls"] == pytest.approx(6 * layout.ball_m * 400e-6 * 17.5)


def test_names_are_looked_up_and_not_case_bound(demo_mill: Mill) -> None:
    same = change_between(demo_mill, "line 1", replace(SLOE, lot_name="sl-211"),
                          run("querl 100", "SL-211"))  # fmt: skip
    assert same.kind == "none"
    with pytest.raises(BadInput, match="no such dye lot"):
        change_between(demo_mill, "", SLOE, run("Querl 100", "ZZ"))
    with pytest.raises(BadInput, match="no such line"):
        change_between(demo_mill, "Line 9", SLOE, run("Querl 100", "SL-211"))
