"""The answer to a buyer in plain words: first-quality or not."""

from __future__ import annotations

from clew.knots.answer import BuyerAnswer
from clew.languages import joined, say
from clew.quantities import LENGTH, UnitSystem, number, show


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
    rule, splice = answer.ball.rule, joined_by == "splice"
    if answer.ball.joins_allowed is None:
        if splice:
            return say(
                "A splice counts nothing here: a first-quality ball, whatever their number and "
                "places."
            )
        return say(
            "A knot counts nothing here: a first-quality ball, whatever their number and places."
        )
    limit, counts = say("the limit of {limit}", limit=rule.limit), answer.ball.join_counts
    if counts != 1.0:
        brackets = {"limit": rule.limit, "counts": number(counts)}
        limit = (
            say("the limit of {limit} (a splice counts {counts})", **brackets)
            if splice
            else say("the limit of {limit} (a knot counts {counts})", **brackets)
        )
    if not answer.within_limit:
        return say("Over {limit}: not a first-quality ball.", limit=limit)
    return _within(answer, limit, units, splice)


def _within(answer: BuyerAnswer, limit: str, units: UnitSystem, splice: bool) -> str:
    """Say of a ball within the limit what its pieces make of it."""
    least_m = answer.ball.rule.min_piece_m
    least = show(least_m, LENGTH, units)
    if answer.pieces_long_enough is False:
        found = say("so many pieces cannot all be so long")
        if answer.shortest_m is not None and answer.shortest_m < least_m:
            shortest = show(answer.shortest_m, LENGTH, units, digits=3)
            found = say("its shortest is {length}", length=shortest)
        return say(
            "Within {limit}, but a piece is shorter than {least} ({found}): not a first-quality "
            "ball.",
            limit=limit,
            least=least,
            found=found,
        )
    if answer.near_the_rule:
        return joined(
            " ",
            (
                say("Within {limit}.", limit=limit),
                say(
                    "A piece is too near to {least} to tell: it hangs on the side of the splice "
                    "from which its place was read. See the ball.",
                    least=least,
                )
                if splice
                else say(
                    "A piece is too near to {least} to tell: it hangs on the side of the knot "
                    "from which its place was read. See the ball.",
                    least=least,
                ),
            ),
        )
    if answer.pieces_long_enough is None:
        said = {"least": least, "share": number(100.0 * answer.long_enough, 3)}
        return joined(
            " ",
            (
                say("Within {limit}.", limit=limit),
                say(
                    "Whether a piece is shorter than {least} its places would tell; so many "
                    "splices leave none in {share} % of balls.",
                    **said,
                )
                if splice
                else say(
                    "Whether a piece is shorter than {least} its places would tell; so many "
                    "knots leave none in {share} % of balls.",
                    **said,
                ),
            ),
        )
    if least_m == 0.0:
        return say("Within {limit}: a first-quality ball.", limit=limit)
    return say(
        "Within {limit}, and no piece shorter than {least}: a first-quality ball.",
        limit=limit,
        least=least,
    )
