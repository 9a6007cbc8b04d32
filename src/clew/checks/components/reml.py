"""Variances of crossed and nested sources by restricted maximum likelihood (REML).

The model is value = mean + sum of source effects + what the ball is by itself, all normal, with
ratios gamma of each source's variance to that of the ball by itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.anova import moments
from clew.checks.components.crossproducts import Blocks, Crossproducts, crossproducts, parts
from clew.checks.components.design import Design
from clew.checks.components.lowest import lowest
from clew.faults import BadInput, Fault

Floats = NDArray[np.float64]

LARGEST_RATIO = 1e5
"""A source's variance over the ball's own beyond which the ball's own cannot be told from nil."""


@dataclass(frozen=True, slots=True)
class Point:
    """The criterion at some ratios, in two parts and their slopes.

    Attributes
    ----------
    logs : float
        log det V + log x'V⁻¹x, with V in units of the within variance.
    rss : float
        y'Py, the sum of squares that V leaves [unit of the value, squared].
    logs_slope, rss_slope : array of float, shape (sources,)
        Derivatives to each ratio.
    mean : float
        The general mean less the design's centre [unit of the value].
    mean_information : float
        x'V⁻¹x [-].
    solved : array of float, shape (columns,)
        Coefficients by which the columns, source-weighted, give Py.
    to_mean : array of float, shape (columns,)
        Coefficients by which they give V⁻¹x.
    through : array of float, shape (columns, columns)
        Crossproducts of the columns through V⁻¹.
    spread : array of float, shape (levels, levels)
        Λ H⁻¹ Λ over the other sources' levels.
    nested : Blocks
        The nested source with the largest one taken out; its `own` and `beside` count.
    nested_weight : array of float, shape (nested levels,)
        By which the nested source's levels are taken out.
    """

    logs: float
    rss: float
    logs_slope: Floats
    rss_slope: Floats
    mean: float
    mean_information: float
    solved: Floats
    to_mean: Floats
    through: Floats
    spread: Floats
    nested: Blocks
    nested_weight: Floats


def at_ratios(cross: Crossproducts, ratios: Floats) -> Point:
    """Work out the criterion at given ratios.

    Parameters
    ----------
    cross : Crossproducts
        The data.
    ratios : array of float, shape (sources,)
        Variance of each source over that within [-], 0 or more.

    Returns
    -------
    Point
        The two parts of the criterion and their slopes.

    Notes
    -----
    The largest source is taken out by Woodbury's identity, one weight gamma/(1 + gamma n) a level;
    one that it lies in, whose block stays diagonal, likewise after it; the others by the Cholesky
    factor of I + Λ G Λ, which exists at ratios of 0 too. Source: the REML criterion of Patterson
    and Thompson, as common practice has it; slopes DERIVED.
    """
    q = cross.starts[-1]
    own = float(ratios[cross.largest]) if cross.largest is not None else 0.0
    n = cross.sizes
    taken = cross.weighed(own / (1.0 + own * n))
    left = Blocks(*(a - b for a, b in zip(parts(cross.whole), parts(taken), strict=True)))
    inner = left.rest
    if cross.largest is not None:
        inner[q + 1, q + 1] += cross.between_ss
    logs = float(cross.alike @ np.log1p(own * n))
    outer = float(ratios[cross.nested]) if cross.nested is not None else 0.0
    grown = 1.0 + outer * left.own
    lies = outer / grown
    inner = inner - left.beside.T @ (lies[:, None] * left.beside)
    logs += float(np.log(grown).sum())
    lam = np.zeros(q)
    for i, place in enumerate(cross.others):
        lam[cross.starts[i] : cross.starts[i + 1]] = math.sqrt(ratios[place])
    spread, log_det = _spread(lam, inner[:q, :q])
    logs += log_det
    through = inner - inner[:, :q] @ spread @ inner[:q, :]
    xx, xy, yy = through[q, q], through[q, q + 1], through[q + 1, q + 1]
    xx = max(float(xx), 1e-14 * float(cross.whole.rest[q, q]))  # where rounding eats the rest
    mean = xy / xx
    logs += math.log(xx)
    solved = np.array([*np.zeros(q), -mean, 1.0])
    solved[:q] = -spread @ inner[:q, q:] @ solved[q:]
    to_mean = np.array([*(-spread @ inner[:q, q]), 1.0, 0.0])
    logs_slope, rss_slope = np.zeros(len(ratios)), np.zeros(len(ratios))
    pulled = through[:q, q:] @ solved[q:]  # Z'Py of the other sources
    held = np.diag(through)[:q] - through[:q, q] ** 2 / xx  # diagonal of Z'PZ
    for i, place in enumerate(cross.others):
        here = slice(cross.starts[i], cross.starts[i + 1])
        logs_slope[place] = float(held[here].sum())
        rss_slope[place] = -float(pulled[here] @ pulled[here])

    def slopes(moved: Floats, log_slope: float) -> tuple[float, float]:
        """Slopes to a ratio from how fast it takes the crossproducts down."""
        log_slope -= float(np.sum(spread * moved[:q, :q])) + float(to_mean @ moved @ to_mean) / xx
        return log_slope, -float(solved @ moved @ solved)

    if cross.largest is not None:
        moved = cross.weighed((1.0 + own * n) ** -2)
        half = left.beside.T @ (lies[:, None] * moved.beside)
        fall = moved.rest - half - half.T
        fall = fall + left.beside.T @ ((lies**2 * moved.own)[:, None] * left.beside)
        straight = float(cross.alike @ (n / (1.0 + own * n))) - float(lies @ moved.own)
        logs_slope[cross.largest], rss_slope[cross.largest] = slopes(fall, straight)
    if cross.nested is not None:
        fall = left.beside.T @ ((grown**-2)[:, None] * left.beside)
        straight = float((left.own / grown).sum())
        logs_slope[cross.nested], rss_slope[cross.nested] = slopes(fall, straight)
    return Point(
        logs=logs,
        rss=max(float(yy - xy * mean), 0.0),
        logs_slope=logs_slope,
        rss_slope=rss_slope,
        mean=float(mean),
        mean_information=float(xx),
        solved=solved,
        to_mean=to_mean,
        through=through,
        spread=spread,
        nested=left,
        nested_weight=lies,
    )


