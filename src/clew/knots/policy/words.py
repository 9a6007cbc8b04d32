"""The rule that a hand can follow, in words."""

from __future__ import annotations

from clew.knots.cutting import FirstRule
from clew.languages import say
from clew.quantities import LENGTH, UnitSystem, show

CAUTION = say(
    "Caution: stop the winder before hands go in; lock it and prove it dead. Local rules come "
    "first."
)
NO_JOIN_OFFENDS = say("No join makes a ball second-quality: wind straight through.")
_SHARES = (
    (1 / 20, say("a twentieth of the ball")),
    (1 / 10, say("a tenth of the ball")),
    (1 / 5, say("a fifth of the ball")),
    (1 / 4, say("a quarter of the ball")),
    (1 / 3, say("a third of the ball")),
    (2 / 5, say("two fifths of the ball")),
    (1 / 2, say("half the ball")),
    (3 / 5, say("three fifths of the ball")),
    (2 / 3, say("two thirds of the ball")),
    (3 / 4, say("three quarters of the ball")),
    (4 / 5, say("four fifths of the ball")),
    (9 / 10, say("nine tenths of the ball")),
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
    if rule.min_piece_m == 0.0 or rule.limit == 0:  # with no join allowed any join offends
        return say("join {number}", number=rule.limit + 1)
    return say(
        "join {number}, or one that leaves a piece under {least},",
        number=rule.limit + 1,
        least=_length(rule.min_piece_m, units),
    )


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
    seen = (
        say("With {length} in sight", length=_length(look_ahead_m, units))
        if ahead
        else say("Nothing ahead seen")
    )
    if most_m <= 0.0:
        return say("{seen}: wind straight through; no parting pays.", seen=seen)
    most = {"length": _length(most_m, units), "share": _share(most_m, rule)}
    if not ahead:
        if most_m >= rule.ball_length_m:
            return say("{seen}: part at {join} whenever it shows.", seen=seen, join=spoiler)
        return say(
            "{seen}: when {join} shows, part if less than {length} is on ({share}); later than "
            "that, wind the ball out as second-quality.",
            seen=seen,
            join=spoiler,
            **most,
        )
    places = say("behind a join still on the belt")
    if rule.min_piece_m > 0.0 and rule.limit > 0:
        places = say(
            "behind a join still on the belt, or just so far on that its last piece is long enough"
        )
    if most_m < rule.ball_length_m:
        return say(
            "{seen}: when {join} shows, start the next ball at the first place that mends it "
            "({places}) if that drops at most {length} ({share}); else wind the ball out.",
            seen=seen,
            join=spoiler,
            places=places,
            **most,
        )
    return say(
        "{seen}: when {join} shows, start the next ball at the first place that mends it "
        "({places}).",
        seen=seen,
        join=spoiler,
        places=places,
    )


def _share(length_m: float, rule: FirstRule) -> str:
    """Share of a ball in a plain fraction, if one is near, and in turns."""
    share = length_m / rule.ball_length_m
    off, name = min((abs(share - plain), name) for plain, name in _SHARES)
    turns = say("{share:.0f} % of its turns", share=100.0 * share)
    if share < 0.01:
        turns = say("under 1 % of its turns")
    if off > min(0.05, 0.2 * share):
        return turns
    return say("about {part}, {turns}", part=name, turns=turns)


def _length(length_m: float, units: UnitSystem) -> str:
    return show(length_m, LENGTH, units, digits=3 if length_m < 1000.0 else 4)
