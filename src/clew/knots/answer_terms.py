"""From a ball's terms to the answer to its buyer, and what forbidding such a ball costs."""

from __future__ import annotations

import math
from dataclasses import replace

from clew.knots.answer import BuyerAnswer, Prevention, ReturnedBall, answer_buyer
from clew.knots.from_mill import KnotTerms
from clew.knots.price import LimitQuestion, price_of_limits

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
    return replace(answer_buyer(ball), prevention=_prevention(terms, ball))


def _prevention(terms: KnotTerms, ball: ReturnedBall) -> Prevention | None:
    """Price the limit that forbids the ball, where the terms say what balls bring."""
    against, today = ball.limit_against, terms.rule.limit
    if against is None or terms.stated_prices is None or math.isnan(terms.ball_mass_g):
        return None
    limit = min(against, today)
    priced = price_of_limits(
        LimitQuestion(
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
    )
    cost = next(row.cost_per_ball for row in priced.rows if row.limit == limit)
    more = [
        step.cost_per_ball
        for step in priced.steps
        if step.stricter == limit and step.looser == today
    ]
    return Prevention(limit, cost, more[0] if more else None)
