"""An order that cannot be met: what is in the way, and what would free it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from clew.languages import figure, joined, say, say_many
from clew.plan.named import and_words
from clew.plan.orders.answer import OrderMaterials
from clew.plan.orders.enough import chance_enough, cones_for, mean_cones
from clew.plan.orders.lot_wish import MOST_LOTS, fewest, more_cones, most_from
from clew.plan.orders.pool import Pool, able_lines, lines_of, why_unable
from clew.quantities import number

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.plan.orders.asked import OrderAsked

LEAST_CHANCE = 0.5
"""A chance below it is not offered."""


def unmet_order(pool: Pool, place: int) -> OrderMaterials:
    """Say what is in the way of an order, and what would free it.

    Parameters
    ----------
    pool : Pool
        Lots and orders of its yarn and colour, allotted.
    place : int
        Which of the pool's orders.

    Returns
    -------
    OrderMaterials
        Conflict and ways out, each for itself and with the other orders as they are allotted.
    """
    order = pool.orders[place]
    lot = nearest_lot(pool, place)
    use = pool.new_uses[place] if lot is None else pool.uses[place][lot]
    p_enough = (
        0.0 if lot is None
        else max(
            float(chance_enough(one, cones, order.balls))
            for one, cones in zip(pool.uses[place], pool.left, strict=True)
        )
    )  # fmt: skip
    return OrderMaterials(
        asked=order,
        yarn_name=pool.yarn_name,
        lots=(),
        cones_mean=mean_cones(use, order.balls),
        cones_sure=cones_for(use, order.balls, pool.sure_frac),
        p_enough=p_enough,
        conflict=_conflict(pool, place, lot),
        frees=tuple(_frees(pool, place, lot)),
    )


def no_line(mill: Mill, order: OrderAsked, yarn_name: str) -> OrderMaterials:
    """Say of an order that no line it may run on can make its ball, why, and what would free it."""
    lines = lines_of(mill, order)
    why = joined(
        "; ",
        (
            say("{line}: {why}", line=name, why=why_unable(mill, name, order.ball_name))
            for name in lines
        ),
    )
    others = able_lines(mill, replace(order, lines=()))
    free = (
        say("letting it run on {lines}", lines=and_words(list(others)))
        if others
        else say("a line set so that it can make {ball}", ball=order.ball_name)
    )
    return OrderMaterials(
        asked=order,
        yarn_name=yarn_name,
        lots=(),
        cones_mean=0,
        cones_sure=0,
        p_enough=0.0,
        conflict=say(
            "no line that it may run on can make {ball} ({why})", ball=order.ball_name, why=why
        ),
        frees=(free,),
    )


def nearest_lot(pool: Pool, place: int) -> int | None:
    """Find the lot of which the fewest more cones would free an order; None without lots."""
    wish = pool.wishes[place]
    more = {
        lot: cones
        for lot in range(len(pool.lots))
        if (cones := more_cones(wish, pool.left, pool.alike, lot)) is not None
    }
    return min(more, key=lambda lot: (more[lot], lot)) if more else None


def cones_words(cones: int) -> str:
    """Say how many cones."""
    return say_many("{n} cone", "{n} cones", cones)


def _percent(frac: float) -> str:
    return figure(f"{number(100.0 * frac, 3)} %")


def _held_by(pool: Pool, lot: int) -> str:
    holders = [
        (pool.orders[place].number, share.cones)
        for place, shares in enumerate(pool.allotment.shares)
        for share in shares
        if share.lot == lot
    ]
    return and_words(
        [say("{cones} with {order}", cones=cones, order=name) for name, cones in holders]
    )


def _stock_words(pool: Pool) -> str:
    parts = []
    for lot, left in enumerate(pool.left):
        held = _held_by(pool, lot)
        name = pool.lots[lot].lot
        if held:
            parts.append(say("{lot} has {left} left ({held})", lot=name, left=left, held=held))
        else:
            parts.append(say("{lot} has {left} left", lot=name, left=left))
    return joined("; ", parts)


def _conflict(pool: Pool, place: int, lot: int | None) -> str:
    order, wish = pool.orders[place], pool.wishes[place]
    if not pool.lots:
        return say(
            "no dye lot of {yarn} in {colour} is in stock",
            yarn=pool.yarn_name,
            colour=order.colour_name,
        )
    sure = _percent(pool.sure_frac)
    if order.dye_lots == "one" and lot is not None:
        use, name = pool.uses[place][lot], pool.lots[lot].lot
        cones = cones_words(cones_for(use, order.balls, pool.sure_frac))
        return say(
            "one dye lot must do for all {balls} balls, and {sure} sure that takes {cones} of "
            "{lot}: {stock}",
            balls=order.balls,
            sure=sure,
            cones=cones,
            lot=name,
            stock=_stock_words(pool),
        )
    most = most_from(wish, pool.left, pool.alike)
    told = {"most": most, "balls": order.balls, "sure": sure, "stock": _stock_words(pool)}
    if order.dye_lots == "any":
        return say("all lots together give {most} of {balls} balls, {sure} sure: {stock}", **told)
    return say(
        "all lots together give {most} of {balls} balls, {sure} sure, each lot in cases of its "
        "own: {stock}",
        **told,
    )


def _frees(pool: Pool, place: int, lot: int | None) -> Iterator[str]:
    order, wish = pool.orders[place], pool.wishes[place]
    if lot is not None:
        more = more_cones(wish, pool.left, pool.alike, lot)
        if more:
            name = pool.lots[lot].lot
            yield say_many("{n} more cone of {lot}", "{n} more cones of {lot}", more, lot=name)
    new = pool.new_uses[place]
    cones = cones_words(cones_for(new, order.balls, pool.sure_frac))
    if not pool.lots:
        yield say("a new lot of {cones}", cones=cones)
        return
    yield say("a new lot of {cones} for the whole order", cones=cones)
    yield from _other_rule(pool, place)
    most = most_from(wish, pool.left, pool.alike)
    if 0 < most < order.balls:
        fewer = order.balls - most
        yield say_many("{n} balls fewer", "{n} balls fewer", fewer)
    yield from _less_sure(pool, place)
    yield from _before_others(pool, place)


def _other_rule(pool: Pool, place: int) -> Iterator[str]:
    """Several lots in place of one, where that would do."""
    if pool.orders[place].dye_lots != "one" or len(pool.lots) == 1:
        return
    wish = replace(pool.wishes[place], one_lot=False)
    if most_from(wish, pool.left, pool.alike) < wish.balls:
        return
    for many in range(2, min(len(pool.lots), MOST_LOTS) + 1):
        fullest = sorted(range(len(pool.lots)), key=lambda lot: -pool.left[lot])[:many]
        kept = [left if lot in fullest else 0 for lot, left in enumerate(pool.left)]
        if most_from(wish, kept, pool.alike) >= wish.balls:
            names = and_words([pool.lots[lot].lot for lot in sorted(fullest)])
            yield say(
                "letting the order take {many} lots, {names}, each in cases of its own",
                many=many,
                names=names,
            )
            return


def _less_sure(pool: Pool, place: int) -> Iterator[str]:
    """The fullest lot all the same, with the chance that it has."""
    order = pool.orders[place]
    if order.dye_lots != "one":
        return
    chances = [
        float(chance_enough(use, cones, order.balls))
        for use, cones in zip(pool.uses[place], pool.left, strict=True)
    ]
    best = max(range(len(chances)), key=lambda lot: chances[lot])
    if LEAST_CHANCE <= chances[best] < pool.sure_frac:
        yield say(
            "being content with {chance} instead of {sure} from {lot}",
            chance=_percent(chances[best]),
            sure=_percent(pool.sure_frac),
            lot=pool.lots[best].lot,
        )


def _before_others(pool: Pool, place: int) -> Iterator[str]:
    """Its turn before the orders that hold the cones, where the whole stock would do."""
    wish = pool.wishes[place]
    if most_from(wish, pool.stock, pool.alike) < wish.balls:
        return
    if wish.one_lot:
        lots = {
            lot for lot, cones in enumerate(pool.stock)
            if (fewest(wish.gives[lot][0], wish.balls) or cones + 1) <= cones
        }  # fmt: skip
    else:
        lots = set(range(len(pool.lots)))
    holders = [
        pool.orders[other].number
        for other, shares in enumerate(pool.allotment.shares)
        if any(share.lot in lots for share in shares)
    ]
    if holders:
        yield say_many(
            "its turn before {orders}, which holds the cones",
            "its turn before {orders}, which hold the cones",
            len(holders),
            orders=and_words(holders),
        )
