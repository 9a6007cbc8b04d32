"""A packing in words: what to do first, then why, then what is in doubt."""

from __future__ import annotations

from clew.languages import figure, first_upper, joined, say, say_many
from clew.plan.packing.answer import Free, PackAnswer, Present
from clew.plan.packing.ball_block import BallBlock, side_at
from clew.plan.packing.conflict import Conflict
from clew.plan.packing.option import Option
from clew.quantities import LENGTH, MASS, UnitSystem, in_unit

NOT_COVERED = say(
    "The lifting equation is for two hands, standing, at an even pace, on a floor that does not "
    "slip; not for carrying, pushing or one hand. The rules of the place come first."
)
"""What must be said along with every lift."""
_FIT = {
    "sure": say("it fits even if every ball is at the large end"),
    "likely": say("it fits balls in the middle of their range, not the largest"),
    "doubtful": say("it fits only if balls are at the small end of their range"),
    "no": say("it does not fit"),
}


def money(value: float, currency: str) -> str:
    """Say a sum of a ball, to a hundredth of a penny."""
    return figure(f"{value:.4f} {currency}")


def pack_words(answer: PackAnswer, units: UnitSystem = "metric") -> tuple[str, ...]:
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
            lines.append(say("{ball} cannot be packed so.", ball=answer.ball_name))
        lines += [line for one in answer.conflicts for line in _conflict(one)]
    else:
        lines.append(
            joined(
                " ",
                (
                    say("{ball}: pack {packed}.", ball=answer.ball_name, packed=packed(best)),
                    _cost(best, answer.currency),
                ),
            )
        )
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
    return say(
        "{balls} to a bag, {bags} to the case {case}, {cases} to a pallet",
        balls=option.balls_per_bag,
        bags=_bags(option.bags_per_case),
        case=option.case.name,
        cases=_cases(option.cases_per_pallet),
    )


def _bags(count: int) -> str:
    return say_many("{n} bag", "{n} bags", count)


def _cases(count: int) -> str:
    return say_many("{n} case", "{n} cases", count)


def _cost(option: Option, currency: str) -> str:
    cost = money(option.cost, currency)
    if option.priced:
        return say("Packing a ball costs {money}.", money=cost)
    return say("Packing a ball costs {money} without the case, which has no price.", money=cost)


def _room(option: Option, currency: str) -> str:
    clauses = [first_upper(_FIT[option.fit])]
    if option.fit == "likely":
        clauses = [_for_large(option, currency)]
    if option.case_limit == "mass of the case":
        clauses.append(say("what the case may weigh allows no more"))
    elif option.case_limit == "heaviest lift":
        clauses.append(say("the mill's heaviest lift allows no more"))
    return joined(" ", (say("{clauses}.", clauses=joined("; ", clauses)), _layer(option)))


def _for_large(option: Option, currency: str) -> str:
    room, dearer = option.room, option.cost_if_large
    largest = _bags(room.if_large) if room.if_large else say("not one bag")
    if dearer is None:
        return say(
            "It fits balls in the middle of their range, not the largest: of those {bags} to the "
            "case",
            bags=largest,
        )
    return say(
        "It fits balls in the middle of their range, not the largest: of those {bags} to the case, "
        "at {money} a ball",
        bags=largest,
        money=money(dearer, currency),
    )


def _layer(option: Option) -> str:
    layer = say("{cases} a layer", cases=_cases(option.load.layer.number))
    if not option.load.layer.proven:
        layer = say("{layer}, perhaps not the most", layer=layer)
    return {
        "height": say("On the pallet {layer}, kept by its height.", layer=layer),
        "mass": say("On the pallet {layer}, kept by its mass.", layer=layer),
        "no room": say("On the pallet {layer}, kept by no case standing on it.", layer=layer),
    }[option.load.limited_by]


def _laid(option: Option, units: UnitSystem) -> str:
    fit = option.room.middle
    if not fit.layers:
        return ""
    long, across, high = fit.bag.counts
    *most, last = [one.layer.number for one in fit.layers]
    layers = _bags(last)
    if most:
        before = joined(", ", [str(one) for one in most])
        layers = say("{before} and {last}", before=before, last=layers)
    stacked = (
        say("The case has room for layers of {bags}, stacked along its length.", bags=layers),
        say("The case has room for layers of {bags}, stacked along its width.", bags=layers),
        say("The case has room for layers of {bags}, stacked along its height.", bags=layers),
    )[fit.along]
    bag = say(
        "In the bag {long} along a ball's length, {across} across, {high} high: {sides}.",
        long=long,
        across=across,
        high=high,
        sides=sides_words(fit.bag.sides_mm, units),
    )
    return joined(" ", (bag, stacked))


