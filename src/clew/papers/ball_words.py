"""Sentences about a ball that stand on the card and on Wind alike, in the reader's units."""

from __future__ import annotations

import math

from clew.ball.run_card import RunCard
from clew.ball.terms import Promise, Strand
from clew.ball.turns import TurnsAnswer
from clew.ball.wind.coverage import Coverage
from clew.ball.wind.crossings import COVER_LIMIT
from clew.papers import floor_numbers as floor
from clew.quantities import UnitSystem

MENTIONED_SHORT_FRAC = 0.025
"""Chance of a run's mean under its declaration from which it is said."""

NO_DYE_LOT = "NO DYE LOT: nominal count"
NOT_MEASURED = "count not measured: nominal"
"""What stands for, and beside, a dye lot whose count nobody knows."""


def count_note(lot_name: str, strand: Strand) -> str:
    """Say that a count is the nominal one; empty where cones of the lot were measured.

    Parameters
    ----------
    lot_name : str
        The dye lot; empty for none.
    strand : Strand
        The strand, whose spread of the mean count says whether it was measured.

    Returns
    -------
    str
        The note.
    """
    if not lot_name:
        return NO_DYE_LOT
    measured = any(one.key == "count_mean" and "measured" in one.words for one in strand.spreads)
    return "" if measured else NOT_MEASURED


def target_words(answer: TurnsAnswer, promise: Promise, units: UnitSystem) -> str:
    """Say which target binds, in whole turns, and what the other alone would need.

    Parameters
    ----------
    answer : TurnsAnswer
        Turns and what each target asks for.
    promise : Promise
        The targets.
    units : {"metric", "yard"}
        System of units.

    Returns
    -------
    str
        Such as ``Mass binds: 784 turns would fall just short of the 101.0 g target; 785 reach it.
        Length alone would need 780.``
    """
    mass, length = (math.ceil(t - 1e-9) for t in (answer.turns_mass, answer.turns_length))
    if answer.binding == "mass":
        needed, other, other_words = mass, length, "Length"
        target = floor.mass(promise.target_mass_g, units)
    else:
        needed, other, other_words = length, mass, "Mass"
        target = floor.length(promise.target_length_m, units)
    if needed > 1:
        first = (
            f"{needed - 1} turns would fall just short of the {target} target; {needed} reach it."
        )
    else:
        first = f"1 turn reaches the {target} target."
    rest = f"{other_words} alone would need {'as many' if other == needed else other}."
    return f"{answer.binding.capitalize()} binds: {first} {rest}"


def over_words(answer: TurnsAnswer, units: UnitSystem) -> str:
    """Say where the mean ball stands to both declarations.

    Parameters
    ----------
    answer : TurnsAnswer
        The mean ball.
    units : {"metric", "yard"}
        System of units.

    Returns
    -------
    str
        Such as ``1.2 g above the declared mass and on the declared length``.
    """
    parts = (
        (floor.mass(answer.over_mass_g, units), answer.over_mass_g, "the declared mass"),
        (floor.length(answer.over_length_m, units), answer.over_length_m, "the declared length"),
    )
    return " and ".join(f"{_above(text, over)} {what}" for text, over, what in parts)


def _above(text: str, over: float) -> str:
    if not any(figure in text for figure in "123456789"):
        return "on"
    return f"{text.lstrip('−')} {'above' if over >= 0.0 else 'below'}"


def short_words(answer: TurnsAnswer) -> str:
    """Say how often the mean of a whole run stands under a declaration; empty where seldom.

    Parameters
    ----------
    answer : TurnsAnswer
        With both chances.

    Returns
    -------
    str
        Such as ``About 1 run in 2 would average under the declared length. ...``.
    """
    chances = [
        (share, what)
        for share, what in (
            (answer.mass_short_frac, "mass"),
            (answer.length_short_frac, "length"),
        )
        if share > MENTIONED_SHORT_FRAC
    ]
    if not chances:
        return ""
    (share, what), *rest = sorted(chances, reverse=True)
    words = f"{_runs(share)} would average under the declared {what}"
    if rest:
        other = _runs(rest[0][0])
        words += f", {other[0].lower()}{other[1:]} under the declared {rest[0][1]}"
    return f"{words}: raise the target in the mill file, or measure more cones."


