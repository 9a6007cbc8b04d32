"""The dye lots of one yarn in one colour, and the orders that want them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clew.faults import BadInput
from clew.languages import joined
from clew.line.layout_from_mill import layout_of
from clew.plan.orders.allot import allot
from clew.plan.orders.answer import OrderLot, OrderMaterials
from clew.plan.orders.asked import OrderAsked
from clew.plan.orders.enough import balls_table, chance_enough, cones_for, mean_cones
from clew.plan.orders.lot_wish import MOST_LOTS, Allotment, Wish
from clew.plan.orders.shades import alike
from clew.plan.orders.strand_use import StrandUse, strand_use

if TYPE_CHECKING:
    from clew.mill.lots import DyeLot
    from clew.mill.model import Mill


@dataclass(frozen=True, slots=True)
class Pool:
    """Orders of one yarn in one colour, its lots, and how they were allotted.

    Attributes
    ----------
    colour_name, yarn_name : str
        What is wanted.
    places : tuple of int
        Which of all orders, the one that comes first first.
    orders : tuple of OrderAsked
        Those orders.
    lots : tuple of DyeLot
        The lots in stock.
    uses : tuple of tuple of StrandUse
        By order and lot, what it takes.
    new_uses : tuple of StrandUse
        By order, what it takes of a lot yet to be dyed.
    wishes : tuple of Wish
        By order, what was asked of the search.
    alike : tuple of tuple of bool
        By lot and lot, whether they may lie in one case.
    allotment : Allotment
        What each order gets.
    sure_frac : float
        How surely [1].
    """

    colour_name: str
    yarn_name: str
    places: tuple[int, ...]
    orders: tuple[OrderAsked, ...]
    lots: tuple[DyeLot, ...]
    uses: tuple[tuple[StrandUse, ...], ...]
    new_uses: tuple[StrandUse, ...]
    wishes: tuple[Wish, ...]
    alike: tuple[tuple[bool, ...], ...]
    allotment: Allotment
    sure_frac: float

    @property
    def stock(self) -> tuple[int, ...]:
        """Cones of each lot."""
        return tuple(lot.cones for lot in self.lots)

    @property
    def left(self) -> tuple[int, ...]:
        """Cones left of each lot."""
        return self.allotment.left(self.stock)


def sure_of_each(sure_frac: float, lots: int) -> float:
    """How surely each of several lots must suffice, so that all do [1].

    Source: DERIVED; what the lots share makes all of them together surer still.
    """
    return float(sure_frac ** (1.0 / lots))


def lines_of(mill: Mill, order: OrderAsked) -> tuple[str, ...]:
    """Lines that may make an order, by the mill's names."""
    return tuple(mill.find_line(name).name for name in order.lines) or tuple(
        line.name for line in mill.line
    )


def able_lines(mill: Mill, order: OrderAsked) -> tuple[str, ...]:
    """Lines, of those that may make an order, that can make its ball; none where no line can."""
    return tuple(
        name for name in lines_of(mill, order) if not why_unable(mill, name, order.ball_name)
    )


def why_unable(mill: Mill, line_name: str, ball_name: str) -> str:
    """Say why a line cannot make a ball; empty where it can."""
    try:
        layout_of(mill, line_name, ball_name)
    except BadInput as bad:
        return joined("; ", (fault.what for fault in bad.faults))
    return ""


def pool_of(
    mill: Mill,
    colour_name: str,
    yarn_name: str,
    wanted: Sequence[tuple[int, OrderAsked]],
    *,
    sure_frac: float,
    seed: int,
) -> Pool:
    """Allot the lots of one yarn in one colour to the orders that want them.

    Parameters
    ----------
    mill : Mill
        The mill.
    colour_name, yarn_name : str
        What is wanted.
    wanted : sequence of (int, OrderAsked)
        The orders with their places among all.
    sure_frac : float
        How surely cones must suffice [1].
    seed : int
        Seed of simulated shifts and search.

    Returns
    -------
    Pool
        Who gets what.
    """
    colour = next(one for one in mill.colour if one.name == colour_name)
    lots = tuple(lot for lot in colour.dye_lot if lot.yarn == yarn_name)
    in_turn = sorted(wanted, key=lambda one: (one[1].due, -one[1].priority, one[0]))
    orders = tuple(order for _, order in in_turn)
    uses = []
    new_uses = []
    wishes = []
    for order in orders:
        lines = able_lines(mill, order)
        of_lots = tuple(
            strand_use(mill, order.ball_name, lot.lot, lines, seed=seed) for lot in lots
        )
        uses.append(of_lots)
        new_uses.append(strand_use(mill, order.ball_name, "", lines, seed=seed))
        wishes.append(_wish(mill, order, lots, of_lots, sure_frac))
    stock = [lot.cones for lot in lots]
    together = alike(lots, mill.checks.shade_between_lots)
    allotment = (
        allot(stock, wishes, together, seed=seed) if lots else Allotment(((),) * len(orders), True)
    )
    return Pool(
        colour_name, yarn_name, tuple(place for place, _ in in_turn), orders, lots, tuple(uses),
        tuple(new_uses), tuple(wishes), together, allotment, sure_frac,
    )  # fmt: skip


def _wish(
    mill: Mill,
    order: OrderAsked,
    lots: Sequence[DyeLot],
    uses: Sequence[StrandUse],
    sure_frac: float,
) -> Wish:
    packing = mill.find_ball(order.ball_name).packing
    most = min(len(lots), MOST_LOTS)
    gives = []
    for lot, use in zip(lots, uses, strict=True):
        each = []
        for many in range(1, most + 1):
            sure = sure_of_each(sure_frac, many)
            cones = lot.cones + cones_for(use, order.balls, sure)
            each.append(balls_table(use, cones, sure))
        shortest = min(len(one) for one in each)
        gives.append(tuple(one[:shortest] for one in each))
    return Wish(
        balls=order.balls,
        balls_per_bag=packing.balls_per_bag,
        bags_per_case=packing.bags_per_case,
        one_lot=order.dye_lots == "one",
        shares_cases=order.dye_lots == "any",
        gives=tuple(gives),
    )


def met_order(pool: Pool, place: int) -> OrderMaterials:
    """Say what an order gets that can be met."""
    lots = []
    chance = 1.0
    for share in pool.allotment.shares[place]:
        use = pool.uses[place][share.lot]
        p_enough = float(chance_enough(use, share.cones, share.balls))
        chance *= p_enough
        lots.append(
            OrderLot(
                lot_name=pool.lots[share.lot].lot,
                balls=share.balls,
                wound_balls=use.wound_for(share.balls),
                cones_mean=mean_cones(use, share.balls),
                cones=share.cones,
                p_enough=p_enough,
                doubts=use.doubts(share.cones),
            )
        )
    return OrderMaterials(
        asked=pool.orders[place],
        yarn_name=pool.yarn_name,
        lots=tuple(lots),
        cones_mean=sum(lot.cones_mean for lot in lots),
        cones_sure=sum(lot.cones for lot in lots),
        p_enough=chance,
    )
