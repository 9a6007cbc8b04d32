"""A draft of the letter to a buyer whose ball came back for its joins."""

from __future__ import annotations

from clew.knots.answer import BuyerAnswer
from clew.knots.answer_odds import balls_told, band_words, joins_words, odds_words
from clew.knots.sources import SOURCE_WORDS
from clew.languages import joined, say, say_many
from clew.quantities import LENGTH, UnitSystem, number, show

DRAFT_MARK = say("DRAFT - to be read, mended and signed by a person before it is sent.")


def letter_paragraphs(
    answer: BuyerAnswer,
    *,
    ball_name: str = "",
    lot_name: str = "",
    joined_by: str = "knot",
    units: UnitSystem = "metric",
) -> list[str]:
    """Draft a courteous letter with the numbers in it.

    Parameters
    ----------
    answer : BuyerAnswer
        What was worked out.
    ball_name, lot_name : str
        Name of the ball and its dye lot; empty where not known.
    joined_by : {"knot", "splice"}
        How joins are made, and so what they are called.
    units : {"metric", "yard"}
        Units of lengths.

    Returns
    -------
    list of str
        Paragraphs, the mark of a draft first.

    Notes
    -----
    The letter promises nothing, admits nothing and leaves claims to the mill's own terms of sale.
    What is in square brackets is for the lead to keep or strike out.
    """
    ball = answer.ball
    length = show(ball.rule.ball_length_m, LENGTH, units, digits=3)
    counted, splice = joins_words(ball.joins, joined_by), joined_by == "splice"
    paragraphs = [
        DRAFT_MARK,
        say("Dear [name of the buyer],"),
        _thanks(_named(ball_name, lot_name), counted, splice),
        _how_usual(answer, length, counted, splice),
    ]
    if ball.joins:
        paragraphs += [
            _where_from(answer, joined_by),
            _by_our_rule(answer, counted, joined_by, units),
        ]
    send = say(
        "One ball alone cannot tell us how the others of its lot are. It would help us to see it: "
        "please send us the ball, or what is left of it, together with its band, on which the dye "
        "lot number is printed."
    )
    if not lot_name:
        where = say("If the band is no longer there, the place of purchase helps.")
        send = joined(" ", (send, where))
    paragraphs += [
        send,
        say(
            "[if your terms offer it: On receipt of the ball we replace it, from the same dye lot "
            "while there is any.]"
        ),
        say(
            "Whatever else concerns this purchase follows our terms of sale; this letter neither "
            "adds to them nor takes from them, nor from the rights you have by law."
        ),
        say("With kind regards,"),
        say("[name, for the mill]"),
    ]
    return paragraphs


def _named(ball_name: str, lot_name: str) -> str:
    if ball_name and lot_name:
        return say("a ball of {ball}, dye lot {lot}", ball=ball_name, lot=lot_name)
    if ball_name:
        return say("a ball of {ball}", ball=ball_name)
    if lot_name:
        return say("a ball of our yarn, dye lot {lot}", lot=lot_name)
    return say("a ball of our yarn")


def _thanks(ball: str, counted: str, splice: bool) -> str:
    thanks = say(
        "Thank you for writing to us about {ball}, in which you count {joins}.",
        ball=ball,
        joins=counted,
    )
    care = (
        say(
            "We know that splices are a nuisance to anyone at work with the yarn, and have looked "
            "into your letter with care."
        )
        if splice
        else say(
            "We know that knots are a nuisance to anyone at work with the yarn, and have looked "
            "into your letter with care."
        )
    )
    return joined(" ", (thanks, care))


def _how_usual(answer: BuyerAnswer, length: str, counted: str, splice: bool) -> str:
    mean, exactly = number(100.0 * answer.mean_joins, 2), band_words(answer.exactly)
    count = 1 if mean == "1" else 2
    joins = (
        say_many("{mean} splice", "{mean} splices", count, mean=mean)
        if splice
        else say_many("{mean} knot", "{mean} knots", count, mean=mean)
    )
    just = say_many(
        "{balls} holds just {joins}",
        "{balls} hold just {joins}",
        balls_told(exactly),
        balls=exactly,
        joins=counted,
    )
    wound = say(
        "A ball of {length} is wound from one long strand, which is joined where one cone of yarn "
        "ends and the next begins, and where the strand parted in the making.",
        length=length,
    )
    if not answer.ball.joins:
        usual = say(
            "By our reckoning 100 such balls hold {joins} between them; {just}.",
            joins=joins,
            just=just,
        )
    else:
        usual = say(
            "By our reckoning 100 such balls hold {joins} between them; {just}, and {more} as many "
            "or more.",
            joins=joins,
            just=just,
            more=odds_words(answer.at_least.value),
        )
    return joined(" ", (wound, usual))


def _where_from(answer: BuyerAnswer, joined_by: str) -> str:
    split, splice = answer.split, joined_by == "splice"
    if split is None:
        return (
            say("What made these splices we cannot say from their number.")
            if splice
            else say("What made these knots we cannot say from their number.")
        )
    likeliest = max(split.expected, key=lambda kind: split.expected[kind])
    kind = SOURCE_WORDS[likeliest]
    if split.joins == 1:
        chance = number(100.0 * split.expected[likeliest], 2)
        told = (
            say(
                "The likeliest kind of splice ({chance} % of cases) is one of the {kind}.",
                chance=chance,
                kind=kind,
            )
            if splice
            else say(
                "The likeliest kind of knot ({chance} % of cases) is one of the {kind}.",
                chance=chance,
                kind=kind,
            )
        )
    else:
        told = say(
            "Of {joins}, about {mean} would be {kind}.",
            joins=joins_words(split.joins, joined_by),
            mean=number(split.expected[likeliest], 2),
            kind=kind,
        )
    unsure = (
        say("We cannot tell for certain what made a splice once the ball is wound.")
        if splice
        else say("We cannot tell for certain what made a knot once the ball is wound.")
    )
    return joined(" ", (unsure, told))


def _by_our_rule(answer: BuyerAnswer, counted: str, joined_by: str, units: UnitSystem) -> str:
    allowed = answer.ball.joins_allowed
    if allowed is None:
        return (
            say(
                "By our own grading splices do not count, whatever their number and places: a ball "
                "with {joins} is within the first-quality grade.",
                joins=counted,
            )
            if joined_by == "splice"
            else say(
                "By our own grading knots do not count, whatever their number and places: a ball "
                "with {joins} is within the first-quality grade.",
                joins=counted,
            )
        )
    rule = _rule(allowed, joins_words(allowed, joined_by), answer.ball.rule.min_piece_m, units)
    if answer.first_quality is None:
        found = say(
            "With {joins} a ball is within that number; where they are in the ball we should have "
            "to see.",
            joins=counted,
        )
    elif answer.first_quality:
        found = say(
            "With {joins}, placed as you describe, a ball is within that grade.", joins=counted
        )
    else:
        found = say(
            "If we find in it what you describe, this ball is outside that grade; we should like "
            "to see it before we say more."
        )
    return joined(" ", (rule, found))


def _rule(allowed: int, joins: str, least_m: float, units: UnitSystem) -> str:
    """Say what the mill's own grading asks of a ball."""
    most = joins if allowed == 0 else say("at most {joins}", joins=joins)
    if least_m == 0.0:
        return say("By our own grading a first-quality ball of this kind holds {most}.", most=most)
    return say(
        "By our own grading a first-quality ball of this kind holds {most}, and no piece shorter "
        "than {least}.",
        most=most,
        least=show(least_m, LENGTH, units, digits=3),
    )
