"""One way to pack a ball: so many in a bag, so many bags in a case, so many cases on a pallet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from clew.mill.model import Mill
from clew.mill.pack_rules import CaseSize
from clew.plan.packing.bag import Bag, bags_of
from clew.plan.packing.ball_block import LEVELS, BallBlock, Box, Level
from clew.plan.packing.case_fit import CaseFit, best_fit, outer_of
from clew.plan.packing.cost import cost_parts
from clew.plan.packing.lifting import LiftAnswer, judge_lift
from clew.plan.packing.pallet import PalletLoad, load_pallet
from clew.plan.packing.shipping import Shipped, shipped
from clew.plan.sequence.timed_run import MoneyPart

Fit = Literal["sure", "likely", "doubtful", "no"]
"""Whether it fits: at the largest balls, in the middle of the range, only at the least, not."""
CaseLimit = Literal["room", "mass of the case", "heaviest lift", "as stated"]


@dataclass(frozen=True, slots=True)
class Room:
    """How many bags a case has room for.

    Attributes
    ----------
    middle : CaseFit
        With balls in the middle of what they may be.
    if_large, if_small : int
        Bags where every side of every ball is at its most, and at its least.
    """

    middle: CaseFit
    if_large: int
    if_small: int

    def fit(self, bags: int) -> Fit:
        """Say how surely so many bags fit."""
        if bags <= self.if_large:
            return "sure"
        if bags <= self.middle.number:
            return "likely"
        return "doubtful" if bags <= self.if_small else "no"


@dataclass(frozen=True, slots=True)
class Option:
    """One way to pack a ball.

    Attributes
    ----------
    case : CaseSize
        The case.
    balls_per_bag, bags_per_case, cases_per_pallet : int
        How many go where.
    case_limit : {"room", "mass of the case", "heaviest lift", "as stated"}
        What keeps another bag out of the case.
    room : Room
        What the case has room for.
    load : PalletLoad
        The fullest pallet of such cases.
    pallet_height_mm : float
        How high it stands with the cases that are on it, its deck in it [mm].
    bag, full_case, pallet : Shipped
        Masses and volumes.
    lift : LiftAnswer
        The case, lifted by hand.
    parts : tuple of MoneyPart
        Cost of packing one ball [money].
    cost_if_large : float or None
        Cost of a ball if no more bags go in than fit of the largest balls [money]; None where none
        does.
    """

    case: CaseSize
    balls_per_bag: int
    bags_per_case: int
    cases_per_pallet: int
    case_limit: CaseLimit
    room: Room
    load: PalletLoad
    pallet_height_mm: float
    bag: Shipped
    full_case: Shipped
    pallet: Shipped
    lift: LiftAnswer
    parts: tuple[MoneyPart, ...]
    cost_if_large: float | None

    @property
    def balls_per_case(self) -> int:
        """Balls in a case."""
        return self.balls_per_bag * self.bags_per_case

    @property
    def fit(self) -> Fit:
        """How surely the bags fit the case."""
        return self.room.fit(self.bags_per_case)

    @property
    def cost(self) -> float:
        """Cost of packing one ball [money]."""
        return sum(part.money for part in self.parts)

    @property
    def priced(self) -> bool:
        """Whether the mill file has a price for the case."""
        return self.case.price > 0.0


def inner_of(case: CaseSize) -> Box:
    """Room in a case: length, width, height [mm]."""
    return case.inner_length_mm, case.inner_width_mm, case.inner_height_mm


def case_outside(case: CaseSize) -> Box:
    """Outside of a case: length, width, height [mm]."""
    return outer_of(inner_of(case), case.board_mm)


def bags_at(mill: Mill, block: BallBlock, balls: int, level: Level) -> tuple[Bag, ...]:
    """Ways to lay so many balls in a bag, of balls of one size, by the mill's own rules."""
    rules = mill.pack
    return bags_of(
        balls, block.at(level), squeeze_frac=rules.squeeze_frac, film_mm=rules.bag_film_mm
    )


