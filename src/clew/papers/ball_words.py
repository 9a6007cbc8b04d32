"""Sentences about a ball that stand on the card and on Wind alike, in the reader's units."""

from __future__ import annotations

import math

from clew.ball.ball_answer import BallAnswer
from clew.ball.terms import Promise, Strand
from clew.ball.turns import TurnsAnswer
from clew.ball.wind.crossings import COVER_LIMIT
from clew.ball.wind.ribbons import EquatorCover
from clew.languages import figure, first_lower, joined, say
from clew.papers import floor_numbers as floor
from clew.quantities import UnitSystem

MENTIONED_SHORT_FRAC = 0.025
"""Chance of a run's mean under its declaration from which it is said."""

NO_DYE_LOT = say("NO DYE LOT: nominal count")
NOT_MEASURED = say("count not measured: nominal")
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


def binding_words(answer: TurnsAnswer) -> str:
    """Say which target binds, before the reason: ``Mass binds:``."""
    return say("Mass binds:") if answer.binding == "mass" else say("Length binds:")


def needed_words(answer: TurnsAnswer, promise: Promise, units: UnitSystem) -> str:
    """Say in whole turns what the binding target needs, and what the other alone would.

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
        Such as ``784 turns would fall just short of the 101.0 g target; 785 reach it. Length alone
        would need 780.``
    """
    mass, length = (math.ceil(t - 1e-9) for t in (answer.turns_mass, answer.turns_length))
    by_mass = answer.binding == "mass"
    needed, other = (mass, length) if by_mass else (length, mass)
    if by_mass:
        target = floor.mass(promise.target_mass_g, units)
    else:
        target = floor.length(promise.target_length_m, units)
    if needed > 1:
        first = say(
            "{short} turns would fall just short of the {target} target; {turns} reach it.",
            short=needed - 1,
            target=target,
            turns=needed,
        )
    else:
        first = say("1 turn reaches the {target} target.", target=target)
    more: str | int = say("as many") if other == needed else other
    if by_mass:
        return say("{why} Length alone would need {turns}.", why=first, turns=more)
    return say("{why} Mass alone would need {turns}.", why=first, turns=more)


def target_words(answer: TurnsAnswer, promise: Promise, units: UnitSystem) -> str:
    """Say which target binds and why, as `binding_words` and `needed_words` do.

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
        Both, one after the other.
    """
    return joined(" ", (binding_words(answer), needed_words(answer, promise, units)))


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
    return say(
        "{mass} the declared mass and {length} the declared length",
        mass=_above(floor.mass(answer.over_mass_g, units), answer.over_mass_g),
        length=_above(floor.length(answer.over_length_m, units), answer.over_length_m),
    )


def _above(text: str, over: float) -> str:
    if not any(digit in text for digit in "123456789"):
        return say("on")
    distance = figure(text.lstrip("−"))
    if over >= 0.0:
        return say("{distance} above", distance=distance)
    return say("{distance} below", distance=distance)


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
            (answer.mass_short_frac, say("mass")),
            (answer.length_short_frac, say("length")),
        )
        if share > MENTIONED_SHORT_FRAC
    ]
    if not chances:
        return ""
    (share, what), *rest = sorted(chances, reverse=True)
    if rest:
        words = say(
            "{runs} would average under the declared {what}, {others} under the declared {other}",
            runs=_runs(share),
            what=what,
            others=first_lower(_runs(rest[0][0])),
            other=rest[0][1],
        )
    else:
        words = say("{runs} would average under the declared {what}", runs=_runs(share), what=what)
    return say("{words}: raise the target in the mill file, or measure more cones.", words=words)


def _runs(share: float) -> str:
    if share <= 0.6:
        return say("About 1 run in {n}", n=round(1.0 / share))
    if share < 0.95:
        return say("About {n} runs in 10", n=round(10.0 * share))
    return say("Nearly every run")


