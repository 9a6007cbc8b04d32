"""Which sources of spread a set of balls can tell apart, and in what words the others go."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.languages import joined, say

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

PREFERRED = ("winder", "cone", "lot", "lane", "group", "ball")
"""Of two sources that are the same in the data, the one named first here is told."""

_ONE = {
    "winder": say("winder"),
    "cone": say("cone"),
    "lot": say("lot"),
    "lane": say("lane"),
    "group": say("group"),
    "ball": say("ball"),
    "shift": say("shift"),
}
_MANY = {
    "winder": say("winders"),
    "cone": say("cones"),
    "lot": say("lots"),
    "lane": say("lanes"),
    "group": say("groups"),
    "ball": say("balls"),
    "shift": say("shifts"),
}


def source_word(name: str) -> str:
    """Say the name of a source, such as a winder."""
    return _ONE.get(name, name)


def sources_word(name: str) -> str:
    """Say the name of a source for several of them."""
    return _MANY.get(name, f"{name}s")


_SINGULAR = 1e-9


def overlap(first: Whole, second: Whole, counts: Floats, levels: int) -> tuple[Whole, Floats]:
    """Balls in each pair of levels of two sources.

    Parameters
    ----------
    first, second : array of int64, shape (cells,)
        Level of each cell in either source.
    counts : array of float, shape (cells,)
        Balls of each cell [-].
    levels : int
        Levels of the second source.

    Returns
    -------
    array of int64, array of float
        The pairs that are there, as first × levels + second, and the balls in each.
    """
    pairs, inverse = np.unique(first * levels + second, return_inverse=True)
    both = np.bincount(inverse.ravel(), weights=counts)
    return pairs, np.asarray(both, dtype=float)


def told_apart(
    wanted: list[str], codes: Whole, levels: list[int], counts: Floats
) -> tuple[list[int], tuple[str, ...]]:
    """Find the sources whose variances the balls can tell apart.

    Parameters
    ----------
    wanted : list of str
        Sources asked for.
    codes : array of int64, shape (sources, cells)
        Level of each cell.
    levels : list of int
        Levels of each source.
    counts : array of float, shape (cells,)
        Balls of each cell [-].

    Returns
    -------
    list of int, tuple of str
        Places of the sources kept, and a sentence for each that was dropped.

    Notes
    -----
    With K = Z Z' of each source and Q the projection off the mean, variances can be told apart when
    no combination of the matrices QKQ and Q is nil; their inner products come from the cells alone.
    Source: identifiability of REML, DERIVED from E[Qyy'Q].
    """
    cautions: list[str] = []
    alone: list[int] = []
    for place, name in enumerate(wanted):
        balls = np.bincount(codes[place], weights=counts)
        if levels[place] < 2:
            cautions.append(
                say(
                    "only one {source} here: nothing to tell {sources} apart by",
                    source=source_word(name),
                    sources=sources_word(name),
                )
            )
        elif balls.max() <= 1.0:
            cautions.append(
                say(
                    "every {source} has one ball: {source} is told as within",
                    source=source_word(name),
                )
            )
        else:
            alone.append(place)
    rank = {name: place for place, name in enumerate(PREFERRED)}
    kept: list[int] = []
    for place in sorted(alone, key=lambda one: rank.get(wanted[one], len(rank))):
        same = next((one for one in kept if _same(codes[one], codes[place])), None)
        if same is not None:
            cautions.append(
                say(
                    "{source} and {same} are the same here: told as {same}",
                    source=source_word(wanted[place]),
                    same=source_word(wanted[same]),
                )
            )
        elif _singular([*kept, place], codes, levels, counts):
            among = joined(", ", [source_word(wanted[one]) for one in kept])
            cautions.append(
                say(
                    "{source} cannot be told from {among} here: left out",
                    source=source_word(wanted[place]),
                    among=among or say("the ball itself"),
                )
            )
        else:
            kept.append(place)
    return sorted(kept), tuple(cautions)


def _same(first: Whole, second: Whole) -> bool:
    pairs = np.unique(first * (int(second.max()) + 1) + second)
    return len(pairs) == len(np.unique(first)) == len(np.unique(second))


def _singular(places: list[int], codes: Whole, levels: list[int], counts: Floats) -> bool:
    """Whether the matrices of these sources and of the ball itself depend on one another."""
    n = float(counts.sum())
    size = len(places) + 1
    gram = np.zeros((size, size))
    gram[-1, -1] = n - 1.0
    sums = [np.bincount(codes[one], weights=counts) for one in places]
    squares = [float(one @ one) for one in sums]
    for i, first in enumerate(places):
        gram[i, -1] = gram[-1, i] = n - squares[i] / n
        for j, second in enumerate(places[: i + 1]):
            pairs, balls = overlap(codes[first], codes[second], counts, levels[second])
            with_first = sums[i][pairs // levels[second]]
            with_second = sums[j][pairs % levels[second]]
            cross = float(with_first @ (balls * with_second))
            found = float(balls @ balls) - 2.0 * cross / n + squares[i] * squares[j] / n**2
            gram[i, j] = gram[j, i] = found
    scale = np.sqrt(np.maximum(np.diag(gram), 1e-300))
    return bool(np.linalg.eigvalsh(gram / np.outer(scale, scale))[0] < _SINGULAR)
