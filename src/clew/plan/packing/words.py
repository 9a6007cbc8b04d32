"""A packing in words: what to do first, then why, then what is in doubt."""

from __future__ import annotations

from clew.plan.packing.answer import FREE_NAME, Free, PackAnswer, Present
from clew.plan.packing.ball_block import BallBlock, side_at
from clew.plan.packing.conflict import Conflict
from clew.plan.packing.option import Option
from clew.quantities import LENGTH, MASS, UnitSystem, in_unit

NOT_COVERED = (
    "The lifting equation is for two hands, standing, at an even pace, on a floor that does not "
    "slip; not for carrying, pushing or one hand. The rules of the place come first."
)
"""What must be said along with every lift."""
_FIT = {
    "sure": "fits even if every ball is at the large end",
    "likely": "fits balls in the middle of their range, not the largest",
    "doubtful": "fits only if balls are at the small end of their range",
    "no": "does not fit",
}
_PALLET = {"height": "its height", "mass": "its mass", "no room": "no case standing on it"}


def money(value: float, currency: str) -> str:
    """Say a sum of a ball, to a hundredth of a penny."""
    return f"{value:.4f} {currency}"


def say(answer: PackAnswer, units: UnitSystem = "metric") -> tuple[str, ...]:
    """Say a packing in lines, the advice first.

    Parameters
    ----------
    answer : PackAnswer
        The packing.
    units : {"metric", "yard"}
        Whether millimetres and kilograms are told, or inches and pounds.

    Returns
    -------
    tuple of str
        Plain sentences.
    """
    best = answer.best
    lines = []
    if best is None:
        if answer.conflicts:
            lines.append(f"{answer.ball_name} cannot be packed so.")
        lines += [line for one in answer.conflicts for line in _conflict(one)]
    else:
        lines.append(f"{answer.ball_name}: pack {packed(best)}. {_cost(best, answer.currency)}.")
        lines.append(_room(best, answer.currency))
        lines.append(_laid(best, units))
        lines.append(_saving(answer))
        lines += _lift(best, units)
    lines += _present(answer.present, answer.currency)
    if answer.free is not None:
        lines += _free(answer.free, units)
    lines.append(size_words(answer.block, units))
    return tuple(line for line in lines if line)


def packed(option: Option) -> str:
    """Say how many go where."""
    return (
        f"{option.balls_per_bag} to a bag, {_number(option.bags_per_case, 'bag')} to the case "
        f"{option.case.name}, {_number(option.cases_per_pallet, 'case')} to a pallet"
    )


def _number(count: int, of: str) -> str:
    return f"{count} {of}" if count == 1 else f"{count} {of}s"


def _cost(option: Option, currency: str) -> str:
    said = f"Packing a ball costs {money(option.cost, currency)}"
    return said if option.priced else f"{said} without the case, which has no price"


def _room(option: Option, currency: str) -> str:
    room = option.room
    said = f"It {_FIT[option.fit]}"
    if option.fit == "likely":
        dearer = option.cost_if_large
        price = "" if dearer is None else f", at {money(dearer, currency)} a ball"
        largest = _number(room.if_large, "bag") if room.if_large else "not one bag"
        said += f": of those {largest} to the case{price}"
    why = {
        "mass of the case": "; what the case may weigh allows no more",
        "heaviest lift": "; the mill's heaviest lift allows no more",
    }.get(option.case_limit, "")
    top = "" if option.load.layer.proven else ", perhaps not the most"
    layer = f"{_number(option.load.layer.number, 'case')} a layer{top}"
    return f"{said}{why}. On the pallet {layer}, kept by {_PALLET[option.load.limited_by]}."


def _laid(option: Option, units: UnitSystem) -> str:
    fit = option.room.middle
    if not fit.layers:
        return ""
    long, across, high = fit.bag.counts
    along = ("length", "width", "height")[fit.along]
    *most, last = [one.layer.number for one in fit.layers]
    layers = ", ".join(str(one) for one in most) + (" and " if most else "")
    return (
        f"In the bag {long} along a ball's length, {across} across, {high} high: "
        f"{sides_words(fit.bag.sides_mm, units)}. The case has room for layers of "
        f"{layers}{_number(last, 'bag')}, stacked along its {along}."
    )