def basis_words(card: BallAnswer, units: UnitSystem) -> str:
    """Say what a scale reads of a ball declared at the agreed regain; empty for other balls.

    Parameters
    ----------
    card : BallAnswer
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
        return say(
            "On the scale the mean ball reads {reads}; declared, target and expected "
            "masses are at the agreed regain.",
            reads=reads,
        )
    if reads != declared:
        words = say(
            "On the scale the mean ball reads {reads}, under the {declared} declared: the "
            "declaration is taken at the agreed regain.",
            reads=reads,
            declared=declared,
        )
    else:
        words = say(
            "On the scale the mean ball reads a hair under the {declared} declared: the "
            "declaration is taken at the agreed regain.",
            declared=declared,
        )
    ask = say("Ask your inspectorate whether it allows that at packing.")
    return joined(" ", (words, ask))


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
        return say("No spread is stated in the mill file, so how sure this is cannot be said.")
    first, *rest = answer.contributions
    share = floor.percent(first.mass_share)
    if not rest:
        return say(
            "What makes the doubt in ball mass: {words} ({share} of the variance).",
            words=first.words,
            share=share,
        )
    return say(
        "What makes the doubt in ball mass: {words} ({share} of the variance), then {second} "
        "({second_share}).",
        words=first.words,
        share=share,
        second=rest[0].words,
        second_share=floor.percent(rest[0].mass_share),
    )


def ratio_words(found: EquatorCover) -> str:
    """Write the nearest simple ratio as a number and as turns: ``20.375 (163/8)``."""
    q, p = found.simple_ratio
    return figure(f"{q / p:.6g} ({q}/{p})") if p > 1 else f"{q}"


def cover_words(found: EquatorCover, units: UnitSystem) -> str:
    """Say whether the wind ratio lays ribbons and, where it does, what to wind instead.

    Parameters
    ----------
    found : EquatorCover
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
        words = say(
            "none at {wind_ratio:g} from {small} to {large} {unit} across",
            wind_ratio=found.wind_ratio,
            small=small,
            large=large,
            unit=unit,
        )
        if found.closes_to_diameter_mm >= max(found.diameters_mm):
            if abs(found.distance) < 1e-6:
                return say(
                    "{words}; it is itself simple ratio {simple}, too fine to show at this size",
                    words=words,
                    simple=simple,
                )
            return say(
                "{words}; nearest simple ratio {simple}, too fine to show at this size",
                words=words,
                simple=simple,
            )
        return say("{words}; keep away from simple ratio {simple}", words=words, simple=simple)
    return say(
        "RIBBONS at wind ratio {wind_ratio:g}: {ribbon_words}",
        wind_ratio=found.wind_ratio,
        ribbon_words=_ribbon_words(found, simple, units),
    )


def _ribbon_words(found: EquatorCover, simple: str, units: UnitSystem) -> str:
    at = found.distinct_crossings
    if abs(found.distance) < 1e-6:
        places = say(
            "the simple ratio {simple}, strands stack up at {places} places",
            simple=simple,
            places=at,
        )
    else:
        places = say(
            "close to {simple}, strands stack up at {places} places", simple=simple, places=at
        )
    stages = range(len(found.diameters_mm))
    worst = max(stages, key=lambda i: (1.0 - found.cover_fourth_frac[i], found.unevenness[i]))
    bare = 1.0 - found.cover_fourth_frac[worst]
    if bare > 1.0 - COVER_LIMIT:
        what = say(
            "{percent} of the way round is bare after four covers", percent=floor.percent(bare)
        )
    else:
        what = say(
            "layers are {unevenness:.1f} times as uneven as by chance",
            unevenness=found.unevenness[worst],
        )
    size, unit = floor.size_figure(found.diameters_mm[worst], units), floor.size_unit(units)
    across = figure(f"{size} {unit}")
    if found.nearest_safe_ratio is None:
        advice = say(
            "no ratio within {searched_range:g} of it covers evenly",
            searched_range=found.searched_range,
        )
    else:
        advice = say(
            "the nearest ratio that covers evenly is {nearest_safe_ratio:g}",
            nearest_safe_ratio=found.nearest_safe_ratio,
        )
    return say(
        "{places}; at {across} across {what}; {advice}. Tell the lead",
        places=places,
        across=across,
        what=what,
        advice=advice,
    )
