"""One question for every kind of chart: how long does it run under a shift?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from clew.checks.charts.run_length_chain import Chain, RunLength, check_between, steady_length
from clew.checks.charts.run_length_counts import (
    MOST_MEAN,
    poisson_cusum_chain,
    poisson_cusum_run_length,
)
from clew.checks.charts.run_length_cusum import (
    Sides,
    cusum_chain,
    cusum_nodes,
    cusum_run_length,
    cusum_steady_length,
)
from clew.checks.charts.run_length_ewma import (
    ewma_chain,
    ewma_run_length,
    ewma_steady_length,
    first_nodes,
)
from clew.checks.charts.run_length_rules import is_exact, rules_chain, rules_exact, rules_simulated
from clew.checks.charts.run_length_shewhart import (
    MOST_SHIFT,
    moving_range_chain,
    moving_range_run_length,
    shewhart_chain,
    shewhart_run_length,
)

ChartKind = Literal["xbar", "ewma", "cusum", "individuals-mr", "poisson-cusum"]

USUAL_RANGE_WIDTH = 3.6855
"""D4 d2 for ranges of two: the usual upper limit of a moving range, in sd of a ball."""


@dataclass(frozen=True, slots=True)
class AskedChart:
    """A chart as it is asked about; what its kind does not use is left as it is.

    Attributes
    ----------
    chart : {"xbar", "ewma", "cusum", "individuals-mr", "poisson-cusum"}
        Its kind.
    width : float
        Limits, in sd of a plotted point (of the average for an EWMA).
    rules : tuple of str
        Run rules of an X-bar chart beside its limits; zones are a third of `width`.
    weight : float
        λ of an EWMA.
    exact_limits : bool
        EWMA limits that widen with the number of points.
    head_start : float
        Share of the limit (EWMA), or value of the sum (CUSUMs).
    k, h : float
        Reference and decision value of a CUSUM.
    sides : {"one", "two"}
        Of a CUSUM.
    range_width : float
        Upper limit of the moving range, in sd of a ball.
    mean : float
        Mean count of a plotted point, without a shift.
    lower : bool
        A CUSUM of counts that watches for fewer.
    runs, seed : int
        For rules that are simulated.
    """

    chart: ChartKind
    width: float = 3.0
    rules: tuple[str, ...] = ()
    weight: float = 0.1
    exact_limits: bool = False
    head_start: float = 0.0
    k: float = 0.5
    h: float = 5.0
    sides: Sides = "two"
    range_width: float = USUAL_RANGE_WIDTH
    mean: float = 1.0
    lower: bool = False
    runs: int = 20_000
    seed: int = 1924


@dataclass(frozen=True, slots=True)
class AskedRun:
    """How long it runs.

    Attributes
    ----------
    arl : float
        Points to the call, on average, the chart started afresh.
    nodes : int
        Nodes of the quadrature; 0 for closed forms, exact chains and simulations.
    change_rel : float
        Change at the last doubling of the nodes, relative.
    standard_error : float
        Of a simulated `arl`; 0 otherwise.
    arl_later : float or None
        The same for a shift that comes after a long quiet run; None where it is not worked out.
    median, ninety : int or None
        Points within which it calls with chance 0.5 and 0.9; None where it is not worked out.
    """

    arl: float
    nodes: int
    change_rel: float
    standard_error: float = 0.0
    arl_later: float | None = None
    median: int | None = None
    ninety: int | None = None


def asked_run_length(asked: AskedChart, shift: float = 0.0, *, more: bool = True) -> AskedRun:
    """Answer for one shift.

    Parameters
    ----------
    asked : AskedChart
        The chart.
    shift : float
        Shift of the mean, in sd of a plotted point; of counts in their square-root mean [1].
    more : bool
        Also the run after a long quiet time and the spread, where they are worked out.

    Returns
    -------
    AskedRun
        The answer.

    Raises
    ------
    BadInput
        When a value is out of range.
    """
    if asked.chart == "xbar" and asked.rules:
        check_between("width", asked.width, 1.5, 7.5, "limits, with rules,")
        rules = ("beyond-3", *asked.rules)
        if not is_exact(rules):
            drawn = rules_simulated(
                rules, shift, scale=asked.width / 3.0, runs=asked.runs, seed=asked.seed
            )
            return AskedRun(drawn.arl, 0, 0.0, drawn.standard_error)
    found = _length(asked, shift)
    if not more:
        return AskedRun(found.arl, found.nodes, found.change_rel)
    chain = _chain(asked, shift)
    return AskedRun(
        arl=found.arl,
        nodes=found.nodes,
        change_rel=found.change_rel,
        arl_later=_later(asked, shift),
        median=chain.quantile(0.5) if chain else None,
        ninety=chain.quantile(0.9) if chain else None,
    )


def _length(asked: AskedChart, shift: float) -> RunLength:
    if asked.chart == "xbar":
        if asked.rules:
            rules = ("beyond-3", *asked.rules)
            return rules_exact(rules, shift, scale=asked.width / 3.0)
        return shewhart_run_length(asked.width, shift)
    if asked.chart == "ewma":
        return ewma_run_length(
            asked.weight,
            asked.width,
            shift,
            head_start=asked.head_start,
            exact_limits=asked.exact_limits,
        )
    if asked.chart == "cusum":
        return cusum_run_length(
            asked.k, asked.h, shift, head_start=asked.head_start, sides=asked.sides
        )
    if asked.chart == "individuals-mr":
        return moving_range_run_length(asked.width, asked.range_width, shift)
    return poisson_cusum_run_length(
        shifted_mean(asked.mean, shift),
        asked.k,
        asked.h,
        head_start=asked.head_start,
        lower=asked.lower,
    )


def shifted_mean(mean: float, shift: float) -> float:
    """Mean count after a shift in its square root; never below a millionth."""
    check_between("mean", mean, 1e-6, MOST_MEAN, "a mean count")
    check_between("shift", shift, -MOST_SHIFT, MOST_SHIFT, "a shift in square roots of the mean")
    return max(mean + shift * math.sqrt(mean), 1e-6)


def _chain(asked: AskedChart, shift: float) -> Chain | None:
    """The chart as a chain, where its run has one that is exact for it from the start asked."""
    if asked.chart == "xbar":
        if not asked.rules:
            return shewhart_chain(asked.width, shift)
        rules = ("beyond-3", *asked.rules)
        return rules_chain(rules, shift, scale=asked.width / 3.0) if is_exact(rules) else None
    if asked.chart == "individuals-mr":
        return moving_range_chain(asked.width, asked.range_width, shift)
    if asked.chart == "poisson-cusum":
        mean = shifted_mean(asked.mean, shift)
        return poisson_cusum_chain(
            mean, asked.k, asked.h, head_start=asked.head_start, lower=asked.lower
        )
    if asked.chart == "cusum":
        nodes = 2 * cusum_nodes(asked.h)
        one = cusum_chain(asked.k, asked.h, shift, nodes=nodes, start=asked.head_start)
        return one if asked.sides == "one" else None
    nodes = 2 * first_nodes(asked.weight, asked.width)
    moving = asked.exact_limits or asked.head_start > 0.0
    return None if moving else ewma_chain(asked.weight, asked.width, shift, nodes=nodes)


def _later(asked: AskedChart, shift: float) -> float | None:
    if asked.head_start > 0.0 or asked.exact_limits:
        return None
    if asked.chart == "ewma":
        return ewma_steady_length(asked.weight, asked.width, shift).arl
    if asked.chart == "cusum":
        if asked.sides == "two":
            return None
        return cusum_steady_length(asked.k, asked.h, shift).arl
    before, after = _chain(asked, 0.0), _chain(asked, shift)
    assert before is not None and after is not None
    return steady_length(before, after)
