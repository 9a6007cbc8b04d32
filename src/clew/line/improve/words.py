"""Crews, targets and what to change in words."""

from __future__ import annotations

import math

from clew.languages import figure, first_upper, joined, say, say_many
from clew.line.improve.closed import ClosedCrew
from clew.line.improve.crew import BestCrew, CrewTable
from clew.line.improve.money import COUNTED, NOT_COUNTED
from clew.line.improve.one_hand_lanes import OneHand
from clew.line.improve.ranking import Ranking, Worth
from clew.line.improve.targets import Target
from clew.line.simulate.answer import Estimate
from clew.line.simulate.words import percent
from clew.quantities.show import number

ALONE = say(
    "Each improvement is tried alone: what two are worth together is not their sum. All meet the "
    "same shifts."
)
TOGETHER = say("All intervals of one column hold together 95 times in 100.")
NOTHING = say("not told from nothing")


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
    low, high = place_value(one.low, places), place_value(one.high, places)
    return say("{mean} ({low} to {high})", mean=mean, low=low, high=high)


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
        return figure(text.lstrip("-"))
    return figure(f"+{text}" if signed and value > 0.0 else text)


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
    by = (
        say("Ranked by money left over a shift.")
        if ranking.prices is not None
        else say("Ranked by first-quality balls a shift.")
    )
    found.append(joined(" ", (by, ALONE, TOGETHER)))
    same = [one for one in ranking.worths if not one.told]
    if same:
        found.append(
            say_many(
                "Not told from nothing in {n} shift: {names}.",
                "Not told from nothing in {n} shifts: {names}.",
                ranking.replications,
                names=joined("; ", (one.label for one in same)),
            )
        )
    if ranking.prices is not None:
        found += [COUNTED, NOT_COUNTED]
    else:
        found.append(say("The ball has no price in the mill file, so nothing is said of money."))
    found += [
        say("Not tried, {change}: {reason}.", change=one.label, reason=one.reason)
        for one in ranking.left_out
    ]
    return tuple(found)


def _headline(ranking: Ranking) -> str:
    better = [one for one in ranking.worths if one.told and one.ranked_by.mean > 0.0]
    if not better:
        return say("Nothing tried can be told to make a shift better.")
    best = better[0]
    head = say(
        "{change} is worth most: {worth}.",
        change=first_upper(best.label),
        worth=worth_said(ranking, best),
    )
    also = [one for one in better[1:] if one.ranked_by.high >= best.ranked_by.low]
    if not also:
        return head
    return joined(" ", (head, say("About as much: {change}.", change=also[0].label)))


def worth_said(ranking: Ranking, one: Worth) -> str:
    """Say what an improvement is worth, in what the ranking goes by."""
    worth = with_doubt(one.ranked_by, signed=True)
    if ranking.prices is None:
        return say("{balls} first-quality balls a shift", balls=worth)
    return say("{money} {currency} a shift", money=worth, currency=ranking.prices.currency)


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
        return (
            say("The ball has no price in the mill file: crews are shown by balls, not by money."),
        )
    if table.cheapest is None or table.richest is None or table.closed is None:
        return (say("No crew makes a first-quality ball."),)
    row = table.rows[table.cheapest.hands - 1]
    cheapest = say_many(
        "{n} hand makes a first-quality ball cheapest: a shift spends {cost} {currency} on it.",
        "{n} hands make a first-quality ball cheapest: a shift spends {cost} {currency} on it.",
        table.cheapest.hands,
        cost=with_doubt(row.cost_per_ball) if row.cost_per_ball is not None else "-",
        currency=prices.currency,
    )
    row = table.rows[table.richest.hands - 1]
    richest = say_many(
        "{n} hand leaves most money over: {money} {currency} a shift.",
        "{n} hands leave most money over: {money} {currency} a shift.",
        table.richest.hands,
        money=with_doubt(row.money) if row.money is not None else "-",
        currency=prices.currency,
    )
    found = [_or_else(cheapest, table.cheapest), _or_else(richest, table.richest)]
    if larger := largest_tried(table):
        found.append(larger)
    found.append(_by_formula(table.closed))
    return tuple(found)


def largest_tried(table: CrewTable) -> str:
    """Say that a crew larger than all that were tried may be better; empty where none may be."""
    most = len(table.rows)
    cheaper = table.cheapest is not None and table.cheapest.hands == most
    richer = table.richest is not None and table.richest.hands == most
    if cheaper and richer:
        return say_many(
            "{n} hand is the largest crew tried: a larger one may make a ball cheaper and leave "
            "more over.",
            "{n} hands are the largest crew tried: a larger one may make a ball cheaper and leave "
            "more over.",
            most,
        )
    if cheaper:
        return say_many(
            "{n} hand is the largest crew tried: a larger one may make a ball cheaper.",
            "{n} hands are the largest crew tried: a larger one may make a ball cheaper.",
            most,
        )
    if richer:
        return say_many(
            "{n} hand is the largest crew tried: a larger one may leave more over.",
            "{n} hands are the largest crew tried: a larger one may leave more over.",
            most,
        )
    return ""


def _by_formula(closed: ClosedCrew) -> str:
    hands = say_many("{n} hand", "{n} hands", closed.hands)
    if closed.open_end:
        return say(
            "The formula of random stops, which knows no buffer, rest or quality, says at least "
            "{hands}.",
            hands=hands,
        )
    return say(
        "The formula of random stops, which knows no buffer, rest or quality, says {hands}.",
        hands=hands,
    )


def _or_else(told: str, best: BestCrew) -> str:
    if best.sure:
        return told
    others = joined(say(" and "), [str(hands) for hands in best.or_else])
    doubt = say("Not told from {crews}: draw more shifts, or take either.", crews=others)
    return joined(" ", (told, doubt))


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
