"""Chances of balls and numbers of joins in words."""

from __future__ import annotations

from clew.knots.price import Band
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
        return "fewer than one ball in a million"
    if chance >= 1.0 - LEAST_TOLD:
        return "every ball"
    if chance > 0.5:
        return f"{number(100.0 * chance, 3)} balls in 100"
    return f"one ball in {_one_in(chance)}"


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
        return f"{value} balls in 100 ({low} to {high}, as the break rate is uncertain)"
    ends = [odds_words(one).replace("one ball in", "one in") for one in (chance.high, chance.low)]
    if ends[0] == ends[1]:
        return said
    return f"{said} ({ends[0]} to {ends[1]}, as the break rate is uncertain)"


def verb_for(said: str, one: str, many: str) -> str:
    """Choose the verb that follows a chance in words.

    Parameters
    ----------
    said : str
        From `odds_words` or `band_words`.
    one, many : str
        The verb of one ball and of many.

    Returns
    -------
    str
        One of them.
    """
    return many if " balls in 100" in said else one


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
    if joins == 0:
        return f"no {joined_by}"
    return f"{joins} {joined_by}{'' if joins == 1 else 's'}"
