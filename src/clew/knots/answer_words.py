"""The answer to a buyer in plain words: how usual, what the joins were, first-quality or not."""

from __future__ import annotations

import math
from collections.abc import Callable

from clew.knots.answer import BuyerAnswer
from clew.knots.answer_odds import LEAST_TOLD, band_words, joins_words, odds_words, verb_for
from clew.knots.price import Band
from clew.knots.sources import SOURCE_WORDS
from clew.quantities import LENGTH, UnitSystem, number, show

SaySum = Callable[[float, str], str]
"""How a sum [money] and its currency are said."""

ONE_WORDS = {
    "breaks": "a break re-tied at spinning",
    "cone_ties": "a tie from cone to cone",
    "line_breaks": "a break on the line",
    "colour_ties": "a tie from colour to colour",
}

SHORT_WORDS = {
    "breaks": "breaks",
    "cone_ties": "cone ties",
    "line_breaks": "line breaks",
    "colour_ties": "colour ties",
}


def usual_sentence(
    answer: BuyerAnswer, units: UnitSystem = "metric", joined_by: str = "knot"
) -> str:
    """Say how usual such a ball is.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.
    units : {"metric", "yard"}
        Units of lengths.
    joined_by : {"knot", "splice"}
        What its joins are called.

    Returns
    -------
    str
        One or two sentences.
    """
    ball = answer.ball
    length = show(ball.rule.ball_length_m, LENGTH, units)
    exactly, at_least = band_words(answer.exactly), odds_words(answer.at_least.value)
    said = (
        f"{joins_words(ball.joins, joined_by)} in a ball of {length}: {exactly} "
        f"{verb_for(exactly, 'has', 'have')} just so many"
    )
    said += (
        "."
        if ball.joins == 0
        else f", {at_least} {verb_for(at_least, 'has', 'have')} so many or more."
    )
    if answer.exactly_a_year is not None:
        year = answer.exactly_a_year
        many = _round(year.value)
        said += f" That is {many} ball{'' if many == '1' else 's'} a year as wound"
        said += "." if year.low == year.high else f" ({_round(year.low)} to {_round(year.high)})."
    return said[0].upper() + said[1:]


def _round(value: float) -> str:
    if value < 0.01:
        return "fewer than 0.01"
    return number(float(f"{value:.2g}"), 2 if value < 10.0 else 1)


def first_sentence(
    answer: BuyerAnswer, units: UnitSystem = "metric", joined_by: str = "knot"
) -> str:
    """Say whether it is within the limit and the piece rule.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.
    units : {"metric", "yard"}
        Units of lengths.
    joined_by : {"knot", "splice"}
        What its joins are called.

    Returns
    -------
    str
        One or two sentences.
    """
    rule = answer.ball.rule
    if answer.ball.joins_allowed is None:
        return (
            f"A {joined_by} counts nothing here: a first-quality ball, whatever their number and "
            "places."
        )
    limit = f"the limit of {rule.limit}"
    if answer.ball.join_counts != 1.0:
        limit += f" (a {joined_by} counts {number(answer.ball.join_counts)})"
    if not answer.within_limit:
        return f"Over {limit}: not a first-quality ball."
    return f"Within {limit}{_pieces_words(answer, units, joined_by)}"


def _pieces_words(answer: BuyerAnswer, units: UnitSystem, joined_by: str) -> str:
    """End the sentence on a ball within the limit: what its pieces make of it."""
    least_m = answer.ball.rule.min_piece_m
    least = show(least_m, LENGTH, units)
    if answer.pieces_long_enough is False:
        found = "so many pieces cannot all be so long"
        if answer.shortest_m is not None and answer.shortest_m < least_m:
            found = f"its shortest is {show(answer.shortest_m, LENGTH, units, digits=3)}"
        return f", but a piece is shorter than {least} ({found}): not a first-quality ball."
    if answer.near_the_rule:
        return (
            f". A piece is too near to {least} to tell: it hangs on the side of the {joined_by} "
            "from which its place was read. See the ball."
        )
    if answer.pieces_long_enough is None:
        return (
            f". Whether a piece is shorter than {least} its places would tell; so many "
            f"{joined_by}s leave none in {number(100.0 * answer.long_enough, 3)} % of balls."
        )
    if least_m == 0.0:
        return ": a first-quality ball."
    return f", and no piece shorter than {least}: a first-quality ball."


def split_sentence(answer: BuyerAnswer, joined_by: str = "knot") -> str:
    """Say what the joins probably were.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.
    joined_by : {"knot", "splice"}
        What its joins are called.

    Returns
    -------
    str
        One or more sentences; empty where the ball has no join.
    """
    split = answer.split
    if split is None:
        return "The stated sources cannot give such a ball: look at the count or at the sources."
    if not split.joins:
        return ""
    if split.joins == 1:
        said = f"The {joined_by} was " + ", ".join(
            f"{ONE_WORDS[kind]} with {number(100.0 * chance, 2)} %"
            for kind, chance in split.expected.items()
            if chance >= 0.005
        )
    else:
        said = f"Of the {joins_words(split.joins, joined_by)}, in the mean: " + ", ".join(
            f"{number(mean, 2)} {SOURCE_WORDS[kind]}"
            for kind, mean in split.expected.items()
            if mean >= 0.005
        )
    said += "."
    if split.placed:
        said += " Places alone can hardly tell a tie from a break."
    if split.draws:
        said += (
            f" Ties drawn {split.draws} times: the figure for ties has a standard error of "
            f"{number(split.standard_error, 2)}."
        )
    return said


