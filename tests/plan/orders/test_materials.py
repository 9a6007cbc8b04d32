"""Orders against the stock of the demo mill: lots, cones, what is in the way, what frees it."""

import itertools
from dataclasses import replace
from datetime import date

import pytest

from clew.faults import BadInput
from clew.mill.demo_mill import demo_text as shipped
from clew.mill.lots import Cielab
from clew.mill.model import Mill
from clew.plan.orders.ask_dyehouse import begin_by, worked_days_back
from clew.plan.orders.asked import LotRule, OrderAsked, orders_of_mill
from clew.plan.orders.materials import materials_for
from clew.plan.orders.plain import plain_materials
from clew.plan.orders.pool import pool_of
from clew.plan.orders.reading import orders_from_csv
from clew.plan.orders.strand_use import strand_use
from clew.plan.orders.words import ask_words, head_words, unmet_words

DUE = date(2026, 12, 11)


def sloe(number: str, balls: int, rule: LotRule = "one", due: date = DUE) -> OrderAsked:
    return OrderAsked(number, "Customer 1", "Querl 100", "Sloe", balls, due, rule)


def with_shades(mill: Mill, apart: float) -> Mill:
    """The demo mill with both lots of Sloe measured, so far apart in lightness."""
    sloe_colour, *others = mill.colour
    lots = tuple(
        lot.model_copy(update={"lab": Cielab(lightness=24.0 + apart * place, a=8.5, b=-19.0)})
        for place, lot in enumerate(sloe_colour.dye_lot)
    )
    colour = sloe_colour.model_copy(update={"dye_lot": lots})
    return mill.model_copy(update={"colour": (colour, *others)})


def test_the_orders_of_the_demo_mill_can_be_met(demo_mill: Mill) -> None:
    found = materials_for(demo_mill, orders_of_mill(demo_mill))
    assert found.met
    assert found.asks == ()
    assert [run.name for run in found.runs] == ["1041", "1042", "1045", "1046"]
    assert [run.lot_name for run in found.runs] == ["SL-207", "OA-023", "SA-340", "OA-019"]
    for order, run in zip(found.orders, found.runs, strict=True):
        assert run.cones == order.cones_sure >= order.cones_mean
        assert order.p_enough >= 0.95
        assert run.lines == ("Line 1",)
        assert run.wound_balls > run.balls == order.asked.balls
    assert found.dominant_doubt


def test_the_yarn_books_balance(demo_mill: Mill) -> None:
    """Cones on average hold the strand of the balls wound, what is wasted and the part balls."""
    (order, *_) = materials_for(demo_mill, orders_of_mill(demo_mill)).orders
    (lot,) = order.lots
    use = strand_use(demo_mill, "Querl 100", "SL-207", ["Line 1"])
    metres = (lot.wound_balls + 6) * (use.ball_m + use.waste_m)
    assert (lot.cones_mean - 1) * use.cone_m < metres <= lot.cones_mean * use.cone_m
    assert use.cone_m == pytest.approx(1000 * 1600 / 402.4, rel=0.002)
    assert use.ball_m == pytest.approx(101 / 402.4 * 1000, rel=0.02)


def test_the_shipped_orders_and_the_one_that_cannot_be_met(demo_mill: Mill) -> None:
    found = materials_for(demo_mill, orders_from_csv(shipped("orders.csv"), demo_mill))
    assert [order.asked.number for order in found.orders if not order.met] == ["1111"]
    assert head_words(found).startswith("10 of 11 orders can be met from stock, each 95 % sure; ")
    for lot in found.lots:
        taken = sum(run.cones for run in found.runs if run.lot_name == lot.lot_name)
        assert taken == lot.wanted_cones == lot.stock_cones - lot.left_cones <= lot.stock_cones
        assert lot.p_suffices > 0.95
    last = found.orders[-1]
    more = last.cones_sure - 54
    assert last.frees[0] == f"{more} more cones of KC-501"
    (ask,) = found.asks
    assert (ask.colour_name, ask.yarn_name, ask.cones) == ("Kingcup", "Querl", last.cones_sure)
    assert ask.mass_kg == pytest.approx(1.6 * ask.cones)
    assert ask.more == (("1111", "KC-501", more, pytest.approx(1.6 * more)),)
    assert f"{more} cones of KC-501" in ask_words(ask)


