"""Plying: the resultant count of unequal components, what twist takes up, mixtures.

Two measures of what twist takes up exist and are kept apart by name: the *take-up fraction*
(length lost, as a part of the untwisted length: 0.0566) and the *contraction factor* (untwisted
length over twisted length: 1.06). A factor given where a fraction is wanted is refused.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from clew.faults import BadInput, Fault
from clew.quantities import count_system
from clew.strand.given import fraction, more_than_zero, zero_or_more

_FACTOR_HINT = (
    "1.06 would be a contraction factor, untwisted over twisted length; 0.0566 is its fraction"
)
_TWIST_MULTIPLIER_LOW = 4.93 / 2.67
_TWIST_MULTIPLIER_HIGH = 8.0


def _take_up(take_up_frac: float) -> float:
    return fraction(take_up_frac, "take-up", _FACTOR_HINT)


def resultant_count(components: Sequence[float], unit: str, *, take_up_frac: float = 0.0) -> float:
    """Find the resultant count of components plied together, within one count system.

    Direct systems add: T = sum(T_i)/(1 - c). Indirect systems add their reciprocals:
    N = (1 - c)/sum(1/N_i).

    Parameters
    ----------
    components : sequence of float, shape (n,)
        Counts of the components, one a component [unit]; they may differ.
    unit : str
        Name of the count system, such as ``tex`` or ``Ne``.
    take_up_frac : float
        Length lost to the plying twist as a fraction of the untwisted length [1].

    Returns
    -------
    float
        Resultant count in the same system [unit].

    Raises
    ------
    BadInput
        When there is no component, a count is not more than 0, or the take-up is not a fraction.

    Notes
    -----
    Mass is kept; validity: all components are taken up alike. Source: folded-yarn count calculation
    in the tex system (READ); contraction forms (READ, LOW).
    """
    if not components:
        raise BadInput(Fault("no component to ply", expected="one count or more", key="components"))
    system = count_system(unit)
    counts = [more_than_zero(count, "component count", system.name) for count in components]
    left = 1.0 - _take_up(take_up_frac)
    if system.direct:
        return math.fsum(counts) / left
    return left / math.fsum(1.0 / count for count in counts)


def component_to_reach(
    resultant: float, others: Sequence[float], unit: str, *, take_up_frac: float = 0.0
) -> float:
    """Find the count of the one further component that brings a plied yarn to a wanted count.

    Parameters
    ----------
    resultant : float
        Wanted resultant count [unit].
    others : sequence of float, shape (n,)
        Counts of the components already chosen [unit].
    unit : str
        Name of the count system.
    take_up_frac : float
        Length lost to the plying twist as a fraction of the untwisted length [1].

    Returns
    -------
    float
        Count of the missing component [unit].

    Raises
    ------
    BadInput
        When the others alone already are as thick as the wanted yarn.

    Notes
    -----
    Source: Davis, Hosiery Manufacture, and Brooks, Cotton Manufacturing: "find the third thread"
    (READ).
    """
    system = count_system(unit)
    wanted_tex = system.to_tex(more_than_zero(resultant, "resultant count", system.name))
    chosen_tex = math.fsum(
        system.to_tex(more_than_zero(count, "component count", system.name)) for count in others
    )
    missing_tex = wanted_tex * (1.0 - _take_up(take_up_frac)) - chosen_tex
    if missing_tex <= 0.0:
        raise BadInput(
            Fault(
                "the components chosen are already as thick as the wanted yarn",
                expected=f"a thicker yarn than {system.from_tex(chosen_tex):.4g} {system.name}",
                key="resultant count",
                value=f"{resultant:g} {system.name}",
            )
        )
    return system.from_tex(missing_tex)


def take_up_from_factor(contraction_factor: float) -> float:
    """Turn a contraction factor (untwisted over twisted length) into a take-up fraction.

    Parameters
    ----------
    contraction_factor : float
        Untwisted length over twisted length, 1 or more [1].

    Returns
    -------
    float
        Take-up as a fraction of the untwisted length [1]: c = 1 - 1/factor.

    Raises
    ------
    BadInput
        When the factor is below 1: a fraction was given.

    Notes
    -----
    Source: the factor as used in GATE Textile 2014, question 37 (READ); the relation DERIVED.
    """
    if not 1.0 <= contraction_factor < math.inf:
        raise BadInput(
            Fault(
                "a contraction factor is untwisted over twisted length",
                expected="1 or more, such as 1.06; 0.0566 would be a take-up fraction",
                key="contraction factor",
                value=f"{contraction_factor:g}",
            )
        )
    return 1.0 - 1.0 / contraction_factor


def factor_from_take_up(take_up_frac: float) -> float:
    """Turn a take-up fraction into a contraction factor (untwisted over twisted length).

    Parameters
    ----------
    take_up_frac : float
        Length lost to twist as a fraction of the untwisted length [1].

    Returns
    -------
    float
        Contraction factor [1]: 1/(1 - c).

    Raises
    ------
    BadInput
        When the take-up is not a fraction.
    """
    return 1.0 / (1.0 - _take_up(take_up_frac))


def twist_after_take_up(twist_per_m: float, take_up_frac: float) -> float:
    """Find the twist in the shortened yarn: the same turns on less length, t/(1 - c).

    Parameters
    ----------
    twist_per_m : float
        Turns put in, counted on the untwisted length [turns/m].
    take_up_frac : float
        Length lost to that twist as a fraction of the untwisted length [1].

    Returns
    -------
    float
        Turns counted on the twisted yarn [turns/m].

    Raises
    ------
    BadInput
        When the twist is negative or the take-up is not a fraction.

    Notes
    -----
    Source: contraction forms, twist_2 = twist_1/(1 - c) (READ, LOW).
    """
    return zero_or_more(twist_per_m, "twist", "turns/m") / (1.0 - _take_up(take_up_frac))


def mean_count_tex(masses_kg: Sequence[float], counts_tex: Sequence[float]) -> float:
    """Find the mean count of a mixture of lots: total mass over total length.

    The plain average of the counts is wrong: lots of equal mass and unequal count hold unequal
    lengths.

    Parameters
    ----------
    masses_kg : sequence of float, shape (n,)
        Mass of each lot [kg].
    counts_tex : sequence of float, shape (n,)
        Count of each lot [tex].

    Returns
    -------
    float
        Mean count [tex].

    Raises
    ------
    BadInput
        When there is no lot, the two differ in length, or a value is not more than 0.

    Notes
    -----
    Source: GATE Textile 2013, question 40 (READ).
    """
    if not masses_kg or len(masses_kg) != len(counts_tex):
        raise BadInput(Fault("a mass and a count are needed for every lot", key="lots"))
    masses = [more_than_zero(mass, "mass", "kg") for mass in masses_kg]
    counts = [more_than_zero(count, "count", "tex") for count in counts_tex]
    lengths = math.fsum(mass / count for mass, count in zip(masses, counts, strict=True))
    return math.fsum(masses) / lengths


def spun_cotton_take_up(twist_multiplier: float) -> float:
    """Estimate the take-up of a spun cotton single from its twist multiplier.

    Parameters
    ----------
    twist_multiplier : float
        Turns per inch over the square root of the cotton count, TM [turns/in].

    Returns
    -------
    float
        Take-up as a fraction of the untwisted length [1]: (2.67 TM - 4.93)/100.

    Raises
    ------
    BadInput
        When the twist multiplier is outside what the line can mean.

    Notes
    -----
    Validity: spun cotton singles; the source states no range. Below 1.85 the line turns negative
    and above 8 nobody spins (common practice, no published source), so both are refused; ordinary
    yarns lie between 3 and 5 (MEMORY). The source's second form, untwisted Ne = 100 Ne/(105 - 2.67
    TM), is this one with 104.93 rounded to 105. Source: teaching notes on twist per inch and twist
    per metre (READ, LOW): a weak source; measure the take-up where it matters.
    """
    low, high = _TWIST_MULTIPLIER_LOW, _TWIST_MULTIPLIER_HIGH
    if not low <= twist_multiplier <= high:
        raise BadInput(
            Fault(
                "outside the range of the cotton take-up line",
                expected=f"a twist multiplier from {low:.2f} to {high:g}",
                key="twist multiplier",
                value=f"{twist_multiplier:g}",
            )
        )
    return (2.67 * twist_multiplier - 4.93) / 100.0
