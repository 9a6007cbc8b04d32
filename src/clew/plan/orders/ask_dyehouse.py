"""What to ask the dyehouse for, and by when."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import TYPE_CHECKING

from clew.mill.plan_rules import DAYS
from clew.plan.orders.answer import DyehouseAsk
from clew.plan.orders.enough import cones_for
from clew.plan.orders.free import nearest_lot
from clew.plan.orders.lot_wish import MOST_LOTS, more_cones, most_from
from clew.plan.orders.pool import Pool, able_lines, sure_of_each
from clew.plan.sequence.calendar import work_time_of

if TYPE_CHECKING:
    from clew.mill.model import Mill

_MOST_DAYS_BACK = 3660


def ask_for(mill: Mill, pool: Pool) -> DyehouseAsk | None:
    """Say what to ask the dyehouse for, so that every order of a pool can be met.

    Parameters
    ----------
    mill : Mill
        The mill, for its calendar.
    pool : Pool
        Lots and orders of one yarn in one colour, allotted.

    Returns
    -------
    DyehouseAsk or None
        One new lot for all of them; None where every order is met.

    Notes
    -----
    Source: DERIVED. An order of one lot needs all its cones of the new one. An order that may
    take several has what is left of the stock, in whole cases, and the rest from the new lot; what
    one order took of what is left, no other is reckoned to have.
    """
    short = [place for place, shares in enumerate(pool.allotment.shares) if not shares]
    if not short:
        return None
    left = list(pool.left)
    cones = 0
    more = []
    for place in short:
        order, wish, use = pool.orders[place], pool.wishes[place], pool.new_uses[place]
        balls, sure = order.balls, pool.sure_frac
        if not wish.one_lot and pool.lots:
            have = most_from(wish, left, pool.alike) // wish.balls_per_case * wish.balls_per_case
            if 0 < have < balls:
                balls -= have
                sure = sure_of_each(pool.sure_frac, MOST_LOTS)
                left = [0] * len(left)
        cones += cones_for(use, balls, sure)
        lot = nearest_lot(pool, place)
        if lot is not None:
            extra = more_cones(wish, pool.left, pool.alike, lot) or 0
            name = pool.lots[lot].lot
            more.append((order.number, name, extra, extra * use.cone_mass_g / 1000.0))
    return DyehouseAsk(
        colour_name=pool.colour_name,
        yarn_name=pool.yarn_name,
        cones=cones,
        mass_kg=cones * pool.new_uses[short[0]].cone_mass_g / 1000.0,
        by=min(begin_by(mill, pool, place) for place in short),
        order_numbers=tuple(pool.orders[place].number for place in short),
        more=tuple(more),
    )


def begin_by(mill: Mill, pool: Pool, place: int) -> date:
    """Last day on which an order can begin and still be done when it is due.

    Parameters
    ----------
    mill : Mill
        The mill, with its worked days and shifts.
    pool : Pool
        The pool.
    place : int
        Which of its orders.

    Returns
    -------
    date
        A worked day; no other order is reckoned to be in the way.

    Notes
    -----
    Source: DERIVED. Balls wound at the pace of the order's line, in the hours that it works of a
    worked day: a shift ends where the next one begins.
    """
    order, use = pool.orders[place], pool.new_uses[place]
    line_name = use.line_name or able_lines(mill, order)[0]
    hours_a_day = max(work_time_of(mill, line_name).day_min, 1) / 60.0
    hours = use.wound_for(order.balls) / use.balls_per_h
    return worked_days_back(mill, order.due, max(math.ceil(hours / hours_a_day - 1e-9), 1))


def worked_days_back(mill: Mill, due: date, days: int) -> date:
    """Go back from a day until so many worked days lie from there up to it, itself counted."""
    day, seen = due, 0
    for back in range(min(_MOST_DAYS_BACK, (due - date.min).days + 1)):
        day = due - timedelta(days=back)
        if DAYS[day.weekday()] in mill.plan.worked_days and day not in mill.plan.closed:
            seen += 1
        if seen >= days:
            break
    return day
