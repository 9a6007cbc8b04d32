"""Crossproducts of a design, and the source of most levels taken out of them without a matrix.

Every step of the fit is asked of a few small matrices. The source of most levels (cones, mostly)
has a diagonal block, so it is taken out in closed form; cones of the same number of balls enter
alike, so their crossproducts are added up once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.design import Design
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from scipy.sparse import csr_array

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

MOST_OTHER_LEVELS = 2500
"""Levels, beside those of the largest source, up to which a dense matrix is made."""

_MOST_ADDED_UP = 2_000_000
_MOST_SIZES = 2000


@dataclass(frozen=True, slots=True)
class Blocks:
    """Crossproducts of columns: of the nested source's levels, and of the rest.

    Attributes
    ----------
    own : array of float, shape (nested levels,)
        Diagonal of the nested source's own block; the rest of it is nil.
    beside : array of float, shape (nested levels, columns)
        The nested source with the other columns.
    rest : array of float, shape (columns, columns)
        The other columns: the other sources' levels, the mean, the value.
    """

    own: Floats
    beside: Floats
    rest: Floats


@dataclass(frozen=True, slots=True)
class Crossproducts:
    """What the fit needs of a design. Columns: the other sources' levels, the mean, the value.

    Attributes
    ----------
    design : Design
        The cells.
    largest : int or None
        Place of the source taken out first; none where there is no source at all.
    nested : int or None
        Place of a source that the largest lies in, as cones do in lots, taken out second.
    others : tuple of int
        Places of the other sources, in order.
    starts : tuple of int
        First column of each of them, and one past the last.
    whole : Blocks
        Crossproducts; that of the value with itself is within the largest source.
    sizes, alike : array of float, shape (sizes,)
        Balls of a level of the largest source, and how many levels have so many.
    added : Blocks or None
        Crossproducts of the levels' sums, added up by size in a first axis; none where that would
        be too much.
    sums : sparse array, shape (levels of the largest, columns), or None
        Sums of the columns in each level of the largest source.
    level_balls : array of float, shape (levels of the largest,)
        Balls of each level.
    level_nested : array of int64, shape (levels of the largest,)
        Level of the nested source that each lies in.
    between_ss : float
        Sum of squares of the largest source's level means [unit of the value, squared].
    """

    design: Design
    largest: int | None
    nested: int | None
    others: tuple[int, ...]
    starts: tuple[int, ...]
    whole: Blocks
    sizes: Floats
    alike: Floats
    added: Blocks | None
    sums: csr_array | None
    level_balls: Floats
    level_nested: Whole
    between_ss: float

    def weighed(self, weight: Floats) -> Blocks:
        """Add up crossproducts of the largest source's level sums, with a weight to each size."""
        if self.added is not None:
            return Blocks(
                *(
                    np.tensordot(weight, one, axes=1)
                    for one in (self.added.own, self.added.beside, self.added.rest)
                )
            )
        return self.weighed_one_by_one(weight[np.searchsorted(self.sizes, self.level_balls)])

    def weighed_one_by_one(self, each: Floats) -> Blocks:
        """Add up the same with a weight to each level of the largest source."""
        levels = len(self.whole.own)
        if self.sums is None:
            return Blocks(*(np.zeros_like(one) for one in parts(self.whole)))
        return _added(self.sums, self.level_balls, self.level_nested, each, levels)


def parts(blocks: Blocks) -> tuple[Floats, Floats, Floats]:
    """Take blocks apart, in their order."""
    return blocks.own, blocks.beside, blocks.rest


def _added(sums: csr_array, balls: Floats, nested: Whole, each: Floats, levels: int) -> Blocks:
    from scipy.sparse import csr_array, diags_array

    scaled = diags_array(each) @ sums
    rest = np.asarray((sums.T @ scaled).toarray(), dtype=float)
    if not levels:
        return Blocks(np.zeros(0), np.zeros((0, len(rest))), rest)
    own = np.bincount(nested, weights=each * balls**2, minlength=levels)
    there = csr_array((balls, (nested, np.arange(len(balls)))), shape=(levels, len(balls)))
    beside = np.asarray((there @ scaled).toarray(), dtype=float)
    return Blocks(np.asarray(own, dtype=float), beside, rest)


