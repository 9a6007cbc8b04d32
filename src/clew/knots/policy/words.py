"""The rule that a hand can follow, in words."""

from __future__ import annotations

from clew.knots.cutting import FirstRule
from clew.quantities import LENGTH, UnitSystem, show


def spoiler_in_words(rule: FirstRule, units: UnitSystem = "metric") -> str:
    """Say which join spoils a ball.

    Parameters
    ----------
    rule : FirstRule
        When a ball is first-quality.
    units : {"metric", "yard"}
        Units of lengths.

    Returns
    -------
    str
        Such as ``join 2, or one that leaves a piece under 10 m,``.
    """
    number = f"join {rule.limit + 1}"
    if rule.min_piece_m == 0.0:
        return number
    return f"{number}, or one that leaves a piece under {_length(rule.min_piece_m, units)},"


def rule_in_words(
    rule: FirstRule, look_ahead_m: float, most_m: float, units: UnitSystem = "metric"
) -> str:
    """Say what to do when a join shows.

    Parameters
    ----------
    rule : FirstRule
        When a ball is first-quality.
    look_ahead_m : float
        Strand in sight before the winder [m].
    most_m : float
        Without look-ahead: part while less than this is wound; with it: most to drop [m].
    units : {"metric", "yard"}
        Units of lengths.

    Returns
    -------
    str
        One or two sentences.
    """
    spoiler = spoiler_in_words(rule, units)
    ahead = look_ahead_m > 0.0
    seen = f"With {_length(look_ahead_m, units)} in sight" if ahead else "Nothing ahead seen"
    if most_m <= 0.0:
        return f"{seen}: wind straight through; no parting pays."
    if not ahead:
        if most_m >= rule.ball_length_m:
            return f"{seen}: part at {spoiler} whenever it shows."
        return (
            f"{seen}: part only before {_length(most_m, units)} are on when {spoiler} shows; "
            "after that wind the ball out as second-quality."
        )
    places = "behind a join still on the belt"
    if rule.min_piece_m > 0.0:
        places += ", or just so far on that its last piece is long enough"
    limit = (
        "" if most_m >= rule.ball_length_m else f" if that drops at most {_length(most_m, units)};"
    )
    otherwise = "" if not limit else " else wind the ball out"
    return (
        f"{seen}: when {spoiler} shows, start the next ball at the first place that mends it "
        f"({places}){limit}{otherwise}."
    )


def _length(length_m: float, units: UnitSystem) -> str:
    return show(length_m, LENGTH, units, digits=3 if length_m < 1000.0 else 4)
