"""The price of a knot limit: what each limit costs a ball, in money, yarn, waste and complaints."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.knots.price_question import Habit, LimitQuestion, check_question
from clew.knots.price_strands import (
    COMPLAINTS,
    FIRST,
    LENGTH_M,
    LOST,
    PARTINGS,
    PIECES_ONLY,
    SECOND,
    WASTE_M,
    draw_marked,
    totals_drawn,
    totals_straight,
)

__all__ = [
    "Band",
    "Habit",
    "LimitAnswer",
    "LimitDoubt",
    "LimitQuestion",
    "LimitRow",
    "LimitStep",
    "price_of_limits",
]

Array = NDArray[np.float64]

DRAWN_QUANTILE = 2.365
"""Student's 97.5 % point with 7 degrees of freedom: 8 strands are drawn. Source: MEMORY."""


@dataclass(frozen=True, slots=True)
class Band:
    """A figure and the band in which it lies with about 95 %.

    Attributes
    ----------
    low, value, high : float
        Lower end, best figure, upper end; infinite where no ball is first-quality [its own unit].
    """

    low: float
    value: float
    high: float


@dataclass(frozen=True, slots=True)
class LimitRow:
    """What one limit does.

    Attributes
    ----------
    limit : int or None
        The limit; None: no rule at all, neither a limit nor a shortest piece.
    first_share : Band
        First-quality among the balls that are wound [1].
    second_share, waste_frac, yield_frac : Band
        Shares of strand length which leave as second-quality, as waste, as first-quality; their
        values sum to 1 [1].
    cost_per_ball : Band
        Rise of the first-quality price that makes up for the limit [money/ball].
    cost_per_kg : Band
        The same by mass [money/kg].
    shelf_change : Band
        The same on the shelf [money/ball].
    landfill_kg_a_year : Band or None
        Dropped yarn [kg/year]; None while the balls made in a year are not known.
    complaints_per_10000 : Band or None
        To be expected from first-quality balls, by the mill's own estimate [1/10000].
    partings_per_km : Band
        Gaps before a ball [1/km of strand].
    """

    limit: int | None
    first_share: Band
    second_share: Band
    waste_frac: Band
    yield_frac: Band
    cost_per_ball: Band
    cost_per_kg: Band
    shelf_change: Band
    landfill_kg_a_year: Band | None
    complaints_per_10000: Band | None
    partings_per_km: Band


@dataclass(frozen=True, slots=True)
class LimitStep:
    """What a stricter limit adds.

    Attributes
    ----------
    looser : int or None
        The limit before; None: no rule.
    stricter : int
        The limit after.
    cost_per_ball : Band
        What the step adds [money/ball].
    """

    looser: int | None
    stricter: int
    cost_per_ball: Band


@dataclass(frozen=True, slots=True)
class LimitDoubt:
    """Where the band of the cost comes from, at one limit.

    Attributes
    ----------
    limit : int
        Today's limit, or the strictest priced where today's is not among them.
    breaks : float
        Half the band that the uncertain break rate makes [money/ball].
    drawing : float
        Half the band that the drawn strands make [money/ball]; 0 where nothing is drawn.
    breaks_share : float
        Share of the squared half-width that is the break rate [1]; 0 without any band.
    """

    limit: int
    breaks: float
    drawing: float
    breaks_share: float


@dataclass(frozen=True, slots=True)
class LimitAnswer:
    """The price of each limit.

    Attributes
    ----------
    question : LimitQuestion
        What was asked.
    rows : tuple of LimitRow
        By limit, strictest first, no limit last.
    steps : tuple of LimitStep
        From no limit to the loosest, and so on to the strictest.
    doubt : LimitDoubt
        What makes the band.
    piece_rule : LimitRow or None
        What today's shortest piece does alone, any number of joins allowed; its limit is None. None
        where there is no such rule, or joins do not count.
    """

    question: LimitQuestion
    rows: tuple[LimitRow, ...]
    steps: tuple[LimitStep, ...]
    doubt: LimitDoubt
    piece_rule: LimitRow | None = None


@dataclass(frozen=True, slots=True)
class _Spread:
    """A figure at three break rates, and the standard error of drawing."""

    at_rates: tuple[float, float, float]
    error: float

    def breaks(self) -> tuple[float, float]:
        middle = self.at_rates[1]
        return middle - min(self.at_rates), max(self.at_rates) - middle

    def band(self, factor: float = 1.0, least: float = 0.0, most: float = math.inf) -> Band:
        middle = self.at_rates[1]
        if not math.isfinite(middle):
            return Band(factor * min(self.at_rates), middle, math.inf)
        drawn = DRAWN_QUANTILE * self.error
        below, above = self.breaks()
        low = max(middle - math.hypot(below, drawn), least)
        return Band(
            factor * low, factor * middle, factor * min(middle + math.hypot(above, drawn), most)
        )