def _saving(answer: PackAnswer) -> str:
    each, best, now = answer.saved_per_ball, answer.best, answer.present
    if each is None or best is None:
        return ""
    same = (best.balls_per_bag, best.bags_per_case, best.cases_per_pallet, best.case.name) == (
        now.balls_per_bag, now.bags_per_case, now.cases_per_pallet, now.case_name,
    )  # fmt: skip
    if same:
        return "That is the present habit."
    much = money(abs(each), answer.currency)
    year = answer.saved_a_year
    over = "" if year is None else f", {abs(year):,.0f} {answer.currency} a year"
    what = "less" if each >= 0.0 else "more"
    return f"That is {much} a ball {what} than the present habit{over}."


def _lift(option: Option, units: UnitSystem) -> list[str]:
    lift = option.lift
    index = "none" if lift.index is None else f"{lift.index:.2f}"
    where = "where it is set down" if lift.judged_at_end else "where it is taken up"
    said = (
        f"A full case weighs {_heavy(lift.load_kg, units)}; the lifting equation recommends at "
        f"most {_heavy(lift.recommended_kg, units)} {where}: index {index}, {lift.words}."
    )
    return [said, *lift.cautions, NOT_COVERED]


def _present(present: Present, currency: str) -> list[str]:
    if not present.case_name:
        return ["The present habit names no case: its fit and lift cannot be judged."]
    said = (
        f"At present {present.balls_per_bag} to a bag, {_number(present.bags_per_case, 'bag')} to "
        f"the case {present.case_name}, {_number(present.cases_per_pallet, 'case')} to a pallet: "
        f"{money(present.cost, currency)} a ball"
    )
    if present.option is not None and not present.conflicts:
        said += f"; it {_FIT[present.option.fit]}"
    return [said + ".", *(line for one in present.conflicts for line in _conflict(one))]


def _conflict(conflict: Conflict) -> list[str]:
    frees = f" What would free it: {'; or '.join(conflict.frees)}." if conflict.frees else ""
    return [f"{conflict.words}.{frees}"]


def _free(free: Free, units: UnitSystem) -> list[str]:
    made, large = free.middle, free.large
    bags = made.counts[0] * made.counts[1] * made.counts[2]
    inner, largest = sides_words(made.inner_mm, units), sides_words(large.inner_mm, units)
    said = (
        f"A case {FREE_NAME} round {_number(bags, 'bag')}: {inner} inside, "
        f"{made.board_m2:.2f} m² of board; {largest} for the largest balls."
    )
    return [said, *(line for one in free.conflicts for line in _conflict(one))]


def sides_words(sides: tuple[float, float, float], units: UnitSystem = "metric") -> str:
    """Say length, width and height."""
    return f"{' × '.join(_rule(side, units) for side in sides)} {_rule_unit(units)}"


def _rule(size_mm: float, units: UnitSystem) -> str:
    if units == "metric":
        return f"{size_mm:.0f}"
    return f"{in_unit(size_mm / 1000.0, LENGTH, 'in'):.1f}"


def _rule_unit(units: UnitSystem) -> str:
    return "mm" if units == "metric" else "in"


def _heavy(mass_kg: float, units: UnitSystem) -> str:
    unit = "kg" if units == "metric" else "lb"
    return f"{in_unit(1000.0 * mass_kg, MASS, unit):.1f} {unit}"


def size_words(block: BallBlock, units: UnitSystem = "metric") -> str:
    """Say how large a ball is taken to be, and how well that is known."""
    sides = (block.length_mm, block.breadth_mm, block.height_mm)
    said = " × ".join(f"{_rule(side.low, units)} to {_rule(side.high, units)}" for side in sides)
    length, breadth, height = (side_at(side, "middle") for side in sides)
    middle = sides_words((length, breadth, height), units)
    how = "pressed" if block.pressed else "round, as the box about it"
    known = (
        "from measured balls"
        if block.measured
        else "no ball of it was measured, which is the most that is in doubt here: measure three"
    )
    return f"A ball is taken as {said} {_rule_unit(units)}, {how}, in the middle {middle}: {known}."
