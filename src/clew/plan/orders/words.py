"""The orders against the stock, in words."""

from __future__ import annotations

from clew.plan.orders.answer import DyehouseAsk, Materials, OrderMaterials
from clew.plan.orders.free import and_words, cones_words
from clew.quantities import MASS, UnitSystem, in_unit, number


def _percent(frac: float) -> str:
    # a chance short of certain is never shown as certain
    return f"{number(100.0 * min(frac, 0.999), 3)} %"


def head_words(materials: Materials) -> str:
    """Say in a sentence whether the orders can be met."""
    orders = materials.orders
    short = [order.asked.number for order in orders if not order.met]
    sure = f"each {number(100.0 * materials.sure_frac, 4)} % sure"
    if not orders:
        return "There are no orders."
    if not short:
        all_of = "The order" if len(orders) == 1 else f"All {len(orders)} orders"
        return f"{all_of} can be met from stock, {sure}."
    if len(short) == len(orders):
        return f"No order can be met from stock, {sure}."
    met = len(orders) - len(short)
    return (
        f"{met} of {len(orders)} orders can be met from stock, {sure}; {and_words(short)} cannot."
    )


def unmet_words(order: OrderMaterials) -> tuple[str, ...]:
    """Say of an order what is in the way, and below it each way out."""
    asked = order.asked
    what = f"{asked.balls} {asked.ball_name}, {asked.colour_name}"
    head = f"Order {asked.number} ({what}): {order.conflict}."
    return (head, *(f"  or {way}" if place else f"  it takes {way}"
                    for place, way in enumerate(order.frees)))  # fmt: skip


def ask_words(ask: DyehouseAsk, units: UnitSystem = "metric") -> str:
    """Say what to ask the dyehouse for, in kilograms or in pounds."""

    def heavy(mass_kg: float) -> str:
        unit = "kg" if units == "metric" else "lb"
        return f"{number(in_unit(1000.0 * mass_kg, MASS, unit), 3)} {unit}"

    orders = "order" if len(ask.order_numbers) == 1 else "orders"
    words = (
        f"{ask.colour_name} on {ask.yarn_name}: a new lot of {cones_words(ask.cones)}"
        f" ({heavy(ask.mass_kg)}) by the morning of {ask.by}"
        f" for {orders} {and_words(list(ask.order_numbers))}"
    )
    more = [
        f"{cones_words(cones)} of {lot} ({heavy(mass_kg)}) for {order}"
        for order, lot, cones, mass_kg in ask.more
    ]
    return f"{words}; or, of the dyeing that is there, {and_words(more)}." if more else f"{words}."


def doubt_words(materials: Materials) -> str:
    """Say what most of the doubt comes from."""
    if not materials.dominant_doubt:
        return ""
    return (
        f"Most of the doubt about cones: {materials.dominant_doubt},"
        f" {number(100.0 * materials.dominant_doubt_frac, 2)} % of the variance."
    )


def chance_words(order: OrderMaterials) -> str:
    """Show the chance of an order."""
    return _percent(order.p_enough) if order.p_enough >= 0.001 else "-"