def test_each_way_out_is_one(demo_mill: Mill) -> None:
    """More cones, another rule, fewer balls, its turn first: done one by one, each is enough."""
    first = sloe("1", 900, due=date(2026, 12, 1))
    second = sloe("2", 780)
    found = materials_for(demo_mill, [first, second])
    order = found.orders[1]
    assert not found.met and found.orders[0].met
    assert unmet_words(order)[0].startswith("Order 2 (780 Querl 100, Sloe): one dye lot must do")
    more, new, rule, fewer, turn = order.frees
    assert rule == "letting the order take 2 lots, SL-207 and SL-211, each in cases of its own"
    assert turn == "its turn before 1, which holds the cones"
    assert new.startswith("a new lot of ")

    balls = int(fewer.split()[0])
    assert materials_for(demo_mill, [first, replace(second, balls=780 - balls)]).met
    assert not materials_for(demo_mill, [first, replace(second, balls=781 - balls)]).met

    assert materials_for(demo_mill, [first, replace(second, dye_lots="case")]).met

    early = replace(second, due=date(2026, 11, 30))
    assert materials_for(demo_mill, [first, early]).orders[1].met

    cones, *_, lot_name = more.split()
    for extra, met in ((int(cones), True), (int(cones) - 1, False)):
        colour, *others = demo_mill.colour
        lots = tuple(
            lot.model_copy(update={"cones": lot.cones + extra * (lot.lot == lot_name)})
            for lot in colour.dye_lot
        )
        fuller = demo_mill.model_copy(
            update={"colour": (colour.model_copy(update={"dye_lot": lots}), *others)}
        )
        assert materials_for(fuller, [first, second]).met is met


def test_a_chance_that_is_nearly_enough_is_offered(demo_mill: Mill) -> None:
    first = sloe("1", 1200, due=date(2026, 12, 1))
    mill_wants = 0.9
    for balls in range(690, 740, 2):
        found = materials_for(demo_mill, [first, sloe("2", balls)], sure_frac=mill_wants)
        order = found.orders[1]
        offered = [way for way in order.frees if way.startswith("being content with ")]
        assert bool(offered) == (0.5 <= order.p_enough < mill_wants)
        if offered:
            chance = float(offered[0].split()[3]) / 100
            assert chance == pytest.approx(order.p_enough, abs=0.001)
            taken = materials_for(demo_mill, [first, sloe("2", balls)], sure_frac=chance - 0.001)
            assert taken.orders[1].lots[0].lot_name == "SL-211"
            break
    else:
        pytest.fail("nothing was offered")


def test_an_order_in_several_lots_is_in_whole_cases_and_sure_as_a_whole(demo_mill: Mill) -> None:
    found = materials_for(demo_mill, [sloe("1", 1655, "case")])
    (order,) = found.orders
    assert [run.name for run in found.runs] == ["1/1", "1/2"]
    assert sum(run.balls for run in found.runs) == 1655
    assert [run.balls % 80 == 0 for run in found.runs].count(False) == 1
    assert order.p_enough >= 0.95
    one_by_one = order.lots[0].p_enough * order.lots[1].p_enough
    assert order.p_enough == pytest.approx(one_by_one)


