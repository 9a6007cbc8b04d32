"""Cone ties as a renewal process: how many cone ends fall into a length of strand."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

EVEN_CV = 1e-5
"""A spread below this counts as none: a cone of 10 km would be even to 10 cm."""
_GONE = 1e-18


@dataclass(frozen=True, slots=True)
class Cones:
    """Lengths of cones: gamma distributed, independent from cone to cone.

    Attributes
    ----------
    mean_m : float
        Mean length [m].
    cv : float
        Standard deviation over mean [1].
    """

    mean_m: float
    cv: float

    @property
    def even(self) -> bool:
        """Whether all cones count as equally long."""
        return self.cv < EVEN_CV

    @property
    def shape(self) -> float:
        """Gamma shape of one cone's length."""
        return 1.0 / self.cv**2

    def used_up(self, cones: Array | float, length_m: Array | float) -> Array:
        """Mean length beyond the end of so many cones: the integral of their sum's distribution.

        Parameters
        ----------
        cones : float or array
            How many cones are tied one after another; 0 gives the length itself [1].
        length_m : float or array
            Length from the first cone's start [m].

        Returns
        -------
        array
            The mean of what is left of ``length_m`` after the cones, 0 where they are longer [m].

        Notes
        -----
        A sum of n gamma lengths is gamma with n times the shape; by parts,
        int_0^x F_n = x F_n(x) - n mu F_(n+1/k)(x), F_(n+1/k) with shape nk + 1. Source: DERIVED.
        """
        count, length = np.broadcast_arrays(
            np.asarray(cones, dtype=np.float64), np.asarray(length_m, dtype=np.float64)
        )
        if self.even:
            return np.asarray(np.maximum(length - count * self.mean_m, 0.0))
        from scipy.special import gammainc

        shape = np.where(count > 0, count, 1.0) * self.shape
        scaled = np.maximum(length, 0.0) * self.shape / self.mean_m
        left = length * gammainc(shape, scaled) - count * self.mean_m * gammainc(
            shape + 1.0, scaled
        )
        return np.asarray(np.maximum(np.where(count > 0, left, length), 0.0))


def most_cones(cones: Cones, length_m: float) -> int:
    """Find how many cones surely do not fit into a length (chance below 1e-18).

    Parameters
    ----------
    cones : Cones
        Their lengths.
    length_m : float
        Length of strand [m].

    Returns
    -------
    int
        The number of cones, at least 1.
    """
    if math.isinf(cones.mean_m):
        return 1
    if cones.even:
        return int(length_m / cones.mean_m * (1.0 + 1e-12)) + 1
    from scipy.special import gammainc

    upper = 1
    while gammainc(upper * cones.shape, length_m * cones.shape / cones.mean_m) > _GONE:
        upper += 1 + upper // 4
    return upper


def stationary_ties(cones: Cones, length_m: float) -> Array:
    """Chances of 0, 1, 2, ... cone ties in a length that starts anywhere on the strand.

    Parameters
    ----------
    cones : Cones
        Their lengths.
    length_m : float
        Length of strand [m].

    Returns
    -------
    array, shape (n,)
        Probabilities; their mean is the length over the mean cone.

    Notes
    -----
    P(N >= n) = (1/mu) int_0^L [F_(n-1)(u) - F_n(u)] du for n >= 1: the first tie comes after what
    is left of a cone met at random, whose density is (1 - F)/mu and not F. Source: equilibrium
    renewal process, MEMORY (Cox, Renewal Theory, 1962); closed for gamma lengths, DERIVED.
    """
    if math.isinf(cones.mean_m):
        return np.ones(1)
    numbers = np.arange(most_cones(cones, length_m) + 2, dtype=np.float64)
    beyond = cones.used_up(numbers, length_m)
    at_least = np.concatenate(([1.0], (beyond[:-1] - beyond[1:]) / cones.mean_m, [0.0]))
    chances = at_least[:-1] - at_least[1:]
    return np.asarray(np.maximum(chances, 0.0))


def _bend(cones: Cones, length_m: Array) -> Array:
    """Mean left of a length after one cone, over what even cones would leave.

    It vanishes away from the mean cone, so that its differences carry no rounding from afar.
    """
    if cones.even:
        return np.zeros_like(length_m)
    from scipy.special import gammainc, gammaincc

    mean, shape = cones.mean_m, cones.shape
    scaled = length_m * shape / mean
    below = length_m * gammainc(shape, scaled) - mean * gammainc(shape + 1.0, scaled)
    above = mean * gammaincc(shape + 1.0, scaled) - length_m * gammaincc(shape, scaled)
    return np.asarray(np.maximum(np.where(length_m < mean, below, above), 0.0))


