"""The answer to a buyer in plain words: what the limit that forbids such a ball costs."""

from __future__ import annotations

import math
from collections.abc import Callable

from clew.knots.answer import BuyerAnswer
from clew.knots.price import Band
from clew.languages import joined, say
from clew.quantities import number

SaySum = Callable[[float, str], str]
"""How a sum [money] and its currency are said."""


def plain_sum(value: float, currency: str) -> str:
    """Say a sum [money] with its currency in front, to two figures."""
    said = number(value, 2) if math.isfinite(value) else say("without bound")
    return joined(" ", (currency, said)) if currency else said


def prevention_sentence(answer: BuyerAnswer, currency: str = "", told: SaySum = plain_sum) -> str:
    """Say what the limit that forbids such a ball costs.

    Parameters
    ----------
    answer : BuyerAnswer
        The answer.
    currency : str
        Currency of the prices.
    told : callable
        How a sum and its currency are said.

    Returns
    -------
    str
        One or two sentences; empty where its price was not worked out.
    """
    found = answer.prevention
    if answer.within_limit and answer.first_quality is False:
        return say(
            "No limit is to blame: today's shortest-piece rule already forbids such a ball. If "
            "this one was sold as first-quality it slipped past the watching."
        )
    if found is None:
        return ""
    cost = _both(found.cost_per_ball, found.straight_per_ball, currency, told)
    if found.limit == answer.ball.rule.limit and found.more_per_ball is None:
        return say(
            "Today's limit of {limit} forbids such a ball. Over having neither limit nor shortest "
            "piece it costs {cost}. If this one was sold as first-quality it slipped past the "
            "watching, or the count is not right.",
            limit=found.limit,
            cost=cost,
        )
    said = [say("A limit of {limit} would have kept it back.", limit=found.limit)]
    if found.more_per_ball is not None:
        more = _both(found.more_per_ball, found.straight_more_per_ball, currency, told)
        said.append(say("Over today's limit it costs {cost}.", cost=more))
    said.append(say("Over having neither limit nor shortest piece it costs {cost}.", cost=cost))
    return joined(" ", said)


def _both(least: Band, straight: Band | None, currency: str, told: SaySum) -> str:
    """The cost to one who knows the whole strand, and wound straight through."""
    cost = _money(least, currency, told, foreseen=True)
    if straight is None:
        return say("at the very least {cost}", cost=cost)
    return say(
        "at the very least {cost}, and {straight} wound straight through",
        cost=cost,
        straight=_money(straight, currency, told, foreseen=False),
    )


def _money(cost: Band, currency: str, told: SaySum, *, foreseen: bool) -> str:
    if not math.isfinite(cost.value):
        return say("every ball, since none is first-quality")
    low, value, high = (told(one, currency) for one in (cost.low, cost.value, cost.high))
    if foreseen and low == high:
        return say("{cost} a ball (by one who knows the whole strand)", cost=value)
    if foreseen:
        return say(
            "{cost} a ball ({low} to {high}; by one who knows the whole strand)",
            cost=value,
            low=low,
            high=high,
        )
    if low == high:
        return say("{cost} a ball", cost=value)
    return say("{cost} a ball ({low} to {high})", cost=value, low=low, high=high)
