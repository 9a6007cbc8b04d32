"""The rule that a hand can follow, in words."""

from __future__ import annotations

from clew.knots.cutting import FirstRule
from clew.quantities import LENGTH, UnitSystem, show

CAUTION = (
    "Caution: stop the winder before hands go in; lock it and prove it dead. Local rules come "
    "first."
)
NO_JOIN_OFFENDS = "No join makes a ball second-quality: wind straight through."
_SHARES = (
    (1 / 20, "a twentieth of the ball"),
    (1 / 10, "a tenth of the ball"),
    (1 / 5, "a fifth of the ball"),
    (1 / 4, "a quarter of the ball"),
    (1 / 3, "a third of the ball"),
    (2 / 5, "two fifths of the ball"),
    (1 / 2, "half the ball"),
    (3 / 5, "three fifths of the ball"),
    (2 / 3, "two thirds of the ball"),
    (3 / 4, "three quarters of the ball"),
    (4 / 5, "four fifths of the ball"),
    (9 / 10, "nine tenths of the ball"),
)


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
        Such as ``join 2, or one that leaves a piece under 10 m,``; of a limit of 0 ``join 1``.
    """
    number = f"join {rule.limit + 1}"
    if rule.min_piece_m == 0.0 or rule.limit == 0:  # with no join allowed any join offends
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

    Notes
    -----
    Lengths are given as a share of the ball's turns as well, for a hand has only their counter.
    Turns are taken as equally long; on a ball the first ones are shorter, so that the counter
    stops parting a little early. Source: assumed.
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
            f"{seen}: part only before {_length(most_m, units)} are on "
            f"({_share(most_m, rule)}) when {spoiler} shows; "
            "after that wind the ball out as second-quality."
        )
    places = "behind a join still on the belt"
    if rule.min_piece_m > 0.0 and rule.limit > 0:
        places += ", or just so far on that its last piece is long enough"
    limit = ""
    if most_m < rule.ball_length_m:
        limit = f" if that drops at most {_length(most_m, units)} ({_share(most_m, rule)});"
    otherwise = "" if not limit else " else wind the ball out"
    return (
        f"{seen}: when {spoiler} shows, start the next ball at the first place that mends it "
        f"({places}){limit}{otherwise}."
    )


def _share(length_m: float, rule: FirstRule) -> str:
    """Share of a ball in a plain fraction, if one is near, and in turns."""
    share = length_m / rule.ball_length_m
    off, name = min((abs(share - plain), name) for plain, name in _SHARES)
    turns = f"{100.0 * share:.0f} % of its turns" if share >= 0.01 else "under 1 % of its turns"
    return f"about {name}, {turns}" if off <= min(0.05, 0.2 * share) else turns


def _length(length_m: float, units: UnitSystem) -> str:
    return show(length_m, LENGTH, units, digits=3 if length_m < 1000.0 else 4)
