"""Cones allotted to orders: within stock and rules, and as well as by looking at every way."""

import itertools
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.plan.orders.allot import allot
from clew.plan.orders.lot_wish import (
    Allotment,
    Share,
    Wish,
    best_fit,
    fewest,
    more_cones,
    most_from,
)

BAG, BAGS = 2, 2  # four balls a case


def wish(balls: int, rule: str, tables: list[list[list[int]]]) -> Wish:
    return Wish(
        balls, BAG, BAGS, rule == "one", rule == "any",
        tuple(tuple(tuple(one) for one in lot) for lot in tables),
    )  # fmt: skip


def tables_of(stock: list[int], per_cone: int, lost: int) -> list[list[list[int]]]:
    """Balls that cones give: so many a cone, some lost to each lot of an order and to a run."""
    return [
        [[max(per_cone * n - lost * many, 0) for n in range(have + 40)] for many in (1, 2, 3, 4)]
        for have in stock
    ]


def check_rules(
    stock: list[int], wishes: list[Wish], alike: list[list[bool]], found: Allotment
) -> None:
    assert all(left >= 0 for left in found.left(stock))
    for asked, shares in zip(wishes, found.shares, strict=True):
        if not shares:
            continue
        lots = [share.lot for share in shares]
        assert len(set(lots)) == len(lots)
        assert sum(share.balls for share in shares) == asked.balls
        for share in shares:
            assert asked.gives[share.lot][len(shares) - 1][share.cones] >= share.balls > 0
        if asked.one_lot:
            assert len(shares) == 1
        broken = [share.lot for share in shares if share.balls % asked.balls_per_case]
        for one, other in itertools.combinations(broken, 2):
            assert asked.shares_cases and alike[one][other]


def ways(asked: Wish, stock: list[int], alike: list[list[bool]]) -> Iterator[tuple[Share, ...]]:
    """Every way to split one order into bags, the last one short, by the rule."""
    lots = range(len(stock))
    for bags in itertools.product(range(asked.bags + 1), repeat=len(stock)):
        if sum(bags) != asked.bags:
            continue
        used = [lot for lot in lots if bags[lot]]
        if asked.one_lot and len(used) > 1:
            continue
        for short in used:
            balls = {lot: BAG * bags[lot] - (asked.short if lot == short else 0) for lot in used}
            broken = [lot for lot in used if balls[lot] % asked.balls_per_case]
            if any(
                not (asked.shares_cases and alike[a][b])
                for a, b in itertools.combinations(broken, 2)
            ):
                continue
            cones = {lot: fewest(asked.gives[lot][len(used) - 1], balls[lot]) for lot in used}
            if all(n is not None and n <= stock[lot] for lot, n in cones.items()):
                yield tuple(Share(lot, balls[lot], cones[lot] or 0) for lot in used)


def best_by_trying(
    stock: list[int], wishes: list[Wish], alike: list[list[bool]]
) -> tuple[list[bool], int, int]:
    """What is met, in how many lots, and the squares left, by every way there is."""
    best = None
    choices = [[(), *ways(one, stock, alike)] for one in wishes]
    for plan in itertools.product(*choices):
        left = Allotment(tuple(plan), proven=True).left(stock)
        if min(left) < 0:
            continue
        met = [bool(shares) for shares in plan]
        key = (met, -sum(map(len, plan)), sum(one * one for one in left))
        best = key if best is None else max(best, key)
    assert best is not None
    return best[0], -best[1], best[2]


@settings(max_examples=40)
@given(
    stock=st.lists(st.integers(0, 6), min_size=1, max_size=3),
    asked=st.lists(
        st.tuples(st.integers(1, 14), st.sampled_from(["one", "case", "any"])),
        min_size=1, max_size=3,
    ),
    per_cone=st.integers(1, 4),
    lost=st.integers(0, 2),
    alike_bits=st.lists(st.booleans(), min_size=3, max_size=3),
)  # fmt: skip
def test_as_good_as_every_way_tried(
    stock: list[int], asked: list[tuple[int, str]], per_cone: int, lost: int, alike_bits: list[bool]
) -> None:
    tables = tables_of(stock, per_cone, lost)
    wishes = [wish(balls, rule, tables) for balls, rule in asked]
    alike = [
        [a == b or alike_bits[a + b - 1] for b in range(len(stock))] for a in range(len(stock))
    ]
    found = allot(stock, wishes, alike)
    assert found.proven
    check_rules(stock, wishes, alike, found)
    check_rules(stock, wishes, alike, Allotment(best_fit(stock, wishes, alike), proven=False))
    met, lots, squares = best_by_trying(stock, wishes, alike)
    assert [bool(shares) for shares in found.shares] == met
    assert sum(map(len, found.shares)) == lots
    assert sum(left * left for left in found.left(stock)) == squares


def test_an_earlier_order_is_not_given_up_for_two_later_ones() -> None:
    tables = tables_of([10], 1, 0)
    found = allot([10], [wish(8, "one", tables), *[wish(5, "one", tables)] * 2], [[True]])
    assert [bool(shares) for shares in found.shares] == [True, False, False]


