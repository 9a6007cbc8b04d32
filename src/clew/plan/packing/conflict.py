"""What stands in the way of a packing, and what would free it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.languages import say, say_many
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
    return say_many("{n} bag", "{n} bags", number)


def _longer(side: str, by: int) -> str:
    """Say by how much one side of a case should be longer."""
    return {
        "length": say("a case {by} mm longer inside along its length", by=by),
        "width": say("a case {by} mm longer inside along its width", by=by),
        "height": say("a case {by} mm longer inside along its height", by=by),
    }[side]


def _too_small(
    mill: Mill, block: BallBlock, balls: int, case: CaseSize, bags: int
) -> Conflict | None:
    room = room_in(mill, block, balls, case)
    has = room.middle.number
    if has >= bags:
        return None
    ways = bags_at(mill, block, balls, "middle")
    frees = [_longer(side, by) for side, by in longer_by(ways, inner_of(case), bags)]
    if has:
        frees.append(say("{bags} in the case", bags=_bags(has)))
    frees += _smaller_bags(mill, block, balls, case, bags)
    frees += [
        say("the case {case}", case=other.name)
        for other in mill.pack.case
        if other.name != case.name and best_fit(ways, inner_of(other)).number >= bags
    ]
    if bags <= room.if_small:
        frees.append(say("balls at the small end of their range: measure three to know"))
    told = say("it holds {bags}", bags=_bags(has)) if has else say("it does not hold one")
    return Conflict(
        "case_room",
        say_many(
            "{n} bag of {balls} balls does not fit the case {case}: {holds}",
            "{n} bags of {balls} balls do not fit the case {case}: {holds}",
            bags,
            balls=balls,
            case=case.name,
            holds=told,
        ),
        tuple(frees),
    )


def _smaller_bags(mill: Mill, block: BallBlock, balls: int, case: CaseSize, bags: int) -> list[str]:
    """Name the most balls in a bag of which so many bags fit."""
    for fewer in range(balls - 1, 0, -1):
        if best_fit(bags_at(mill, block, fewer, "middle"), inner_of(case)).number >= bags:
            return [say_many("{n} balls in a bag", "{n} balls in a bag", fewer)]
    return []


def _too_heavy(
    mill: Mill, block: BallBlock, balls: int, case: CaseSize, bags: int
) -> Conflict | None:
    most, which = most_by_mass(mill, block, balls, case)
    if most is None or most >= bags:
        return None
    gross = case_gross_g(mill, block, balls, bags, case) / 1000.0
    limits = (case.most_mass_g, mill.safety.heaviest_lift_g)
    limit_g = min(one for one in limits if one is not None)
    told = {
        "case": case.name, "bags": _bags(bags), "balls": balls, "gross": gross,
        "limit": limit_g / 1000.0,
    }  # fmt: skip
    if which == "heaviest lift":
        words = say(
            "the case {case} with {bags} of {balls} balls weighs {gross:.1f} kg; the mill's "
            "heaviest lift is {limit:g} kg",
            **told,
        )
    else:
        words = say(
            "the case {case} with {bags} of {balls} balls weighs {gross:.1f} kg; what the case may "
            "weigh is {limit:g} kg",
            **told,
        )
    room_g = limit_g - case.tare_mass_g - mill.pack.bag_tare_g
    frees = [say("{bags} in the case", bags=_bags(most))] if most else []
    fewer = int(room_g / block.mass_g + 1e-9)
    if not most and fewer > 0:
        frees.append(
            say_many(
                "{n} balls in a bag, and one bag in the case",
                "{n} balls in a bag, and one bag in the case",
                fewer,
            )
        )
    frees += [
        say("the case {case}", case=other.name)
        for other in mill.pack.case
        if other.name != case.name and _takes(mill, block, balls, other, bags)
    ]
    return Conflict("case_mass", words, tuple(frees))


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
    frees = []
    if load.number:
        most = load.number
        frees.append(say_many("{n} cases on the pallet", "{n} cases on the pallet", most))
    if not load.layer.number:
        long, wide = max(outside[:2]), min(outside[:2])
        frees.append(
            say(
                "a pallet of at least {long} × {wide} mm",
                long=math.ceil(long),
                wide=math.ceil(wide),
            )
        )
    else:
        frees += _larger_pallet(pallet, outside, gross, cases, load.layer.number)
    why = {
        "height": say("it may stand {high:g} mm high", high=pallet.most_height_mm),
        "mass": say("it may weigh {mass:g} kg", mass=pallet.most_mass_g / 1000.0),
        "no room": say("a case stands over its edge")
        if not load.layer.number
        else say("a case on it stands above {high:g} mm", high=pallet.most_height_mm),
    }[load.limited_by]
    return Conflict(
        "pallet",
        say_many(
            "{n} case {case} does not go on one pallet: it holds {most}, as {why}",
            "{n} cases {case} do not go on one pallet: it holds {most}, as {why}",
            cases,
            case=case.name,
            most=load.number,
            why=why,
        ),
        tuple(frees),
    )


def _larger_pallet(
    pallet: Pallet, outside: Box, gross_g: float, cases: int, a_layer: int
) -> list[str]:
    """Say what a pallet must bear and how high it must stand for so many cases, or lower cases."""
    rows = -(-cases // a_layer)
    high = pallet.deck_mm + rows * outside[2]
    mass_g = pallet.tare_mass_g + cases * gross_g
    frees = []
    told = {
        "high": math.ceil(high - 1e-6), "mass": math.ceil(mass_g / 1000.0 - 1e-6),
        "layers": say_many("{n} layer", "{n} layers", rows),
    }  # fmt: skip
    if high > pallet.most_height_mm and mass_g > pallet.most_mass_g:
        frees.append(
            say("a pallet that may stand {high} mm high, for {layers} and weigh {mass} kg", **told)
        )
    elif high > pallet.most_height_mm:
        frees.append(say("a pallet that may stand {high} mm high, for {layers}", **told))
    elif mass_g > pallet.most_mass_g:
        frees.append(say("a pallet that may weigh {mass} kg", **told))
    lower = outside[2] - (pallet.most_height_mm - pallet.deck_mm) / rows
    if 0.0 < lower < 0.5 * outside[2] and mass_g <= pallet.most_mass_g:
        frees.append(say("cases {by} mm lower", by=math.ceil(lower - 1e-6)))
    return frees