def _spread(lam: Floats, inner: Floats) -> tuple[Floats, float]:
    """Λ H⁻¹ Λ and log det H, with H = I + Λ G Λ."""
    from scipy.linalg import cho_factor, cho_solve

    if not len(lam):
        return np.zeros((0, 0)), 0.0
    factor = cho_factor(np.eye(len(lam)) + lam[:, None] * inner * lam, lower=True)
    spread = lam[:, None] * cho_solve(factor, np.diag(lam))
    return 0.5 * (spread + spread.T), 2.0 * float(np.log(np.diag(factor[0])).sum())


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted model.

    Attributes
    ----------
    cross : Crossproducts
        The data.
    ratios : array of float, shape (sources,)
        Variance of each source over that within [-].
    within : float
        Variance of the ball by itself [unit of the value, squared].
    deviance : float
        Minus twice the restricted log-likelihood [-].
    converged : bool
        Whether the slopes are nil, or point out of bounds.
    point : Point
        The criterion there.
    """

    cross: Crossproducts
    ratios: Floats
    within: float
    deviance: float
    converged: bool
    point: Point

    @property
    def variances(self) -> Floats:
        """Variance of each source [unit of the value, squared]."""
        return self.ratios * self.within


@dataclass(frozen=True, slots=True)
class Steps:
    """Ratios as steps from nil on a scale where the criterion is nearly a parabola.

    step = sqrt(levels / 2) ln(1 + n gamma), n the mean balls of a level: its slope to gamma at nil
    is finite and not nil, so that nil is no false resting place.
    """

    balls: Floats
    scale: Floats

    @property
    def most(self) -> Floats:
        """Largest step."""
        return self.scale * np.log1p(self.balls * LARGEST_RATIO)

    def ratios(self, steps: Floats) -> Floats:
        """Ratios of steps."""
        return np.asarray(np.expm1(steps / self.scale) / self.balls)

    def steps(self, ratios: Floats) -> Floats:
        """Steps of ratios."""
        return np.asarray(self.scale * np.log1p(self.balls * ratios))

    def slope(self, ratios: Floats) -> Floats:
        """How fast a ratio grows with its step."""
        return np.asarray((1.0 + self.balls * ratios) / (self.balls * self.scale))


def steps_of(design: Design) -> Steps:
    """Scale of a design's ratios."""
    levels = np.array([design.levels(place) for place in range(len(design.factors))], dtype=float)
    return Steps(balls=design.rows / levels, scale=np.sqrt(levels / 2.0))


def fit(design: Design) -> Fit:
    """Fit the variances by REML.

    Parameters
    ----------
    design : Design
        The cells.

    Returns
    -------
    Fit
        The ratios of largest restricted likelihood, 0 or more each.

    Raises
    ------
    BadInput
        If there are too many levels, or balls of one cell are all alike.
    """
    cross = crossproducts(design)
    scale = steps_of(design)
    free = design.rows - 1

    def criterion(steps: Floats) -> tuple[float, Floats]:
        ratios = scale.ratios(steps)
        point = at_ratios(cross, ratios)
        rss = max(point.rss, 1e-300)
        slope = point.logs_slope + free * point.rss_slope / rss
        return free * math.log(rss) + point.logs, slope * scale.slope(ratios)

    start = np.minimum(scale.steps(_start(design)), 0.9 * scale.most)
    steps, converged = lowest(criterion, start, np.zeros(len(start)), scale.most)
    if (steps >= 0.999 * scale.most).any():
        raise BadInput(
            Fault(
                "balls of one origin are all but alike: within a cell as good as nothing varies",
                expected="balls that differ within a winder and cone, or a finer scale",
            )
        )
    ratios = scale.ratios(steps)
    point = at_ratios(cross, ratios)
    within = point.rss / free
    deviance = free * (1.0 + math.log(2.0 * math.pi * within)) + point.logs
    return Fit(cross, ratios, within, deviance, converged, point)


def _start(design: Design) -> Floats:
    """Ratios by moments, none of them nil, so that every source has its say."""
    if not design.factors:
        return np.zeros(0)
    found = moments(design)
    levels = np.array([design.levels(place) for place in range(len(design.factors))], dtype=float)
    within = max(found[-1], 1e-6 * design.total_ss / (design.rows - 1))
    start: Floats = np.clip(found[:-1] / within, 0.1 * levels / design.rows, 1e6)
    return start
