"""A chart of any kind set to so many groups between false alarms, and how soon it then calls."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from scipy.optimize import minimize_scalar
from scipy.special import ndtri

from clew.checks.charts.run_length_chain import Chain, steady_length
from clew.checks.charts.run_length_cusum import (
    cusum_chain,
    cusum_h_for,
    cusum_run_length,
    cusum_steady_length,
)
from clew.checks.charts.run_length_ewma import (
    ewma_chain,
    ewma_run_length,
    ewma_steady_length,
    ewma_width_for,
    width_that_gives,
)
from clew.checks.charts.run_length_rules import rules_chain, rules_run_length
from clew.checks.charts.run_length_shewhart import shewhart_chain, width_for

Kind = Literal["xbar", "xbar-rules", "ewma", "cusum"]

SIMPLEST: tuple[Kind, ...] = ("xbar", "xbar-rules", "ewma", "cusum")
"""Kinds from the simplest to keep by hand on."""

TOLD_RULES = ("beyond-3", "2-of-3", "4-of-5")
"""Rules of the chart with rules; its zones are stretched until its false alarms are those allowed.
Eight on one side cannot be stretched and is left out."""


def set_to(kind: Kind, quiet: float, shift: float) -> dict[str, float]:
    """Set a chart to so many groups between false alarms, as sharp as can be for a shift.

    Parameters
    ----------
    kind : Kind
        Kind of chart.
    quiet : float
        Groups to a false alarm, on average, 10 to a million [1].
    shift : float
        The shift it should see, in sd of a plotted point, above 0 [1].

    Returns
    -------
    dict of str to float
        `width`; or `scale`; or `weight` and `width`; or `k` and `h`, in sd of a plotted point.

    Raises
    ------
    BadInput
        When no chart of the kind can be set so.

    Notes
    -----
    k is half the shift, the classical choice (MEMORY); an EWMA's weight is searched for.
    """
    if kind == "xbar":
        return {"width": width_for(quiet)}
    if kind == "xbar-rules":
        scale = width_that_gives(
            lambda one: rules_run_length(TOLD_RULES, scale=one), quiet, low=0.5, high=2.4
        )
        return {"scale": scale}
    if kind == "ewma":
        weight = _sharpest_weight(quiet, shift)
        return {"weight": weight, "width": ewma_width_for(quiet, weight)}
    # beyond this k the chart without any memory already runs longer than allowed
    most = float(-ndtri(1.0 / (1.4 * quiet)))
    k = min(max(round(0.5 * shift, 3), 0.05), most)
    return {"k": k, "h": cusum_h_for(quiet, k)}


def _sharpest_weight(quiet: float, shift: float) -> float:
    """Weight of the newest point that sees a shift soonest, to two digits."""

    def seen(log_weight: float) -> float:
        weight = min(math.exp(log_weight), 1.0)
        width = ewma_width_for(quiet, weight)
        return ewma_chain(weight, width, shift).arl()

    tried = np.linspace(math.log(0.02), 0.0, 9)
    lengths = [seen(float(one)) for one in tried]
    least = int(np.argmin(lengths))
    ends = (float(tried[max(least - 1, 0)]), float(tried[min(least + 1, tried.size - 1)]))
    found = minimize_scalar(seen, bounds=ends, method="bounded", options={"xatol": 0.01})
    log_weight = float(found.x) if found.fun < lengths[least] else float(tried[least])
    return min(float(f"{math.exp(log_weight):.2g}"), 1.0)


def shifted_chain(kind: Kind, terms: dict[str, float], shift: float) -> Chain:
    """The chart under a shift as a chain; of a CUSUM the sum on the side of the shift."""
    if kind == "xbar":
        return shewhart_chain(terms["width"], shift)
    if kind == "xbar-rules":
        return rules_chain(TOLD_RULES, shift, scale=terms["scale"])
    if kind == "ewma":
        return ewma_chain(terms["weight"], terms["width"], shift)
    return cusum_chain(terms["k"], terms["h"], shift)


def mean_run(kind: Kind, terms: dict[str, float], shift: float) -> float:
    """Groups to the call on average, for a chart started afresh under a shift."""
    if kind == "ewma":
        return ewma_run_length(terms["weight"], terms["width"], shift).arl
    if kind == "cusum":
        return cusum_run_length(terms["k"], terms["h"], shift).arl
    return shifted_chain(kind, terms, shift).arl()


def mean_later(kind: Kind, terms: dict[str, float], shift: float) -> float:
    """Groups to the call on average, for a shift after a long quiet run."""
    if kind == "ewma":
        return ewma_steady_length(terms["weight"], terms["width"], shift).arl
    if kind == "cusum":
        return cusum_steady_length(terms["k"], terms["h"], shift).arl
    return steady_length(shifted_chain(kind, terms, 0.0), shifted_chain(kind, terms, shift))