def _runs(share: float) -> str:
    if share <= 0.6:
        return f"About 1 run in {round(1.0 / share)}"
    return f"About {round(10.0 * share)} runs in 10" if share < 0.95 else "Nearly every run"


def basis_words(card: RunCard, units: UnitSystem) -> str:
    """Say what a scale reads of a ball declared at the agreed regain; empty for other balls.

    Parameters
    ----------
    card : RunCard
        The card.
    units : {"metric", "yard"}
        System of units.

    Returns
    -------
    str
        Loud where the scale reads less than is declared.
    """
    promise, scale_g = card.terms.promise, card.answer.as_weighed_g
    if not promise.commercial:
        return ""
    reads, declared = (floor.mass(m, units) for m in (scale_g, promise.declared_mass_g))
    if scale_g >= promise.declared_mass_g:
        return (
            f"On the scale the mean ball reads {reads}; declared, target and expected masses are "
            "at the agreed regain."
        )
    under = f"{reads}, under" if reads != declared else "a hair under"
    return (
        f"On the scale the mean ball reads {under} the {declared} declared: the declaration is "
        "taken at the agreed regain. Ask your inspectorate whether it allows that at packing."
    )


def doubt_words(answer: TurnsAnswer) -> str:
    """Name the two largest sources of doubt in one ball's mass.

    Parameters
    ----------
    answer : TurnsAnswer
        With its sources of doubt.

    Returns
    -------
    str
        One sentence.
    """
    if not answer.contributions:
        return "No spread is stated in the mill file, so how sure this is cannot be said."
    first, *rest = answer.contributions
    share = floor.percent(first.mass_share)
    words = f"What makes the doubt in ball mass: {first.words} ({share} of the variance)"
    if rest:
        words += f", then {rest[0].words} ({floor.percent(rest[0].mass_share)})"
    return words + "."


def ratio_words(found: Coverage) -> str:
    """Write the nearest simple ratio as a number and as turns: ``20.375 (163/8)``."""
    q, p = found.simple_ratio
    return f"{q / p:.6g} ({q}/{p})" if p > 1 else f"{q}"


def cover_words(found: Coverage, units: UnitSystem) -> str:
    """Say whether the wind ratio lays ribbons and, where it does, what to wind instead.

    Parameters
    ----------
    found : Coverage
        The judged cover.
    units : {"metric", "yard"}
        System of units.

    Returns
    -------
    str
        A row's text, without a stop at its end.

    Notes
    -----
    A simple ratio whose places still close up at the ball's full diameter lays no ribbon of this
    strand even when it is met; one that does not is named to be kept away from.
    """
    unit = floor.size_unit(units)
    small, large = (
        floor.size_figure(d, units) for d in (min(found.diameters_mm), max(found.diameters_mm))
    )
    simple = ratio_words(found)
    if not found.ribbon:
        words = f"none at {found.wind_ratio:g} from {small} to {large} {unit} across"
        if found.closes_to_diameter_mm >= max(found.diameters_mm):
            met = "it is itself" if abs(found.distance) < 1e-6 else "nearest"
            return f"{words}; {met} simple ratio {simple}, too fine to show at this size"
        return f"{words}; keep away from simple ratio {simple}"
    return f"RIBBONS at wind ratio {found.wind_ratio:g}: {_ribbon_words(found, simple, units)}"


def _ribbon_words(found: Coverage, simple: str, units: UnitSystem) -> str:
    near = "the simple ratio" if abs(found.distance) < 1e-6 else "close to"
    places = f"{near} {simple}, strands stack up at {found.distinct_crossings} places"
    stages = range(len(found.diameters_mm))
    worst = max(stages, key=lambda i: (1.0 - found.cover_fourth_frac[i], found.unevenness[i]))
    bare = 1.0 - found.cover_fourth_frac[worst]
    if bare > 1.0 - COVER_LIMIT:
        what = f"{floor.percent(bare)} of the way round is bare after four covers"
    else:
        what = f"layers are {found.unevenness[worst]:.1f} times as uneven as by chance"
    across = f"{floor.size_figure(found.diameters_mm[worst], units)} {floor.size_unit(units)}"
    if found.nearest_safe_ratio is None:
        advice = f"no ratio within {found.searched_range:g} of it covers evenly"
    else:
        advice = f"the nearest ratio that covers evenly is {found.nearest_safe_ratio:g}"
    return f"{places}; at {across} across {what}; {advice}. Tell the lead"
