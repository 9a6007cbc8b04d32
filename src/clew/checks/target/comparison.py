"""What other ways of setting a mean would say, beside the lawful target."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from clew.checks.packages.plan import Plan
from clew.checks.target.economic import giveaway_against_short, hunter_kartha, three_rules
from clew.faults import BadInput


@dataclass(frozen=True, slots=True)
class Compared:
    """One other mean.

    Attributes
    ----------
    key, words : str
        Stable name, and what it weighs.
    mass_g : float
        The mean [g].
    short_frac : float
        Share of balls below the declaration there [-].
    """

    key: str
    words: str
    mass_g: float
    short_frac: float


def compare(
    plans: Sequence[Plan],
    sd_g: float,
    *,
    yarn_per_kg: float | None = None,
    ball_price: float | None = None,
    short_price: float | None = None,
) -> tuple[Compared, ...]:
    """Work out the means that rules of thumb and economic models call best.

    Parameters
    ----------
    plans : sequence of Plan
        What is asked of mass.
    sd_g : float
        Standard deviation of a ball taken from any lot [g].
    yarn_per_kg : float or None
        Price of the yarn [money/kg].
    ball_price, short_price : float or None
        Price of a ball that holds its declaration, and of one that does not [money].

    Returns
    -------
    tuple of Compared
        Those that the figures allow; none knows of an inspection.
    """
    masses = [plan for plan in plans if plan.quantity == "mass"]
    if not masses or sd_g <= 0.0:
        return ()
    found = []
    for plan in masses:
        if math.isfinite(plan.far_deficiency) and math.isfinite(plan.deficiency):
            rules = three_rules(
                plan.declared,
                plan.declared - plan.deficiency,
                plan.declared - plan.far_deficiency,
                sd_g,
            )
            words = f"the three rules of {plan.rule}, before sampling"
            found.append(_compared(f"three-rules {plan.rule}", words, rules.mean, plan, sd_g))
    plan = max(masses, key=lambda one: one.declared)
    if yarn_per_kg and ball_price is not None and short_price is not None:
        cost = yarn_per_kg / 1000.0
        try:
            best = hunter_kartha(ball_price, short_price, cost, sd_g, plan.declared)
            words = "short balls sold for less (Hunter and Kartha)"
            found.append(_compared("hunter-kartha", words, best.mean, plan, sd_g))
            best = giveaway_against_short(cost, ball_price - short_price, sd_g, plan.declared)
            words = "a fixed cost for each short ball"
            found.append(_compared("linear-giveaway", words, best.mean, plan, sd_g))
        except BadInput:
            pass  # prices at which no mean is best: there is nothing to compare with
    return tuple(found)


def _compared(key: str, words: str, mean: float, plan: Plan, sd_g: float) -> Compared:
    z = (mean - plan.declared) / sd_g
    return Compared(key, words, mean, 0.5 * math.erfc(z / math.sqrt(2.0)))
