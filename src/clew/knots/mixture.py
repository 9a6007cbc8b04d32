"""Joins that come with the cones: ties, and breaks at a rate that each cone has for itself.

The generating function G(z) = sum p_n z^n is worked out at equally spaced points of the unit
circle; a Fourier transform gives the chances back.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.quadrature import legendre_rule
from clew.knots.renewal import (
    Array,
    Cells,
    Cones,
    cells_of,
    first_tie_after,
    first_tie_anywhere,
    most_cones,
)
from clew.languages import say

Points = NDArray[np.complex128]

MOST_CELLS = 1024
"""Cells per ball; twice as many moved no chance by more than 2e-5 in 100 random cases."""
_CELLS_FROM_CONE = 32768
_GRID = 65536
MOST_JOINS = 8192
MOST_DISPERSION = 1e8
"""Above it all cones are taken as alike: the variance of a count rises by mean / dispersion."""
_NEARLY_EVEN = 1e4
_NODES = 96
_CHUNK = 64
_DAMP = 31.0
_NOISE = 1e-13
"""Rounding left in a chance read off the circles; what is smaller is taken as 0."""


def on_cones(
    cones: Cones,
    length_m: float,
    breaks_per_m: float,
    dispersion: float,
    ball_number: int | None = None,
) -> Array:
    """Chances of 0, 1, 2, ... cone ties and breaks together.

    Parameters
    ----------
    cones : Cones
        Lengths of cones.
    length_m : float
        Length of the ball [m].
    breaks_per_m : float
        Mean break rate over cones [1/m].
    dispersion : float
        Gamma shape of the rate, drawn anew for each cone and independent of its length [1]; above
        1e8 all cones are taken as alike.
    ball_number : int or None
        Which ball since a cone's start, from 1; None for a ball that starts anywhere.

    Returns
    -------
    array, shape (n,)
        Probabilities.

    Raises
    ------
    BadInput
        When one ball may hold more joins than can be told apart.

    Notes
    -----
    With g(x, z) = (1 + r x (1-z)/a)^-a for a piece of x metres of one cone, the ball is a first
    piece, whole cones and a last piece; the chain over them is a renewal equation. Source: DERIVED.
    """
    if dispersion > MOST_DISPERSION:
        dispersion = math.inf
    size = _joins_bound(cones, length_m, breaks_per_m, dispersion)
    z = np.exp(-2j * np.pi * np.arange(size // 2 + 1) / size)
    if math.isinf(cones.mean_m):
        values = _piece(length_m, z, breaks_per_m, dispersion)
    elif cones.even and ball_number is not None:
        values = _even_from_start(cones, length_m, z, breaks_per_m, dispersion, ball_number)
    elif cones.even or (
        ball_number is None and float(cones.used_up(1.0, length_m)) < 1e-13 * length_m
    ):
        values = _even_anywhere(cones, length_m, z, breaks_per_m, dispersion)
    else:
        values = _on_lattice(cones, length_m, z, breaks_per_m, dispersion, ball_number)
    chances = np.fft.irfft(values, size)
    chances[chances < _NOISE] = 0.0
    return np.asarray(chances / chances.sum())


def _piece(
    length_m: Array | float, z: Points, breaks_per_m: float, dispersion: float
) -> NDArray[np.complex128]:
    """Generating function of the breaks in pieces of one cone, shape (z, pieces)."""
    mean = breaks_per_m * np.atleast_1d(np.asarray(length_m, dtype=np.float64))
    if math.isinf(dispersion):
        grid = np.exp(-np.multiply.outer(1.0 - z, mean))
    elif dispersion < _NEARLY_EVEN:
        grid = (1.0 + np.multiply.outer(1.0 - z, mean / dispersion)) ** -dispersion
    else:
        # 1 + a small number, to a large power, would lose its digits
        small = np.multiply.outer(1.0 - z, mean / dispersion)
        x, y = small.real, small.imag
        log = 0.5 * np.log1p(2.0 * x + x**2 + y**2) + 1j * np.arctan2(y, 1.0 + x)
        grid = np.exp(-dispersion * log)
    return np.asarray(grid[:, 0] if np.ndim(length_m) == 0 else grid)


def _joins_bound(cones: Cones, length_m: float, breaks_per_m: float, dispersion: float) -> int:
    """Joins beyond which no count has a chance that matters (Chernoff's bound)."""
    mean = breaks_per_m * length_m
    bound = 0.0
    if mean > 0.0:
        if math.isinf(dispersion):
            bound = mean + 9.0 * math.sqrt(mean) + 40.0
        else:
            # the whole ball at one cone's rate is the widest case there is
            theta = max(mean / dispersion, 1e-12)
            # nearly even cones: the best share is small
            small = np.geomspace(1e-12, 3e-3, 20)
            share = np.append(small, [0.01, 0.03, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95])
            reach = (33.0 - dispersion * np.log1p(-share)) / np.log1p(share / theta)
            bound = float(reach.min())
    need = bound + most_cones(cones, length_m) + 2
    if need > MOST_JOINS:
        raise BadInput(
            Fault(
                say("too many joins in one ball"),
                expected=say(
                    "rates and a dispersion that keep them under {most}",
                    most=MOST_JOINS,
                ),
                key="dispersion",
                value=f"{dispersion:g}",
            )
        )
    return 16 * math.ceil(need / 16.0)


def _even_anywhere(
    cones: Cones, length_m: float, z: Points, breaks_per_m: float, dispersion: float
) -> Points:
    """All cones even, or none shorter than the ball: an integral over where the first tie falls."""
    mu = cones.mean_m
    whole, rest = divmod(length_m, mu) if cones.even else (0.0, length_m)
    nodes, weights = legendre_rule(_NODES)

    def over(low: float, high: float, ties: int) -> Points:
        """Integrate over the first piece, with so many ties; pieces: first, whole cones, last."""
        first = low + (high - low) * (nodes + 1.0) / 2.0
        last = np.maximum(length_m - first - (ties - 1) * mu, 0.0)
        grid = _piece(first, z, breaks_per_m, dispersion)
        grid = grid * _piece(last, z, breaks_per_m, dispersion)
        inner = _piece(mu, z, breaks_per_m, dispersion) ** (ties - 1)
        return np.asarray(z**ties * inner * (grid @ (weights * (high - low) / 2.0)) / mu)

    values = over(0.0, rest, int(whole) + 1)
    if whole:
        return values + over(rest, mu, int(whole))
    return np.asarray(
        values + _piece(length_m, z, breaks_per_m, dispersion) * (1.0 - length_m / mu)
    )


def even_pieces(cone_m: float, length_m: float, ball_number: int) -> list[float]:
    """Pieces of a ball that follows a cone's start, all cones equally long.

    Parameters
    ----------
    cone_m : float
        Length of every cone [m].
    length_m : float
        Length of a ball [m].
    ball_number : int
        Which ball since the cone's start, from 1.

    Returns
    -------
    list of float
        Lengths from tie to tie [m]. A tie on the cut between two balls is in neither.
    """
    start, end = (ball_number - 1) * length_m, ball_number * length_m
    first = math.floor(start / cone_m * (1.0 + 1e-12) + 1e-9) + 1
    last = math.ceil(end / cone_m * (1.0 - 1e-12) - 1e-9) - 1
    cuts = [start, *(number * cone_m for number in range(first, last + 1)), end]
    return [after - before for before, after in pairwise(cuts)]


def _even_from_start(
    cones: Cones,
    length_m: float,
    z: Points,
    breaks_per_m: float,
    dispersion: float,
    ball_number: int,
) -> Points:
    pieces = even_pieces(cones.mean_m, length_m, ball_number)
    grid = _piece(np.array(pieces), z, breaks_per_m, dispersion)
    return np.asarray(z ** (len(pieces) - 1) * grid.prod(axis=1))


def _on_lattice(
    cones: Cones,
    length_m: float,
    z: Points,
    breaks_per_m: float,
    dispersion: float,
    ball_number: int | None,
) -> Points:
    """Cone lengths on a lattice of cells, which keeps the mean exactly."""
    balls = 1 if ball_number is None else ball_number
    size = max(min(MOST_CELLS, _GRID // z.size, _CELLS_FROM_CONE // balls), 32)
    before = (balls - 1) * size
    cells = cells_of(cones, length_m / size, before + size)
    first = (
        first_tie_anywhere(cells, cones)
        if ball_number is None
        else first_tie_after(cones, cells, before)
    )
    untied = max(1.0 - float(first.sum()), 0.0) * _piece(length_m, z, breaks_per_m, dispersion)
    tied = [
        _chain(first, cells, size, some, breaks_per_m, dispersion)
        for some in np.array_split(z, max(1, z.size // _CHUNK))
    ]
    return np.asarray(untied + np.concatenate(tied))


def _chain(
    first: Array, cells: Cells, size: int, z: Points, breaks_per_m: float, dispersion: float
) -> Points:
    """First piece, any number of whole cones, last piece; together they fill the ball.

    The one coefficient wanted of the power series is read off a circle inside the unit circle, so
    that what wraps round is below 1e-12.
    """
    around = 6 * size
    steps = np.arange(size, dtype=np.float64)
    damped = np.exp(-_DAMP / around * steps)
    halves = _piece(cells.cell_m * (steps + 0.5), z, breaks_per_m, dispersion)
    wholes = _piece(cells.cell_m * steps, z, breaks_per_m, dispersion)
    begin = np.fft.fft(halves * (first[:size] * damped), around)
    close = np.fft.fft(halves * (cells.longer[:size] * damped), around)
    inner = np.fft.fft(wholes * (cells.cone[:size] * damped), around)
    series = begin * close / (1.0 - z[:, None] * inner)
    turn = np.exp(2j * np.pi * np.arange(around) * (size - 1) / around) / (around * damped[-1])
    return np.asarray(z * (series @ turn))
