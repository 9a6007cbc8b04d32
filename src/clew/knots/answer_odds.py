"""Chances of balls and numbers of joins in words."""

from __future__ import annotations

from clew.knots.price import Band
from clew.languages import say, say_many
from clew.quantities import number

LEAST_TOLD = 1e-6
"""Chances below this are told as fewer than one in a million."""


def odds_words(chance: float) -> str:
    """Say a chance as balls out of balls.

    Parameters
    ----------
    chance : float
        The chance that a ball is so [1].

    Returns
    -------
    str
        Such as ``one ball in 38``.
    """
    if chance < LEAST_TOLD:
        return say("fewer than one ball in a million")
    if chance >= 1.0 - LEAST_TOLD:
        return say("every ball")
    if chance > 0.5:
        return say("{balls} balls in 100", balls=number(100.0 * chance, 3))
    return say("one ball in {balls}", balls=_one_in(chance))


def _short_odds(chance: float) -> str:
    """Say a chance of at most a half once more, without the ball."""
    if chance < LEAST_TOLD:
        return say("fewer than one in a million")
    return say("one in {balls}", balls=_one_in(chance))


def _one_in(chance: float) -> str:
    return number(float(f"{1.0 / chance:.2g}"), 2 if chance > 0.1 else 1)


def band_words(chance: Band) -> str:
    """Say a chance with its band.

    Parameters
    ----------
    chance : Band
        The chance.

    Returns
    -------
    str
        Such as ``one ball in 38 (one in 30 to one in 51, as the break rate is uncertain)``.
    """
    said = odds_words(chance.value)
    if chance.low == chance.high or chance.high < LEAST_TOLD:
        return said
    if chance.high > 0.5:
        low, value, high = (
            number(100.0 * one, 3) for one in (chance.low, chance.value, chance.high)
        )
        if low == high:
            return said
        return say(
            "{value} balls in 100 ({low} to {high}, as the break rate is uncertain)",
            value=value,
            low=low,
            high=high,
        )
    often, rarely = _short_odds(chance.high), _short_odds(chance.low)
    if often == rarely:
        return said
    return say(
        "{odds} ({often} to {rarely}, as the break rate is uncertain)",
        odds=said,
        often=often,
        rarely=rarely,
    )


def balls_told(said: str) -> int:
    """Count the balls that a chance in words speaks of, for the verb that follows them.

    Parameters
    ----------
    said : str
        From `odds_words` or `band_words`.

    Returns
    -------
    int
        1 for one ball in so many, 2 for several in 100.
    """
    return 2 if " balls in 100" in said else 1


def joins_words(joins: int, joined_by: str = "knot") -> str:
    """Say how many joins there are.

    Parameters
    ----------
    joins : int
        How many.
    joined_by : {"knot", "splice"}
        What they are called.

    Returns
    -------
    str
        Such as ``no knot``, ``1 knot``, ``3 knots``.
    """
    if joined_by == "splice":
        return say_many("{n} splice", "{n} splices", joins) if joins else say("no splice")
    return say_many("{n} knot", "{n} knots", joins) if joins else say("no knot")
