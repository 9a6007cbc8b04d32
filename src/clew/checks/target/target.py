"""The least lawful target: the smallest mean ball whose lots fail no oftener than a stated risk."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clew.checks.packages.plan import Plan
from clew.checks.target.chances import LotMake
from clew.checks.target.inspected import (
    Asked,
    Condition,
    Drawn,
    MeanBall,
    draw_inspections,
)
from clew.checks.target.spread import Floats, Spread
from clew.faults import BadInput, Fault
from clew.languages import say

LEAST_RISK = 1e-4
MOST_RISK = 0.5
SURENESS = 0.95
"""How sure it must be that the risk is kept, as far as drawing a finite number goes [-]."""
_FEWEST, _MOST = 40_000, 400_000


@dataclass(frozen=True, slots=True)
class FailureRate:
    """Share of lots that fail, as counted among drawn inspections.

    Attributes
    ----------
    frac : float
        Share that failed [-].
    se : float
        Its standard error [-].
    upper : float
        One-sided 95 % upper bound of the true share [-].
    """

    frac: float
    se: float
    upper: float


@dataclass(frozen=True, slots=True)
class Need:
    """What one requirement asks by itself.

    Attributes
    ----------
    asked : Asked
        The requirement.
    mass_g, length_m : float
        Mean ball it would need if it were alone [g], [m].
    failure : FailureRate
        Lots that fail it at the target.
    share_frac : float
        Share of the failing lots for which it is the last to be met [-].
    """

    asked: Asked
    mass_g: float
    length_m: float
    failure: FailureRate
    share_frac: float


@dataclass(frozen=True, slots=True)
class TargetAnswer:
    """The least lawful target and what makes it.

    Attributes
    ----------
    scale : float
        Target over the mean ball it was asked for [-].
    least : float
        Size at which the mean ball holds its declarations [-]; -inf where that is not asked.
    by_declaration : bool
        The declaration itself sets it: sampling alone would let the mean lie lower.
    mass_g, length_m : float
        The mean ball to aim at, at the condition of weighing [g], [m].
    risk : float
        Largest share of lots that may fail [-].
    failure : FailureRate
        Share that does, at the target.
    drawing_g : float
        How much of the target covers that only so many inspections were drawn [g].
    needs : tuple of Need
        Each requirement by itself, the most demanding first.
    drawn : Drawn
        The inspections it was read off.
    """

    scale: float
    least: float
    by_declaration: bool
    mass_g: float
    length_m: float
    risk: float
    failure: FailureRate
    drawing_g: float
    needs: tuple[Need, ...]
    drawn: Drawn

    @property
    def binding(self) -> Need:
        """The requirement that alone would ask for the most."""
        return self.needs[0]


def inspections_for(risk: float) -> int:
    """How many inspections to draw so that a risk [-] is known to a tenth of itself."""
    check_risk(risk)
    return int(min(max(150.0 / risk, _FEWEST), _MOST))


def check_risk(risk: float) -> None:
    """Refuse a risk [-] that drawing cannot settle.

    Raises
    ------
    BadInput
        When it is below 0.01 % or above half.
    """
    if not LEAST_RISK <= risk <= MOST_RISK:
        raise BadInput(
            Fault(
                say("a risk out of reach"),
                say("0.01 % to 50 %"),
                key="risk",
                value=f"{100 * risk:g} %",
            )
        )


def failure_rate(least: Floats, scale: float) -> FailureRate:
    """Count the inspections that fail at a size of the mean ball.

    Parameters
    ----------
    least : array of float, shape (inspections,)
        Least size at which each passes [-].
    scale : float
        Size of the mean ball [-].

    Returns
    -------
    FailureRate
        Share, standard error, and upper bound (Clopper and Pearson 1934, one-sided 95 %).
    """
    from scipy.special import betaincinv

    number = least.size
    failed = int(np.count_nonzero(least > scale))
    frac = failed / number
    upper = 1.0 if failed == number else float(betaincinv(failed + 1, number - failed, SURENESS))
    return FailureRate(frac, math.sqrt(frac * (1.0 - frac) / number), upper)


def least_scale(least: Floats, risk: float) -> float:
    """Find the smallest size of the mean ball whose upper bound of failure keeps a risk.

    Parameters
    ----------
    least : array of float, shape (inspections,)
        Least size at which each inspection passes [-].
    risk : float
        Largest share that may fail [-].

    Returns
    -------
    float
        The size [-]; -inf when even nought passes.

    Raises
    ------
    BadInput
        When so few inspections cannot show the risk to be kept, or no size passes.

    Notes
    -----
    With j the most failures among S for which P(X <= j; S, risk) <= 5 %, the size is the (j+1)-th
    largest: a tolerance limit free of any distribution. Source: Wilks 1941, MEMORY.
    """
    from scipy.special import bdtr

    number = least.size
    guess = int(risk * number)
    counts = np.arange(guess + 1)
    allowed = int(np.count_nonzero(bdtr(counts, number, risk) <= 1.0 - SURENESS)) - 1
    if allowed < 0:
        raise BadInput(
            Fault(
                say("too few inspections drawn for the risk"),
                expected=say("{ceil} or more", ceil=math.ceil(3.0 / risk)),
                key="inspections",
                value=str(number),
            )
        )
    found = float(np.partition(least, number - 1 - allowed)[number - 1 - allowed])
    if found == math.inf:
        raise BadInput(no_target())
    return found


def no_target() -> Fault:
    """What is wrong where balls spread so far that some weigh nothing."""
    return Fault(
        say("no target keeps the risk"), say("a smaller spread or a larger risk"), key="risk"
    )


def least_target(
    plans: Sequence[Plan],
    ball: MeanBall,
    spread: Spread,
    lot: LotMake,
    condition: Condition | None = None,
    *,
    risk: float = 0.01,
    inspections: int | None = None,
    seed: int = 1,
    at_least_declared: bool = True,
) -> TargetAnswer:
    """Find the least mean ball whose lots fail an inspection no oftener than the risk.

    Parameters
    ----------
    plans : sequence of Plan
        What the markets ask, of mass and of length; a lot fails when it fails any.
    ball : MeanBall
        Mass and length that the same turns give; the target keeps their proportion.
    spread : Spread
        How balls differ, with its doubt.
    lot : LotMake
        The lot that is inspected.
    condition : Condition or None
        Condition of the inspection; as weighed and without doubt when left out.
    risk : float
        Largest share of lots that may fail [-], 0.0001 to 0.5.
    inspections : int or None
        How many to draw; enough for the risk when left out.
    seed : int
        Seed.
    at_least_declared : bool
        The mean aimed at is not to lie below a declaration, though the tolerance that the rules
        leave to sampling would often let it.

    Returns
    -------
    TargetAnswer
        The target, its failure rate with the doubt of drawing, and what each requirement needs.

    Raises
    ------
    BadInput
        When the risk is out of reach or the inputs are not usable.

    Notes
    -----
    Failure falls as the mean ball grows, on the same drawn chances inspection by inspection; so the
    least target is an order statistic of the least sizes and needs no search. Besides, the mean is
    not set below a declaration: the rules ask that of it, and what they leave to sampling is not
    there to be used up. Source: DERIVED.
    """
    check_risk(risk)
    number = inspections_for(risk) if inspections is None else inspections
    seen = condition or Condition()
    drawn = draw_inspections(plans, ball, spread, lot, seen, inspections=number, seed=seed)
    whole = drawn.whole
    by_sampling = least_scale(whole, risk)
    least = declared_scale(plans, ball, seen) if at_least_declared else -math.inf
    scale = max(by_sampling, least)
    if scale == -math.inf:
        raise BadInput(
            Fault(say("nothing is asked of the lot"), say("a declared content above nought"))
        )
    return TargetAnswer(
        scale=scale,
        least=least,
        by_declaration=least > by_sampling,
        mass_g=ball.mass_g * scale,
        length_m=ball.length_m * scale,
        risk=risk,
        failure=failure_rate(whole, scale),
        drawing_g=ball.mass_g
        * (scale - max(float(np.quantile(whole, 1.0 - risk, method="higher")), least)),
        needs=_needs(drawn, ball, scale, risk),
        drawn=drawn,
    )


def mass_at_risk(answer: TargetAnswer, risk: float) -> float:
    """Target that another risk would ask for, read off the same inspections.

    Parameters
    ----------
    answer : TargetAnswer
        The answer for its own risk.
    risk : float
        The other risk [-].

    Returns
    -------
    float
        Mean ball [g]; not below the declaration where the answer is not.

    Raises
    ------
    BadInput
        When the risk is out of reach for so many inspections.
    """
    check_risk(risk)
    scale = max(least_scale(answer.drawn.whole, risk), answer.least)
    return answer.mass_g / answer.scale * scale


def declared_scale(plans: Sequence[Plan], ball: MeanBall, condition: Condition) -> float:
    """Size of the mean ball at which it holds every declaration, as an inspection sees it [-]."""
    seen = {"mass": ball.mass_g * condition.mass_factor, "length": ball.length_m}
    return max(plan.declared / seen[plan.quantity] for plan in plans)


def _needs(drawn: Drawn, ball: MeanBall, scale: float, risk: float) -> tuple[Need, ...]:
    failing = drawn.least[drawn.whole > scale]
    last = failing.argmax(axis=1) if failing.size else np.zeros(0, dtype=np.intp)
    found = []
    for column, asked in enumerate(drawn.asked):
        least = drawn.least[:, column]
        alone = max(least_scale(least, risk), 0.0)
        found.append(
            Need(
                asked,
                ball.mass_g * alone,
                ball.length_m * alone,
                failure_rate(least, scale),
                float(np.mean(last == column)) if last.size else 0.0,
            )
        )
    return tuple(sorted(found, key=lambda need: -need.mass_g))


def money_a_year(grams: float, balls: float, price_per_kg: float) -> float:
    """Turn grams a ball into money a year.

    Parameters
    ----------
    grams : float
        Yarn saved or given away in one ball [g].
    balls : float
        Balls made in a year [1/a].
    price_per_kg : float
        Price of the yarn [money/kg].

    Returns
    -------
    float
        Money a year.
    """
    return grams * balls / 1000.0 * price_per_kg
