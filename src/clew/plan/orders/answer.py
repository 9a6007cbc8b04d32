"""What the orders ask of the stock: runs, lots, orders, what to ask the dyehouse for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clew.plan.orders.asked import OrderAsked
from clew.plan.runs import PlannedRun


@dataclass(frozen=True, slots=True)
class OrderLot:
    """What one dye lot gives to one order.

    Attributes
    ----------
    lot_name : str
        The lot.
    balls : int
        First-quality balls from it.
    wound_balls : float
        Balls wound for them on average.
    cones_mean, cones : int
        Cones that suffice on average, and as surely as they must.
    p_enough : float
        Chance that those cones suffice [1].
    doubts : dict of str to float
        Shares of the variance, by what makes it (`clew.plan.orders.strand_use.DOUBTS`) [1].
    """

    lot_name: str
    balls: int
    wound_balls: float
    cones_mean: int
    cones: int
    p_enough: float
    doubts: dict[str, float]


@dataclass(frozen=True, slots=True)
class OrderMaterials:
    """One order against the stock.

    Attributes
    ----------
    asked : OrderAsked
        The order.
    yarn_name : str
        The yarn its ball is made of.
    lots : tuple of OrderLot
        What it gets; nothing where it cannot be met.
    cones_mean, cones_sure : int
        Cones that suffice on average, and as surely as they must; where it cannot be met, of the
        lot that is nearest to it, or of one yet to be dyed.
    p_enough : float
        Chance that what it gets suffices; where it cannot be met, that the fullest lot left would
        [1].
    conflict : str
        What is in the way; empty where it can be met.
    frees : tuple of str
        What would free it, each for itself.
    """

    asked: OrderAsked
    yarn_name: str
    lots: tuple[OrderLot, ...]
    cones_mean: int
    cones_sure: int
    p_enough: float
    conflict: str = ""
    frees: tuple[str, ...] = ()

    @property
    def met(self) -> bool:
        """Whether it can be met."""
        return bool(self.lots)


@dataclass(frozen=True, slots=True)
class LotMaterials:
    """One dye lot in stock against what is wanted of it.

    Attributes
    ----------
    lot_name, colour_name, yarn_name : str
        The lot.
    stock_cones, wanted_cones, left_cones : int
        Cones in stock, allotted, left.
    p_suffices : float
        Chance that its stock suffices for all its runs together [1].
    order_numbers : tuple of str
        The orders it goes into.
    """

    lot_name: str
    colour_name: str
    yarn_name: str
    stock_cones: int
    wanted_cones: int
    left_cones: int
    p_suffices: float
    order_numbers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DyehouseAsk:
    """What to ask the dyehouse for.

    Attributes
    ----------
    colour_name, yarn_name : str
        What is to be dyed.
    cones : int
        Cones of one new lot that meet all the orders it is for.
    mass_kg : float
        Their mass [kg].
    by : date
        The day on which the first of the orders must begin, at the latest.
    order_numbers : tuple of str
        The orders it is for.
    more : tuple of (str, str, int, float)
        By order: its number, a lot in stock, and how many more cones of it would do instead, and
        their mass [kg].
    """

    colour_name: str
    yarn_name: str
    cones: int
    mass_kg: float
    by: date
    order_numbers: tuple[str, ...]
    more: tuple[tuple[str, str, int, float], ...]


@dataclass(frozen=True, slots=True)
class Materials:
    """Orders against the stock.

    Attributes
    ----------
    runs : tuple of PlannedRun
        A run an order and dye lot, of the orders that can be met.
    orders : tuple of OrderMaterials
        The orders, as they were given.
    lots : tuple of LotMaterials
        The dye lots in stock of the yarns and colours asked for.
    asks : tuple of DyehouseAsk
        What to ask the dyehouse for.
    shade_notes : tuple of str
        Lots that were not let into one case, and why.
    dominant_doubt : str
        What most of the doubt about cones comes from, in words; empty without runs.
    dominant_doubt_frac : float
        Its share of the variance, over all runs by their cones [1].
    sure_frac : float
        How surely the cones of an order must suffice [1].
    seed : int
        Seed of the simulated shifts and of the search.
    proven : bool
        Whether no better allotment is there.
    """

    runs: tuple[PlannedRun, ...]
    orders: tuple[OrderMaterials, ...]
    lots: tuple[LotMaterials, ...]
    asks: tuple[DyehouseAsk, ...]
    shade_notes: tuple[str, ...]
    dominant_doubt: str
    dominant_doubt_frac: float
    sure_frac: float
    seed: int
    proven: bool

    @property
    def met(self) -> bool:
        """Whether every order can be met."""
        return all(order.met for order in self.orders)
