"""Crews, targets and what to change in words."""

from __future__ import annotations

import math

from clew.line.improve.crew import BestCrew, CrewTable
from clew.line.improve.money import COUNTED, NOT_COUNTED
from clew.line.improve.one_hand_lanes import OneHand
from clew.line.improve.ranking import Ranking, Worth
from clew.line.improve.targets import Target
from clew.line.simulate.answer import Estimate
from clew.line.simulate.words import percent
from clew.quantities.show import number

ALONE = (
    "Each improvement is tried alone: what two are worth together is not their sum. All meet the "
    "same shifts."
)
TOGETHER = "All intervals of one column hold together 95 times in 100."
NOTHING = "not told from nothing"


def with_doubt(one: Estimate, *, signed: bool = False) -> str:
    """Write a mean and its interval, to as many places as the interval bears.

    Parameters
    ----------
    one : Estimate
        The mean [any].
    signed : bool
        Whether a plus stands before what is above 0.

    Returns
    -------
    str
        For example ``910 (886 to 933)``; the mean alone where there is no doubt.
    """
    if math.isnan(one.mean):
        return "-"
    places = decimals(one)
    mean = place_value(one.mean, places, signed=signed)
    if not _doubtful(one):
        return mean
    return f"{mean} ({place_value(one.low, places)} to {place_value(one.high, places)})"


def plus_minus(one: Estimate, *, signed: bool = False) -> str:
    """Write the same for a narrow column: ``910 ±24``."""
    if math.isnan(one.mean):
        return "-"
    places = decimals(one)
    mean = place_value(one.mean, places, signed=signed)
    half = place_value(0.5 * (one.high - one.low), places)
    return f"{mean} ±{half}" if _doubtful(one) else mean


def decimals(one: Estimate) -> int:
    """Places behind the point: two digits of the half width, at most five of the mean."""
    digits = math.floor(math.log10(abs(one.mean))) + 1 if one.mean else 1
    bears = 4 - max(digits - 1, 0)
    if not _doubtful(one):
        return max(min(bears, 1), 0)
    half = 0.5 * (one.high - one.low)
    return max(min(1 - math.floor(math.log10(half)), bears), 0)


def _doubtful(one: Estimate) -> bool:
    return 0.5 * (one.high - one.low) > 1e-9 * max(abs(one.mean), 1e-3)


def place_value(value: float, places: int, *, signed: bool = False) -> str:
    """Write a value to so many places; -0 is 0."""
    text = f"{value:.{places}f}"
    if float(text) == 0.0:
        return text.lstrip("-")
    return f"+{text}" if signed and value > 0.0 else text


def ranking_words(ranking: Ranking) -> tuple[str, ...]:
    """Say which improvement is worth most.

    Parameters
    ----------
    ranking : Ranking
        From `clew.line.improve.ranking.what_to_change`.

    Returns
    -------
    tuple of str
        A headline, then what else should be known, a sentence or two each.
    """
    found = [_headline(ranking)]
    by = "money left over" if ranking.prices is not None else "first-quality balls"
    found.append(f"Ranked by {by} a shift. {ALONE} {TOGETHER}")
    same = [one for one in ranking.worths if not one.told]
    if same:
        names = "; ".join(one.label for one in same)
        found.append(f"{NOTHING.capitalize()} in {ranking.replications} shifts: {names}.")
    if ranking.prices is not None:
        found += [COUNTED, NOT_COUNTED]
    else:
        found.append("The ball has no price in the mill file, so nothing is said of money.")
    found += [f"Not tried, {one.label}: {one.reason}." for one in ranking.left_out]
    return tuple(found)


def _headline(ranking: Ranking) -> str:
    better = [one for one in ranking.worths if one.told and one.ranked_by.mean > 0.0]
    if not better:
        return "Nothing tried can be told to make a shift better."
    best = better[0]
    also = [one for one in better[1:] if one.ranked_by.high >= best.ranked_by.low]
    near = f" About as much: {also[0].label}." if also else ""
    return (
        f"{best.label[0].upper()}{best.label[1:]} is worth most: {worth_said(ranking, best)}.{near}"
    )


def worth_said(ranking: Ranking, one: Worth) -> str:
    """Say what an improvement is worth, in what the ranking goes by."""
    unit = "first-quality balls" if ranking.prices is None else ranking.prices.currency
    return f"{with_doubt(one.ranked_by, signed=True)} {unit} a shift"