def cone_sentence(answer: BuyerAnswer) -> str:
    """Say what the joins tell of the cone that the ball came off.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.

    Returns
    -------
    str
        One sentence; empty where all cones are taken as alike.
    """
    split = answer.split
    if split is None or split.rate_times is None:
        return ""
    assert split.rate_over_twice is not None and split.usual_over_twice is not None
    return (
        f"The cone it came off probably breaks {number(split.rate_times, 2)} times as often as the "
        f"mean cone; over twice as often with a chance of "
        f"{number(100.0 * split.rate_over_twice, 2)} % (any cone: "
        f"{number(100.0 * split.usual_over_twice, 2)} %)."
    )


def spinning_sentences(answer: BuyerAnswer, joined_by: str = "knot") -> list[str]:
    """Say what goes back to spinning.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.
    joined_by : {"knot", "splice"}
        What its joins are called.

    Returns
    -------
    list of str
        Sentences.
    """
    odds = odds_words(answer.at_least.value)
    said = [
        f"Of balls picked without looking, {odds} {verb_for(odds, 'has', 'have')} "
        f"{joins_words(answer.ball.joins, joined_by)} or more; but this one was not picked so. It "
        f"came back because of its {joined_by}s, and is no sample of the lot."
    ]
    if answer.any_a_year is not None:
        said.append(f"With nothing worse than usual, a year's balls {_any(answer.any_a_year)}.")
    if answer.doubled_weight is not None:
        said.append(
            f"This number is {number(answer.doubled_weight, 2)} times as likely at twice the break "
            "rate as at the stated one."
        )
    needed = answer.cones_needed
    if needed is not None:
        said.append(
            f"To see whether the break rate has doubled, count the knots of {needed.cones} cones "
            f"of the lot, taken without looking: that shows it in "
            f"{number(100.0 * needed.power, 2)} % of cases, with a false alarm in "
            f"{number(100.0 * needed.risk, 2)} %."
            if needed.cones is not None
            else "No number of cones would show a doubled break rate."
        )
    return said


def _any(chance: Band) -> str:
    if chance.low > 0.999:
        return "are as good as certain to hold one like it"
    if chance.high < LEAST_TOLD:
        return "hold one like it with a chance of less than one in a million"
    low, value, high = (_percent(one) for one in (chance.low, chance.value, chance.high))
    said = f"hold one like it with a chance of {value}"
    return said if low == high else f"{said} ({low} to {high}, as the break rate is uncertain)"


def _percent(chance: float) -> str:
    return "over 99.9 %" if chance > 0.999 else f"{number(100.0 * chance, 2)} %"


def plain_sum(value: float, currency: str) -> str:
    """Say a sum [money] with its currency in front, to two figures."""
    said = number(value, 2) if math.isfinite(value) else "without bound"
    return f"{currency} {said}" if currency else said


def prevention_sentence(answer: BuyerAnswer, currency: str = "", say: SaySum = plain_sum) -> str:
    """Say what the limit that forbids such a ball costs.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.
    currency : str
        Currency of the prices.
    say : callable
        How a sum and its currency are said.

    Returns
    -------
    str
        One or two sentences; empty where its price was not worked out.
    """
    found = answer.prevention
    if answer.within_limit and answer.first_quality is False:
        return (
            "No limit is to blame: today's shortest-piece rule already forbids such a ball. If "
            "this one was sold as first-quality it slipped past the watching."
        )
    if found is None:
        return ""
    cost = _both(found.cost_per_ball, found.straight_per_ball, currency, say)
    if found.limit == answer.ball.rule.limit and found.more_per_ball is None:
        return (
            f"Today's limit of {found.limit} forbids such a ball. Over having neither limit "
            f"nor shortest piece it costs {cost}. If this one was sold as first-quality it "
            "slipped past the watching, or the count is not right."
        )
    said = f"A limit of {found.limit} would have kept it back. "
    if found.more_per_ball is not None:
        more = _both(found.more_per_ball, found.straight_more_per_ball, currency, say)
        said += f"Over today's limit it costs {more}. "
    return f"{said}Over having neither limit nor shortest piece it costs {cost}."


def _both(least: Band, straight: Band | None, currency: str, say: SaySum) -> str:
    """The cost to one who knows the whole strand, and wound straight through."""
    said = f"at the very least {_money(least, currency, say, 'by one who knows the whole strand')}"
    if straight is not None:
        said += f", and {_money(straight, currency, say)} wound straight through"
    return said


def _money(cost: Band, currency: str, say: SaySum, more: str = "") -> str:
    if not math.isfinite(cost.value):
        return "every ball, since none is first-quality"
    low, value, high = (say(one, currency) for one in (cost.low, cost.value, cost.high))
    brackets = "; ".join(part for part in ("" if low == high else f"{low} to {high}", more) if part)
    return f"{value} a ball" + (f" ({brackets})" if brackets else "")