def test_shades_decide_which_lots_may_share_a_case(demo_mill: Mill) -> None:
    order = sloe("1", 2300, "any")
    bare = materials_for(demo_mill, [order])
    (note,) = bare.shade_notes
    assert note == (
        "SL-207 and SL-211 share no case: the shade of SL-207 and SL-211 is not measured"
    )
    near, far = (materials_for(with_shades(demo_mill, apart), [order]) for apart in (0.5, 5.0))
    assert near.shade_notes == ()
    assert "apart, above 0.8" in far.shade_notes[0]
    fewest = {}
    for name, mill in (("near", with_shades(demo_mill, 0.5)), ("bare", demo_mill)):
        (answer,) = materials_for(mill, [order]).orders
        assert "all lots together give" in answer.conflict
        fewest[name] = int(next(one for one in answer.frees if "fewer" in one).split()[0])
    assert fewest["near"] <= fewest["bare"]


def test_no_lot_of_the_yarn_in_that_colour(demo_mill: Mill) -> None:
    order = OrderAsked("9", "Customer 1", "Dunnow 50", "Kingcup", 300, DUE)
    found = materials_for(demo_mill, [order])
    assert found.orders[0].conflict == "no dye lot of Dunnow in Kingcup is in stock"
    assert found.runs == () and found.lots == ()
    assert found.asks[0].more == ()
    assert head_words(found) == "No order can be met from stock, each 95 % sure."


def test_surer_takes_no_fewer_cones(demo_mill: Mill) -> None:
    cones = [
        [order.cones_sure for order in materials_for(
            demo_mill, orders_of_mill(demo_mill), sure_frac=sure
        ).orders]
        for sure in (0.5, 0.9, 0.99, 0.999)
    ]  # fmt: skip
    for less, more in itertools.pairwise(cones):
        assert all(a <= b for a, b in zip(less, more, strict=True))
    assert sum(cones[0]) < sum(cones[-1])


def test_a_slower_line_with_more_lanes_decides(demo_mill: Mill) -> None:
    """Where two lines may make it, the one with more part balls counts."""
    (line,) = demo_mill.line
    winders = tuple(
        line.winder[0].model_copy(update={"number": lane, "lane": lane}) for lane in range(1, 25)
    )
    wide = line.model_copy(update={"name": "Line 2", "lanes": 24, "winder": winders, "crew": 8})
    mill = demo_mill.model_copy(update={"line": (line, wide)})
    either = strand_use(mill, "Querl 100", "SL-207", ["Line 1", "Line 2"])
    each = {name: strand_use(mill, "Querl 100", "SL-207", [name]) for name in ("Line 1", "Line 2")}
    assert either in each.values()
    (run,) = materials_for(mill, [replace(sloe("1", 300), lines=("Line 2",))]).runs
    assert run.lines == ("Line 2",)
    assert materials_for(mill, [sloe("1", 300)]).runs[0].lines == ("Line 1", "Line 2")


def test_by_when_the_dyehouse_must_deliver(demo_mill: Mill) -> None:
    friday = date(2026, 12, 11)
    assert worked_days_back(demo_mill, friday, 1) == friday
    assert worked_days_back(demo_mill, date(2026, 12, 13), 1) == friday
    assert worked_days_back(demo_mill, friday, 6) == date(2026, 12, 4)
    # the 25th of December is closed
    assert worked_days_back(demo_mill, date(2026, 12, 26), 1) == date(2026, 12, 24)


def test_shifts_that_run_into_the_next_do_not_count_twice(demo_mill: Mill) -> None:
    """Two shifts of 12 h, 8 h apart, are 20 h a day: 22 h of balls take two days, not one."""
    (line,) = demo_mill.line
    long = line.model_copy(update={"shift_time_s": 12 * 3600.0})
    info = demo_mill.mill.model_copy(update={"shift_starts": ("06:00", "14:00")})
    mill = demo_mill.model_copy(update={"line": (long,), "mill": info})
    friday = date(2026, 12, 11)
    yarn = demo_mill.find_ball("Querl 100").yarn
    pool = pool_of(
        demo_mill, "Sloe", yarn, [(0, sloe("1", 300, due=friday))], sure_frac=0.95, seed=1
    )
    (use,) = pool.new_uses
    for hours, day in ((20.0, friday), (22.0, date(2026, 12, 10))):
        paced = replace(use, balls_per_h=use.wound_for(300) / hours)
        assert begin_by(mill, replace(pool, new_uses=(paced,)), 0) == day


