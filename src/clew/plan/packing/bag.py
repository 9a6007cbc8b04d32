"""Balls in a bag: rows, columns and layers of the box round one ball.

Balls are laid as boxes, all the same way. Round balls could lie in each other's hollows; that is
not counted on.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from clew.plan.packing.ball_block import Box

Counts = tuple[int, int, int]
"""How many lie along three sides."""


@dataclass(frozen=True, slots=True)
class Bag:
    """One way to lay balls in a bag.

    Attributes
    ----------
    counts : tuple of int
        Balls along a ball's own length, breadth and height.
    sides_mm : tuple of float
        The bag's sides in that order, outside the film [mm].
    """

    counts: Counts
    sides_mm: Box

    @property
    def balls(self) -> int:
        """Balls in the bag."""
        return self.counts[0] * self.counts[1] * self.counts[2]

    @property
    def volume_mm3(self) -> float:
        """What the bag takes up [mm3]."""
        return self.sides_mm[0] * self.sides_mm[1] * self.sides_mm[2]


@lru_cache(maxsize=512)
def three_factors(number: int) -> tuple[Counts, ...]:
    """List every way to write a number as a product of three, order counting.

    Source: DERIVED, all divisors.
    """
    return tuple(
        (first, second, number // first // second)
        for first in range(1, number + 1)
        if number % first == 0
        for second in range(1, number // first + 1)
        if number // first % second == 0
    )


def bags_of(
    balls: int, ball_mm: Box, *, squeeze_frac: float = 0.0, film_mm: float = 0.0
) -> tuple[Bag, ...]:
    """Lay a number of balls in a bag in every way, the most compact first.

    Parameters
    ----------
    balls : int
        Balls in the bag.
    ball_mm : tuple of float
        Length, breadth and height of the box round one [mm].
    squeeze_frac : float
        Share of a ball's height that the bag presses out of it [-].
    film_mm : float
        What film and slack add to each side [mm].

    Returns
    -------
    tuple of Bag
        By the area of their outside, least first.

    Source: DERIVED. The sides a ball is not pressed along are left as they are: common practice,
    no published source.
    """
    length, breadth, height = ball_mm
    height *= 1.0 - squeeze_frac
    bags = [
        Bag(
            counts,
            (
                counts[0] * length + film_mm,
                counts[1] * breadth + film_mm,
                counts[2] * height + film_mm,
            ),
        )
        for counts in three_factors(balls)
    ]
    return tuple(sorted(bags, key=lambda bag: (_skin(bag.sides_mm), bag.counts)))


def _skin(sides: Box) -> float:
    first, second, third = sides
    return round(2.0 * (first * second + second * third + first * third), 6)