def room_in(mill: Mill, block: BallBlock, balls: int, case: CaseSize) -> Room:
    """Count the bags a case has room for, at the three sizes a ball may have."""
    small, middle, large = (
        best_fit(bags_at(mill, block, balls, level), inner_of(case)) for level in LEVELS
    )
    return Room(
        middle=middle,
        if_large=min(large.number, middle.number),
        if_small=max(small.number, middle.number),
    )


def case_gross_g(mill: Mill, block: BallBlock, balls: int, bags: int, case: CaseSize) -> float:
    """Mass of a case of so many bags [g]."""
    return bags * (balls * block.mass_g + mill.pack.bag_tare_g) + case.tare_mass_g


def most_by_mass(
    mill: Mill, block: BallBlock, balls: int, case: CaseSize
) -> tuple[int | None, CaseLimit]:
    """Most bags that the case's own limit and the mill's heaviest lift allow.

    Returns
    -------
    int or None
        Bags; None where neither limit is stated.
    str
        Which limit it is.
    """
    each = balls * block.mass_g + mill.pack.bag_tare_g
    limits: list[tuple[float, CaseLimit]] = []
    if case.most_mass_g is not None:
        limits.append((case.most_mass_g, "mass of the case"))
    if mill.safety.heaviest_lift_g is not None:
        limits.append((mill.safety.heaviest_lift_g, "heaviest lift"))
    if not limits:
        return None, "room"
    most, which = min(limits, key=lambda one: one[0])
    return max(0, int((most - case.tare_mass_g) / each + 1e-9)), which


def option_of(
    mill: Mill,
    block: BallBlock,
    balls_per_bag: int,
    case: CaseSize,
    *,
    bags: int | None = None,
    cases: int | None = None,
) -> Option | None:
    """Pack a ball into one case as full as room, mass and lift allow, or as stated.

    Parameters
    ----------
    mill : Mill
        The mill.
    block : BallBlock
        One ball.
    balls_per_bag : int
        Balls in a bag.
    case : CaseSize
        The case.
    bags, cases : int, optional
        Bags in the case and cases on the pallet where they are stated; they are then not judged
        here. The most there can be where left out.

    Returns
    -------
    Option or None
        None where no bag goes into the case, or no case onto the pallet.
    """
    room = room_in(mill, block, balls_per_bag, case)
    number = room.middle.number
    limit: CaseLimit = "room"
    by_mass, which = most_by_mass(mill, block, balls_per_bag, case)
    if by_mass is not None and by_mass < number:
        number, limit = by_mass, which
    if bags is not None:
        number, limit = bags, "as stated"
    if number < 1:
        return None
    gross = case_gross_g(mill, block, balls_per_bag, number, case)
    outside = case_outside(case)
    load = load_pallet(mill.pack.pallet, outside, gross)
    on_pallet = load.number if cases is None else cases
    if on_pallet < 1:
        return None
    in_case, sure = balls_per_bag * number, min(room.if_large, number)
    pallet_tare = on_pallet * (gross - in_case * block.mass_g) + mill.pack.pallet.tare_mass_g
    pallet = mill.pack.pallet
    layers = math.ceil(on_pallet / max(load.layer.number, 1))
    high = pallet.deck_mm + layers * outside[2]
    deck = (pallet.length_mm, pallet.width_mm, high)
    ends = (pallet.deck_mm, high - outside[2])

    def parts(bags_in: int) -> tuple[MoneyPart, ...]:
        return cost_parts(
            mill,
            case,
            balls_per_bag=balls_per_bag,
            bags_per_case=bags_in,
            cases_per_pallet=on_pallet,
        )

    return Option(
        case=case,
        balls_per_bag=balls_per_bag,
        bags_per_case=number,
        cases_per_pallet=on_pallet,
        case_limit=limit,
        room=room,
        load=load,
        pallet_height_mm=high,
        bag=shipped(block, balls_per_bag, mill.pack.bag_tare_g, room.middle.bag.sides_mm),
        full_case=shipped(block, in_case, gross - in_case * block.mass_g, outside),
        pallet=shipped(block, on_pallet * in_case, pallet_tare, deck),
        lift=judge_lift(mill.pack.lift, gross, mill.line, outside, ends),
        parts=parts(number),
        cost_if_large=sum(part.money for part in parts(sure)) if sure else None,
    )
