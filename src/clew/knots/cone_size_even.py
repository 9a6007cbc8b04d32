"""Cones without any spread: where their ends fall in the balls, cone by cone."""

from __future__ import annotations

import math
from dataclasses import dataclass

MOST_TURN = 1000
WHOLE = 1e-12
"""Share of a length by which a whole number of balls may be missed through rounding."""


@dataclass(frozen=True, slots=True)
class EvenTurn:
    """So many even cones tied one after another from a ball's head.

    Attributes
    ----------
    cones, balls, tied : int
        Cones, whole balls, and those of them with a tie inside.
    leftover_m : float
        What lies past the last whole ball [m]; 0 when the last cone ends with it.
    """

    cones: int
    balls: int
    tied: int
    leftover_m: float


def even_turns(cone_m: float, ball_m: float, most: int = MOST_TURN) -> list[EvenTurn]:
    """Follow even cones from a ball's head until one ends with a ball, or for so many cones.

    Parameters
    ----------
    cone_m, ball_m : float
        Length of every cone and of every ball [m].
    most : int
        Most cones followed.

    Returns
    -------
    list of EvenTurn
        After 1, 2, ... cones.
    """
    turns: list[EvenTurn] = []
    balls = tied = 0
    inside = False
    for cones in range(1, most + 1):
        place = cones * cone_m / ball_m
        whole = math.floor(place + WHOLE * max(place, 1.0))
        if whole > balls and inside:
            tied += 1
        balls = whole
        left = place - whole
        closed = left <= WHOLE * max(place, 1.0)
        turns.append(EvenTurn(cones, balls, tied, 0.0 if closed else left * ball_m))
        if closed:
            break
        inside = True
    return turns
