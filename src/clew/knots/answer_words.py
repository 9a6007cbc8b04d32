"""The answer to a buyer in plain words: how usual, what the joins were, first-quality or not."""

from __future__ import annotations

from clew.knots.answer import BuyerAnswer
from clew.knots.price import Band
from clew.quantities import LENGTH, UnitSystem, number, show

SOURCE_WORDS = {
    "breaks": "breaks in spinning, re-tied on the cone",
    "cone_ties": "ties from cone to cone",
    "line_breaks": "breaks on the line",
    "colour_ties": "ties from colour to colour",
}

SHORT_WORDS = {
    "breaks": "breaks",
    "cone_ties": "cone ties",
    "line_breaks": "line breaks",
    "colour_ties": "colour ties",
}

LEAST_TOLD = 1e-6
"""Chances below this are told as fewer than one in a million."""


def odds_words(chance: float) -> str:
    """Say a chance as balls out of balls.

    Parameters
    ----------
    chance : float
        The chance that a ball is so [1].

    Returns
    -------
    str
        Such as ``one ball in 38``.
    """
    if chance < LEAST_TOLD:
        return "fewer than one ball in a million"
    if chance >= 1.0 - LEAST_TOLD:
        return "every ball"
    if chance > 0.5:
        return f"{number(100.0 * chance, 3)} balls in 100"
    return f"one ball in {_one_in(chance)}"


def _one_in(chance: float) -> str:
    return number(float(f"{1.0 / chance:.2g}"), 2 if chance > 0.1 else 1)


def band_words(chance: Band) -> str:
    """Say a chance with its band.

    Parameters
    ----------
    chance : Band
        The chance.

    Returns
    -------
    str
        Such as ``one ball in 38 (one in 30 to one in 51, as the break rate is uncertain)``.
    """
    said = odds_words(chance.value)
    if chance.low == chance.high or chance.high < LEAST_TOLD:
        return said
    ends = [odds_words(one).replace("one ball in", "one in") for one in (chance.high, chance.low)]
    if ends[0] == ends[1]:
        return said
    return f"{said} ({ends[0]} to {ends[1]}, as the break rate is uncertain)"


def joins_words(joins: int, joined_by: str = "join") -> str:
    """Say how many joins there are.

    Parameters
    ----------
    joins : int
        How many.
    joined_by : {"join", "knot", "splice"}
        What they are called.

    Returns
    -------
    str
        Such as ``no knot``, ``1 knot``, ``3 knots``.
    """
    if joins == 0:
        return f"no {joined_by}"
    return f"{joins} {joined_by}{'' if joins == 1 else 's'}"


def usual_sentence(answer: BuyerAnswer, units: UnitSystem = "metric") -> str:
    """Say how usual such a ball is.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.
    units : {"metric", "yard"}
        Units of lengths.

    Returns
    -------
    str
        One or two sentences.
    """
    ball = answer.ball
    length = show(ball.rule.ball_length_m, LENGTH, units)
    said = (
        f"{joins_words(ball.joins)} in a ball of {length}: {band_words(answer.exactly)} has just "
        f"so many"
    )
    said += (
        "." if ball.joins == 0 else f", {odds_words(answer.at_least.value)} has so many or more."
    )
    if answer.exactly_a_year is not None:
        year = answer.exactly_a_year
        said += f" That is {_round(year.value)} balls a year as wound"
        said += "." if year.low == year.high else f" ({_round(year.low)} to {_round(year.high)})."
    return said[0].upper() + said[1:]


def _round(value: float) -> str:
    if value < 0.01:
        return "fewer than 0.01"
    return number(float(f"{value:.2g}"), 2 if value < 10.0 else 1)


def first_sentence(answer: BuyerAnswer, units: UnitSystem = "metric") -> str:
    """Say whether it is within the limit and the piece rule.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.
    units : {"metric", "yard"}
        Units of lengths.

    Returns
    -------
    str
        One or two sentences.
    """
    rule = answer.ball.rule
    least = show(rule.min_piece_m, LENGTH, units)
    limit = f"the limit of {rule.limit}"
    if answer.ball.join_counts != 1.0:
        limit += f" (a join counts {number(answer.ball.join_counts)})"
    if not answer.within_limit:
        return f"Over {limit}: not a first-quality ball."
    if answer.pieces_long_enough is False:
        found = "so many pieces cannot all be so long"
        if answer.shortest_m is not None and answer.shortest_m < rule.min_piece_m:
            found = f"its shortest is {show(answer.shortest_m, LENGTH, units, digits=3)}"
        return (
            f"Within {limit}, but a piece is shorter than {least} ({found}): "
            "not a first-quality ball."
        )
    if answer.pieces_long_enough is None:
        return (
            f"Within {limit}. Whether a piece is shorter than {least} its places would tell; "
            f"so many joins leave none in {number(100.0 * answer.long_enough, 3)} % of balls."
        )
    return f"Within {limit}, and no piece shorter than {least}: a first-quality ball."


def split_sentence(answer: BuyerAnswer) -> str:
    """Say what the joins probably were.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.

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
    parts = [
        f"{number(mean, 2)} {SOURCE_WORDS[kind]}"
        for kind, mean in split.expected.items()
        if mean >= 0.005
    ]
    said = f"Of the {joins_words(split.joins)}, in the mean: {', '.join(parts)}."
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


def spinning_sentences(answer: BuyerAnswer) -> list[str]:
    """Say what goes back to spinning.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.

    Returns
    -------
    list of str
        Sentences.
    """
    said = [
        f"Of balls picked without looking, {odds_words(answer.at_least.value)} has "
        f"{joins_words(answer.ball.joins)} or more; but this one was not picked so. It came back "
        "because of its joins, and is no sample of the lot."
    ]
    if answer.any_a_year is not None:
        said.append(
            "That the balls wound in a year hold at least one such, nothing having got worse, is "
            f"{_chance(answer.any_a_year)}."
        )
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


def _chance(chance: float) -> str:
    if chance > 0.999:
        return "as good as certain"
    if chance < LEAST_TOLD:
        return "less likely than one in a million"
    return f"{number(100.0 * chance, 2)} % likely"


def prevention_sentence(answer: BuyerAnswer, currency: str = "") -> str:
    """Say what the limit that forbids such a ball costs.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.
    currency : str
        Currency of the prices.

    Returns
    -------
    str
        One or two sentences; empty where its price was not worked out.
    """
    found = answer.prevention
    if found is None:
        return ""
    cost = f"{_money(found.cost_per_ball, currency)} over having no rule"
    if found.limit == answer.ball.rule.limit and found.more_per_ball is None:
        return (
            f"Today's limit of {found.limit} forbids such a ball, and costs {cost}. If this one "
            "was sold as first-quality it slipped past the watching, or the count is not right."
        )
    said = f"A limit of {found.limit} would have kept it back. It costs {cost}"
    if found.more_per_ball is None:
        return f"{said}."
    return f"{said}; {_money(found.more_per_ball, currency)} over today's limit."


def _money(cost: Band, currency: str) -> str:
    if cost.value == float("inf"):
        return "every ball (none is first-quality)"
    said = " ".join(part for part in (currency, number(cost.value, 2)) if part)
    return f"{said} a ball ({number(cost.low, 2)} to {number(cost.high, 2)})"
