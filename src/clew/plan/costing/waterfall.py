"""The parts of a cost one on top of the other, ready to be drawn."""

from __future__ import annotations

from dataclasses import dataclass

from clew.languages import say
from clew.plan.costing.ball_cost import BallCost


@dataclass(frozen=True, slots=True)
class WaterfallStep:
    """One bar.

    Attributes
    ----------
    stage, key, words : str
        Whose it is: ``total`` and ``price`` stand on the ground.
    start, end : float
        Where it begins and ends [money].
    """

    stage: str
    key: str
    words: str
    start: float
    end: float


def waterfall(cost: BallCost, *, least_frac: float = 0.0) -> tuple[WaterfallStep, ...]:
    """Pile the parts of a cost up.

    Parameters
    ----------
    cost : BallCost
        The cost.
    least_frac : float
        Parts of a stage smaller than this share of the total are drawn as one [1].

    Returns
    -------
    tuple of WaterfallStep
        The parts, each from where the one before it ended; then the total, and the price where
        there is one.
    """
    steps: list[WaterfallStep] = []
    level = 0.0
    for stage in cost.stages:
        small = 0.0
        for part in stage.parts:
            if abs(part.money) < least_frac * cost.total:
                small += part.money
                continue
            end = level + part.money
            steps.append(WaterfallStep(stage.key, part.key, part.words, level, end))
            level = end
        if small:
            words = say("other: {stage}", stage=stage.words)
            steps.append(
                WaterfallStep(stage.key, f"{stage.key}_other", words, level, level + small)
            )
            level += small
    steps.append(WaterfallStep("total", "total", say("a first-quality ball"), 0.0, cost.total))
    price = cost.figures.price
    if price is not None:
        steps.append(WaterfallStep("price", "price", say("its price"), 0.0, price))
    return tuple(steps)
