"""From a ball's terms to the answer to its buyer, and what forbidding such a ball costs."""

from __future__ import annotations

import math
from dataclasses import replace

from clew.knots.answer import BuyerAnswer, Prevention, ReturnedBall, answer_buyer
from clew.knots.from_mill import KnotTerms
from clew.knots.price import Band, LimitAnswer, LimitQuestion, price_of_limits

_STRAND_M = 5e5
_BALLS_DRAWN = 400


def returned_ball(
    terms: KnotTerms, joins: int, positions_m: tuple[float, ...] = (), *, seed: int = 1
) -> ReturnedBall:
    """Say what came back, in the terms of its put-up.

    Parameters
    ----------
    terms : KnotTerms
        What decides the knots of such balls.
    joins : int
        Joins counted in it.
    positions_m : tuple of float
        Where they are, as far as known, from either end [m].
    seed : int
        Seed of draws.

    Returns
    -------
    ReturnedBall
        The ball.
    """
    return ReturnedBall(
        sources=terms.sources,
        rule=terms.rule,
        joins=joins,
        positions_m=positions_m,
        breaks_band=terms.breaks_band,
        made_a_year=terms.made_a_year,
        join_counts=terms.join_counts,
        seed=seed,
    )


def full_answer(terms: KnotTerms, ball: ReturnedBall) -> BuyerAnswer:
    """Answer a buyer, with the price of the limit that would have kept the ball back.

    Parameters
    ----------
    terms : KnotTerms
        What decides the knots of such balls.
    ball : ReturnedBall
        What came back.

    Returns
    -------
    BuyerAnswer
        The answer.

    Raises
    ------
    BadInput
        When joins or positions cannot be meant.
    """
    found = answer_buyer(ball)
    return replace(found, prevention=_prevention(terms, found))


def _prevention(terms: KnotTerms, found: BuyerAnswer) -> Prevention | None:
    """Price the limit that forbids the ball, where the terms say what balls bring.

    A ball within the limit that has too short a piece is forbidden already: no limit is to blame.
    """
    ball, today = found.ball, terms.rule.limit
    against = ball.limit_against
    if against is None or terms.stated_prices is None or math.isnan(terms.ball_mass_g):
        return None
    if found.within_limit and found.first_quality is False:
        return None
    limit = min(against, today)
    question = LimitQuestion(
        sources=terms.sources,
        rule=terms.rule,
        limits=(limit, today),
        prices=terms.stated_prices,
        ball_mass_g=terms.ball_mass_g,
        breaks_band=terms.breaks_band,
        join_counts=terms.join_counts,
        strand_m=max(_STRAND_M, _BALLS_DRAWN * terms.rule.ball_length_m),
        seed=ball.seed,
    )
    (cost, more), (straight, straight_more) = (
        _costs(price_of_limits(one), limit)
        for one in (question, replace(question, habit="straight"))
    )
    return Prevention(limit, cost, more, straight, straight_more)


def _costs(priced: LimitAnswer, limit: int) -> tuple[Band, Band | None]:
    """What a limit costs over no rule, and over today's where that is looser."""
    cost = next(row.cost_per_ball for row in priced.rows if row.limit == limit)
    today = priced.question.rule.limit
    more = [
        step.cost_per_ball
        for step in priced.steps
        if step.stricter == limit and step.looser == today
    ]
    return cost, more[0] if more else None
