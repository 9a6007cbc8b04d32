"""How long charts without memory run: single points, group means, individuals with ranges."""

from __future__ import annotations

import math

import numpy as np
from scipy.special import ndtr, ndtri

from clew.checks.charts.run_length_chain import (
    Array,
    Chain,
    RunLength,
    check_between,
    gauss_nodes,
    refined,
)

MOST_SHIFT = 20.0
MOST_PANELS = 64


def call_chance(width: float, shift: float = 0.0) -> float:
    """Chance that one point falls outside limits of so many sd either side.

    Parameters
    ----------
    width : float
        Limits from the centre, in sd of a plotted point [1].
    shift : float
        How far the mean has moved, in sd of a plotted point [1].

    Returns
    -------
    float
        The chance [1].

    Raises
    ------
    BadInput
        When width is not from 0 to 8 or the shift not from -20 to 20.
    """
    check_between("width", width, 0.0, 8.0, "limits in sd of a plotted point")
    check_between("shift", shift, -MOST_SHIFT, MOST_SHIFT, "a shift in sd of a plotted point")
    return float(ndtr(-width - shift) + ndtr(-width + shift))


def shewhart_run_length(width: float = 3.0, shift: float = 0.0) -> RunLength:
    """Average run length of an X-bar or individuals chart with limits of so many sd.

    Parameters
    ----------
    width : float
        Limits from the centre, in sd of a plotted point, 0 to 8 [1].
    shift : float
        Shift of the mean, in sd of a plotted point [1].

    Returns
    -------
    RunLength
        Closed form: the inverse of `call_chance`.

    Raises
    ------
    BadInput
        When a value is out of range.
    """
    return RunLength(1.0 / call_chance(width, shift))


def shewhart_chain(width: float, shift: float = 0.0) -> Chain:
    """The same chart as a chain of one state.

    Parameters
    ----------
    width : float
        Limits, in sd of a plotted point [1].
    shift : float
        Shift, in sd of a plotted point [1].

    Returns
    -------
    Chain
        Exact.
    """
    quiet = 1.0 - call_chance(width, shift)
    return Chain(np.array([[quiet]]), np.array([quiet]))


def width_for(arl: float) -> float:
    """Limits that give a chosen average run without a shift.

    Parameters
    ----------
    arl : float
        Average run length, above 1 [points].

    Returns
    -------
    float
        Width in sd of a plotted point [1].
    """
    return float(-ndtri(0.5 / arl))


def moving_range_run_length(width: float, range_width: float, shift: float = 0.0) -> RunLength:
    """Average run length of individuals watched together with their moving range.

    Parameters
    ----------
    width : float
        Limits of the individuals, in sd of a ball, 0.5 to 8 [1].
    range_width : float
        Upper limit of the moving range of two, in sd of a ball (the usual D4 times the mean range
        is 3.686), at least an eighth of the width [1].
    shift : float
        Shift of the mean, in sd of a ball [1].

    Returns
    -------
    RunLength
        By the integral equation.

    Raises
    ------
    BadInput
        When a value is out of range.

    Notes
    -----
    With x the last point, L(x) = 1 + ∫ L(y) φ(y - shift) dy over the y within both limits. L bends
    where a limit of the range meets one of the individuals, at ±(width - j range_width): those are
    the ends of the panels, and L is a polynomial on each. Source: S. V. Crowder, J. Qual. Tech. 19
    (1987) 98-106 for the equation; its trapezoid rule is not used.
    """
    check_between("width", width, 0.5, 8.0, "limits in sd of a ball")
    check_between("range_width", range_width, width / 8.0, 100.0, "a range limit in sd of a ball")
    check_between("shift", shift, -MOST_SHIFT, MOST_SHIFT, "a shift in sd of a ball")
    return refined(
        lambda nodes: moving_range_chain(width, range_width, shift, nodes).arl(), first=8
    )


def moving_range_chain(
    width: float, range_width: float, shift: float = 0.0, nodes: int = 16
) -> Chain:
    """Individuals with their moving range as a chain.

    Parameters
    ----------
    width, range_width, shift : float
        As in `moving_range_run_length` [1].
    nodes : int
        Nodes on each panel.

    Returns
    -------
    Chain
        States are the nodes of all panels.
    """
    edges = _panel_edges(width, range_width)
    unit, weight = gauss_nodes(nodes)
    half = 0.5 * np.diff(edges)
    middle = 0.5 * (edges[1:] + edges[:-1])
    places = middle[:, None] + half[:, None] * unit  # (panels, nodes)
    points = places.ravel()
    quiet = np.zeros((points.size, points.size))
    barycentric = _barycentric(unit)
    for panel in range(half.size):
        low = np.clip(points - range_width, edges[panel], edges[panel + 1])
        high = np.clip(points + range_width, edges[panel], edges[panel + 1])
        reach = 0.5 * (high - low)  # (points,)
        at = 0.5 * (high + low)[:, None] + reach[:, None] * unit
        shape = _lagrange((at - middle[panel]) / half[panel], unit, barycentric)
        density = np.exp(-0.5 * (at - shift) ** 2) / math.sqrt(2.0 * math.pi)
        columns = slice(panel * nodes, (panel + 1) * nodes)
        quiet[:, columns] = np.einsum("pq,pqn->pn", density * weight * reach[:, None], shape)
    start = (half[:, None] * weight).ravel() * np.exp(-0.5 * (points - shift) ** 2)
    return Chain(quiet, start / math.sqrt(2.0 * math.pi), points.size)


def _panel_edges(width: float, range_width: float) -> Array:
    """Places where the run length as a function of the last point bends, and the limits."""
    steps = np.arange(math.floor(2.0 * width / range_width) + 1)
    inner = width - steps * range_width
    edges = np.unique(np.concatenate([inner, -inner, [-width, width]]))
    keep = np.concatenate([[True], np.diff(edges) > 1e-9 * width])
    edges = edges[keep]
    edges[0], edges[-1] = -width, width
    assert edges.size <= MOST_PANELS
    return np.asarray(edges)


def _barycentric(unit: Array) -> Array:
    apart = unit[:, None] - unit[None, :]
    np.fill_diagonal(apart, 1.0)
    return np.asarray(1.0 / np.prod(2.0 * apart, axis=1))


def _lagrange(at: Array, unit: Array, barycentric: Array) -> Array:
    """Value at each place of the polynomial that is 1 at one node and 0 at the others."""
    apart = at[..., None] - unit
    hit = np.abs(apart) < 1e-15
    terms = barycentric / np.where(hit, 1.0, apart)
    shape = terms / terms.sum(axis=-1, keepdims=True)
    return np.asarray(np.where(hit.any(axis=-1, keepdims=True), hit, shape))
