"""An order as it was asked for: what, how many, when, and which dye lots may go together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from clew.mill.lots import Order
    from clew.mill.model import Mill

LotRule = Literal["one", "case", "any"]
"""One dye lot for the whole order; one in each case; or lots of like shade within a case."""


@dataclass(frozen=True, slots=True)
class OrderAsked:
    """One order.

    Attributes
    ----------
    number, customer, ball_name, colour_name : str
        Its number, who asks, for which ball in which colour.
    balls : int
        First-quality balls asked for.
    due : date
        The day by whose end they must be packed.
    dye_lots : {"one", "case", "any"}
        The rule of dye lots.
    priority : float
        What a day late weighs against other orders [1].
    lines : tuple of str
        Lines that may make it; empty for any.
    ready : date or None
        The day from which its yarn is there; None: it is there.
    """

    number: str
    customer: str
    ball_name: str
    colour_name: str
    balls: int
    due: date
    dye_lots: LotRule = "one"
    priority: float = 1.0
    lines: tuple[str, ...] = ()
    ready: date | None = None


def orders_of_mill(mill: Mill) -> tuple[OrderAsked, ...]:
    """Read the orders of a mill file, in the order they stand in."""
    return tuple(asked_of(order) for order in mill.order)


def asked_of(order: Order) -> OrderAsked:
    """Take one order of a mill file as it was asked for."""
    return OrderAsked(
        order.number, order.customer, order.ball, order.colour, order.balls, order.due,
        order.dye_lots, order.priority, order.lines, order.ready,
    )  # fmt: skip
