"""The orders against the stock, in words."""

from __future__ import annotations

from clew.languages import day, figure, joined, say, say_many
from clew.plan.named import and_words
from clew.plan.orders.answer import DyehouseAsk, Materials, OrderMaterials
from clew.plan.orders.free import cones_words
from clew.quantities import MASS, UnitSystem, in_unit, number


def _percent(frac: float) -> str:
    # a chance short of certain is never shown as certain
    return figure(f"{number(100.0 * min(frac, 0.999), 3)} %")


def head_words(materials: Materials) -> str:
    """Say in a sentence whether the orders can be met."""
    orders = materials.orders
    short = [order.asked.number for order in orders if not order.met]
    sure = figure(f"{number(100.0 * materials.sure_frac, 4)} %")
    if not orders:
        return say("There are no orders.")
    if not short:
        return say_many(
            "The order can be met from stock, each {sure} sure.",
            "All {n} orders can be met from stock, each {sure} sure.",
            len(orders),
            sure=sure,
        )
    if len(short) == len(orders):
        return say("No order can be met from stock, each {sure} sure.", sure=sure)
    return say(
        "{met} of {n} orders can be met from stock, each {sure} sure; {short} cannot.",
        met=len(orders) - len(short),
        n=len(orders),
        sure=sure,
        short=and_words(short),
    )


def unmet_words(order: OrderMaterials, before: str = "  ") -> tuple[str, ...]:
    """Say of an order what is in the way, and each way out with something before it."""
    asked = order.asked
    head = say(
        "Order {number} ({balls} {ball}, {colour}): {conflict}.",
        number=asked.number,
        balls=asked.balls,
        ball=asked.ball_name,
        colour=asked.colour_name,
        conflict=order.conflict,
    )
    ways = (
        say("or {way}", way=way) if place else say("it takes {way}", way=way)
        for place, way in enumerate(order.frees)
    )
    return (head, *(joined("", (before, way)) for way in ways))


def ask_words(ask: DyehouseAsk, units: UnitSystem = "metric") -> str:
    """Say what to ask the dyehouse for, in kilograms or in pounds."""

    def heavy(mass_kg: float) -> str:
        unit = "kg" if units == "metric" else "lb"
        return figure(f"{number(in_unit(1000.0 * mass_kg, MASS, unit), 3)} {unit}")

    words = say_many(
        "{colour} on {yarn}: a new lot of {cones} ({heavy}) by the morning of {date} for order "
        "{orders}",
        "{colour} on {yarn}: a new lot of {cones} ({heavy}) by the morning of {date} for orders "
        "{orders}",
        len(ask.order_numbers),
        colour=ask.colour_name,
        yarn=ask.yarn_name,
        cones=cones_words(ask.cones),
        heavy=heavy(ask.mass_kg),
        date=day(ask.by),
        orders=and_words(list(ask.order_numbers)),
    )
    more = [
        say(
            "{cones} of {lot} ({heavy}) for {order}",
            cones=cones_words(cones),
            lot=lot,
            heavy=heavy(mass_kg),
            order=order,
        )
        for order, lot, cones, mass_kg in ask.more
    ]
    if more:
        return say(
            "{ask}; or, of the dyeing that is there, {more}.", ask=words, more=and_words(more)
        )
    return say("{ask}.", ask=words)


def doubt_words(materials: Materials) -> str:
    """Say what most of the doubt comes from."""
    if not materials.dominant_doubt:
        return ""
    return say(
        "Most of the doubt about cones: {doubt}, {share} % of the variance.",
        doubt=materials.dominant_doubt,
        share=number(100.0 * materials.dominant_doubt_frac, 2),
    )


def chance_words(order: OrderMaterials) -> str:
    """Show the chance of an order."""
    return _percent(order.p_enough) if order.p_enough >= 0.001 else "-"