def test_the_lot_that_suffices_with_least_left_over() -> None:
    stock = [90, 30, 50]
    tables = tables_of(stock, 10, 0)
    alike = [[True] * 3] * 3
    (shares,) = allot(stock, [wish(280, "any", tables)], alike).shares
    assert shares == (Share(1, 280, 28),)


def test_lots_share_a_case_only_if_they_are_alike() -> None:
    """Two lots of 6 balls each: 12 balls fill three cases, one of them from both."""
    stock = [6, 6]
    tables = tables_of(stock, 1, 0)
    asked = [wish(12, "any", tables)]
    apart = [[True, False], [False, True]]
    assert allot(stock, asked, [[True, True]] * 2).shares[0]
    assert not allot(stock, asked, apart).shares[0]
    assert most_from(asked[0], stock, apart) == 10
    assert most_from(asked[0], stock, [[True, True]] * 2) == 12
    assert more_cones(asked[0], stock, apart, 0) == 2


def test_the_fullest_lots_are_not_those_that_share_a_case() -> None:
    """Lots of 2, 5 and 2 balls: the first shares with both others, and those not with each other.

    Two from the first, four and one case of the second, two of the third: eight balls, where the
    two fullest lots that share nothing give seven.
    """
    stock = [2, 5, 2, 0]
    alike = [[a == b or (a, b) not in {(1, 2), (2, 1)} for b in range(4)] for a in range(4)]
    tables = tables_of(stock, 1, 0)
    assert most_from(wish(10, "any", tables), stock, alike) == 8
    assert any(ways(wish(8, "any", tables), stock, alike))
    assert allot(stock, [wish(8, "any", tables)], alike).shares[0]


@given(
    stock=st.lists(st.integers(0, 5), min_size=1, max_size=3),
    balls=st.integers(1, 14),
    rule=st.sampled_from(["one", "case", "any"]),
    lost=st.integers(0, 2),
    alike_bits=st.lists(st.booleans(), min_size=3, max_size=3),
)
@settings(max_examples=60)
def test_most_balls_left_are_balls_that_can_be_had(
    stock: list[int], balls: int, rule: str, lost: int, alike_bits: list[bool]
) -> None:
    """What is offered as fewer balls can be met; where all could be met, all are offered."""
    tables = tables_of(stock, 3, lost)
    alike = [
        [a == b or alike_bits[a + b - 1] for b in range(len(stock))] for a in range(len(stock))
    ]
    asked = wish(balls, rule, tables)
    most = most_from(asked, stock, alike)
    if most:
        assert any(ways(wish(most, rule, tables), stock, alike))
    if next(ways(asked, stock, alike), None):
        assert most == balls
    for lot in range(len(stock)):
        more = more_cones(asked, stock, alike, lot)
        assert more is not None
        fuller = [have + more * (place == lot) for place, have in enumerate(stock)]
        assert most_from(asked, fuller, alike) == balls


def test_seeds_agree_on_how_good_it_is() -> None:
    stock = [30, 22, 17]
    tables = tables_of(stock, 5, 3)
    wishes = [wish(n, rule, tables) for n, rule in ((61, "one"), (90, "case"), (77, "any"))]
    alike = [[True] * 3] * 3
    kinds = {
        (tuple(map(bool, one.shares)), sum(left**2 for left in one.left(stock)))
        for one in (allot(stock, wishes, alike, seed=seed) for seed in (1, 2, 3))
    }
    assert len(kinds) == 1


@pytest.mark.parametrize("effort", [0.0, 0.005, 0.05])
def test_out_of_its_allowance_the_plan_still_keeps_the_rules(
    monkeypatch: pytest.MonkeyPatch, effort: float
) -> None:
    monkeypatch.setattr("clew.plan.orders.allot.EFFORT", effort)
    stock = [30, 22, 17]
    tables = tables_of(stock, 5, 3)
    sizes = ((61, "one"), (90, "case"), (77, "any"), (66, "one"), (58, "case"))
    wishes = [wish(balls, rule, tables) for balls, rule in sizes]
    alike = [[True, False, True], [False, True, True], [True] * 3]
    found = allot(stock, wishes, alike)
    check_rules(stock, wishes, alike, found)
    least = [bool(shares) for shares in best_fit(stock, wishes, alike)]
    assert [bool(shares) for shares in found.shares] >= least
    if effort == 0.0:
        assert not found.proven


@pytest.mark.parametrize("stock", [[], [5]])
def test_no_orders(stock: list[int]) -> None:
    assert allot(stock, [], []) == Allotment((), proven=True)


def test_a_full_store_is_allotted_to_the_end_of_the_search() -> None:
    """Orders of every rule, six lots of twenty-odd cones: all three aims are proven."""
    stock = [24, 31, 19, 28, 22, 35]
    tables = [
        [[max(15 * n - 6 * many, 0) for n in range(have + 60)] for many in (1, 2, 3, 4)]
        for have in stock
    ]
    sizes = ((240, "one"), (420, "case"), (330, "any"), (180, "one"), (510, "case"))
    wishes = [
        Wish(balls, 10, 8, rule == "one", rule == "any", tuple(
            tuple(tuple(one) for one in lot) for lot in tables))
        for balls, rule in sizes
    ]  # fmt: skip
    alike = [[True] * 6] * 6
    found = allot(stock, wishes, alike)
    assert found.proven
    check_rules(stock, wishes, alike, found)
