"""What is asked when a knot limit is to be priced, and whether it can be answered."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

from clew.faults import BadInput, Fault
from clew.knots.complaints import complaint_faults
from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.sources import Sources
from clew.languages import joined, say

Habit = Literal["straight", "part_every", "best"]

STRANDS = 8
LEAST_BALLS = 250
"""On each strand; with fewer, the end of the strand would show in the answer."""
MOST_LIMIT = 200
MOST_JOINS = 1_000_000


@dataclass(frozen=True, slots=True)
class LimitQuestion:
    """A mill that wonders what its knot limit costs.

    Attributes
    ----------
    sources : Sources
        Where joins come from today, per metre after steam.
    rule : FirstRule
        When a ball is first-quality; its limit is today's.
    limits : tuple of int
        Limits to price; no limit at all is always added.
    prices : CutPrices
        What balls bring and cuts cost.
    ball_mass_g : float
        Mass of a ball [g].
    made_a_year : int
        First-quality balls a year; 0: not known, and no landfill is worked out.
    shelf_multiple : float
        Money on the shelf for each unit of money at the mill's door [1].
    complaints_per_10000 : tuple of float
        Complaints per 10 000 balls with 0, 1, 2, ... joins, by the mill's own estimate; empty:
        not known.
    breaks_band : tuple of float, float
        Factors on the rate of breaks on the cone, between which it lies with 95 % [1].
    join_counts : float
        What a join counts toward the limit: 1 a knot, less for a splice, 0 for one that passes [1].
    habit : str
        How balls are cut: ``straight``, ``part_every`` or ``best``.
    strand_m : float
        Length of each of the 8 independent strands that are drawn [m].
    seed : int
        Seed of the random numbers.
    breaks_left_frac : float
        Share of today's breaks on the cone which is left; 0.5 is half the break rate [1].
    """

    sources: Sources
    rule: FirstRule
    limits: tuple[int, ...]
    prices: CutPrices
    ball_mass_g: float
    made_a_year: int = 0
    shelf_multiple: float = 1.0
    complaints_per_10000: tuple[float, ...] = ()
    breaks_band: tuple[float, float] = (1.0, 1.0)
    join_counts: float = 1.0
    habit: Habit = "best"
    strand_m: float = 2e6
    seed: int = 1
    breaks_left_frac: float = 1.0

    @property
    def break_factors(self) -> tuple[float, float, float]:
        """Low, middle and high factor on today's rate of breaks on the cone."""
        low, high = self.breaks_band
        return (
            low * self.breaks_left_frac,
            self.breaks_left_frac,
            high * self.breaks_left_frac,
        )

    @property
    def pieces_matter(self) -> bool:
        """Whether there is a shortest-piece rule, and joins that it sees."""
        return self.rule.min_piece_m > 0.0 and self.join_counts > 0.0

    def joins_allowed(self, limit: int) -> int | None:
        """Most joins in a ball under a limit; None where joins do not count at all.

        A join that counts a half lets twice as many pass.
        """
        if self.join_counts == 0.0:
            return None
        return math.floor(limit / self.join_counts + 1e-9)


def check_question(question: LimitQuestion) -> None:
    """Refuse a question that cannot be answered, with everything that is wrong.

    Parameters
    ----------
    question : LimitQuestion
        The question.

    Raises
    ------
    BadInput
        With every fault.
    """
    faults = (
        _money_faults(question.prices)
        + _rule_faults(question.rule)
        + complaint_faults(question.complaints_per_10000)
        + _limit_faults(question)
        + _number_faults(question)
    )
    if question.habit != "straight" and not faults:
        faults = _strand_faults(question)
    if faults:
        raise BadInput(faults)


