"""Plans by hand for these tests, and a naive judge of one sample."""

from __future__ import annotations

import math
import statistics

from clew.checks.packages.plan import Plan, Quantity, Stage

MARKS = ("OURS: by hand for a test",)


def single(
    declared: float = 100.0,
    *,
    n: int = 24,
    accept: int = 0,
    factor: float = 0.422,
    deficiency: float = 7.2,
    far: float = math.inf,
    quantity: Quantity = "mass",
    average_n: int | None = None,
) -> Plan:
    """A plan of one stage."""
    return Plan(
        rule="us-category-a",
        quantity=quantity,
        declared=declared,
        floor=declared,
        factor=factor,
        average_n=n if average_n is None else average_n,
        stages=(Stage(n, accept, accept + 1),),
        deficiency=deficiency,
        far_deficiency=far,
        whole_lot=False,
        marks=MARKS,
        confirmed=True,
    )


def double(declared: float = 100.0, *, deficiency: float = 4.5, far: float = 9.0) -> Plan:
    """A plan of two stages, with far short balls."""
    return Plan(
        rule="eu-average",
        quantity="mass",
        declared=declared,
        floor=declared,
        factor=0.379,
        average_n=50,
        stages=(Stage(50, 2, 5), Stage(100, 6, 7)),
        deficiency=deficiency,
        far_deficiency=far,
        whole_lot=False,
        marks=MARKS,
        confirmed=True,
    )


def averages_only(declared: float = 50.0, *, n: int = 10, floor: float = 48.5) -> Plan:
    """The mean alone, held against a floor."""
    return Plan(
        rule="us-thread-states",
        quantity="mass",
        declared=declared,
        floor=floor,
        factor=0.0,
        average_n=n,
        stages=(),
        deficiency=math.inf,
        far_deficiency=math.inf,
        whole_lot=False,
        marks=MARKS,
        confirmed=True,
    )


def judged(plan: Plan, contents: list[float]) -> bool:
    """Judge one sample ball by ball, as an inspector would."""
    taken = contents[: plan.average_n]
    spread = statistics.stdev(taken) if len(taken) > 1 else 0.0
    if taken and sum(taken) / len(taken) < plan.floor - plan.factor * spread:
        return False
    for stage in plan.stages:
        seen = contents[: stage.drawn]
        if any(ball < plan.declared - plan.far_deficiency for ball in seen):
            return False
        short = sum(ball < plan.declared - plan.deficiency for ball in seen)
        if short >= stage.reject:
            return False
        if short <= stage.accept:
            return True
    return not plan.stages
