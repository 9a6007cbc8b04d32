"""How far each winder, cone or lot stands from the rest: predicted effects and their doubt."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.reml import Fit, at_ratios

Floats = NDArray[np.float64]

_BLOCK = 1 << 22
"""Numbers of a block of levels worked on at once, so that a million cones do not fill memory."""


@dataclass(frozen=True, slots=True)
class Effects:
    """Predicted effects of one source.

    Attributes
    ----------
    factor : str
        The source.
    names : tuple of str
        Its levels.
    balls : array of float, shape (levels,)
        Balls of each [-].
    effect : array of float, shape (levels,)
        How far each stands from the general mean, shrunk as far as its balls deserve [unit of the
        value].
    se : array of float, shape (levels,)
        Standard deviation of what is still unknown of it [unit of the value].
    """

    factor: str
    names: tuple[str, ...]
    balls: Floats
    effect: Floats
    se: Floats


def effects(fit: Fit) -> tuple[Effects, ...]:
    """Predict the effects of every level of every source.

    Parameters
    ----------
    fit : Fit
        The fitted model.

    Returns
    -------
    tuple of Effects
        In the order of the sources.

    Notes
    -----
    Best linear unbiased prediction: u = Γ Z'Py, with variance of the error
    within × (Γ − Γ Z'PZ Γ), the variances taken as known. Source: Henderson's mixed-model
    equations, common practice.
    """
    design = fit.cross.design
    found = []
    for place, factor in enumerate(design.factors):
        ratio = float(fit.ratios[place])
        pull, held = _pull(fit, place)
        error = ratio - ratio**2 * held
        balls = np.bincount(design.codes[place], weights=design.counts)
        found.append(
            Effects(
                factor=factor,
                names=design.names[place],
                balls=np.asarray(balls, dtype=float),
                effect=ratio * pull,
                se=np.sqrt(fit.within * np.maximum(error, 0.0)),
            )
        )
    return tuple(found)


def _pull(fit: Fit, place: int) -> tuple[Floats, Floats]:
    """Z'Py and the diagonal of Z'PZ of a source."""
    if place == fit.cross.largest:
        return _largest(fit)
    return _nested(fit) if place == fit.cross.nested else _other(fit, place)


def _other(fit: Fit, place: int) -> tuple[Floats, Floats]:
    cross, point = fit.cross, fit.point
    q = cross.starts[-1]
    i = cross.others.index(place)
    here = slice(cross.starts[i], cross.starts[i + 1])
    pull = point.through[here, q:] @ point.solved[q:]
    held = np.diag(point.through)[here] - point.through[here, q] ** 2 / point.mean_information
    return pull, held


def _nested(fit: Fit) -> tuple[Floats, Floats]:
    cross, point = fit.cross, fit.point
    assert cross.nested is not None
    left = 1.0 / (1.0 + float(fit.ratios[cross.nested]) * point.nested.own)
    return _held(fit, left, point.nested.beside, left * point.nested.own)


def _largest(fit: Fit) -> tuple[Floats, Floats]:
    cross, point = fit.cross, fit.point
    assert cross.largest is not None and cross.sums is not None
    own = float(fit.ratios[cross.largest])
    n = cross.level_balls
    left = 1.0 / (1.0 + own * n)
    straight = left * n
    pull, held = np.empty(len(n)), np.empty(len(n))
    step = max(1, _BLOCK // cross.sums.shape[1])
    for start in range(0, len(n), step):
        here = slice(start, start + step)
        columns = cross.sums[here].toarray()
        alone = straight[here]
        if cross.nested is not None:
            lies = cross.level_nested[here]
            weight = point.nested_weight[lies]
            columns -= (n[here] * weight)[:, None] * point.nested.beside[lies]
            alone = alone - straight[here] ** 2 * weight
        pull[here], held[here] = _held(fit, left[here], columns, alone)
    return pull, held


def _held(fit: Fit, left: Floats, columns: Floats, alone: Floats) -> tuple[Floats, Floats]:
    """Z'Py and the diagonal of Z'PZ from the columns of levels, the other sources still in."""
    point = fit.point
    q = len(point.spread)
    part = columns[:, :q]
    again = np.einsum("ij,ij->i", part @ point.spread, part)
    to_mean = columns @ point.to_mean
    held = alone - left**2 * (again + to_mean**2 / point.mean_information)
    return left * (columns @ point.solved), held


@dataclass(frozen=True, slots=True)
class Combination:
    """A sum of predicted effects.

    Attributes
    ----------
    estimate, se : float
        The sum, and the standard deviation of what is unknown of it [unit of the value].
    """

    estimate: float
    se: float


def combination(fit: Fit, weights: tuple[Floats, ...], *, mean: float = 0.0) -> Combination:
    """Predict a weighed sum of effects and of the general mean, with its standard error.

    Parameters
    ----------
    fit : Fit
        The fitted model.
    weights : tuple of array of float
        For each source, the weight of each level [-].
    mean : float
        Weight of the general mean [-].

    Returns
    -------
    Combination
        Estimate, the mean with the design's centre, and standard error.

    Notes
    -----
    With a the weights, the estimate is h'Py and its error within × (a'Γa − h'V⁻¹h +
    (weight of the mean − x'V⁻¹h)² / x'V⁻¹x), h = ZΓa being a value of each cell.
    Source: as `effects`, DERIVED.
    """
    cross, design, point = fit.cross, fit.cross.design, fit.point
    q = cross.starts[-1]
    h = np.zeros(len(design.counts))
    spread = 0.0
    for place, weight in enumerate(weights):
        ratio = float(fit.ratios[place])
        spread += ratio * float(weight @ weight)
        h += ratio * weight[design.codes[place]]
    balls_h = design.counts * h
    columns = np.zeros(q + 2)
    for i, place in enumerate(cross.others):
        columns[cross.starts[i] : cross.starts[i + 1]] = np.bincount(
            design.codes[place], weights=balls_h, minlength=design.levels(place)
        )
    columns[q] = float(balls_h.sum())
    columns[q + 1] = float(balls_h @ design.means)
    square = float(balls_h @ h)
    if cross.largest is not None and cross.sums is not None:
        own = float(fit.ratios[cross.largest])
        weight = own / (1.0 + own * cross.level_balls)
        level = np.bincount(design.codes[cross.largest], weights=balls_h)
        columns -= cross.sums.T @ (weight * level)
        square -= float(weight @ level**2)
        if cross.nested is not None:
            lies = np.bincount(design.codes[cross.nested], weights=balls_h)
            taken = weight * cross.level_balls * level
            lies -= np.bincount(cross.level_nested, weights=taken, minlength=len(lies))
            columns -= point.nested.beside.T @ (point.nested_weight * lies)
            square -= float(point.nested_weight @ lies**2)
    held = square - float(columns[:q] @ point.spread @ columns[:q])
    along = mean - float(columns[: q + 1] @ point.to_mean[: q + 1])
    error = max(spread - held + along**2 / point.mean_information, 0.0)
    estimate = float(columns @ point.solved) + mean * (design.centre + point.mean)
    return Combination(estimate, math.sqrt(fit.within * error))


_UNSHRUNK = 1e4
"""A source's variance over the doubt of its levels at which it is as good as fixed [-]."""


def contrasts(fit: Fit, factor: str) -> tuple[tuple[str, ...], Floats, Floats]:
    """Stand each level of a source against the mean of its levels, unshrunk.

    Parameters
    ----------
    fit : Fit
        The fitted model; the other sources keep their ratios.
    factor : str
        The source; it must be one of the fit's.

    Returns
    -------
    tuple of str, array of float, array of float
        Names, contrasts and their standard errors [unit of the value].

    Notes
    -----
    As a fixed source beside the random ones. With V that of the others, Z the levels' columns and
    A = Z'V⁻¹Z, levels stand at A⁻¹Z'V⁻¹y with variance within × A⁻¹ (generalised least squares). A
    source that was taken out in closed form is given a ratio as good as endless instead.
    Source: DERIVED.
    """
    cells = fit.cross.design
    place = cells.factors.index(factor)
    names, levels = cells.names[place], cells.levels(place)
    ratios = fit.ratios.copy()
    if place in fit.cross.others:
        ratios[place] = 0.0
        point, q = at_ratios(fit.cross, ratios), fit.cross.starts[-1]
        i = fit.cross.others.index(place)
        here = slice(fit.cross.starts[i], fit.cross.starts[i + 1])
        inverse = np.linalg.inv(point.through[here, here])
        about = np.eye(levels) - 1.0 / levels
        spread = about @ inverse @ about
        stands = about @ inverse @ point.through[here, q + 1]
        return names, stands, np.sqrt(fit.within * np.maximum(np.diag(spread), 0.0))
    ratios[place] = _as_good_as_endless(fit, place)
    fixed = replace(fit, ratios=ratios, point=at_ratios(fit.cross, ratios))
    found = []
    for level in range(levels):
        weights = [np.zeros(cells.levels(other)) for other in range(len(cells.factors))]
        weights[place] -= 1.0 / levels
        weights[place][level] += 1.0
        found.append(combination(fixed, tuple(weights)))
    return (
        names,
        np.array([one.estimate for one in found]),
        np.array([one.se for one in found]),
    )


def _as_good_as_endless(fit: Fit, place: int) -> float:
    """A ratio far above the doubt of a source's levels, but no farther: more only loses digits."""
    levels, ratio = fit.cross.design.levels(place), float(fit.ratios[place])
    _, held = _pull(fit, place)
    whole = 1.0 / np.maximum(held, 1e-6)
    doubt = np.maximum((1.0 - 1.0 / levels) * whole - ratio, 1e-4 * whole)
    return _UNSHRUNK * float(doubt.max())
