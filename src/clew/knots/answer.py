"""The answer to a buyer whose ball came back with so many joins in it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.answer_pieces import ROUNDING_M, chance_long_enough, pieces_met, shortest_pieces
from clew.knots.answer_places import places_in_ball, split_placed
from clew.knots.answer_split import JoinSplit, check_joins
from clew.knots.cutting import FirstRule
from clew.knots.join_sources import split_joins
from clew.knots.law import KnotLaw, knot_law
from clew.knots.price import Band
from clew.knots.rate_tests import ConesNeeded, cones_against_rate
from clew.knots.rates import MOST_KNOTS
from clew.knots.sources import Sources
from clew.languages import say

Array = NDArray[np.float64]

TIMES_TO_SEE = 2.0
"""The rise of the break rate that counted cones are to show."""


@dataclass(frozen=True, slots=True)
class ReturnedBall:
    """A ball that came back.

    Attributes
    ----------
    sources : Sources
        Where joins come from in such balls, per metre after steam.
    rule : FirstRule
        When such a ball is first-quality.
    joins : int
        Joins counted in it.
    positions_m : tuple of float
        Where they are, as far as that is known, from either end [m].
    breaks_band : tuple of float
        Factors on the break rate between which it lies with 95 % [1].
    made_a_year : int
        First-quality balls of this kind a year; 0: not known.
    join_counts : float
        What a join counts towards the limit: 1 a knot, less for a splice [1].
    seed : int
        Seed of the draws, where there are any.
    """

    sources: Sources
    rule: FirstRule
    joins: int
    positions_m: tuple[float, ...] = ()
    breaks_band: tuple[float, float] = (1.0, 1.0)
    made_a_year: int = 0
    join_counts: float = 1.0
    seed: int = 1

    @property
    def joins_allowed(self) -> int | None:
        """Most joins in a first-quality ball; None where joins do not count."""
        if self.join_counts == 0.0:
            return None
        return math.floor(self.rule.limit / self.join_counts + 1e-9)

    @property
    def limit_against(self) -> int | None:
        """The loosest limit under which this ball is not first-quality; None where there is none.

        For knots that is one less than the joins in it.
        """
        against = math.ceil(self.joins * self.join_counts - 1e-9) - 1
        return against if against >= 0 else None


@dataclass(frozen=True, slots=True)
class Prevention:
    """The limit that would have kept this ball from being sold as first-quality.

    Attributes
    ----------
    limit : int
        That limit.
    cost_per_ball : Band
        The least it can cost over no rule at all: cut by one who knows the whole strand
        [money/ball].
    more_per_ball : Band or None
        The same over today's limit [money/ball]; None where today's is as strict.
    straight_per_ball, straight_more_per_ball : Band or None
        The two costs wound straight through [money/ball]; None where not worked out.
    """

    limit: int
    cost_per_ball: Band
    more_per_ball: Band | None = None
    straight_per_ball: Band | None = None
    straight_more_per_ball: Band | None = None


@dataclass(frozen=True, slots=True)
class BuyerAnswer:
    """What can be said to the buyer and to the mill.

    Attributes
    ----------
    ball : ReturnedBall
        The ball.
    mean_joins : float
        Mean joins in such balls.
    exactly, at_least : Band
        Chance of just so many joins, and of so many or more, in any such ball as wound [1].
    first_share : Band
        Share of balls that are first-quality when wound straight through [1].
    exactly_of_first, at_least_of_first : Band
        The two chances among first-quality balls only [1].
    exactly_a_year : Band or None
        Balls with just so many joins wound in a year; None where the year's make is not known.
    sold_a_year : Band or None
        Those of them that are first-quality.
    any_a_year : Band or None
        Chance that the balls wound in a year hold at least one with so many joins or more.
    split : JoinSplit or None
        What the joins probably were; None where these sources cannot give such a ball.
    shortest_m : float or None
        Shortest piece known of, end pieces included, joins left out [m]; None where no join was
        placed. Where it hangs on the side of a join at which it was read, the longer reading.
    as_short : float or None
        Chance that so many joins leave a piece as short or shorter; None unless all were placed.
    long_enough : float
        Chance that so many joins leave no piece shorter than the rule allows [1].
    within_limit : bool
        Whether the joins are within the limit.
    pieces_long_enough : bool or None
        Whether no piece is too short; None where the places do not tell.
    near_the_rule : bool
        Whether the places are within one join length of another verdict on the pieces.
    doubled_weight : float or None
        How many times likelier this number of joins is at twice the break rate; None without
        breaks.
    cones_needed : ConesNeeded or None
        Cones to count to see a doubled break rate; None where rate or cone are not known.
    prevention : Prevention or None
        The limit that would have kept this ball back, where its price was worked out.
    """

    ball: ReturnedBall
    mean_joins: float
    exactly: Band
    at_least: Band
    first_share: Band
    exactly_of_first: Band
    at_least_of_first: Band
    exactly_a_year: Band | None
    sold_a_year: Band | None
    any_a_year: Band | None
    split: JoinSplit | None
    shortest_m: float | None
    as_short: float | None
    long_enough: float
    within_limit: bool
    pieces_long_enough: bool | None
    near_the_rule: bool
    doubled_weight: float | None
    cones_needed: ConesNeeded | None
    prevention: Prevention | None

    @property
    def first_quality(self) -> bool | None:
        """Whether limit and piece rule are met; None where the places do not tell."""
        return self.pieces_long_enough if self.within_limit else False


def answer_buyer(ball: ReturnedBall, *, prevention: Prevention | None = None) -> BuyerAnswer:
    """Work out what can be said of a ball that came back.

    Parameters
    ----------
    ball : ReturnedBall
        The ball.
    prevention : Prevention or None
        The limit that would have kept it back and its price, worked out elsewhere.

    Returns
    -------
    BuyerAnswer
        How usual it is, what its joins were, whether it is first-quality, what it says of spinning.

    Raises
    ------
    BadInput
        With everything that is wrong with joins, places, band, rule or seed.

    Notes
    -----
    Chances are those of `knot_law` for a ball that starts anywhere, wound straight through. A band
    joins the same chances at five break rates over the 95 % band. Chances among first-quality
    balls are P(n) P(no short piece | n) over their sum up to the limit, joins taken as uniform
    with their own length (see `chance_long_enough`). ``any_a_year`` takes the balls as independent;
    balls off one bad cone are not, so it is too large where cones differ. ``at_least`` is the exact
    one-sided p-value of this number against the stated law, for a ball picked without looking.
    Source: DERIVED.
    """
    _check(ball)
    rule, joins = ball.rule, ball.joins
    places = places_in_ball(ball.positions_m, rule.ball_length_m)
    law = _law(ball, 1.0)
    low, high = ball.breaks_band
    factors = sorted({low, (1.0 + low) / 2.0, (1.0 + high) / 2.0, high} - {1.0})
    laws = [law, *(_law(ball, factor) for factor in factors)]

    def banded(values: list[float]) -> Band:
        return Band(min(values), values[0], max(values))

    exactly = [_exactly(one, joins) for one in laws]
    first = [_first(one, ball) for one in laws]
    # Joins that do not count are seen by no rule, the shortest piece included.
    uncounted = ball.joins_allowed is None
    shares = [1.0 if uncounted else float(one.sum()) for one in first]
    sold = [
        _over(float(one[joins]) if joins < one.size else 0.0, share)
        for one, share in zip(first, shares, strict=True)
    ]
    made = ball.made_a_year
    known_year = made > 0 and all(share > 0.0 for share in shares)
    # made counts first-quality balls; more than those are wound
    wound = [made / share if known_year else 0.0 for share in shares]
    readings = shortest_pieces(places, rule)
    shortest = None if readings is None else readings[1]
    all_placed = places.size == joins
    met = True if uncounted else pieces_met(joins, readings, rule, all_placed=all_placed)
    near = met is None and readings is not None and readings[0] < rule.min_piece_m - ROUNDING_M
    at_least = [one.more_than(joins - 1) for one in laws]
    return BuyerAnswer(
        ball=ball,
        mean_joins=law.mean,
        exactly=banded(exactly),
        at_least=banded(at_least),
        first_share=banded([min(share, 1.0) for share in shares]),
        exactly_of_first=banded(sold),
        at_least_of_first=banded(
            [_over(float(one[joins:].sum()), s) for one, s in zip(first, shares, strict=True)]
        ),
        exactly_a_year=banded([a * b for a, b in zip(wound, exactly, strict=True)])
        if known_year
        else None,
        sold_a_year=banded([made * one for one in sold]) if known_year else None,
        any_a_year=banded([_any(a, b) for a, b in zip(at_least, wound, strict=True)])
        if known_year
        else None,
        split=_split(ball, all_placed),
        shortest_m=shortest,
        as_short=_chance_under(joins, rule, shortest) if all_placed else None,
        long_enough=1.0 if uncounted else _long_enough(joins, rule, rule.min_piece_m),
        within_limit=ball.joins_allowed is None or joins <= ball.joins_allowed,
        pieces_long_enough=met,
        near_the_rule=near,
        doubled_weight=_doubled(ball, exactly[0]),
        cones_needed=_cones(ball.sources),
        prevention=prevention,
    )


def _check(ball: ReturnedBall) -> None:
    faults: list[Fault] = []
    for check in (
        lambda: check_joins(ball.joins),
        lambda: places_in_ball(ball.positions_m, ball.rule.ball_length_m),
    ):
        try:
            check()
        except BadInput as bad:
            faults += bad.faults

    def add(what: str, expected: str, key: str, value: object) -> None:
        faults.append(Fault(what, expected, key=key, value=str(value)))

    placed = len(ball.positions_m)
    if 0 <= ball.joins < placed:
        add(
            say("fewer joins than places"),
            say("{placed} or more", placed=placed),
            "joins",
            ball.joins,
        )
    low, high = ball.breaks_band
    if not 0.0 <= low <= 1.0 <= high <= 100.0:
        add(
            say("no such band"),
            say("a factor up to 1 and one from 1"),
            "breaks band",
            f"{low:g}, {high:g}",
        )
    if ball.rule.limit < 0:
        add(say("no such limit"), say("0 or more"), "limit", ball.rule.limit)
    if not 0.0 <= ball.rule.min_piece_m < math.inf:
        add(say("no such length"), say("0 m or more"), "min_piece_m", f"{ball.rule.min_piece_m:g}")
    if not 0.0 <= ball.join_counts <= 1.0:
        add(say("out of range"), say("0 to 1"), "join counts", f"{ball.join_counts:g}")
    if ball.made_a_year < 0:
        add(say("out of range"), say("0 (not known) or more"), "made a year", ball.made_a_year)
    if ball.seed < 0:
        add(say("no such seed"), say("0 or more"), "seed", ball.seed)
    if faults:
        raise BadInput(faults)


def _law(ball: ReturnedBall, factor: float) -> KnotLaw:
    sources = replace(ball.sources, breaks_per_m=factor * ball.sources.breaks_per_m)
    return knot_law(sources, ball.rule.ball_length_m)


def _exactly(law: KnotLaw, joins: int) -> float:
    return float(law.pmf[joins]) if joins < law.pmf.size else 0.0


def _first(law: KnotLaw, ball: ReturnedBall) -> Array:
    """Chance of 0, 1, 2, ... joins and first-quality, up to the limit."""
    allowed = ball.joins_allowed
    if allowed is None:
        return law.pmf
    some = law.pmf[: allowed + 1]
    numbers = np.arange(some.size, dtype=np.float64)
    return np.asarray(some * chance_long_enough(numbers, ball.rule, ball.rule.min_piece_m))


def _over(part: float, whole: float) -> float:
    return min(part / whole, 1.0) if whole > part else float(part > 0.0)


def _any(chance: float, balls: float) -> float:
    return -math.expm1(balls * math.log1p(-chance)) if chance < 1.0 else 1.0


def _split(ball: ReturnedBall, all_placed: bool) -> JoinSplit | None:
    length_m = ball.rule.ball_length_m
    if all_placed and ball.joins:
        return split_placed(ball.sources, length_m, ball.positions_m)
    return split_joins(ball.sources, length_m, ball.joins, seed=ball.seed)


def _chance_under(joins: int, rule: FirstRule, shortest_m: float | None) -> float | None:
    if shortest_m is None:
        return None
    return 1.0 - _long_enough(joins, rule, shortest_m)


def _long_enough(joins: int, rule: FirstRule, least_m: float) -> float:
    return float(chance_long_enough(np.array([joins], dtype=np.float64), rule, least_m)[0])


def _doubled(ball: ReturnedBall, usual: float) -> float | None:
    if ball.sources.breaks_per_m == 0.0 or usual == 0.0:
        return None
    return _exactly(_law(ball, TIMES_TO_SEE), ball.joins) / usual


def _cones(sources: Sources) -> ConesNeeded | None:
    if math.isinf(sources.cone_length_m):
        return None
    on_a_cone = sources.breaks_per_m * sources.cone_length_m
    if not 0.0 < on_a_cone <= MOST_KNOTS:
        return None
    return cones_against_rate(
        1000.0 * sources.breaks_per_m,
        sources.cone_length_m / 1000.0,
        times=TIMES_TO_SEE,
        shape=None if math.isinf(sources.dispersion) else sources.dispersion,
    )