def crew_words(table: CrewTable) -> tuple[str, ...]:
    """Say which crew is best, and whether that is sure.

    Parameters
    ----------
    table : CrewTable
        From `clew.line.improve.crew.crew_table`.

    Returns
    -------
    tuple of str
        A sentence or two each; the headline first.
    """
    prices = table.prices
    if prices is None:
        return ("The ball has no price in the mill file: crews are shown by balls, not by money.",)
    if table.cheapest is None or table.richest is None or table.closed is None:
        return ("No crew makes a first-quality ball.",)
    row = table.rows[table.cheapest.hands - 1]
    cost = with_doubt(row.cost_per_ball) if row.cost_per_ball is not None else "-"
    found = [
        f"{_hands(table.cheapest.hands)} {_make(table.cheapest)} a first-quality ball cheapest: "
        f"a shift spends {cost} {prices.currency} on it.{_or_else(table.cheapest)}"
    ]
    row = table.rows[table.richest.hands - 1]
    left = with_doubt(row.money) if row.money is not None else "-"
    found.append(
        f"{_hands(table.richest.hands)} {'leaves' if table.richest.hands == 1 else 'leave'} most "
        f"money over: {left} {prices.currency} a shift.{_or_else(table.richest)}"
    )
    larger = []
    if table.cheapest.hands == len(table.rows):
        larger.append("make a ball cheaper")
    if table.richest.hands == len(table.rows):
        larger.append("leave more over")
    if larger:
        verb = "is" if len(table.rows) == 1 else "are"
        found.append(
            f"{_hands(len(table.rows))} {verb} the largest crew tried: a larger one may "
            f"{' and '.join(larger)}."
        )
    found.append(
        "The formula of random stops, which knows no buffer, rest or quality, says "
        f"{'at least ' if table.closed.open_end else ''}{_hands(table.closed.hands)}."
    )
    return tuple(found)


def _make(best: BestCrew) -> str:
    return "makes" if best.hands == 1 else "make"


def _or_else(best: BestCrew) -> str:
    if best.sure:
        return ""
    names = " and ".join(str(hands) for hands in best.or_else)
    return f" Not told from {names}: draw more shifts, or take either."


def _hands(hands: int) -> str:
    return "1 hand" if hands == 1 else f"{hands} hands"


def one_hand_words(found: OneHand) -> tuple[str, ...]:
    """Say how many lanes one hand can serve.

    Parameters
    ----------
    found : OneHand
        From `clew.line.improve.one_hand_lanes.lanes_of_one_hand`.

    Returns
    -------
    tuple of str
        A sentence or two each; the headline first.
    """
    share = percent(found.may_lose_frac)
    words = "1 lane" if found.lanes == 1 else f"{found.lanes} lanes"
    if found.lanes == 0:
        head = f"One hand cannot serve a lane with at most {share} of its output lost."
    elif found.open_end:
        head = f"One hand can serve {words}, the most tried, with at most {share} of output lost."
    else:
        after = found.rows[found.lanes]
        head = (
            f"One hand can serve {words} with at most {share} of their output lost; "
            f"{after.lanes} lose {percent(after.lost_frac.mean, 3)}."
        )
    if found.surely < found.perhaps:
        head += f" It may be {found.surely} to {found.perhaps}: draw more shifts."
    return (
        head,
        f"The formulas say {number(found.in_step, 3)} where balls fall into step behind the hand, "
        f"and {found.at_random} where calls come at random and no buffer helps.",
    )


def target_words(target: Target, shrink_frac: float) -> tuple[str, ...]:
    """Say which setting reaches a wanted output.

    Parameters
    ----------
    target : Target
        From `clew.line.improve.targets`.
    shrink_frac : float
        Length lost in steam: people state a buffer of strand after it [1].

    Returns
    -------
    tuple of str
        A sentence or two each; the headline first.
    """

    def said(value: float) -> str:
        if target.setting == "feed":
            return f"{number(60.0 * value, 6)} m/min"
        return f"{number(value * (1.0 - shrink_frac), 6)} m"

    what = "first-quality balls" if target.output == "first_balls" else "balls"
    wanted = f"{number(target.wanted, 6)} {what} a shift"
    name = "feed" if target.setting == "feed" else "buffer"
    now = f"Now {said(target.now)} gives {with_doubt(target.now_gives)}."
    if target.at is None:
        return (
            f"No {name} reaches {wanted}: {said(target.most_at)} gives most of those tried, "
            f"{with_doubt(target.most_gives)}.",
            f"There {target.stands}.",
            now,
        )
    second = target.second_balls
    spoilt = "" if second is None else f", {with_doubt(second)} second-quality among them"
    if target.output == "first_balls":
        now += (
            " First-quality balls rise and fall in steps, as spoilt strand lies in two balls or in "
            "three: a setting nearby may do as well or not."
        )
        spoilt = ""
    if target.at == target.tried_low:
        return (f"The least {name} looked at, {said(target.at)}, reaches {wanted}.", now)
    head = f"A {name} of {said(target.at)} reaches {wanted}{spoilt}."
    doubts = [] if target.low is None else [f"{said(target.low)} surely does not"]
    doubts.append(
        "none looked at surely does" if target.high is None else f"{said(target.high)} surely does"
    )
    sure = ", ".join(doubts)
    return (f"{head} {sure[0].upper()}{sure[1:]}.", now)
