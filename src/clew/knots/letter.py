"""A draft of the letter to a buyer whose ball came back for its joins."""

from __future__ import annotations

from clew.knots.answer import BuyerAnswer
from clew.knots.answer_odds import band_words, joins_words, odds_words, verb_for
from clew.knots.sources import SOURCE_WORDS
from clew.quantities import LENGTH, UnitSystem, number, show

DRAFT_MARK = "DRAFT - to be read, mended and signed by a person before it is sent."


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
    one = f"a ball of {ball_name}" if ball_name else "a ball of our yarn"
    lot = f", dye lot {lot_name}" if lot_name else ""
    counted = joins_words(ball.joins, joined_by)
    many = f"{joined_by}s"
    paragraphs = [
        DRAFT_MARK,
        "Dear [name of the buyer],",
        f"Thank you for writing to us about {one}{lot}, in which you count {counted}. We know that "
        f"{many} are a nuisance to anyone at work with the yarn, and have looked into your letter "
        "with care.",
        _how_usual(answer, length, many, counted),
    ]
    if ball.joins:
        paragraphs += [
            _where_from(answer, joined_by),
            _by_our_rule(answer, counted, joined_by, units),
        ]
    paragraphs += [
        "One ball alone cannot tell us how the others of its lot are. It would help us to see it: "
        "please send us the ball, or what is left of it, together with its band, on which the dye "
        "lot number is printed."
        + ("" if lot_name else " If the band is no longer there, the place of purchase helps."),
        "[if your terms offer it: On receipt of the ball we replace it, from the same dye lot "
        "while there is any.]",
        "Whatever else concerns this purchase follows our terms of sale; this letter neither adds "
        "to them nor takes from them, nor from the rights you have by law.",
        "With kind regards,",
        "[name, for the mill]",
    ]
    return paragraphs


def _how_usual(answer: BuyerAnswer, length: str, many: str, counted: str) -> str:
    mean, exactly = number(100.0 * answer.mean_joins, 2), band_words(answer.exactly)
    between = many.removesuffix("s") if mean == "1" else many
    said = (
        f"A ball of {length} is wound from one long strand, which is joined where one cone of yarn "
        f"ends and the next begins, and where the strand parted in the making. By our reckoning "
        f"100 such balls hold {mean} {between} between them; "
        f"{exactly} {verb_for(exactly, 'holds', 'hold')} just {counted}"
    )
    if answer.ball.joins:
        said += f", and {odds_words(answer.at_least.value)} as many or more"
    return said + "."


def _where_from(answer: BuyerAnswer, joined_by: str) -> str:
    split = answer.split
    if split is None:
        return f"What made these {joined_by}s we cannot say from their number."
    likeliest = max(split.expected, key=lambda kind: split.expected[kind])
    if split.joins == 1:
        chance = number(100.0 * split.expected[likeliest], 2)
        told = f"The likeliest kind of {joined_by} ({chance} % of cases) is one of the"
    else:
        mean = number(split.expected[likeliest], 2)
        told = f"Of {split.joins} {joined_by}s, about {mean} would be"
    return (
        f"We cannot tell for certain what made a {joined_by} once the ball is wound. {told} "
        f"{SOURCE_WORDS[likeliest]}."
    )


def _by_our_rule(answer: BuyerAnswer, counted: str, joined_by: str, units: UnitSystem) -> str:
    rule = answer.ball.rule
    allowed = answer.ball.joins_allowed
    if allowed is None:
        return (
            f"By our own grading {joined_by}s do not count, whatever their number and places: "
            f"a ball with {counted} is within the first-quality grade."
        )
    least = show(rule.min_piece_m, LENGTH, units, digits=3)
    limit = "" if allowed == 0 else "at most "
    said = (
        "By our own grading a first-quality ball of this kind holds "
        f"{limit}{joins_words(allowed, joined_by)}"
    )
    if rule.min_piece_m > 0.0:
        said += f", and no piece shorter than {least}"
    said += ". "
    if answer.first_quality is None:
        return (
            said + f"With {counted} a ball is within that number; where they are in the ball we "
            "should have to see."
        )
    if answer.first_quality:
        return said + f"With {counted}, placed as you describe, a ball is within that grade."
    return (
        said + "If we find in it what you describe, this ball is outside that grade; we should "
        "like to see it before we say more."
    )