def price_of_limits(question: LimitQuestion) -> LimitAnswer:
    """Work out what each knot limit costs.

    Parameters
    ----------
    question : LimitQuestion
        Sources, rule, prices, habit and the limits to price.

    Returns
    -------
    LimitAnswer
        A row for each limit and for none, what each step adds, and what makes the bands.

    Raises
    ------
    BadInput
        With everything in the question that cannot be used.

    Notes
    -----
    With V(k) the money per km of strand and n(k) the first-quality balls per km under limit k, the
    cost of the limit is (V(none) - V(k)) / n(k): the rise of the first-quality price at which the
    mill has its money back, the second-quality price and the cuts held as they are. ``best`` is the
    plan of one who knows the whole strand beforehand, so its cost is the least there can be.
    ``straight`` is exact and draws nothing. A band joins the ends of the break band and the
    standard error of 8 strands (jackknife) as independent. Source: DERIVED.
    """
    check_question(question)
    if question.habit == "straight":
        at_rates = [totals_straight(question, factor) for factor in question.break_factors]
    else:
        strands = draw_marked(question)
        factors = question.break_factors
        by_factor = {one: totals_drawn(question, strands, one) for one in set(factors)}
        at_rates = [by_factor[one] for one in factors]
    limits: list[int | None] = [*sorted(set(question.limits)), None]
    rows = tuple(_row(question, limit, [totals[limit] for totals in at_rates]) for limit in limits)
    steps = []
    for stricter, looser in zip(limits[-2::-1], limits[:0:-1], strict=True):
        pairs = [np.concatenate((one[stricter], one[looser]), axis=1) for one in at_rates]
        assert stricter is not None  # None stands last
        steps.append(LimitStep(looser, stricter, _spread(pairs, _step).band(least=-math.inf)))
    asked = question.rule.limit if question.rule.limit in limits else min(question.limits)
    doubt = _doubt(asked, _spread([totals[asked] for totals in at_rates], _cost))
    pieces = None
    if question.pieces_matter:
        pieces = _row(question, None, [totals[PIECES_ONLY] for totals in at_rates])
    return LimitAnswer(question, rows, tuple(steps), doubt, pieces)


def _over(part: Array, whole: Array) -> Array:
    """Ratio; nothing of nothing is nothing, something of nothing is without bound."""
    some = np.broadcast_to(np.where(part > 0.0, math.inf, 0.0), np.broadcast(part, whole).shape)
    return np.asarray(np.divide(part, whole, out=some.copy(), where=whole > 0.0))


def _cost(totals: Array) -> Array:
    return _over(totals[..., LOST], totals[..., FIRST])


def _step(totals: Array) -> Array:
    """Cost of the first half of the columns over the second half's."""
    half = totals.shape[-1] // 2
    looser, stricter = _cost(totals[..., half:]), _cost(totals[..., :half])
    # Where no ball passes the looser limit either, the stricter one cannot cost more.
    both = np.isinf(looser) & np.isinf(stricter)
    return np.asarray(np.subtract(stricter, looser, out=np.zeros_like(stricter), where=~both))


def _spread(at_rates: list[Array], measure: Callable[[Array], Array]) -> _Spread:
    """A measure of the sums over strands at each rate; its standard error at the middle one."""
    low, middle, high = (float(measure(totals.sum(axis=0))) for totals in at_rates)
    totals = at_rates[1]
    strands = totals.shape[0]
    if strands == 1 or not math.isfinite(middle):
        return _Spread((low, middle, high), 0.0)
    without = np.asarray(measure(totals.sum(axis=0) - totals))
    error = math.sqrt((strands - 1) / strands * float(((without - without.mean()) ** 2).sum()))
    return _Spread((low, middle, high), error if math.isfinite(error) else math.inf)


def _row(question: LimitQuestion, limit: int | None, at_rates: list[Array]) -> LimitRow:
    ball_m, ball_kg = question.rule.ball_length_m, question.ball_mass_g / 1000.0

    def spread(part: int, per: int) -> _Spread:
        return _spread(at_rates, lambda totals: _over(totals[..., part], totals[..., per]))

    def share_of_length(part: int, length_m: float) -> Band:
        return _spread(
            at_rates,
            lambda totals: length_m * totals[..., part] / totals[..., LENGTH_M],
        ).band(most=1.0)

    cost = _spread(at_rates, _cost)
    waste_per_first = spread(WASTE_M, FIRST)
    first = _spread(
        at_rates, lambda all_: _over(all_[..., FIRST], all_[..., FIRST] + all_[..., SECOND])
    )
    return LimitRow(
        limit=limit,
        first_share=first.band(most=1.0),
        second_share=share_of_length(SECOND, ball_m),
        waste_frac=share_of_length(WASTE_M, 1.0),
        yield_frac=share_of_length(FIRST, ball_m),
        cost_per_ball=cost.band(),
        cost_per_kg=cost.band(1.0 / ball_kg),
        shelf_change=cost.band(question.shelf_multiple),
        landfill_kg_a_year=waste_per_first.band(ball_kg / ball_m * question.made_a_year)
        if question.made_a_year
        else None,
        complaints_per_10000=spread(COMPLAINTS, FIRST).band(most=10_000.0)
        if question.complaints_per_10000
        else None,
        partings_per_km=spread(PARTINGS, LENGTH_M).band(1000.0),
    )


def _doubt(limit: int, cost: _Spread) -> LimitDoubt:
    if not all(math.isfinite(one) for one in (*cost.at_rates, cost.error)):
        return LimitDoubt(limit, math.inf, math.inf, 0.0)
    breaks, drawing = sum(cost.breaks()) / 2.0, DRAWN_QUANTILE * cost.error
    both = breaks**2 + drawing**2
    return LimitDoubt(limit, breaks, drawing, breaks**2 / both if both > 0.0 else 0.0)
