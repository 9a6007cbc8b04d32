"""What stands in the way of a packing, and what would free it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.mill.model import Mill
from clew.mill.pack_rules import CaseSize, Pallet
from clew.plan.packing.ball_block import BallBlock, Box
from clew.plan.packing.case_fit import best_fit, holds, longer_by
from clew.plan.packing.option import (
    bags_at,
    case_gross_g,
    case_outside,
    inner_of,
    most_by_mass,
    room_in,
)
from clew.plan.packing.pallet import load_pallet


@dataclass(frozen=True, slots=True)
class Conflict:
    """Something that cannot be packed as it is stated.

    Attributes
    ----------
    key : str
        What conflicts: ``case_room``, ``case_mass``, ``pallet``.
    words : str
        What conflicts, in words.
    frees : tuple of str
        What would free it, one by one.
    """

    key: str
    words: str
    frees: tuple[str, ...]


def conflicts_of(
    mill: Mill,
    block: BallBlock,
    balls_per_bag: int,
    case: CaseSize,
    *,
    bags: int = 1,
    cases: int = 1,
) -> tuple[Conflict, ...]:
    """Find what conflicts when so many bags are to go into a case and so many cases on a pallet.

    Parameters
    ----------
    mill : Mill
        The mill.
    block : BallBlock
        One ball.
    balls_per_bag, bags, cases : int
        Balls in a bag, bags in a case, cases on a pallet.
    case : CaseSize
        The case.

    Returns
    -------
    tuple of Conflict
        Empty where it can be done, with balls in the middle of what they may be.
    """
    found = [
        _too_small(mill, block, balls_per_bag, case, bags),
        _too_heavy(mill, block, balls_per_bag, case, bags),
        _off_the_pallet(mill, block, balls_per_bag, case, bags, cases),
    ]
    return tuple(one for one in found if one is not None)


def _bags(number: int) -> str:
    return "1 bag" if number == 1 else f"{number} bags"


def _too_small(
    mill: Mill, block: BallBlock, balls: int, case: CaseSize, bags: int
) -> Conflict | None:
    room = room_in(mill, block, balls, case)
    has = room.middle.number
    if has >= bags:
        return None
    ways = bags_at(mill, block, balls, "middle")
    frees = [
        f"a case {by} mm longer inside along its {side}"
        for side, by in longer_by(ways, inner_of(case), bags)
    ]
    if has:
        frees.append(f"{_bags(has)} in the case")
    frees += _smaller_bags(mill, block, balls, case, bags)
    frees += [
        f"the case {other.name}"
        for other in mill.pack.case
        if other.name != case.name and best_fit(ways, inner_of(other)).number >= bags
    ]
    if bags <= room.if_small:
        frees.append("balls at the small end of their range: measure three to know")
    holds = f"it holds {_bags(has)}" if has else "it does not hold one"
    fits = "does" if bags == 1 else "do"
    return Conflict(
        "case_room",
        f"{_bags(bags)} of {balls} balls {fits} not fit the case {case.name}: {holds}",
        tuple(frees),
    )


def _smaller_bags(mill: Mill, block: BallBlock, balls: int, case: CaseSize, bags: int) -> list[str]:
    """Name the most balls in a bag of which so many bags fit."""
    for fewer in range(balls - 1, 0, -1):
        if best_fit(bags_at(mill, block, fewer, "middle"), inner_of(case)).number >= bags:
            return [f"{fewer} balls in a bag"]
    return []


def _too_heavy(
    mill: Mill, block: BallBlock, balls: int, case: CaseSize, bags: int
) -> Conflict | None:
    most, which = most_by_mass(mill, block, balls, case)
    if most is None or most >= bags:
        return None
    gross = case_gross_g(mill, block, balls, bags, case) / 1000.0
    limits = (case.most_mass_g, mill.safety.heaviest_lift_g)
    limit = min(one for one in limits if one is not None) / 1000.0
    what = "the mill's heaviest lift" if which == "heaviest lift" else "what the case may weigh"
    room_g = 1000.0 * limit - case.tare_mass_g - mill.pack.bag_tare_g
    frees = [f"{_bags(most)} in the case"] if most else []
    fewer = int(room_g / block.mass_g)
    if not most and fewer > 0:
        frees.append(f"{fewer} balls in a bag, and one bag in the case")
    frees += [
        f"the case {other.name}"
        for other in mill.pack.case
        if other.name != case.name and _takes(mill, block, balls, other, bags)
    ]
    return Conflict(
        "case_mass",
        f"the case {case.name} with {_bags(bags)} of {balls} balls weighs {gross:.1f} kg; "
        f"{what} is {limit:g} kg",
        tuple(frees),
    )


def _takes(mill: Mill, block: BallBlock, balls: int, case: CaseSize, bags: int) -> bool:
    """Whether so many bags go into a case by its room and by what it may weigh."""
    most, _ = most_by_mass(mill, block, balls, case)
    if most is not None and most < bags:
        return False
    return holds(bags_at(mill, block, balls, "middle"), inner_of(case), bags)


def _off_the_pallet(
    mill: Mill, block: BallBlock, balls: int, case: CaseSize, bags: int, cases: int
) -> Conflict | None:
    outside, pallet = case_outside(case), mill.pack.pallet
    gross = case_gross_g(mill, block, balls, bags, case)
    load = load_pallet(pallet, outside, gross)
    if load.number >= cases:
        return None
    frees = [f"{load.number} cases on the pallet"] if load.number else []
    if not load.layer.number:
        long, wide = max(outside[:2]), min(outside[:2])
        frees.append(f"a pallet of at least {math.ceil(long)} × {math.ceil(wide)} mm")
    else:
        frees += _larger_pallet(pallet, outside, gross, cases, load.layer.number)
    why = {
        "height": f"it may stand {pallet.most_height_mm:g} mm high",
        "mass": f"it may weigh {pallet.most_mass_g / 1000.0:g} kg",
        "no room": "a case stands over its edge"
        if not load.layer.number
        else f"a case on it stands above {pallet.most_height_mm:g} mm",
    }[load.limited_by]
    return Conflict(
        "pallet",
        f"{'1 case' if cases == 1 else f'{cases} cases'} {case.name} "
        f"{'does' if cases == 1 else 'do'} not go on one pallet: it holds {load.number}, as {why}",
        tuple(frees),
    )


def _larger_pallet(
    pallet: Pallet, outside: Box, gross_g: float, cases: int, a_layer: int
) -> list[str]:
    """Say what a pallet must bear and how high it must stand for so many cases, or lower cases."""
    rows = -(-cases // a_layer)
    high = pallet.deck_mm + rows * outside[2]
    mass_g = pallet.tare_mass_g + cases * gross_g
    needs = []
    if high > pallet.most_height_mm:
        layers = "1 layer" if rows == 1 else f"{rows} layers"
        needs.append(f"stand {math.ceil(high - 1e-6)} mm high, for {layers}")
    if mass_g > pallet.most_mass_g:
        needs.append(f"weigh {math.ceil(mass_g / 1000.0 - 1e-6)} kg")
    frees = [f"a pallet that may {' and '.join(needs)}"] if needs else []
    lower = outside[2] - (pallet.most_height_mm - pallet.deck_mm) / rows
    if 0.0 < lower < 0.5 * outside[2] and mass_g <= pallet.most_mass_g:
        frees.append(f"cases {math.ceil(lower - 1e-6)} mm lower")
    return frees
