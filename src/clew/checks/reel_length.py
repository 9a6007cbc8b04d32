"""Length of a reeled ball at rest, or at a stated reel tension."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.weighings import Weighings
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.strand.given import more_than_zero, zero_or_more


@dataclass(frozen=True, slots=True)
class ReelTerms:
    """At which tension a length is meant, and how the strand gives.

    Attributes
    ----------
    stated_tension_cn : float
        Tension at which length is meant [cN]; 0 at rest.
    modulus_cn_per_tex : float or None
        Modulus at the small stretch of a reel [cN/tex].
    count_tex : float or None
        Count of the strand at rest [tex].
    """

    stated_tension_cn: float = 0.0
    modulus_cn_per_tex: float | None = None
    count_tex: float | None = None

    def __post_init__(self) -> None:
        zero_or_more(self.stated_tension_cn, "stated tension of the reel", "cN")
        if self.modulus_cn_per_tex is not None:
            more_than_zero(self.modulus_cn_per_tex, "modulus", "cN/tex")
        if self.count_tex is not None:
            more_than_zero(self.count_tex, "count", "tex")


def stated_length(
    weighings: Weighings, terms: ReelTerms | None = None
) -> tuple[NDArray[np.float64], str, tuple[str, ...]]:
    """Find the length of each reeled ball at the stated tension.

    Parameters
    ----------
    weighings : Weighings
        With ``length_m``, and ``tension_cn`` of the reel where it is known.
    terms : ReelTerms or None
        The stated tension, modulus and count; None takes lengths as reeled.

    Returns
    -------
    array of float, shape (rows,)
        Length [m]; NaN where a ball was not reeled.
    str
        What was done.
    tuple of str
        Cautions: tensions that differ without a modulus, balls whose tension is not known.

    Raises
    ------
    BadInput
        When there is no column of lengths.

    Notes
    -----
    l (1 + F_stated/(tex E))/(1 + F/(tex E)). Validity: the small, recoverable stretch in which the
    modulus was found. Source: DERIVED (definition of a modulus).
    """
    if "length_m" not in weighings.numbers:
        raise BadInput(
            Fault(say("no column of length"), say("length_m, of the balls that were reeled"))
        )
    length = np.array(weighings.numbers["length_m"], dtype=np.float64)
    reeled = ~np.isnan(length)
    nothing = np.full(weighings.rows, math.nan)
    tension = np.asarray(weighings.numbers.get("tension_cn", nothing), dtype=np.float64)
    told = reeled & ~np.isnan(tension)
    if terms is None or terms.modulus_cn_per_tex is None or terms.count_tex is None:
        return length, _as_reeled(tension[told]), _cautions_as_reeled(tension, reeled, told)
    gives_cn = terms.modulus_cn_per_tex * terms.count_tex
    length[told] *= (1.0 + terms.stated_tension_cn / gives_cn) / (1.0 + tension[told] / gives_cn)
    if terms.stated_tension_cn:
        words = say(
            "Length at {tension:.3g} cN, from the reel's tension with a modulus of "
            "{modulus:.3g} cN/tex and {count:.4g} tex.",
            tension=terms.stated_tension_cn,
            modulus=terms.modulus_cn_per_tex,
            count=terms.count_tex,
        )
    else:
        words = say(
            "Length at rest, from the reel's tension with a modulus of {modulus:.3g} cN/tex and "
            "{count:.4g} tex.",
            modulus=terms.modulus_cn_per_tex,
            count=terms.count_tex,
        )
    untold = int(np.count_nonzero(reeled & ~told))
    if not told.any():
        return length, _no_tension(), ()
    if not untold:
        return length, words, ()
    return (
        length,
        words,
        (
            say(
                "Without a reel tension, and so left as reeled: {untold} of the lengths.",
                untold=untold,
            ),
        ),
    )


def _no_tension() -> str:
    return say("Length as reeled; no tension of the reel in the file.")


def _as_reeled(tension: NDArray[np.float64]) -> str:
    if not len(tension):
        return _no_tension()
    low, high = float(tension.min()), float(tension.max())
    if low == high:
        return say("Length as reeled, at {tension:.3g} cN; not carried to rest.", tension=low)
    return say(
        "Length as reeled, at {low:.3g} to {high:.3g} cN; not carried to rest.", low=low, high=high
    )


def _cautions_as_reeled(
    tension: NDArray[np.float64], reeled: NDArray[np.bool_], told: NDArray[np.bool_]
) -> tuple[str, ...]:
    found = []
    if told.any() and float(tension[told].min()) < float(tension[told].max()):
        found.append(
            say(
                "Balls were reeled at {low:.3g} to {high:.3g} cN: a harder pull gives more metres, "
                "and without a modulus and a count they cannot be made alike.",
                low=tension[told].min(),
                high=tension[told].max(),
            )
        )
    untold = int(np.count_nonzero(reeled & ~told))
    if told.any() and untold:
        found.append(say("Reeled without a tension in the file: {untold}.", untold=untold))
    return tuple(found)