def crossproducts(design: Design) -> Crossproducts:
    """Add up the crossproducts of a design.

    Parameters
    ----------
    design : Design
        The cells.

    Returns
    -------
    Crossproducts
        What the fit needs.

    Raises
    ------
    BadInput
        If the sources beside the largest, and the one it lies in, have more levels than a dense
        matrix may.
    """
    order = sorted(range(len(design.factors)), key=lambda place: -design.levels(place))
    largest = order[0] if order else None
    level_nested, nested = _nested(design, order)
    others = tuple(sorted(place for place in order[1:] if place != nested))
    levels = [design.levels(place) for place in others]
    starts = (0, *np.cumsum(levels).tolist())
    if starts[-1] > MOST_OTHER_LEVELS:
        named = " and ".join(f"{design.levels(p)} {design.factors[p]}s" for p in others)
        raise BadInput(
            Fault(
                "too many levels beside those of the largest source",
                expected=f"at most {MOST_OTHER_LEVELS} in all",
                value=named,
            )
        )
    q = starts[-1]
    whole = Blocks(*_beside(design, nested, others, starts), _whole(design, others, starts))
    nothing = np.zeros(0)
    if largest is None:
        whole.rest[q + 1, q + 1] = design.total_ss
        return Crossproducts(
            design,
            None,
            None,
            (),
            (0,),
            whole,
            nothing,
            nothing,
            None,
            None,
            nothing,
            level_nested,
            0.0,
        )
    code, n_c = design.codes[largest], design.counts
    level_balls = np.asarray(np.bincount(code, weights=n_c), dtype=float)
    level_means = np.bincount(code, weights=n_c * design.means) / level_balls
    about = n_c @ (design.means - level_means[code]) ** 2
    whole.rest[q + 1, q + 1] = design.within_ss + float(about)
    sizes, alike = np.unique(level_balls, return_counts=True)
    sums = _sums(design, largest, others, starts)
    added = None
    room = len(sizes) * ((q + 2) ** 2 + len(whole.own) * (q + 3))
    if len(sizes) <= _MOST_SIZES and room <= _MOST_ADDED_UP:
        by_size = []
        for size in sizes:
            mine = np.flatnonzero(level_balls == size)
            lies = level_nested[mine] if nested is not None else level_nested
            ones = np.ones(len(mine))
            by_size.append(_added(sums[mine], level_balls[mine], lies, ones, len(whole.own)))
        added = Blocks(
            np.array([one.own for one in by_size]),
            np.array([one.beside for one in by_size]),
            np.array([one.rest for one in by_size]),
        )
    return Crossproducts(
        design,
        largest,
        nested,
        others,
        starts,
        whole,
        sizes,
        alike.astype(float),
        added,
        sums,
        level_balls,
        level_nested,
        float(level_balls @ level_means**2),
    )


def _nested(design: Design, order: list[int]) -> tuple[Whole, int | None]:
    """Find the source of most levels that the largest lies in, and which level each lies in."""
    for place in order[1:]:
        inside = np.zeros(design.levels(order[0]), dtype=np.int64)
        inside[design.codes[order[0]]] = design.codes[place]
        if np.array_equal(inside[design.codes[order[0]]], design.codes[place]):
            return inside, place
    return np.zeros(0, dtype=np.int64), None


def _beside(
    design: Design, nested: int | None, others: tuple[int, ...], starts: tuple[int, ...]
) -> tuple[Floats, Floats]:
    """Balls of the nested source's levels, and their crossproducts with the other columns."""
    q = starts[-1]
    if nested is None:
        return np.zeros(0), np.zeros((0, q + 2))
    levels, code, n_c = design.levels(nested), design.codes[nested], design.counts
    own = np.asarray(np.bincount(code, weights=n_c, minlength=levels), dtype=float)
    beside = np.zeros((levels, q + 2))
    for i, place in enumerate(others):
        wide = design.levels(place)
        both = np.bincount(code * wide + design.codes[place], weights=n_c, minlength=levels * wide)
        beside[:, starts[i] : starts[i + 1]] = both.reshape(levels, wide)
    beside[:, q] = own
    beside[:, q + 1] = np.bincount(code, weights=n_c * design.means, minlength=levels)
    return own, beside


def _whole(design: Design, others: tuple[int, ...], starts: tuple[int, ...]) -> Floats:
    q = starts[-1]
    whole = np.zeros((q + 2, q + 2))
    n_c, sum_c = design.counts, design.counts * design.means
    for i, first in enumerate(others):
        code = design.codes[first]
        levels = design.levels(first)
        balls = np.bincount(code, weights=n_c, minlength=levels)
        rows = slice(starts[i], starts[i + 1])
        whole[rows, rows] = np.diag(balls)
        whole[rows, q] = whole[q, rows] = balls
        whole[rows, q + 1] = whole[q + 1, rows] = np.bincount(code, weights=sum_c, minlength=levels)
        for j, second in enumerate(others[:i]):
            wide = design.levels(second)
            both = np.bincount(
                code * wide + design.codes[second], weights=n_c, minlength=levels * wide
            ).reshape(levels, wide)
            columns = slice(starts[j], starts[j + 1])
            whole[rows, columns] = both
            whole[columns, rows] = both.T
    whole[q, q] = float(n_c.sum())
    whole[q, q + 1] = whole[q + 1, q] = float(sum_c.sum())
    return whole


def _sums(
    design: Design, largest: int, others: tuple[int, ...], starts: tuple[int, ...]
) -> csr_array:
    from scipy.sparse import coo_array

    code, cells, q = design.codes[largest], len(design.counts), starts[-1]
    columns = [starts[i] + design.codes[place] for i, place in enumerate(others)]
    columns += [np.full(cells, q), np.full(cells, q + 1)]
    amounts = [design.counts] * (len(others) + 1) + [design.counts * design.means]
    return coo_array(
        (np.concatenate(amounts), (np.tile(code, len(columns)), np.concatenate(columns))),
        shape=(design.levels(largest), q + 2),
    ).tocsr()