def test_what_cannot_be_asked(demo_mill: Mill) -> None:
    twice = [sloe("1", 10), sloe("1", 0)]
    strange = OrderAsked("2", "C", "Querl 10", "Slo", 5, DUE, lines=("Line 9",))
    with pytest.raises(BadInput) as bad:
        materials_for(demo_mill, [*twice, strange], sure_frac=1.0)
    found = "\n".join(str(fault) for fault in bad.value.faults)
    for words in ("no such chance", "stands twice", "no number of balls", "no such colour",
                  "no such ball"):  # fmt: skip
        assert words in found


def test_the_same_again_and_in_plain_values(demo_mill: Mill) -> None:
    orders = orders_of_mill(demo_mill)
    plain = plain_materials(materials_for(demo_mill, orders, seed=3))
    assert plain == plain_materials(materials_for(demo_mill, orders, seed=3))
    assert plain["seed"] == 3
    assert [run["cones"] for run in plain["runs"]] == [
        lot["cones"] for order in plain["orders"] for lot in order["lots"]
    ]


def test_orders_take_their_turn_by_due_day_then_priority(demo_mill: Mill) -> None:
    orders = [
        sloe("a", 100),
        replace(sloe("b", 100), priority=3.0),
        sloe("c", 100, due=date(2026, 12, 1)),
    ]
    pool = pool_of(demo_mill, "Sloe", "Querl", list(enumerate(orders)), sure_frac=0.9, seed=1)
    assert [order.number for order in pool.orders] == ["c", "b", "a"]


def test_no_orders_are_met(demo_mill: Mill) -> None:
    assert head_words(materials_for(demo_mill, [])) == "There are no orders."


def with_slow_line(mill: Mill) -> Mill:
    """The demo mill with a second line, whose belt is too slow for anything."""
    (line,) = mill.line
    slow = line.model_copy(update={"name": "Line 2", "longest_dwell_s": 5.0})
    return mill.model_copy(update={"line": (line, slow)})


def test_an_order_that_no_line_can_make_is_named_and_the_others_are_planned(
    demo_mill: Mill,
) -> None:
    mill = with_slow_line(demo_mill)
    orders = [sloe("1", 200), replace(sloe("2", 200), lines=("Line 2",)), sloe("3", 100)]
    found = materials_for(mill, orders)
    assert [order.met for order in found.orders] == [True, False, True]
    assert [(run.name, run.lines) for run in found.runs] == [
        ("1", ("Line 1",)),
        ("3", ("Line 1",)),
    ]
    head, way = unmet_words(found.orders[1])
    assert head.startswith(
        "Order 2 (200 Querl 100, Sloe): no line that it may run on can make Querl 100 (Line 2: the"
        " belt is too slow"
    )
    assert way == "  it takes letting it run on Line 1"
    assert found.asks == ()
    assert plain_materials(found)["orders"][1]["conflict"] == found.orders[1].conflict
    both = replace(orders[1], lines=("Line 2", "Line 1"))
    assert materials_for(mill, [both]).runs[0].lines == ("Line 1",)


def test_no_two_runs_have_one_name(demo_mill: Mill) -> None:
    """Order 7 in two lots has the runs 7/1 and 7/2: no other order may be called so."""
    orders = [sloe("7", 1500, "case"), sloe("7/2", 40)]
    with pytest.raises(BadInput, match="called like a run of order 7"):
        materials_for(demo_mill, orders)
    assert materials_for(demo_mill, [orders[1]]).met


@pytest.mark.parametrize("due", [date.min, date.max])
def test_days_at_the_ends_of_the_calendar(demo_mill: Mill, due: date) -> None:
    (ask,) = materials_for(demo_mill, [sloe("1", 20_000, due=due)]).asks
    assert ask.by <= due
