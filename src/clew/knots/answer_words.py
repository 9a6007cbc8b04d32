"""The answer to a buyer in plain words: how usual, what the joins were, what they tell."""

from __future__ import annotations

from clew.knots.answer import BuyerAnswer
from clew.knots.answer_odds import LEAST_TOLD, balls_told, band_words, joins_words, odds_words
from clew.knots.price import Band
from clew.knots.sources import SOURCE_WORDS
from clew.languages import figure, first_upper, joined, say, say_many
from clew.quantities import LENGTH, UnitSystem, number, show

ONE_WORDS = {
    "breaks": say("a break re-tied at spinning"),
    "cone_ties": say("a tie from cone to cone"),
    "line_breaks": say("a break on the line"),
    "colour_ties": say("a tie from colour to colour"),
}

SHORT_WORDS = {
    "breaks": say("breaks"),
    "cone_ties": say("cone ties"),
    "line_breaks": say("line breaks"),
    "colour_ties": say("colour ties"),
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
    joins = joins_words(ball.joins, joined_by)
    exactly, at_least = band_words(answer.exactly), odds_words(answer.at_least.value)
    just = say_many(
        "{balls} has just so many", "{balls} have just so many", balls_told(exactly), balls=exactly
    )
    if ball.joins == 0:
        said = say("{joins} in a ball of {length}: {just}.", joins=joins, length=length, just=just)
    else:
        said = say(
            "{joins} in a ball of {length}: {just}, {more}.",
            joins=joins,
            length=length,
            just=just,
            more=say_many(
                "{balls} has so many or more",
                "{balls} have so many or more",
                balls_told(at_least),
                balls=at_least,
            ),
        )
    said = first_upper(said)
    if answer.exactly_a_year is None:
        return said
    return joined(" ", (said, _a_year(answer.exactly_a_year)))


def _a_year(year: Band) -> str:
    many = _round(year.value)
    count = 1 if many == "1" else 2
    if year.low == year.high:
        return say_many(
            "That is {balls} ball a year as wound.",
            "That is {balls} balls a year as wound.",
            count,
            balls=many,
        )
    return say_many(
        "That is {balls} ball a year as wound ({low} to {high}).",
        "That is {balls} balls a year as wound ({low} to {high}).",
        count,
        balls=many,
        low=_round(year.low),
        high=_round(year.high),
    )


def _round(value: float) -> str:
    if value < 0.01:
        return say("fewer than {least:g}", least=0.01)
    return number(float(f"{value:.2g}"), 2 if value < 10.0 else 1)


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
        return say(
            "The stated sources cannot give such a ball: look at the count or at the sources."
        )
    if not split.joins:
        return ""
    if split.joins == 1:
        kinds = joined(
            ", ",
            (
                say("{kind} with {share} %", kind=ONE_WORDS[kind], share=number(100.0 * chance, 2))
                for kind, chance in split.expected.items()
                if chance >= 0.005
            ),
        )
        said = (
            say("The splice was {kinds}.", kinds=kinds)
            if joined_by == "splice"
            else say("The knot was {kinds}.", kinds=kinds)
        )
    else:
        kinds = joined(
            ", ",
            (
                joined(" ", (number(mean, 2), SOURCE_WORDS[kind]))
                for kind, mean in split.expected.items()
                if mean >= 0.005
            ),
        )
        joins = joins_words(split.joins, joined_by)
        said = say("Of the {joins}, in the mean: {kinds}.", joins=joins, kinds=kinds)
    sentences = [said]
    if split.placed:
        sentences.append(say("Places alone can hardly tell a tie from a break."))
    if split.draws:
        sentences.append(
            say(
                "Ties drawn {times} times: the figure for ties has a standard error of {error}.",
                times=split.draws,
                error=number(split.standard_error, 2),
            )
        )
    return joined(" ", sentences)


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
    return say(
        "The cone it came off probably breaks {times} times as often as the mean cone; over twice "
        "as often with a chance of {chance} % (any cone: {usual} %).",
        times=number(split.rate_times, 2),
        chance=number(100.0 * split.rate_over_twice, 2),
        usual=number(100.0 * split.usual_over_twice, 2),
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
    odds, joins = odds_words(answer.at_least.value), joins_words(answer.ball.joins, joined_by)
    said = [
        joined(
            " ",
            (
                say_many(
                    "Of balls picked without looking, {balls} has {joins} or more; but this one "
                    "was not picked so.",
                    "Of balls picked without looking, {balls} have {joins} or more; but this one "
                    "was not picked so.",
                    balls_told(odds),
                    balls=odds,
                    joins=joins,
                ),
                say("It came back because of its splices, and is no sample of the lot.")
                if joined_by == "splice"
                else say("It came back because of its knots, and is no sample of the lot."),
            ),
        )
    ]
    if answer.any_a_year is not None:
        said.append(_any(answer.any_a_year))
    if answer.doubled_weight is not None:
        said.append(
            say(
                "This number is {times} times as likely at twice the break rate as at the stated "
                "one.",
                times=number(answer.doubled_weight, 2),
            )
        )
    needed = answer.cones_needed
    if needed is None:
        return said
    if needed.cones is None:
        said.append(say("No number of cones would show a doubled break rate."))
        return said
    said.append(
        say(
            "To see whether the break rate has doubled, count the knots of {cones} cones of the "
            "lot, taken without looking: that shows it in {power} % of cases, with a false alarm "
            "in {risk} %.",
            cones=needed.cones,
            power=number(100.0 * needed.power, 2),
            risk=number(100.0 * needed.risk, 2),
        )
    )
    return said


def _any(chance: Band) -> str:
    if chance.low > 0.999:
        return say(
            "With nothing worse than usual, a year's balls are as good as certain to hold one like "
            "it."
        )
    if chance.high < LEAST_TOLD:
        return say(
            "With nothing worse than usual, a year's balls hold one like it with a chance of less "
            "than one in a million."
        )
    low, value, high = (_percent(one) for one in (chance.low, chance.value, chance.high))
    if low == high:
        return say(
            "With nothing worse than usual, a year's balls hold one like it with a chance of "
            "{chance}.",
            chance=value,
        )
    return say(
        "With nothing worse than usual, a year's balls hold one like it with a chance of {chance} "
        "({low} to {high}, as the break rate is uncertain).",
        chance=value,
        low=low,
        high=high,
    )


def _percent(chance: float) -> str:
    if chance > 0.999:
        return say("over {share:.1f} %", share=99.9)
    return figure(f"{number(100.0 * chance, 2)} %")
