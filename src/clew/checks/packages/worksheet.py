"""The worksheet of one quantity of one sample: every figure between the balls and the answer."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from clew.checks.packages.judge import EQUAL_FRAC, at_least, short_of
from clew.checks.packages.plan import Plan
from clew.checks.packages.sample import Sample, said_name
from clew.faults import BadInput, Fault
from clew.languages import say

_FEWEST_DECIMALS = 5
AllowanceWhen = Literal["before", "after"]


@dataclass(frozen=True, slots=True)
class Ball:
    """One ball of the worksheet.

    Attributes
    ----------
    name : str
        Its name, or its line in the file.
    content : float
        Net content [g or m].
    gross : float or None
        Gross mass [g].
    error : float
        Content less the declaration, less still by an allowance known before the test [g or m].
    units : float or None
        The error in units of measure [-].
    short, far_short, at_limit : bool
        Beyond the deficiency, beyond the one no ball may pass, and exactly at it.
    """

    name: str
    content: float
    gross: float | None
    error: float
    units: float | None
    short: bool
    far_short: bool
    at_limit: bool


@dataclass(frozen=True, slots=True)
class Worksheet:
    """Every figure of one quantity's test; masses in g, lengths in m.

    Attributes
    ----------
    plan : Plan
        What was asked; where a law lets all balls at hand count, `average_n` is their number.
    lot_size, n_given, n_used, n_required : int
        Balls in the lot, in the file, in the mean, and those the plan still or already needs.
    left_out, left_out_short : int
        Balls beyond the plan's number, not judged, and those of them that are short.
    left_out_far : tuple of Ball
        Those beyond it that are far short: no ball may be, so each fails the lot.
    tare_mean, nominal_gross : float or None
        Mean tare and the gross mass a ball would have at its declaration [g]; lowered by an
        allowance known before the test.
    tare_n : int
        Tares weighed or entered.
    allowance : float
        Moisture allowance [g].
    allowance_when : {"before", "after"}
        Taken off the nominal gross mass, or added to the limits that failed.
    unit_of_measure : float or None
        Least decade of the scale's division, or of the figures in the file [g or m].
    balls : tuple of Ball
        Balls judged, in the order of the file.
    total_error, mean_error, mean : float
        Of the balls in the mean [g or m].
    sd, sample_error_limit, limit : float or None
        Standard deviation, it times the factor, and the lowest mean that passes [g or m]; None
        where one ball gives none.
    deficiency_used, far_used : float
        Shortage that counts a ball as short, or as far short, allowance included [g or m].
    short_count, far_count : int
        Balls short, and far short, among those judged.
    allowed : int or None
        Most short balls at which the stage that decides accepts; None where nothing is asked.
    steps : tuple of str
        What was done after a first test failed.
    average_pass, individual_pass, passed : bool or None
        The answers; None where they are not decided.
    average_at_limit : bool
        The mean lies exactly at its limit.
    open_reasons : tuple of str
        Why something is not decided.
    sample : Sample
        The figures as taken, with the condition and what is doubtful.
    """

    plan: Plan
    lot_size: int
    n_given: int
    n_used: int
    n_required: int
    left_out: int
    left_out_short: int
    left_out_far: tuple[Ball, ...]
    tare_mean: float | None
    tare_n: int
    nominal_gross: float | None
    allowance: float
    allowance_when: AllowanceWhen
    unit_of_measure: float | None
    balls: tuple[Ball, ...]
    total_error: float
    mean_error: float
    mean: float
    sd: float | None
    sample_error_limit: float | None
    limit: float | None
    deficiency_used: float
    far_used: float
    short_count: int
    far_count: int
    allowed: int | None
    steps: tuple[str, ...]
    average_pass: bool | None
    individual_pass: bool | None
    passed: bool | None
    average_at_limit: bool
    open_reasons: tuple[str, ...]
    sample: Sample


def both(one: bool | None, other: bool | None) -> bool | None:
    """Join two answers: a no is a no whatever else is open."""
    if one is False or other is False:
        return False
    return None if one is None or other is None else True


def unit_of_measure(values: NDArray[np.float64], division: float | None) -> float | None:
    """Find the unit in which errors are noted as whole numbers.

    Parameters
    ----------
    values : array of float
        The figures of the file [g or m].
    division : float or None
        Scale's division; without it the decimals of the figures are taken [g or m].

    Returns
    -------
    float or None
        The decade at or below the division: 0.1 for 0.5; None where the figures show none.

    Notes
    -----
    Source: NIST Handbook 133 (2026), 2.3.5, READ: 0.5 g notes in 0.1 g, 0.002 lb in 0.001 lb.
    """
    if division is not None:
        return float(f"1e{math.floor(math.log10(division) + 1e-9)}")
    for decimals in range(_FEWEST_DECIMALS):
        if np.allclose(values * 10**decimals, np.round(values * 10**decimals), rtol=0, atol=1e-6):
            return float(f"1e{-decimals}")
    return None


def work_out(
    plan: Plan,
    sample: Sample,
    lot_size: int,
    *,
    allowance_when: AllowanceWhen = "after",
    division: float | None = None,
) -> Worksheet:
    """Judge one sample and keep every figure.

    Parameters
    ----------
    plan : Plan
        The plan, with the allowance taken off; where it comes after the test, it is put back on
        the limits that hold without it.
    sample : Sample
        The balls in the order drawn.
    lot_size : int
        Balls in the lot.
    allowance_when : {"before", "after"}
        When a moisture allowance comes in: known before, it lowers the nominal gross mass; found
        after, it widens the limits that failed. The answer is the same, the sheet is not.
    division : float or None
        Scale's division [g or m].

    Returns
    -------
    Worksheet
        The sheet.

    Raises
    ------
    BadInput
        When there is no ball, or there are more than in the lot.

    Notes
    -----
    The plan's first balls in the order of the file are the sample; more are left out and counted,
    because choosing how many count after they were seen would be no test. Only the thread laws
    take all that are there: they say "at least ten". A ball far short fails the lot wherever it
    stands in the file: the rule is on every ball, and it was found. With too few balls an answer
    that no further ball could mend is given, any other is left open.
    Source: NIST Handbook 133 (2026), 2.3; READ.
    """
    contents = sample.contents
    given = len(contents)
    if given == 0:
        raise BadInput(
            Fault(
                say("no ball with a mass")
                if sample.quantity == "mass"
                else say("no ball with a length"),
                say("one or more"),
            )
        )
    if given > lot_size:
        raise BadInput(
            Fault(
                say(
                    "more balls measured ({given}) than the lot has ({lot_size})",
                    given=given,
                    lot_size=lot_size,
                ),
                say("the whole lot's size"),
                key="lot size",
                value=str(lot_size),
            )
        )
    asked_n = plan.average_n
    if plan.rule == "us-thread-states":
        plan = replace(plan, average_n=max(plan.average_n, given))
    used = min(given, plan.average_n) if plan.average_n else given
    steps: tuple[str, ...] = ()
    if allowance_when == "after":
        plan, steps = _after(plan, contents)
    short, far = short_of(plan, contents)
    individual, allowed, drawn, need = _individual(plan, short, far)
    judged = min(given, max(drawn, plan.average_n, 1))
    beyond = np.flatnonzero(far[drawn:]) + drawn
    if len(beyond):
        individual = False
    taken = contents[:used]
    mean = float(taken.mean())
    sd = float(taken.std(ddof=1)) if used > 1 else None
    spread = None if sd is None else plan.factor * sd
    if plan.factor == 0.0 and plan.average_n:
        spread = 0.0
    limit = None if spread is None or plan.average_n == 0 else plan.floor - spread
    average: bool | None = True
    reasons = []
    need = max(need, asked_n)
    if asked_n > given:
        average = None
    elif plan.average_n and limit is not None:
        average = bool(at_least(taken.mean(), limit, plan.declared))
    if given < need:
        reasons.append(say("{given} of {need} balls", given=given, need=need))
    if plan.individual_open:
        reasons.append(say("the limit for single balls is off until its table is confirmed"))
    tare = float(sample.tares.mean()) if len(sample.tares) else None
    taken_off = plan.allowance if allowance_when == "before" else 0.0
    unit = unit_of_measure(contents if sample.gross is None else sample.gross, division)
    errors = contents - (plan.declared - taken_off)
    tolerance = EQUAL_FRAC * plan.declared
    at_limit = np.abs(contents - (plan.declared - plan.deficiency)) <= tolerance

    def ball(place: int) -> Ball:
        return Ball(
            said_name(sample.names[place]),
            float(contents[place]),
            None if sample.gross is None else float(sample.gross[place]),
            float(errors[place]),
            None if unit is None else float(errors[place]) / unit,
            bool(short[place]),
            bool(far[place]),
            bool(at_limit[place]),
        )

    return Worksheet(
        plan=plan,
        lot_size=lot_size,
        n_given=given,
        n_used=used,
        n_required=need,
        left_out=given - judged,
        left_out_short=int(short[judged:].sum()),
        left_out_far=tuple(ball(int(place)) for place in beyond),
        tare_mean=tare,
        tare_n=len(sample.tares),
        nominal_gross=None if tare is None else plan.declared + tare - taken_off,
        allowance=plan.allowance,
        allowance_when=allowance_when,
        unit_of_measure=unit,
        balls=tuple(ball(place) for place in range(judged)),
        total_error=float(errors[:used].sum()),
        mean_error=float(errors[:used].mean()),
        mean=mean,
        sd=sd,
        sample_error_limit=spread,
        limit=limit,
        deficiency_used=plan.deficiency,
        far_used=plan.far_deficiency,
        short_count=int(short[:drawn].sum()) if plan.stages else 0,
        far_count=int(far[:drawn].sum()) if plan.stages else 0,
        allowed=allowed,
        steps=steps,
        average_pass=average,
        individual_pass=individual,
        passed=both(average, individual),
        average_at_limit=limit is not None and abs(mean - limit) <= tolerance,
        open_reasons=tuple(reasons),
        sample=sample,
    )


def _individual(
    plan: Plan, short: NDArray[np.bool_], far: NDArray[np.bool_]
) -> tuple[bool | None, int | None, int, int]:
    """Go through the stages: the answer, what was allowed, balls looked at, balls needed."""
    if plan.individual_open:
        return None, None, 0, 0
    if not plan.stages:
        return True, None, 0, 0
    given = len(short)
    for place, stage in enumerate(plan.stages):
        drawn = min(stage.drawn, given)
        count = int(short[:drawn].sum())
        if count >= stage.reject or far[:drawn].any():
            return False, stage.accept, drawn, stage.drawn
        if given < stage.drawn:
            return None, stage.accept, drawn, stage.drawn
        if count <= stage.accept:
            return True, stage.accept, drawn, stage.drawn
        assert place + 1 < len(plan.stages)
    raise AssertionError("the last stage accepts or rejects")


def _after(plan: Plan, contents: NDArray[np.float64]) -> tuple[Plan, tuple[str, ...]]:
    """Test without the allowance first; add it to the limits that failed, and to no other.

    Source: NIST Handbook 133 (2026), 2.3.8, READ: only the average failed, only the allowable
    variation failed, or both.
    """
    allowance = plan.allowance
    if allowance == 0.0:
        return plan, ()
    bare = replace(plan, floor=plan.floor + allowance, deficiency=plan.deficiency - allowance)
    steps = []
    taken = contents[: plan.average_n]
    spread = plan.factor * float(taken.std(ddof=1)) if len(taken) > 1 else 0.0
    if plan.average_n and not at_least(taken.mean(), bare.floor - spread, plan.declared):
        steps.append(
            say(
                "the mean fails without it; sample error limit {spread:.4g} + {allowance:.4g} = "
                "{limit:.4g} g",
                spread=spread,
                allowance=allowance,
                limit=spread + allowance,
            )
        )
        bare = replace(bare, floor=plan.floor)
    short, far = short_of(bare, contents)
    if _individual(bare, short, far)[0] is False:
        steps.append(
            say(
                "single balls fail without it; allowable variation {variation:.4g} + "
                "{allowance:.4g} = {limit:.4g} g",
                variation=bare.deficiency,
                allowance=allowance,
                limit=plan.deficiency,
            )
        )
        bare = replace(bare, deficiency=plan.deficiency)
    return bare, tuple(steps) or (say("not needed"),)