def _limit_faults(question: LimitQuestion) -> list[Fault]:
    if not question.limits:
        return [Fault(say("no limit to price"), say("one limit or more"), key="limits")]
    return [
        Fault(
            say("no such limit"),
            say("0 to {most}", most=MOST_LIMIT),
            key="limits",
            value=str(limit),
        )
        for limit in question.limits
        if not 0 <= limit <= MOST_LIMIT
    ]


def _number_faults(question: LimitQuestion) -> list[Fault]:
    low, high = question.breaks_band
    habits = get_args(Habit)
    tried = (
        (
            "ball mass",
            question.ball_mass_g,
            0.0 < question.ball_mass_g < 1e6,
            say("a mass above 0 g"),
        ),
        (
            "shelf multiple",
            question.shelf_multiple,
            0.0 < question.shelf_multiple < 1e6,
            say("a number above 0"),
        ),
        (
            "made a year",
            question.made_a_year,
            question.made_a_year >= 0,
            say("0 (not known) or more"),
        ),
        (
            "breaks band",
            f"{low:g}, {high:g}",
            0.0 <= low <= 1.0 <= high <= 100.0,
            say("a factor from 0 to 1, and one from 1 to 100"),
        ),
        (
            "join counts",
            question.join_counts,
            0.0 <= question.join_counts <= 1.0,
            say("0 to 1"),
        ),
        (
            "breaks left",
            question.breaks_left_frac,
            0.0 <= question.breaks_left_frac <= 1.0,
            say("0 to 1"),
        ),
        ("habit", question.habit, question.habit in habits, joined(", ", habits)),
        ("seed", question.seed, question.seed >= 0, say("0 or more")),
    )
    return [
        Fault(say("out of range"), expected, key=key, value=str(value))
        for key, value, good, expected in tried
        if not good
    ]


def _money_faults(prices: CutPrices) -> list[Fault]:
    faults = [
        Fault(
            say("no such price or cost"), say("a number, zero or more"), key=key, value=f"{value:g}"
        )
        for key, value in (
            ("price first", prices.first),
            ("price second", prices.second),
            ("waste per m", prices.waste_per_m),
            ("parting", prices.parting),
        )
        if not 0.0 <= value <= 1e12
    ]
    if not faults and prices.second > prices.first:
        faults.append(
            Fault(
                say("second-quality dearer than first-quality"),
                say("at most {first:g}", first=prices.first),
                key="price second",
                value=f"{prices.second:g}",
            )
        )
    return faults


def _rule_faults(rule: FirstRule) -> list[Fault]:
    """Lengths only: today's limit itself is not priced unless it is asked for."""
    return [
        Fault(say("no such length"), expected, key=key, value=f"{length:g} m")
        for key, length, least, expected in (
            ("ball length", rule.ball_length_m, 1e-6, say("a length above 0 m")),
            ("min piece", rule.min_piece_m, 0.0, say("a length, 0 m or more")),
            ("join length", rule.join_length_m, 1e-6, say("a length above 0 m")),
        )
        if not least <= length <= 1e9
    ]


def _strand_faults(question: LimitQuestion) -> list[Fault]:
    ball_m, strand_m = question.rule.ball_length_m, question.strand_m
    least = LEAST_BALLS * ball_m
    if not least <= strand_m <= 1e9:
        return [
            Fault(
                say("no such strand to draw"),
                say(
                    "{least:g} m ({balls} balls) to 1 000 000 km",
                    least=least,
                    balls=LEAST_BALLS,
                ),
                key="strand length",
                value=f"{strand_m:g} m",
            )
        ]
    rates = question.sources.intensities_per_m
    joins = strand_m * (
        sum(rates.values()) + rates["breaks"] * max(question.break_factors[2] - 1.0, 0.0)
    )
    if joins > MOST_JOINS or strand_m / ball_m > MOST_JOINS:
        return [
            Fault(
                say("too many joins or balls on a strand"),
                say("at most {most} of each: a shorter strand", most=MOST_JOINS),
                key="strand length",
                value=f"{strand_m:g} m",
            )
        ]
    return []
