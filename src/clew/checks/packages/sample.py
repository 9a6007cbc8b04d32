"""The balls of one sample as an official weighs or reels them: gross, tare, net, by name."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from clew.checks.condition import Condition, net_mass
from clew.checks.packages.plan import Quantity
from clew.checks.reel_length import ReelTerms, stated_length
from clew.checks.weighings import Weighings
from clew.faults import BadInput, Fault
from clew.languages import Told, say

_NAMELESS = re.compile(r"(line|row) ([1-9]\d*)")
_OWN = say("its own tare for each ball")


@dataclass(frozen=True, slots=True)
class Sample:
    """What was found of one quantity, in the order of the file.

    Attributes
    ----------
    quantity : str
        "mass" or "length".
    contents : array of float, shape (balls,)
        Net contents at the stated condition [g or m].
    gross : array of float, shape (balls,), or None
        Gross masses [g]; None where net ones were given.
    tares : array of float
        The tares that were weighed, or the one entered [g]; empty where net masses were given.
    names : tuple of str
        Name of each ball; its line in the file where it has none.
    condition : str
        What was done to the figures, in words.
    cautions : tuple of str
        What is doubtful about them.
    left_empty : int
        Rows of the file without a figure of this quantity.
    rows : array of int
        Row of the file each ball stands in, counted from 0; empty where there is no file.
    """

    quantity: Quantity
    contents: NDArray[np.float64]
    gross: NDArray[np.float64] | None
    tares: NDArray[np.float64]
    names: tuple[str, ...]
    condition: str
    cautions: tuple[str, ...] = ()
    left_empty: int = 0
    rows: NDArray[np.intp] = field(default_factory=lambda: np.zeros(0, dtype=np.intp))


def _names(weighings: Weighings, rows: NDArray[np.intp]) -> tuple[str, ...]:
    factor = weighings.factors.get("ball")
    lines = weighings.lines
    names = []
    for row in rows:
        if factor is not None and factor.codes[row] >= 0:
            names.append(factor.names[factor.codes[row]])
        elif lines is not None:
            names.append(f"line {int(lines[row])}")
        else:
            names.append(f"row {int(row) + 1}")
    return tuple(names)


def said_name(name: str) -> str:
    """Say the name of a ball; one that has none is named by its line or row in the file."""
    found = _NAMELESS.fullmatch(name)
    if found is None:
        return name
    place = int(found[2])
    return say("line {line}", line=place) if found[1] == "line" else say("row {row}", row=place)


def mass_sample(
    weighings: Weighings, condition: Condition | None = None, *, mean_tare: bool = True
) -> Sample:
    """Take the masses of a sample.

    Parameters
    ----------
    weighings : Weighings
        With ``mass_g``, which is net, or ``gross_g``; ``tare_g`` may be filled for a few balls.
    condition : Condition or None
        The condition mass is meant at, with the tare entered; None for net mass as weighed.
    mean_tare : bool
        Take the mean tare off every ball, as Handbook 133 does. Otherwise each ball's own, where
        all have one.

    Returns
    -------
    Sample
        The balls that were weighed.

    Raises
    ------
    BadInput
        When there is no mass, a tare is entered beside net masses, or gross masses have none.
    """
    asked = condition or Condition()
    nothing = np.full(weighings.rows, math.nan)
    numbers = weighings.numbers
    net_given = ~np.isnan(numbers.get("mass_g", nothing))
    gross_given = ~np.isnan(numbers.get("gross_g", nothing)) & ~net_given
    if net_given.any() and gross_given.any():
        raise BadInput(
            Fault(
                say("net masses in some rows, gross ones in others"),
                say("one kind for the whole sample"),
                key="mass_g",
                line=_line(weighings, gross_given),
            )
        )
    if not gross_given.any():
        if asked.tare_g is not None and net_given.any():
            raise BadInput(
                Fault(say("a tare beside net masses"), say("gross_g in the file"), key="tare")
            )
        contents, words = net_mass(weighings, asked)
        rows = np.flatnonzero(~np.isnan(contents))
        empty = weighings.rows - len(rows)
        none = np.zeros(0)
        named = _names(weighings, rows)
        return Sample("mass", contents[rows], None, none, named, words, (), empty, rows)
    weighed = numbers.get("tare_g", nothing)
    tares = weighed[~np.isnan(weighed)]
    if asked.tare_g is not None:
        tares = np.array([asked.tare_g])
    if len(tares) == 0:
        raise BadInput(
            Fault(
                say("gross masses without a tare"), say("a column tare_g, or --tare"), key="gross_g"
            )
        )
    own = not mean_tare and asked.tare_g is None and not np.isnan(weighed[gross_given]).any()
    if own:
        table, words_tare = weighings, _OWN
    else:
        filled = np.full(weighings.rows, tares.mean())
        table = replace(weighings, numbers={**numbers, "tare_g": filled})
        words_tare = say("the mean of {n} tares for every ball", n=len(tares))
        if asked.tare_g is not None:
            words_tare = say("the tare entered, {tare_g:g} g, for every ball", tare_g=asked.tare_g)
    contents, words = net_mass(table, replace(asked, tare_g=None))
    words = _with_tare(words, words_tare)
    rows = np.flatnonzero(~np.isnan(contents))
    return Sample(
        "mass",
        contents[rows],
        numbers["gross_g"][rows],
        tares,
        _names(weighings, rows),
        words,
        _tare_cautions(tares, int((~np.isnan(weighed)).sum()), entered=asked.tare_g is not None),
        weighings.rows - len(rows),
        rows,
    )


def _with_tare(words: str, tare: str) -> str:
    """Say of a condition which tare was taken, in the place of each ball's own."""
    if words == "each ball's own tare":
        return tare
    return words.each(lambda part: _with_tare(part, tare)) if isinstance(words, Told) else words


def _tare_cautions(tares: NDArray[np.float64], weighed: int, *, entered: bool) -> tuple[str, ...]:
    """Hold the tare sample against the rule for unused dry tare: two, else five."""
    if entered and weighed:
        return (
            say(
                "the tare was entered; the {weighed} weighed in the file were not used",
                weighed=weighed,
            ),
        )
    if entered:
        return (say("the tare was entered, not weighed with the sample"),)
    if len(tares) == 1:
        return (say("one tare only: weigh a second"),)
    if len(tares) < 5 and float(np.ptp(tares)) > 0.0:
        more = 5 - len(tares)
        return (
            say(
                "the {n} tares differ: weigh {more} more and take the mean of five",
                n=len(tares),
                more=more,
            ),
        )
    return ()


def _line(weighings: Weighings, rows: NDArray[np.bool_]) -> int | None:
    return None if weighings.lines is None else int(weighings.lines[np.flatnonzero(rows)[0]])


def length_sample(weighings: Weighings, terms: ReelTerms | None = None) -> Sample:
    """Take the reeled lengths of a sample.

    Parameters
    ----------
    weighings : Weighings
        With ``length_m``.
    terms : ReelTerms or None
        The tension length is meant at; None takes lengths as reeled.

    Returns
    -------
    Sample
        The balls that were reeled.

    Raises
    ------
    BadInput
        When there is no column of lengths.
    """
    contents, words, cautions = stated_length(weighings, terms)
    rows = np.flatnonzero(~np.isnan(contents))
    if "tension_cn" not in weighings.numbers:
        cautions = (*cautions, say("the tension of the reel is not in the file"))
    none = np.zeros(0)
    empty = weighings.rows - len(rows)
    named = _names(weighings, rows)
    told = tuple(dict.fromkeys(cautions))
    return Sample("length", contents[rows], None, none, named, words, told, empty, rows)
