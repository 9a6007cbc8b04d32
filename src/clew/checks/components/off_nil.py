"""A fit whose variances are kept off nil, for judging single winders.

Where winders stand close, the likeliest variance among them is often nil; predicted from that, all
winders would be the same for certain, with errors far too small. A variance that is only not ruled
out must not be taken for known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from clew.checks.components.reml import Fit, at_ratios

_STEPS = 60
_LEAST, _MOST = 1e-3, 1e4
"""How far a ratio is looked for below and above 1 / (balls of a level) [-]."""


def off_nil(fit: Fit, sources: Sequence[str]) -> Fit:
    """Move the variances of some sources off nil, the other ratios kept.

    Parameters
    ----------
    fit : Fit
        The fitted model.
    sources : sequence of str
        Sources to move; those that the fit has not are passed over.

    Returns
    -------
    Fit
        The same with the ratios that make restricted likelihood times standard deviation largest.

    Notes
    -----
    The factor is nil at nil and all but level where the balls tell the variance; it moves the
    estimate up by about one standard error where they do not. Source: Bayes modal estimation of
    variances, Chung and others 2013, MEMORY; coverage held by simulation in the tests.
    """
    cells, found = fit.cross.design, fit
    free = cells.rows - 1
    for source in sources:
        if source not in cells.factors:
            continue
        place = cells.factors.index(source)
        scale = cells.levels(place) / cells.rows
        tried = np.geomspace(_LEAST * scale, max(_MOST * scale, 1.0), _STEPS)
        tried = np.append(tried, max(float(found.ratios[place]), _LEAST * scale))
        best, its = math.inf, found
        for ratio in tried.tolist():
            ratios = found.ratios.copy()
            ratios[place] = ratio
            point = at_ratios(fit.cross, ratios)
            cost = free * math.log(max(point.rss, 1e-300)) + point.logs - math.log(ratio)
            if cost < best:
                within = point.rss / free
                best = cost
                its = replace(found, ratios=ratios, within=within, point=point)
        found = its
    return found