@dataclass(frozen=True, slots=True)
class Cells:
    """Cone lengths on a lattice of cells; ties sit in the middle of a cell.

    Attributes
    ----------
    cell_m : float
        Length of a cell [m].
    cone : array, shape (n,)
        Chance that a cone is 0, 1, ... n-1 cells long.
    longer : array, shape (n,)
        Chance that a cone is longer than so many cells.
    """

    cell_m: float
    cone: Array
    longer: Array


def cells_of(cones: Cones, cell_m: float, cells: int) -> Cells:
    """Put cone lengths on a lattice so that their mean stays exactly what it was.

    Parameters
    ----------
    cones : Cones
        Their lengths.
    cell_m : float
        Length of a cell [m].
    cells : int
        How many cells.

    Returns
    -------
    Cells
        Chances per number of cells.

    Notes
    -----
    Each length is shared between its two neighbours on the lattice by nearness. That keeps the
    mean, and so the intensity of ties, and adds at most a quarter of a squared cell to the
    variance. Source: DERIVED.
    """
    cone = _shared_out(cones, cell_m, cells, 0.0)
    return Cells(cell_m, cone, np.maximum(1.0 - np.cumsum(cone), 0.0))


def _shared_out(cones: Cones, cell_m: float, cells: int, shift: float) -> Array:
    """Chances of a cone's length on points a cell apart, the first so many cells from its start.

    Even cones fall on two points; the spread moves some to the points around. What is shorter than
    the first point is put there.
    """
    bend = _bend(cones, cell_m * (np.arange(cells + 1.0) + shift))
    chances = np.diff(np.diff(bend), prepend=0.0) / cell_m
    place = max(cones.mean_m / cell_m - shift, 0.0)
    whole = int(place)
    for point, share in ((whole, 1.0 - (place - whole)), (whole + 1, place - whole)):
        if point < cells:
            chances[point] += share
    return np.asarray(np.maximum(chances, 0.0))


def first_tie_anywhere(cells: Cells, cones: Cones) -> Array:
    """Chance that the first tie falls into each cell, for a start anywhere on the strand.

    Parameters
    ----------
    cells : Cells
        Cone lengths on the lattice.
    cones : Cones
        The same lengths, for their mean.

    Returns
    -------
    array, shape (n,)
        Probabilities per cell; what is missing to 1 lies beyond.
    """
    return np.asarray(cells.longer * (cells.cell_m / cones.mean_m))


def first_tie_after(cones: Cones, cells: Cells, before: int) -> Array:
    """Chance that the first tie falls into each cell, for a start so many cells into a new cone.

    Parameters
    ----------
    cones : Cones
        Their lengths.
    cells : Cells
        The same lengths on the lattice, over at least ``before`` cells and those asked for.
    before : int
        Cells between the start of a cone and the start of the ball.

    Returns
    -------
    array, shape (n - before,)
        Probabilities per cell from the ball's start on.
    """
    size = cells.cone.size
    first = _shared_out(cones, cells.cell_m, size, 0.5)
    if before == 0:
        return first
    arriving = _folded(tie_density(first, cells.cone, before), cells.cone, size)
    return np.asarray(np.maximum(first[before:] + arriving[before:], 0.0))


def _folded(one: Array, other: Array, size: int) -> Array:
    long = one.size + other.size
    product = np.fft.rfft(one, long) * np.fft.rfft(other, long)
    return np.asarray(np.fft.irfft(product, long)[:size])


def tie_density(first: Array, cone: Array, size: int) -> Array:
    """Mean number of ties in each cell, given where the first one falls.

    Parameters
    ----------
    first : array, shape (n,)
        Chances of the first tie per cell.
    cone : array, shape (n,)
        Chances of a cone's length in cells.
    size : int
        Cells asked for.

    Returns
    -------
    array, shape (size,)
        Mean ties per cell: the first, the second, and all later ones.

    Notes
    -----
    Power series of first(w) / (1 - cone(w)), taken off a circle inside the unit circle so that what
    wraps round is below 1e-12. Source: renewal equation, MEMORY; DERIVED.
    """
    around = 4 * size
    damped = np.exp(-28.0 / around * np.arange(size))
    upper = np.fft.rfft(first[:size] * damped, around)
    lower = np.fft.rfft(cone[:size] * damped, around)
    return np.asarray(np.fft.irfft(upper / (1.0 - lower), around)[:size] / damped)