def _saving(answer: PackAnswer) -> str:
    each, best, now = answer.saved_per_ball, answer.best, answer.present
    if each is None or best is None:
        return ""
    same = (best.balls_per_bag, best.bags_per_case, best.cases_per_pallet, best.case.name) == (
        now.balls_per_bag, now.bags_per_case, now.cases_per_pallet, now.case_name,
    )  # fmt: skip
    if same:
        return say("That is the present habit.")
    much = money(abs(each), answer.currency)
    if answer.saved_a_year is None:
        if each >= 0.0:
            return say("That is {money} a ball less than the present habit.", money=much)
        return say("That is {money} a ball more than the present habit.", money=much)
    year = figure(f"{abs(answer.saved_a_year):,.0f} {answer.currency}")
    if each >= 0.0:
        return say(
            "That is {money} a ball less than the present habit, {year} a year.",
            money=much,
            year=year,
        )
    return say(
        "That is {money} a ball more than the present habit, {year} a year.", money=much, year=year
    )


def _lift(option: Option, units: UnitSystem) -> list[str]:
    lift = option.lift
    told = {
        "case": _heavy(lift.load_kg, units),
        "most": _heavy(lift.recommended_kg, units),
        "index": say("none") if lift.index is None else figure(f"{lift.index:.2f}"),
        "what": lift.words,
    }
    if lift.judged_at_end:
        said = say(
            "A full case weighs {case}; the lifting equation recommends at most {most} where it is "
            "set down: index {index}, {what}.",
            **told,
        )
    else:
        said = say(
            "A full case weighs {case}; the lifting equation recommends at most {most} where it is "
            "taken up: index {index}, {what}.",
            **told,
        )
    return [said, *lift.cautions_in(units), NOT_COVERED]


def _present(present: Present, currency: str) -> list[str]:
    if not present.case_name:
        return [say("The present habit names no case: its fit and lift cannot be judged.")]
    told = {
        "balls": present.balls_per_bag,
        "bags": _bags(present.bags_per_case),
        "case": present.case_name,
        "money": money(present.cost, currency),
    }
    if present.pallet_counted:
        clauses = [
            say(
                "At present {balls} to a bag, {bags} to the case {case}, {cases} to a pallet: "
                "{money} a ball",
                cases=_cases(present.cases_per_pallet),
                **told,
            )
        ]
    else:
        clauses = [
            say(
                "At present {balls} to a bag, {bags} to the case {case}: {money} a ball, without "
                "the pallet and its freight, for the mill file does not say how many cases go on "
                "one",
                **told,
            )
        ]
    if present.option is not None and not present.conflicts:
        clauses.append(_FIT[present.option.fit])
    said = say("{clauses}.", clauses=joined("; ", clauses))
    return [said, *(line for one in present.conflicts for line in _conflict(one))]


def _conflict(conflict: Conflict) -> list[str]:
    said = say("{conflict}.", conflict=conflict.words)
    if not conflict.frees:
        return [said]
    ways = conflict.frees[0]
    for way in conflict.frees[1:]:
        ways = say("{way}; or {other}", way=ways, other=way)
    return [joined(" ", (said, say("What would free it: {ways}.", ways=ways)))]


def _free(free: Free, units: UnitSystem) -> list[str]:
    made, large = free.middle, free.large
    bags = made.counts[0] * made.counts[1] * made.counts[2]
    inner, largest = sides_words(made.inner_mm, units), sides_words(large.inner_mm, units)
    said = say(
        "A case made to size round {bags}: {inner} inside, {board:.2f} m² of board; {largest} for "
        "the largest balls.",
        bags=_bags(bags),
        inner=inner,
        board=made.board_m2,
        largest=largest,
    )
    return [said, *(line for one in free.conflicts for line in _conflict(one))]


def sides_words(sides: tuple[float, float, float], units: UnitSystem = "metric") -> str:
    """Say length, width and height."""
    return figure(f"{' × '.join(_rule(side, units) for side in sides)} {_rule_unit(units)}")


def _rule(size_mm: float, units: UnitSystem) -> str:
    if units == "metric":
        return f"{size_mm:.0f}"
    return f"{in_unit(size_mm / 1000.0, LENGTH, 'in'):.1f}"


def _rule_unit(units: UnitSystem) -> str:
    return "mm" if units == "metric" else "in"


def _heavy(mass_kg: float, units: UnitSystem) -> str:
    unit = "kg" if units == "metric" else "lb"
    return figure(f"{in_unit(1000.0 * mass_kg, MASS, unit):.1f} {unit}")


def size_words(block: BallBlock, units: UnitSystem = "metric") -> str:
    """Say how large a ball is taken to be, and how well that is known."""
    sides = (block.length_mm, block.breadth_mm, block.height_mm)
    spans = [
        say(
            "{low} to {high}",
            low=figure(_rule(side.low, units)),
            high=figure(_rule(side.high, units)),
        )
        for side in sides
    ]
    length, breadth, height = (side_at(side, "middle") for side in sides)
    middle = sides_words((length, breadth, height), units)
    told = {
        "sides": joined("", (joined(" × ", spans), f" {_rule_unit(units)}")),
        "middle": middle,
        "known": say("from measured balls")
        if block.measured
        else say(
            "no ball of it was measured, which is the most that is in doubt here: measure three"
        ),
    }
    if block.pressed:
        return say("A ball is taken as {sides}, pressed, in the middle {middle}: {known}.", **told)
    return say(
        "A ball is taken as {sides}, round, as the box about it, in the middle {middle}: {known}.",
        **told,
    )
